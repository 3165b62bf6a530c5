//! Takes in a reading: files of the project's own form, tables, and values typed by hand.

use std::path::{Path, PathBuf};

use asfound_capture::file::parse_reading;
use asfound_capture::merge::{merge, reading_of_table};
use asfound_capture::table::{ColumnMapping, SavedColumns, Separator, TableEncoding, TableOptions, parse_table};
use asfound_core::definition::DefinitionSet;
use asfound_core::identity::Identity;
use asfound_core::names::{ModuleName, SettingName};
use asfound_core::reading::Reading;
use asfound_core::state::State;
use asfound_journal::Digest;
use asfound_journal::garage::{ColumnsName, Garage};
use clap::Args;

use crate::arguments::{Assignment, AssignmentPlace};
use crate::bounded_file::read_bounded;
use crate::failure::Failure;
use crate::filing::unreadable;

/// The largest reading file, in bytes.
const LARGEST: u64 = 64 * 1024 * 1024;

/// How tables are read.
#[derive(Debug, Clone, Default, Args)]
pub struct TableArgs {
    /// Which column of a table holds what: module=HEAD,setting=HEAD,value=HEAD or module=HEAD,record=HEAD,bytes=HEAD
    #[arg(long, value_name = "MAPPING", help_heading = "Tables")]
    pub columns: Option<ColumnMapping>,

    /// Keep the mapping under this name for next time
    #[arg(long, value_name = "NAME", requires = "columns", help_heading = "Tables")]
    pub columns_as: Option<ColumnsName>,

    /// Use the mapping that was kept under this name
    #[arg(long, value_name = "NAME", conflicts_with = "columns", help_heading = "Tables")]
    pub columns_of: Option<ColumnsName>,

    /// The module that all rows are about, where no column says it
    #[arg(long, value_name = "NAME", help_heading = "Tables")]
    pub module: Option<ModuleName>,

    /// What separates the cells: comma, semicolon, tab
    #[arg(long, value_name = "NAME", help_heading = "Tables")]
    pub separator: Option<Separator>,

    /// The character encoding, where it is not UTF-8, as in windows-1252
    #[arg(long, value_name = "NAME", help_heading = "Tables")]
    pub encoding: Option<TableEncoding>,
}

/// What is worth saying about how a file was read.
#[derive(Debug, Clone, Default)]
pub struct ReadInput {
    /// The reading, all files together.
    pub reading: Reading,
    /// How tables were read, in a sentence each.
    pub told: Vec<String>,
    /// The SHA-256 of the file, or of those of several in hexadecimal, a line each; nothing where all of it was typed.
    pub source: Option<Digest>,
}

/// Where a mapping is kept, and what is kept there.
pub struct KeptMapping {
    name: ColumnsName,
    text: String,
}

impl KeptMapping {
    /// Keeps it, once the reading is filed.
    ///
    /// # Errors
    /// When the garage cannot be written.
    pub fn keep(&self, garage: &Garage) -> Result<(), Failure> {
        garage.keep_columns(&self.name, &self.text)?;
        Ok(())
    }
}

impl TableArgs {
    /// The mapping to keep, where one is.
    pub fn to_keep(&self) -> Option<KeptMapping> {
        let (name, columns) = (self.columns_as.clone()?, self.columns.clone()?);
        let saved =
            SavedColumns { columns, separator: self.separator, encoding: self.encoding, module: self.module.clone() };
        Some(KeptMapping { name, text: saved.to_toml() })
    }

    fn options(&self, garage: &Garage) -> Result<TableOptions, Failure> {
        let mut options = match &self.columns_of {
            Some(name) => kept_columns(garage, name)?.into_options(),
            None => TableOptions { columns: self.columns.clone(), ..TableOptions::default() },
        };
        options.separator = self.separator.or(options.separator);
        options.encoding = self.encoding.or(options.encoding);
        options.module = self.module.clone().or(options.module);
        Ok(options)
    }
}

fn kept_columns(garage: &Garage, name: &ColumnsName) -> Result<SavedColumns, Failure> {
    let files = garage.columns()?;
    let stem = |path: &Path| path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let Some(file) = files.iter().find(|file| stem(&file.path) == name.as_str()) else {
        let names: Vec<String> = files.iter().map(|file| stem(&file.path)).collect();
        let failure = Failure::usage(format!("no column mapping is kept under the name `{name}`"));
        return Err(if names.is_empty() {
            failure.hint("keep one with `--columns MAPPING --columns-as NAME`")
        } else {
            failure.hint(format!("these are kept: {}", names.join(", ")))
        });
    };
    let text = String::from_utf8_lossy(&file.bytes);
    SavedColumns::from_toml(&text).map_err(|error| Failure::usage(format!("{}: {error}", file.path.display())))
}

/// Takes in files and values typed by hand as one reading.
///
/// # Errors
/// What is wrong, with the file and the place in it.
pub fn take(
    paths: &[PathBuf],
    tables: &TableArgs,
    values: &[Assignment],
    garage: &Garage,
    definitions: &DefinitionSet,
    state: &State,
) -> Result<ReadInput, Failure> {
    let mut taken = ReadInput::default();
    let mut digests: Vec<Digest> = Vec::new();
    for path in paths {
        let bytes = content(path)?;
        digests.push(Digest::of(&bytes));
        let reading = if is_table(path) {
            table(path, &bytes, &tables.options(garage)?, definitions, state, &mut taken.told)?
        } else {
            parse_reading(&bytes).map_err(|problems| crate::setup::problems_failure(path, &problems))?
        };
        merge(&mut taken.reading, reading).map_err(|error| Failure::usage(format!("{}: {error}", path.display())))?;
    }
    for assignment in values {
        typed(&mut taken.reading, assignment)?;
    }
    taken.source = match digests.as_slice() {
        [] => None,
        [one] => Some(*one),
        several => {
            let mut lines: Vec<String> = several.iter().map(ToString::to_string).collect();
            lines.push(String::new());
            Some(Digest::of(lines.join("\n").as_bytes()))
        }
    };
    Ok(taken)
}

fn content(path: &Path) -> Result<Vec<u8>, Failure> {
    read_bounded(path, LARGEST).map_err(|error| unreadable(path, &error))
}

/// Whether a file is a table, by its name: readings of the project's own form end in `.toml` or `.json`.
pub fn is_table(path: &Path) -> bool {
    let ending = path.extension().map(|ending| ending.to_ascii_lowercase());
    !ending.is_some_and(|ending| ending == "toml" || ending == "json")
}

fn table(
    path: &Path,
    bytes: &[u8],
    options: &TableOptions,
    definitions: &DefinitionSet,
    state: &State,
    told: &mut Vec<String>,
) -> Result<Reading, Failure> {
    let table = parse_table(bytes, options).map_err(|problems| {
        let lines: Vec<String> =
            problems.kept().iter().map(|problem| format!("{}: {problem}", path.display())).collect();
        let more = match problems.more() {
            0 => String::new(),
            more => format!("\n{}: {more} more problems", path.display()),
        };
        Failure::usage(format!("{}{more}", lines.join("\n"))).maybe_hint(problems.hints().first())
    })?;
    let mut text = format!("{}: {} rows, {} as separator", path.display(), table.rows.len(), table.separator);
    if table.without_value > 0 {
        text.push_str(&format!(", {} without a value left out", table.without_value));
    }
    if table.repeated > 0 {
        text.push_str(&format!(", {} said again left out", table.repeated));
    }
    told.push(text);
    let named = |module: &ModuleName, said: &Identity, label: &str| labelled(definitions, state, module, said, label);
    reading_of_table(table, named).map_err(|error| Failure::usage(format!("{}: {error}", path.display())))
}

/// The setting of a module that has a label, by the definition that fits it.
fn labelled(
    definitions: &DefinitionSet,
    state: &State,
    module: &ModuleName,
    said: &Identity,
    label: &str,
) -> Option<SettingName> {
    let identity = state.identity(module).updated_by(said);
    let definition = definitions.fitting(module, &identity).ok().flatten()?;
    let wanted = label.to_lowercase();
    let found = definition.settings().values().find(|setting| setting.label().to_lowercase() == wanted)?;
    Some(found.path().setting.clone())
}

fn typed(reading: &mut Reading, assignment: &Assignment) -> Result<(), Failure> {
    let place = &assignment.place;
    let twice = || Failure::usage(format!("{place} is given twice and differs"));
    match place {
        AssignmentPlace::Setting(path) => {
            let settings = &mut reading.modules.entry(path.module.clone()).or_default().settings;
            match settings.insert(path.setting.clone(), assignment.text.clone()) {
                Some(before) if before != assignment.text => Err(twice()),
                _ => Ok(()),
            }
        }
        AssignmentPlace::Record(module, record) => {
            let bytes = assignment.text.parse().map_err(|error| Failure::usage(format!("{place}: {error}")))?;
            let records = &mut reading.modules.entry(module.clone()).or_default().records;
            match records.insert(record.clone(), bytes) {
                Some(before) if Some(&before) != records.get(record) => Err(twice()),
                _ => Ok(()),
            }
        }
    }
}
