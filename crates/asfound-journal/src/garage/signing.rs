//! The key that new entries are signed with, and the keys that are trusted.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use asfound_core::entry::Author;
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

use super::open::{LARGEST_SETTINGS, SETTINGS, disk, read_settings};
use super::{Garage, GarageError, SigningKey};
use crate::sign::{AllowedSigner, AllowedSigners};
use crate::{durable, garage_file};

/// The list of trusted keys, in OpenSSH's form.
pub const ALLOWED_SIGNERS: &str = "allowed_signers";

const SIGNING: &str = "signing";
const PEOPLE: &str = "people";

impl Garage {
    /// Signs new entries with this key, or with none from now on. Everything else in `garage.toml` stays as it is.
    ///
    /// # Errors
    /// When the file has become unreadable, cannot be written, or names a file that is no text.
    pub fn sign_with(&mut self, signing: Option<&SigningKey>) -> Result<(), GarageError> {
        self.check_own()?;
        let file = self.path.join(SETTINGS);
        let text = fs::read_to_string(&file).map_err(disk("read", &file))?;
        let unfit = |message: String| GarageError::Settings { path: file.clone(), line: 1, column: 1, message };
        let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| unfit(error.to_string()))?;
        match signing {
            None => {
                document.remove(SIGNING);
            }
            Some(SigningKey { key, file }) => {
                let table = document.entry(SIGNING).or_insert_with(|| Item::Table(Table::new()));
                let table = table.as_table_like_mut().ok_or_else(|| unfit("`signing` is not a table".to_owned()))?;
                table.insert("key", value(key.as_str()));
                match file.as_deref().map(Path::to_str) {
                    None => {
                        table.remove("file");
                    }
                    Some(Some(path)) => {
                        table.insert("file", value(path));
                    }
                    Some(None) => return Err(unfit("the path of the signing key is not a text".to_owned())),
                }
            }
        }
        durable::write_file(&self.path, SETTINGS, document.to_string().as_bytes()).map_err(disk("write", &file))?;
        self.settings = read_settings(&self.path)?;
        Ok(())
    }

    /// Signs the entries of one person with their own key from now on. Everything else in `garage.toml` stays as it is.
    ///
    /// # Errors
    /// As for [`Garage::sign_with`].
    pub fn sign_own(&mut self, author: &Author, signing: &SigningKey) -> Result<(), GarageError> {
        self.check_own()?;
        let file = self.path.join(SETTINGS);
        let text = fs::read_to_string(&file).map_err(disk("read", &file))?;
        let unfit = |message: String| GarageError::Settings { path: file.clone(), line: 1, column: 1, message };
        let mut document: DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| unfit(error.to_string()))?;
        let people = document.entry(PEOPLE).or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
        let people = people.as_array_of_tables_mut().ok_or_else(|| unfit("`people` are no tables".to_owned()))?;
        let named = |table: &Table, key: &str| table.get(key).and_then(Item::as_str).map(str::to_owned);
        let same = |table: &Table| {
            named(table, "name").as_deref() == Some(author.name()) && named(table, "email").as_deref() == author.email()
        };
        let mut person = Table::new();
        person.insert("name", value(author.name()));
        if let Some(email) = author.email() {
            person.insert("email", value(email));
        }
        person.insert("key", value(signing.key.as_str()));
        if let Some(path) = &signing.file {
            let path = path.to_str().ok_or_else(|| unfit("the path of the signing key is not a text".to_owned()))?;
            person.insert("file", value(path));
        }
        let known = people.iter().position(same);
        match known.and_then(|at| people.get_mut(at)) {
            Some(table) => *table = person,
            None => people.push(person),
        }
        durable::write_file(&self.path, SETTINGS, document.to_string().as_bytes()).map_err(disk("write", &file))?;
        self.settings = read_settings(&self.path)?;
        Ok(())
    }

    /// The keys that are trusted; none where there is no list.
    ///
    /// # Errors
    /// When the list cannot be read.
    pub fn allowed_signers(&self) -> Result<AllowedSigners, GarageError> {
        let file = self.path.join(ALLOWED_SIGNERS);
        match garage_file::read_at_most(&file, LARGEST_SETTINGS) {
            // A line that is no UTF-8 is a line that cannot be read; the others still count.
            Ok(bytes) => Ok(AllowedSigners::parse(&String::from_utf8_lossy(&bytes))),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(AllowedSigners::default()),
            Err(error) => Err(disk("read", &file)(error)),
        }
    }

    /// Trusts a key: in place of the line for the same key and name, else beside the others. Other lines of the
    /// list stay as they are.
    ///
    /// # Errors
    /// When the list cannot be read or written.
    pub fn trust(&self, signer: &AllowedSigner) -> Result<(), GarageError> {
        let file = self.path.join(ALLOWED_SIGNERS);
        self.check_own()?;
        // Lines that are no text cannot be kept as they are, so that they are not written over.
        let text = match fs::read_to_string(&file) {
            Err(error) if error.kind() == ErrorKind::NotFound => String::new(),
            other => other.map_err(disk("read", &file))?,
        };
        let text = AllowedSigners::with(&text, signer);
        durable::write_file(&self.path, ALLOWED_SIGNERS, text.as_bytes())
            .map_err(disk("write", &self.path.join(ALLOWED_SIGNERS)))
    }
}
