//! What a table says twice.

use std::collections::HashMap;

use asfound_core::names::{ModuleName, RecordName};
use asfound_core::sameness::compare_texts;
use asfound_core::trouble_code::TroubleCode;

use super::reading::{RowContent, SettingCell};
use super::rows::RowFault;

/// What a row is about, within its module.
#[derive(PartialEq, Eq, Hash)]
enum Subject {
    Setting(String),
    Record(RecordName),
    TroubleCode(String),
}

/// What was said of each subject, and on which line.
#[derive(Default)]
pub(super) struct SubjectsSeen {
    rows: HashMap<(ModuleName, Subject), (usize, RowContent)>,
}

/// How a row stands to the earlier ones.
pub(super) enum RowStatus {
    /// The first of its subject.
    New,
    /// An earlier line says the same.
    Repeated,
    /// An earlier line says otherwise.
    Contradicts(RowFault),
}

impl SubjectsSeen {
    /// Holds a row against the earlier ones, and remembers it where it is the first of its subject.
    pub(super) fn hold(&mut self, line: usize, module: &ModuleName, what: &RowContent) -> RowStatus {
        let Some(subject) = subject(what) else { return RowStatus::New };
        let key = (module.clone(), subject);
        let Some((first_line, first)) = self.rows.get(&key) else {
            self.rows.insert(key, (line, what.clone()));
            return RowStatus::New;
        };
        let (first_name, first_said) = told(first);
        let (name, said) = told(what);
        // Two labels can come to one name and yet be two settings: `Wiper +` and `Wiper -`.
        if !matches!(what, RowContent::TroubleCode { .. }) && folded(&first_name) != folded(&name) {
            return RowStatus::Contradicts(RowFault::SameName { line: *first_line, first: first_name, second: name });
        }
        if first_said == said || said_alike(first, what) {
            return RowStatus::Repeated;
        }
        let module = module.clone();
        RowStatus::Contradicts(RowFault::Twice { module, name, line: *first_line, first: first_said, second: said })
    }
}

/// Whether two rows of one setting give one value, written alike or not.
fn said_alike(first: &RowContent, second: &RowContent) -> bool {
    match (first, second) {
        (RowContent::Setting { value: first, .. }, RowContent::Setting { value: second, .. }) => {
            compare_texts(first, second).is_same()
        }
        _ => false,
    }
}

/// What a row is about; identities are gathered elsewhere.
fn subject(what: &RowContent) -> Option<Subject> {
    match what {
        RowContent::Setting { setting, .. } => Some(Subject::Setting(match setting.name() {
            Some(name) => name.to_string(),
            None => folded(setting.as_str()),
        })),
        RowContent::Record { record, .. } => Some(Subject::Record(record.clone())),
        RowContent::TroubleCode { code, .. } => Some(Subject::TroubleCode(match code.parse::<TroubleCode>() {
            Ok(code) if code.base().is_some() => code.to_string(),
            _ => folded(code),
        })),
        RowContent::Identity(_) => None,
    }
}

/// The name and the content of a row, as a message shows them.
fn told(what: &RowContent) -> (String, String) {
    match what {
        RowContent::Setting { setting: SettingCell::Name(name), value } => (name.to_string(), value.clone()),
        RowContent::Setting { setting: SettingCell::Label { text, .. }, value } => (text.clone(), value.clone()),
        RowContent::Record { record, bytes } => (record.to_string(), bytes.to_string()),
        RowContent::TroubleCode { code, status } => (code.clone(), status.clone().unwrap_or_default()),
        RowContent::Identity(_) => (String::new(), String::new()),
    }
}

/// Text without case and without the kind of white space in it.
fn folded(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}
