//! `asfound logbook`

use std::path::PathBuf;

use asfound_core::names::Tag;
use asfound_journal::seal::Seal;
use asfound_report::{BookBuilder, BookRequest, Language, book_page_for};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::tags;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::new_file::write_new_in_pieces;
use crate::printing::{PrintFormat, language, seal_shown};
use crate::screens::handover::BookWritten;
use crate::setup::{Session, TracedJournal};

/// Write the whole journal as one page, to look at rather than to read.
///
/// A life line is drawn for everything that ever changed, with the entries beside it. The page is one file, needs no network, and
/// finds as you type; `book.html#find=WORDS` opens it with a search.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound logbook wren --out wren-book.html\n  asfound logbook wren --out buch.html --language de"
)]
pub struct Args {
    /// The vehicle
    #[arg(add = ArgValueCompleter::new(tags))]
    pub tag: Tag,

    /// The new file, ending in .html
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

    /// The language, `en` or `de`; without it, the garage's, else that of the surroundings
    #[arg(long, value_name = "LANGUAGE")]
    pub language: Option<Language>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    if PrintFormat::of(&args.out)? != PrintFormat::Html {
        return Err(Failure::usage(format!("{}: a book is a page", args.out.display())).hint("end the name with .html"));
    }
    let known = TracedJournal::open(session, &args.tag)?;
    let language = language(args.language, &known.garage, session)?;
    let mut binding = BookBuilder::begin(BookRequest {
        definitions: &known.definitions,
        history: &known.history,
        seal: seal_shown(&Seal::over(&known.journal().leaves(&known.index, None)?)),
        printed: session.environment.now,
        language,
    });
    for filed in known.journal().each(&known.index) {
        binding.push(&filed?.entry);
    }
    let book = binding.finish();
    let book = book
        .ok_or_else(|| Failure::damaged(format!("the journal of `{}` does not begin with an enrolment", args.tag)))?;
    let bytes = write_new_in_pieces(&args.out, &mut |reader| book_page_for(&book, reader))?;
    session.show(&BookWritten {
        tag: args.tag.clone(),
        entries: book.entries(),
        lines: book.lines(),
        file: args.out.clone(),
        bytes,
    })?;
    Ok(Exit::Done)
}
