//! The definition files of a garage.

use asfound_core::definition::DefinitionSet;
use asfound_core::names::ModuleName;
use asfound_journal::Digest;
use asfound_journal::garage::{Garage, KeptFile};

use super::parse_definition;
use crate::failure::Failure;

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
    for file in files {
        let definition = parse_definition(&file.path, &file.bytes).map_err(|failure| {
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
