//! The definition files of a garage.

use std::panic::resume_unwind;
use std::thread;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::names::ModuleName;
use asfound_journal::Digest;
use asfound_journal::garage::{Garage, KeptFile};

use super::parse_definition;
use crate::failure::Failure;

/// How many files a thread of its own is worth while for.
const WORTH_WHILE: usize = 4;

/// The definition files of a garage, as they are.
pub struct DefinitionFiles(Vec<KeptFile>);

impl DefinitionFiles {
    /// Reads them.
    ///
    /// # Errors
    /// When one cannot be read.
    pub fn read(garage: &Garage) -> Result<Self, Failure> {
        Ok(Self(garage.definitions()?))
    }

    /// Stands for all of them together with `what` follows from them.
    pub fn digest_with(&self, what: &[u8]) -> Digest {
        let mut all = Digest::of(what).as_bytes().to_vec();
        for KeptFile { path, bytes } in &self.0 {
            let name = path.file_name().unwrap_or_default();
            all.extend_from_slice(Digest::of(name.as_encoded_bytes()).as_bytes());
            all.extend_from_slice(Digest::of(bytes).as_bytes());
        }
        Digest::of(&all)
    }

    /// What they say.
    ///
    /// # Errors
    /// When a file cannot be used: it names the file and every problem.
    pub fn parse(&self) -> Result<DefinitionSet, Failure> {
        parsed(&self.0)
    }
}

/// The definitions in a garage.
///
/// # Errors
/// When a definition file cannot be used: it names the file and every problem.
pub fn garage_definitions(garage: &Garage) -> Result<DefinitionSet, Failure> {
    DefinitionFiles::read(garage)?.parse()
}

/// The definitions in a garage that may be for a module; what is wrong with others is left to whoever needs them.
///
/// # Errors
/// When a definition file cannot be used: it names the file and every problem.
pub fn garage_definitions_of(garage: &Garage, module: &ModuleName) -> Result<DefinitionSet, Failure> {
    // The name ends with the mark that ends its string; with an escape in the file it could be written in many ways.
    let ends = [format!("{module}\""), format!("{module}'"), "\\".to_owned()];
    let may_be = |file: &KeptFile| match std::str::from_utf8(&file.bytes) {
        Ok(text) => ends.iter().any(|end| text.contains(end)),
        Err(_) => true,
    };
    let files: Vec<KeptFile> = garage.definitions()?.into_iter().filter(may_be).collect();
    parsed(&files)
}

fn parsed(files: &[KeptFile]) -> Result<DefinitionSet, Failure> {
    let mut definitions = DefinitionSet::new();
    for (file, parsed) in files.iter().zip(parsed_apart(files)) {
        let definition = parsed.map_err(|failure| {
            let hint = failure.hint.clone();
            failure.hint("mend the file, or take a sound one in with `asfound definition keep FILE`").maybe_hint(hint)
        })?;
        let id = definition.id().clone();
        definitions.add(definition).map_err(|error| {
            Failure::usage(format!("{}: {error}", file.path.display()))
                .hint(format!("two files in the garage's definitions define `{id}`; keep one"))
        })?;
    }
    Ok(definitions)
}

/// What each of them says: that of many files is most of what a short question takes, so that the processors share it.
fn parsed_apart(files: &[KeptFile]) -> Vec<Result<Definition, Failure>> {
    let processors = thread::available_parallelism().map_or(1, usize::from);
    let share = files.len().div_ceil(processors).max(WORTH_WHILE);
    let parse =
        |some: &[KeptFile]| -> Vec<_> { some.iter().map(|file| parse_definition(&file.path, &file.bytes)).collect() };
    let (here, there) = files.split_at(share.min(files.len()));
    thread::scope(|scope| {
        let others =
            there.chunks(share).map(|some| (some, thread::Builder::new().spawn_scoped(scope, move || parse(some))));
        let others: Vec<_> = others.collect();
        let mut all = parse(here);
        for (some, other) in others {
            // Where the system has no thread to give, it is done here.
            all.extend(
                other.map_or_else(|_| parse(some), |other| other.join().unwrap_or_else(|panic| resume_unwind(panic))),
            );
        }
        all
    })
}
