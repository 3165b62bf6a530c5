//! The tables of descriptions in a garage.

use asfound_capture::descriptions::DescriptionTable;
use asfound_core::trouble_code::TroubleCode;
use asfound_journal::Digest;
use asfound_journal::garage::Garage;
use serde_json::{Value, json};

use crate::failure::Failure;

/// A table of descriptions that somebody loaded.
pub struct LoadedTable {
    /// Its name in the garage.
    pub name: String,
    /// The digest of its file.
    pub digest: Digest,
    /// What it says.
    pub table: DescriptionTable,
}

/// All tables of a garage, by name.
#[derive(Default)]
pub struct Descriptions {
    /// The tables.
    pub tables: Vec<LoadedTable>,
}

/// What a table says of a code.
#[derive(Debug, Clone)]
pub struct Described {
    /// The description.
    pub text: String,
    /// The table's name.
    pub table: String,
    /// The digest of the table's file.
    pub digest: Digest,
}

impl Described {
    /// The description with where it comes from: nobody shall take it for this project's own word.
    pub fn with_origin(&self) -> String {
        format!("{} (table {}, {})", self.text, self.table, short(&self.digest))
    }

    /// The description in JSON.
    pub fn json(&self) -> Value {
        json!({ "text": self.text, "table": self.table, "sha256": self.digest })
    }
}

/// The beginning of a digest, enough to compare by eye.
pub fn short(digest: &Digest) -> String {
    format!("SHA-256 {}…", &digest.to_string()[..12])
}

impl Descriptions {
    /// Reads the tables of a garage.
    ///
    /// # Errors
    /// When one of them cannot be read any more.
    pub fn open(garage: &Garage) -> Result<Self, Failure> {
        let mut tables = Vec::new();
        for file in garage.descriptions()? {
            let toml = file.path.extension().is_some_and(|ending| ending == "toml");
            let table = DescriptionTable::parse(&file.bytes, toml).map_err(|error| {
                Failure::usage(format!("{}: {error}", file.path.display()))
                    .hint("mend the file, or load a sound one with `asfound code-texts load FILE`")
            })?;
            let name = file.path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
            tables.push(LoadedTable { name, digest: Digest::of(&file.bytes), table });
        }
        Ok(Self { tables })
    }

    /// What the tables say of a code: the first, by name, that knows it.
    pub fn find(&self, code: &TroubleCode) -> Option<Described> {
        self.tables.iter().find_map(|loaded| {
            let text = loaded.table.find(code)?.to_owned();
            Some(Described { text, table: loaded.name.clone(), digest: loaded.digest })
        })
    }
}
