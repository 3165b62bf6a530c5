//! A garage in a folder of its own, with everything fixed that a command takes from its surroundings.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use asfound::{Environment, Zone};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;
use time::format_description::well_known::Rfc3339;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use crate::json::Answer;
use crate::plain_git;
use crate::ran::Ran;
use crate::shelter::Place;
use crate::words::words;

/// Who files the entries.
pub const AUTHOR: &str = "Edda Brandt <edda@workshop.example>";

/// How wide text is written, in characters.
const WIDTH: u16 = 80;

/// A garage in a folder of its own, a clock, an author.
///
/// In command lines `./x` is the file `x` in that folder; in what commands write, paths in it are shown the same way.
pub struct Workshop {
    place: Place,
    now: OffsetDateTime,
}

impl Default for Workshop {
    fn default() -> Self {
        Self::new()
    }
}

impl Workshop {
    /// A workshop without a garage, on the morning of 14 March 2026.
    pub fn new() -> Self {
        Self::opened_at(datetime!(2026-03-14 09:05 +1))
    }

    /// A workshop without a garage at some moment.
    pub(crate) fn opened_at(now: OffsetDateTime) -> Self {
        Self { place: Place::take(), now }
    }

    /// What the clock says.
    pub fn now(&self) -> OffsetDateTime {
        self.now
    }

    /// Copies the files of `tests/data` into the folder.
    pub(crate) fn fetch_data(&self) {
        for folder in ["definitions", "readings"] {
            let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("data").join(folder);
            for entry in fs::read_dir(&from).expect("the data lies beside the tests") {
                let path = entry.expect("the folder can be listed").path();
                let name = path.file_name().expect("a listed file has a name");
                fs::copy(&path, self.folder().join(name)).expect("a file can be copied");
            }
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        self.place.path()
    }

    /// The garage.
    pub fn garage(&self) -> PathBuf {
        self.folder().join("garage")
    }

    /// The repository in the garage.
    pub fn repository(&self) -> PathBuf {
        self.garage().join("journals.git")
    }

    /// Writes a file into the folder.
    pub fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.folder().join(name);
        fs::create_dir_all(path.parent().expect("a file lies in a folder")).expect("a folder can be made");
        fs::write(path, content).expect("a file can be written");
    }

    /// Reads a text file in the folder.
    pub fn text(&self, name: &str) -> String {
        fs::read_to_string(self.folder().join(name)).expect("the file is there and is text")
    }

    /// Writes a copy of the file `from` as `to`, with every `(this, that)` replaced; each must occur. A reading is then taken
    /// now, unless its time is one of what is replaced.
    #[track_caller]
    pub fn rewrite(&self, from: &str, to: &str, changes: &[(&str, &str)]) {
        let mut text = self.text(from);
        for (this, that) in changes {
            assert!(text.contains(this), "{from} does not hold `{this}`");
            text = text.replace(this, that);
        }
        let taken = self.text(from).lines().find(|line| line.starts_with("taken = ")).map(str::to_owned);
        if let Some(taken) = taken {
            let now = self.now.format(&time::format_description::well_known::Rfc3339).expect("a moment can be written");
            text = text.replace(&taken, &format!("taken = {now}"));
        }
        self.write(to, text);
    }

    /// Moves the clock to a later moment.
    pub fn wait_until(&mut self, moment: OffsetDateTime) {
        assert!(moment > self.now, "the clock only moves on");
        self.now = moment;
    }

    /// Sets the clock back, as somebody may who wants an entry to look older than it is.
    pub fn set_clock_back(&mut self, by: Duration) {
        self.now -= by;
    }

    /// Runs a command in this process; the clock is ten minutes on afterwards. `--sheet CODE` in it stands for the code of the
    /// sheet that the command shows without `--done`.
    ///
    /// Its text must keep to the page: no line may be longer than that, unless it holds a path in the folder.
    #[track_caller]
    pub fn run(&mut self, line: &str) -> Ran {
        let line = &self.with_code(line);
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let exit = asfound::run(self.arguments(line), Some(self.environment()), &mut out, &mut err);
        self.now += Duration::minutes(10);
        let ran = self.ran(line, &out, &err, exit as u8);
        if !line.contains("--json") && !line.contains("--help") {
            let too_long: Vec<&str> =
                ran.too_long(WIDTH.into()).into_iter().filter(|line| !line.contains("./")).collect();
            assert!(too_long.is_empty(), "wider than the page: {too_long:#?}\n{ran}");
        }
        ran
    }

    /// The line with the code of the sheet that it shows without `--done`; where there is no sheet, with some code.
    pub fn with_code(&self, line: &str) -> String {
        let Some((shows, _)) = line.split_once(" --done").filter(|_| line.contains("--sheet CODE")) else {
            return line.to_owned();
        };
        let mut out = Vec::new();
        let arguments = self.arguments(&format!("{shows} --json"));
        let _ = asfound::run(arguments, Some(self.environment()), &mut out, &mut Vec::new());
        let answer: Value = serde_json::from_slice(&out).unwrap_or_default();
        line.replace("--sheet CODE", &format!("--sheet {}", answer["sheet"].as_str().unwrap_or("0000-0000")))
    }

    fn environment(&self) -> Environment {
        Environment {
            garage: Some(PathBuf::from(self.place.name()).join("garage")),
            state: None,
            author: Some(AUTHOR.to_owned()),
            account: None,
            agent: None,
            key_passphrase: None,
            locale: None,
            now: self.now,
            zone: Zone::Fixed(self.now.offset()),
            width: WIDTH,
            colour: false,
            colour_of_errors: false,
            interactive: false,
        }
    }

    /// Runs a command that must fail without filing anything: no journal has moved, and nothing is answered.
    #[track_caller]
    pub fn refused(&mut self, line: &str) -> Ran {
        let before = plain_git::tips(&self.repository());
        let ran = self.run(line);
        assert!(ran.exit != 0 && ran.out.is_empty() && !ran.err.is_empty(), "should have been refused:\n{ran}");
        assert_eq!(plain_git::tips(&self.repository()), before, "something was filed:\n{ran}");
        ran
    }

    /// Runs a command with `--json` that answers on standard output, and reads the answer back.
    #[track_caller]
    pub fn json<T: Answer + DeserializeOwned + Serialize>(&mut self, line: &str) -> T {
        let ran = self.run(&format!("{line} --json"));
        assert!(ran.err.is_empty(), "should have written nothing to standard error:\n{ran}");
        read_back(&ran, &ran.out)
    }

    /// Runs a command with `--json` that answers with a value on each line.
    #[track_caller]
    pub fn json_lines(&mut self, line: &str) -> Vec<JsonLine> {
        let ran = self.run(&format!("{line} --json")).done();
        ran.out.lines().map(|text| JsonLine { ran: ran.clone(), text: text.to_owned() }).collect()
    }

    /// The last line of such an answer, read back.
    #[track_caller]
    pub fn last_json_line<T: Answer + DeserializeOwned + Serialize>(&mut self, line: &str) -> T {
        self.json_lines(line).last().expect("there is a line").read()
    }

    /// Runs a command with `--json` that fails, and reads back what it says on standard error.
    #[track_caller]
    pub fn json_failure(&mut self, line: &str) -> crate::json::Failure {
        let ran = self.run(&format!("{line} --json"));
        assert!(ran.out.is_empty() && ran.exit != 0, "should have failed:\n{ran}");
        let failure: crate::json::Failure = read_back(&ran, &ran.err);
        assert_eq!(failure.exit, ran.exit, "{ran}");
        failure
    }

    /// The program as a process of its own, in the folder; `binary` is its path. Nothing of the tests' own
    /// environment reaches it.
    pub fn process(&mut self, binary: &str, line: &str) -> Command {
        let line = &self.with_code(line);
        let mut command = Command::new(binary);
        // The name by which people call it, and by which it calls itself.
        #[cfg(unix)]
        std::os::unix::process::CommandExt::arg0(&mut command, "asfound");
        command
            .args(words(line))
            .current_dir(self.folder())
            .env_clear()
            .env("ASFOUND_GARAGE", self.garage())
            .env("ASFOUND_AUTHOR", AUTHOR)
            .env("ASFOUND_NOW", self.now.format(&Rfc3339).expect("a moment of this century can be written"))
            .env("HOME", self.folder())
            .env("COLUMNS", WIDTH.to_string());
        self.now += Duration::minutes(10);
        command
    }

    /// Runs the program as a process of its own to its end.
    pub fn run_process(&mut self, binary: &str, line: &str) -> Ran {
        let output = self.process(binary, line).output().expect("the binary can be started");
        let exit = output.status.code().and_then(|code| u8::try_from(code).ok());
        self.ran(line, &output.stdout, &output.stderr, exit.expect("the process ended by itself"))
    }

    /// The last commit of a vehicle's journal.
    pub fn tip(&self, tag: &str) -> Option<String> {
        plain_git::tip(&self.repository(), tag)
    }

    fn arguments(&self, line: &str) -> Vec<OsString> {
        let place = |word: String| match word.strip_prefix("./") {
            Some(name) => format!("{}/{name}", self.place.name()),
            None => word,
        };
        let words = words(line).into_iter().map(place).map(OsString::from);
        [OsString::from("asfound")].into_iter().chain(words).collect()
    }

    /// What was written, with paths as the command line has them.
    fn ran(&self, line: &str, out: &[u8], err: &[u8], exit: u8) -> Ran {
        let text = |bytes: &[u8]| {
            let text = String::from_utf8(bytes.to_vec()).expect("the program writes UTF-8");
            let full = format!("{}/", self.folder().display());
            text.replace(&full, "./").replace(&format!("{}/", self.place.name()), "./")
        };
        // Salts make the id of every commit another one in every run.
        let text = |bytes: &[u8]| if line.contains("--json") { text(bytes) } else { without_ids(&text(bytes)) };
        Ran { line: line.to_owned(), out: text(out), err: text(err), exit }
    }
}

/// One line of an answer of several values.
pub struct JsonLine {
    ran: Ran,
    text: String,
}

impl JsonLine {
    /// What stands under `schema`.
    #[track_caller]
    pub fn schema(&self) -> String {
        let value: Value = serde_json::from_str(&self.text).unwrap_or_else(|error| panic!("{error}:\n{}", self.ran));
        value["schema"].as_str().expect("every value names its schema").to_owned()
    }

    /// The value, read back strictly.
    #[track_caller]
    pub fn read<T: Answer + DeserializeOwned + Serialize>(&self) -> T {
        read_back(&self.ran, &self.text)
    }
}

/// The text with every word of forty hexadecimal digits replaced.
fn without_ids(text: &str) -> String {
    let mut plain = text.to_owned();
    let words = text.split(|c: char| !c.is_ascii_alphanumeric());
    for word in words.filter(|word| word.len() == 40 && word.bytes().all(|byte| byte.is_ascii_hexdigit())) {
        plain = plain.replace(word, "<commit>");
    }
    plain
}

/// Reads an answer into its mirror, strictly: written anew, the mirror gives the same JSON.
#[track_caller]
fn read_back<T: Answer + DeserializeOwned + Serialize>(ran: &Ran, text: &str) -> T {
    let value: Value = serde_json::from_str(text).unwrap_or_else(|error| panic!("no JSON ({error}):\n{ran}"));
    assert_eq!(value["schema"], T::SCHEMA, "{ran}");
    let answer: T =
        serde_json::from_value(value.clone()).unwrap_or_else(|error| panic!("{}: {error}:\n{ran}", T::SCHEMA));
    let again = serde_json::to_value(&answer).expect("a mirror can be written");
    assert_eq!(again, value, "{}: the mirror does not hold all of it", T::SCHEMA);
    answer.check();
    answer
}
