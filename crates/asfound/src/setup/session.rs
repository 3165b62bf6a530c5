//! One run of the program.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::io::Write;
use std::path::PathBuf;

use asfound_core::document::{hides, visible_lines};
use asfound_core::entry::{Author, Reason};
use asfound_core::names::Tag;
use asfound_journal::garage::{Garage, GarageError, Person};
use asfound_journal::index::IndexFolder;
use asfound_journal::last_filed::LastFiled;
use asfound_journal::store::{CommitId, Store, StoreError};
use serde_json::Value;

use super::Environment;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::new_file::InPieces;
use asfound_report::Page;

/// Something that is shown: as text to people, as JSON to programs.
pub trait Screen {
    /// Puts it on a page.
    fn text(&self, page: &mut Page);

    /// The same as JSON; the schema is in `docs/json.md`.
    fn json(&self) -> Value;
}

/// Takes one item of a list that is written as it comes.
pub type OneItem<'o> = dyn FnMut(&Value) -> Result<(), Failure> + 'o;

/// Hands over the items of such a list.
pub type Items<'i> = dyn FnMut(&mut OneItem<'_>) -> Result<(), Failure> + 'i;

/// So many bytes of a long answer are written at once.
const AT_ONCE: usize = 1 << 16;

/// One run of the program: what it was told, and where it writes.
pub struct Session<'w> {
    /// What it took from its surroundings.
    pub environment: Environment,
    /// The garage named on the command line.
    pub garage_option: Option<PathBuf>,
    /// The author named on the command line.
    pub author_option: Option<String>,
    /// Whether to file it though author and key are not known to belong here, or to each other.
    pub as_said: bool,
    /// Whether to write JSON.
    pub json: bool,
    /// Standard output.
    pub out: &'w mut dyn Write,
    /// Standard error.
    pub err: &'w mut dyn Write,
    /// The indexes of the garages that were opened.
    pub indexes: RefCell<Vec<IndexFolder>>,
    /// What is to be said of the garage and its journals at the end, whatever the command says.
    pub notices: RefCell<BTreeSet<String>>,
    /// Where several people file, or sign: as whom this run files, and with which key. It stands below what is shown.
    pub filed_as: RefCell<Option<String>>,
    /// What was filed last in the garages that were opened.
    pub last_filed: RefCell<Vec<LastFiled>>,
    /// Why standard output cannot be written, once it could not.
    pub unwritten: Option<String>,
}

impl Session<'_> {
    /// Where the garage is.
    ///
    /// # Errors
    /// When nothing says so.
    pub fn garage_path(&self) -> Result<PathBuf, Failure> {
        self.garage_option.clone().or_else(|| self.environment.garage.clone()).ok_or_else(|| {
            Failure::usage("there is no data directory for the garage")
                .hint("name one with `--garage DIR` or in ASFOUND_GARAGE")
        })
    }

    /// The garage.
    ///
    /// # Errors
    /// When it is missing, damaged or out of reach.
    pub fn garage(&self) -> Result<Garage, Failure> {
        Ok(self.watch(Garage::open(&self.garage_path()?)?))
    }

    /// The garage, which is made where there is none, and whether it was made.
    ///
    /// # Errors
    /// When it is damaged or out of reach, or cannot be made.
    pub fn garage_or_new(&self) -> Result<(Garage, bool), Failure> {
        let path = self.garage_path()?;
        match Garage::open(&path) {
            Err(GarageError::Missing { .. }) => {
                let garage = self.watch(Garage::create(&path)?);
                let gone: Vec<String> =
                    garage.store().last_filed().forget().iter().map(|tag| format!("`{tag}`")).collect();
                if !gone.is_empty() {
                    let gone = gone.join(", ");
                    let said = format!("another garage was here before, with a journal of {gone}; this is a new one");
                    self.notices.borrow_mut().insert(said);
                }
                Ok((garage, true))
            }
            other => Ok((self.watch(other?), false)),
        }
    }

    /// The same garage, watched: what has to be said of it at the end is said, and what is filed in it is remembered.
    fn watch(&self, garage: Garage) -> Garage {
        let last_filed = match &self.environment.state {
            Some(state) => LastFiled::of_garage(state, garage.path()),
            None => LastFiled::default(),
        };
        let garage = garage.remembering(last_filed);
        self.last_filed.borrow_mut().push(garage.store().last_filed().clone());
        self.indexes.borrow_mut().extend(garage.store().index().cloned());
        self.notices.borrow_mut().extend(garage.check_own().err().map(|error| error.to_string()));
        garage
    }

    /// Notes that a journal was further once, so that it is said whatever else the command says.
    pub fn note_set_back(&self, garage: &Garage, tag: &Tag, tip: Option<&CommitId>) {
        // What cannot be read is told of by the command itself.
        if let Err(error @ StoreError::WasFurther { .. }) = garage.store().check_not_set_back(tag, tip) {
            let hint = error.hint().map(|hint| format!("\nhint: {hint}")).unwrap_or_default();
            self.notices.borrow_mut().insert(format!("{error}{hint}"));
        }
    }

    /// The vehicles for which something was filed.
    pub fn filed(&self) -> BTreeSet<Tag> {
        self.last_filed.borrow().iter().flat_map(LastFiled::since_opened).collect()
    }

    /// Lock files of other programs that were removed because of their age.
    pub fn removed_locks(&self) -> BTreeSet<PathBuf> {
        self.last_filed.borrow().iter().flat_map(LastFiled::removed_locks).collect()
    }

    /// The vehicles whose index did not agree with the journal, so that it was thrown away.
    pub fn disagreed(&self) -> BTreeSet<Tag> {
        self.indexes.borrow().iter().flat_map(IndexFolder::disagreed).collect()
    }

    /// Who files entries: as the command line says, else `ASFOUND_AUTHOR`, else the garage's own author,
    /// else the account's name.
    ///
    /// # Errors
    /// When nobody is named, or the name cannot be used.
    pub fn author(&self, garage: &Garage) -> Result<Author, Failure> {
        let told = self.author_option.as_ref().or(self.environment.author.as_ref());
        let kept = &garage.settings().author;
        let author = match (told, &kept.name) {
            (Some(text), _) => parse_author(text),
            (None, Some(name)) => Author::new(name, kept.email.as_deref()),
            (None, None) => Author::new(self.environment.account.as_deref().unwrap_or_default(), None),
        };
        let author = author.map_err(|error| {
            Failure::usage(error).hint("name the author with `--author \"Name <e-mail>\"`, or once in garage.toml")
        })?;
        if self.as_said {
            return Ok(author);
        }
        known_person(&garage.settings().people, author, self.author_option.is_some())
    }

    /// Shows a screen on standard output.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn show(&mut self, screen: &impl Screen) -> Result<(), Failure> {
        if self.json {
            let mut text = pretty(&screen.json())?;
            text.push('\n');
            return self.write(&text);
        }
        let filed_as = self.filed_as.take();
        self.show_text(&mut |page| {
            screen.text(page);
            filed_as.iter().for_each(|line| page.line(line));
        })
    }

    /// Shows a page on standard output, which is written while it is put together.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn show_text(&mut self, put_together: &mut dyn FnMut(&mut Page<'_>)) -> Result<(), Failure> {
        let (width, colour) = (self.environment.width, self.environment.colour);
        self.write_in_pieces(&mut |write| {
            let mut read = |text: &str| write(text);
            let mut page = Page::new(width, colour).read_by(&mut read);
            put_together(&mut page);
            let rest = page.into_text();
            write(&rest);
        })
    }

    /// Writes text to standard output as `put_together` hands it over.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn write_in_pieces(&mut self, put_together: &mut InPieces<'_>) -> Result<(), Failure> {
        let mut written = Ok(());
        put_together(&mut |text| {
            if written.is_ok() {
                written = self.write(text);
            }
        });
        written
    }

    /// An empty page for standard output.
    pub fn page<'r>(&self) -> Page<'r> {
        Page::new(self.environment.width, self.environment.colour)
    }

    /// Writes a JSON object of which one list, empty in `frame`, is written as its items come.
    ///
    /// # Errors
    /// When `items` fails, or standard output cannot be written.
    pub fn write_list(&mut self, frame: &Value, list: &str, items: &mut Items<'_>) -> Result<(), Failure> {
        self.write_lists(frame, &mut [(list, items)])
    }

    /// The same with several lists, in the order of their names, which is that in which they are written.
    ///
    /// # Errors
    /// When items fail, or standard output cannot be written.
    pub fn write_lists(&mut self, frame: &Value, lists: &mut [(&str, &mut Items<'_>)]) -> Result<(), Failure> {
        let frame = pretty(frame)?;
        let (mut waiting, mut rest) = (String::new(), frame.as_str());
        for (list, items) in lists {
            let head = format!("\n  \"{list}\": [");
            let Some(at) = rest.find(&head) else { continue };
            let (before, after) = rest.split_at(at + head.len());
            waiting.push_str(before);
            rest = after;
            let mut is_first = true;
            items(&mut |item| {
                waiting.push_str(if is_first { "\n" } else { ",\n" });
                is_first = false;
                pretty(item)?.lines().for_each(|line| waiting.push_str(&format!("    {line}\n")));
                waiting.pop();
                if waiting.len() < AT_ONCE {
                    return Ok(());
                }
                self.write(&std::mem::take(&mut waiting))
            })?;
            waiting.push_str(if is_first { "" } else { "\n  " });
        }
        self.write(&format!("{waiting}{rest}\n"))
    }

    /// Writes text as it is to standard output.
    ///
    /// # Errors
    /// When standard output cannot be written; that nobody reads it any more is no error.
    pub fn write(&mut self, text: &str) -> Result<(), Failure> {
        match self.out.write_all(text.as_bytes()).and_then(|()| self.out.flush()) {
            Ok(()) => Ok(()),
            // Whoever reads has seen enough, as in `asfound entries wren | head`.
            Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
            Err(error) => {
                self.unwritten = Some(error.to_string());
                Err(Failure { exit: Exit::Damaged, message: format!("cannot write: {error}"), hint: None })
            }
        }
    }

    /// Says something on standard error that is not the answer itself.
    pub fn say(&mut self, text: &str) {
        // Nobody is left to tell when standard error is gone.
        let _ = writeln!(self.err, "{}", visible_lines(text));
    }
}

fn pretty(value: &Value) -> Result<String, Failure> {
    let text = serde_json::to_string_pretty(value);
    text.map(|text| visible_json(&text)).map_err(|error| Failure::damaged(format!("JSON could not be made: {error}")))
}

/// JSON with everything by its number that a terminal would not show as it stands: another way to write the same.
pub fn visible_json(text: &str) -> String {
    let mut json = String::with_capacity(text.len());
    for c in text.chars() {
        // A line end stands between values; within them JSON has it by its number already.
        if c != '\n' && hides(c) {
            c.encode_utf16(&mut [0; 2]).iter().for_each(|unit| json.push_str(&format!("\\u{unit:04x}")));
        } else {
            json.push(c);
        }
    }
    json
}

/// Reads `Name` or `Name <e-mail>`.
/// The person whom a garage knows and who is meant: by their name or e-mail address, or a part of either that no other has.
/// Where a garage knows nobody, anybody may file. A part stands for the whole only where somebody typed it: the name of an account
/// must not make one person's entries another's.
fn known_person(people: &[Person], told: Author, typed: bool) -> Result<Author, Failure> {
    if people.is_empty() {
        return Ok(told);
    }
    let exactly = people
        .iter()
        .find(|person| person.author == told || (told.email().is_some() && person.author.email() == told.email()));
    let part = told.name().to_lowercase();
    let in_part = |person: &&Person| {
        let texts = [Some(person.author.name()), person.author.email()];
        let begins = |text: &str| {
            let text = text.to_lowercase();
            text.match_indices(&part).any(|(at, _)| !text[..at].ends_with(char::is_alphanumeric))
        };
        typed && told.email().is_none() && texts.into_iter().flatten().any(begins)
    };
    let mut fitting = people.iter().filter(in_part);
    match (exactly, fitting.next(), fitting.next()) {
        (Some(person), ..) | (None, Some(person), None) => Ok(person.author.clone()),
        (None, one, _) => {
            let names: Vec<String> = people.iter().map(|person| person.author.to_string()).collect();
            let what = if one.is_some() { "may be several of the people" } else { "is none of the people" };
            Err(Failure::refused(format!("`{told}` {what} that this garage knows: {}", names.join(", "))).hint(
                "say who you are with `--author NAME`; a new person takes part with `asfound key use FILE --own \
                 --as-said`, or files once with `--as-said`",
            ))
        }
    }
}

fn parse_author(text: &str) -> Result<Author, asfound_core::entry::AuthorError> {
    match text.trim().strip_suffix('>').and_then(|text| text.split_once('<')) {
        Some((name, email)) => Author::new(name, Some(email)),
        None => Author::new(text, None),
    }
}

/// The reason as given, or the one that says itself.
///
/// # Errors
/// When the text is blank.
pub fn reason(given: Option<&str>, otherwise: &str) -> Result<Reason, Failure> {
    Reason::try_from(given.unwrap_or(otherwise).to_owned())
        .map_err(|error| Failure::usage(error).hint("say why with `--why TEXT`"))
}
