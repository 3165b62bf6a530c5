//! The lines below the header.

use asfound_core::names::ModuleName;
use thiserror::Error;

use super::cell::{self, CellFault};
use super::column::ColumnKey;
use super::duplicate::{RowStatus, SubjectsSeen};
use super::grid::GridLine;
use super::header::Columns;
use super::identity::Identities;
use super::printable::shortened;
use super::problem::{TableFault, TableProblem, TableProblems};
use super::reading::{RowContent, TableRow};

/// What is wrong with a line, or between two lines.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RowFault {
    /// More or fewer cells than the header line.
    #[error("{cells} cells where the header line has {columns}")]
    Ragged {
        /// The cells of the line.
        cells: usize,
        /// The columns of the header line.
        columns: usize,
    },
    /// A value without a setting, or bytes without a record.
    #[error("the cell is empty, although there is text in the column for `{with}`")]
    Missing {
        /// The key of the column that is filled.
        with: ColumnKey,
    },
    /// No module.
    #[error("the cell is empty, so nothing says which module the line is about")]
    NoModule,
    /// A line says something else than an earlier one.
    #[error("{} of `{module}` is `{}` on line {line} and `{}` here", shown(.name), shortened(.first), shortened(.second))]
    Twice {
        /// The module.
        module: ModuleName,
        /// What both lines are about.
        name: String,
        /// The earlier line.
        line: usize,
        /// What the earlier line says.
        first: String,
        /// What this line says.
        second: String,
    },
    /// Two different texts that give the same name.
    #[error("{} comes to the same name as {} on line {line}", shown(.second), shown(.first))]
    SameName {
        /// The earlier line.
        line: usize,
        /// The text of the earlier line.
        first: String,
        /// The text of this line.
        second: String,
    },
}

impl RowFault {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Ragged { .. } => {
                Some("a cell that holds the separator stands between quotation marks, with no space before them".into())
            }
            Self::Twice { .. } => Some("keep the line that is right".into()),
            Self::SameName { .. } => Some("name the settings by their names instead of their labels".into()),
            Self::Missing { .. } | Self::NoModule => None,
        }
    }
}

/// A name between back quotes.
fn shown(name: &str) -> String {
    format!("`{}`", shortened(name))
}

/// Reads line after line, and gathers what they say and everything that is wrong with them.
pub(super) struct Rows<'a> {
    columns: &'a Columns,
    /// The module of all rows.
    module: Option<&'a ModuleName>,
    said: SubjectsSeen,
    identities: Identities,
    pub(super) found: Vec<TableRow>,
    pub(super) without_value: usize,
    pub(super) repeated: usize,
    pub(super) problems: TableProblems,
}

/// Which module a line is about.
enum LineModule {
    Known(ModuleName),
    /// Its setting cell says.
    InSetting,
    /// It should say and does not; that is reported.
    Unknown,
}

impl<'a> Rows<'a> {
    /// No line yet.
    pub(super) fn new(columns: &'a Columns, module: Option<&'a ModuleName>) -> Self {
        Self {
            columns,
            module,
            said: SubjectsSeen::default(),
            identities: Identities::default(),
            found: Vec::new(),
            without_value: 0,
            repeated: 0,
            problems: TableProblems::none(),
        }
    }

    /// Reads one line.
    pub(super) fn read(&mut self, line: &GridLine) {
        if line.is_blank() {
            return;
        }
        if line.cells.len() != self.columns.width() {
            let fault = RowFault::Ragged { cells: line.cells.len(), columns: self.columns.width() };
            self.problems.add(TableProblem::at(line.line, fault));
            return;
        }
        let filled = |key| self.cell(line, key).is_some();
        let named_alone = (filled(ColumnKey::Setting) && !filled(ColumnKey::Value))
            || (filled(ColumnKey::Record) && !filled(ColumnKey::Bytes));
        let says = [ColumnKey::Value, ColumnKey::Bytes, ColumnKey::TroubleCode].into_iter().any(filled)
            || ColumnKey::IDENTITY.into_iter().any(filled);
        if named_alone || !says {
            self.without_value += 1;
        }
        if !says {
            return;
        }
        let module = self.module_of(line);
        self.read_identity(line, &module);
        self.read_setting(line, &module);
        self.read_record(line, &module);
        self.read_trouble_code(line, &module);
    }

    /// The cell that holds `key`, without white space around it, where it is not empty.
    fn cell<'l>(&self, line: &'l GridLine, key: ColumnKey) -> Option<&'l str> {
        let text = line.cells.get(self.columns.index(key)?)?.trim();
        (!text.is_empty()).then_some(text)
    }

    /// Both cells of a pair; a first one that is empty beside a filled second one is reported.
    fn pair<'l>(&mut self, line: &'l GridLine, name: ColumnKey, content: ColumnKey) -> Option<(&'l str, &'l str)> {
        let content_text = self.cell(line, content)?;
        let name_text = self.cell(line, name);
        if name_text.is_none() {
            self.report(line, name, RowFault::Missing { with: content });
        }
        Some((name_text?, content_text))
    }

    fn module_of(&mut self, line: &GridLine) -> LineModule {
        if let Some(module) = self.module {
            return LineModule::Known(module.clone());
        }
        if self.columns.index(ColumnKey::Module).is_none() {
            return LineModule::InSetting;
        }
        let found: Result<ModuleName, TableFault> = match self.cell(line, ColumnKey::Module) {
            None => Err(RowFault::NoModule.into()),
            Some(text) => cell::module(text).map_err(TableFault::from),
        };
        match found {
            Ok(module) => LineModule::Known(module),
            Err(fault) => {
                self.report(line, ColumnKey::Module, fault);
                LineModule::Unknown
            }
        }
    }

    fn read_identity(&mut self, line: &GridLine, module: &LineModule) {
        let LineModule::Known(module) = module else { return };
        for key in ColumnKey::IDENTITY {
            let Some(text) = self.cell(line, key) else { continue };
            if let Err(fault) = self.identities.take(&mut self.found, line.line, module, key, text) {
                self.report(line, key, fault);
            }
        }
    }

    fn read_setting(&mut self, line: &GridLine, module: &LineModule) {
        let Some((name, value)) = self.pair(line, ColumnKey::Setting, ColumnKey::Value) else { return };
        let row_module = match module {
            LineModule::Known(module) => Some(module),
            LineModule::InSetting => None,
            LineModule::Unknown => return,
        };
        match cell::setting(name, row_module) {
            Err(fault) => self.report(line, ColumnKey::Setting, fault),
            Ok((module, setting)) => {
                self.say(line, ColumnKey::Value, module, RowContent::Setting { setting, value: value.to_owned() });
            }
        }
    }

    fn read_record(&mut self, line: &GridLine, module: &LineModule) {
        let Some((name, bytes)) = self.pair(line, ColumnKey::Record, ColumnKey::Bytes) else { return };
        // Both cells are examined, so that both are reported.
        let record = self.checked(line, ColumnKey::Record, cell::record(name));
        let bytes = self.checked(line, ColumnKey::Bytes, cell::bytes(bytes));
        if let (Some(record), Some(bytes), LineModule::Known(module)) = (record, bytes, module) {
            self.say(line, ColumnKey::Bytes, module.clone(), RowContent::Record { record, bytes });
        }
    }

    fn read_trouble_code(&mut self, line: &GridLine, module: &LineModule) {
        let Some(code) = self.cell(line, ColumnKey::TroubleCode) else { return };
        let LineModule::Known(module) = module else { return };
        let status = self.cell(line, ColumnKey::Status).map(str::to_owned);
        let what = RowContent::TroubleCode { code: code.to_owned(), status };
        self.say(line, ColumnKey::TroubleCode, module.clone(), what);
    }

    /// Takes in what a line says, unless an earlier one said it or said otherwise.
    fn say(&mut self, line: &GridLine, key: ColumnKey, module: ModuleName, what: RowContent) {
        match self.said.hold(line.line, &module, &what) {
            RowStatus::New => self.found.push(TableRow { line: line.line, module, what }),
            RowStatus::Repeated => self.repeated += 1,
            RowStatus::Contradicts(fault) => self.report(line, key, fault),
        }
    }

    fn checked<T>(&mut self, line: &GridLine, key: ColumnKey, result: Result<T, CellFault>) -> Option<T> {
        result.map_err(|fault| self.report(line, key, fault)).ok()
    }

    fn report(&mut self, line: &GridLine, key: ColumnKey, fault: impl Into<TableFault>) {
        let column = self.columns.name(key);
        self.problems.add(TableProblem { line: Some(line.line), column, fault: fault.into() });
    }
}
