//! From the keys of a mapping to the columns of a table.

use std::collections::BTreeMap;

use asfound_core::names::ModuleName;
use thiserror::Error;

use super::column::{ColumnKey, ColumnPlace};
use super::example::example_columns;
use super::mapping::{ColumnMapping, MappingError};
use super::nearest::nearest;
use super::options::TableOptions;
use super::printable::{listed, shortened};

/// Why the header line and the column mapping do not go together.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum HeaderFault {
    /// The mapping names a header that is not there.
    #[error("there is no column `{}` for `{key}`; the headers are {}", shortened(.name), listed(.found))]
    Missing {
        /// The key that names it.
        key: ColumnKey,
        /// The header that was looked for.
        name: String,
        /// The headers that are there.
        found: Vec<String>,
        /// The header that was probably meant.
        near: Option<String>,
    },
    /// The mapping names a column past the last one.
    #[error("there is no column #{number} for `{key}`: the header line has {columns}")]
    Number {
        /// The key that names it.
        key: ColumnKey,
        /// The number given.
        number: usize,
        /// How many columns there are.
        columns: usize,
    },
    /// Several columns have the header.
    #[error("`{}` for `{key}` is the header of several columns: #{} and #{}", shortened(.name), .places.0, .places.1)]
    Ambiguous {
        /// The key that names it.
        key: ColumnKey,
        /// The header.
        name: String,
        /// The numbers of the first two columns that have it.
        places: (usize, usize),
    },
    /// Two keys lead to one column.
    #[error("`{first}` and `{second}` are both taken from column #{number}")]
    Shared {
        /// One key.
        first: ColumnKey,
        /// The other key.
        second: ColumnKey,
        /// The number of the column.
        number: usize,
    },
    /// There is no mapping, and the headers do not say it themselves.
    #[error(
        "no column mapping is given, and the headers do not make one: {}{}", listed(.found),
        match .because { Some(why) => format!(" ({why})"), None => String::new() }
    )]
    Unmapped {
        /// The headers that are there.
        found: Vec<String>,
        /// What is wrong with the mapping that the headers make, where some of them are keys.
        because: Option<MappingError>,
        /// A mapping made of these headers, to show how one is written.
        example: Option<String>,
    },
    /// Nothing says which module a row is about.
    #[error("nothing says which module a row is about")]
    NoModule,
    /// Both a column and the caller say which module a row is about.
    #[error("column #{number} names the module of each row, and `{module}` is given for all of them")]
    TwoModules {
        /// The number of the module column.
        number: usize,
        /// The module given for all rows.
        module: ModuleName,
    },
}

impl HeaderFault {
    /// What to do about it.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Missing { near, .. } => near.as_ref().map(|near| format!("did you mean `{}`?", shortened(near))),
            Self::Number { .. } => Some("columns are numbered from #1".into()),
            Self::Ambiguous { key, places: (first, second), .. } => {
                Some(format!("say which one by its number: {key}=#{first} or {key}=#{second}"))
            }
            Self::Shared { .. } => Some("give each key a column of its own".into()),
            Self::Unmapped { example: Some(example), .. } => {
                Some(format!("say which column holds what, for example: --columns {example}"))
            }
            Self::Unmapped { .. } => Some("say which column holds what with --columns".into()),
            Self::NoModule => Some("map a column to module, or give one module for all rows with --module".into()),
            Self::TwoModules { .. } => Some("leave out --module, or map the columns without module".into()),
        }
    }
}

/// The header line with the columns that are to be read.
pub(super) struct Columns {
    headers: Vec<String>,
    places: BTreeMap<ColumnKey, usize>,
}

impl Columns {
    /// The number of columns in the header line.
    pub(super) fn width(&self) -> usize {
        self.headers.len()
    }

    /// The index of the column that holds `key`.
    pub(super) fn index(&self, key: ColumnKey) -> Option<usize> {
        self.places.get(&key).copied()
    }

    /// The column that holds `key`, as a message names it.
    pub(super) fn name(&self, key: ColumnKey) -> Option<String> {
        let index = self.index(key)?;
        Some(match self.headers[index].as_str() {
            "" => format!("#{}", index + 1),
            header => header.to_owned(),
        })
    }

    /// Finds the columns of the mapping that was given, or else of the mapping that the headers say literally.
    pub(super) fn find(
        headers: Vec<String>,
        options: &TableOptions,
    ) -> Result<(Self, ColumnMapping), Vec<HeaderFault>> {
        let mapping = match &options.columns {
            Some(mapping) => mapping.clone(),
            None => literal(&headers, options).map_err(|fault| vec![fault])?,
        };
        let mut faults = Vec::new();
        let mut places: BTreeMap<ColumnKey, usize> = BTreeMap::new();
        for (key, place) in mapping.iter() {
            match find_one(&headers, key, place) {
                Err(fault) => faults.push(fault),
                Ok(index) => match places.iter().find(|(_, taken)| **taken == index) {
                    Some((first, _)) => {
                        faults.push(HeaderFault::Shared { first: *first, second: key, number: index + 1 });
                    }
                    None => {
                        places.insert(key, index);
                    }
                },
            }
        }
        if options.lacks_module(&mapping) && !mapping.only_settings() {
            faults.push(HeaderFault::NoModule);
        }
        if let (Some(index), Some(module)) = (places.get(&ColumnKey::Module), &options.module) {
            faults.push(HeaderFault::TwoModules { number: index + 1, module: module.clone() });
        }
        if faults.is_empty() { Ok((Self { headers, places }, mapping)) } else { Err(faults) }
    }
}

/// The mapping of headers that are keys themselves.
fn literal(headers: &[String], options: &TableOptions) -> Result<ColumnMapping, HeaderFault> {
    let mut places = BTreeMap::new();
    for (index, header) in headers.iter().enumerate() {
        let Some(key) = ColumnKey::of_header(header) else { continue };
        if let Some(ColumnPlace::Number(first)) = places.insert(key, ColumnPlace::Number(index + 1)) {
            return Err(HeaderFault::Ambiguous { key, name: header.clone(), places: (first, index + 1) });
        }
    }
    // Numbers found the doubles; what is kept is the headers, which also fit the same table with another column.
    for place in places.values_mut() {
        if let ColumnPlace::Number(number) = *place {
            *place = ColumnPlace::Header(headers[number - 1].clone());
        }
    }
    ColumnMapping::try_from(places).map_err(|why| HeaderFault::Unmapped {
        found: headers.to_vec(),
        because: (why != MappingError::Empty).then_some(why),
        example: example_columns(headers, options.module.is_some()),
    })
}

/// The index of one column.
fn find_one(headers: &[String], key: ColumnKey, place: &ColumnPlace) -> Result<usize, HeaderFault> {
    let name = match place {
        ColumnPlace::Number(number) if *number <= headers.len() => return Ok(number.saturating_sub(1)),
        ColumnPlace::Number(number) => {
            return Err(HeaderFault::Number { key, number: *number, columns: headers.len() });
        }
        ColumnPlace::Header(name) => name,
    };
    let found = |same: &dyn Fn(&str) -> bool| -> Vec<usize> {
        headers.iter().enumerate().filter(|(_, header)| same(header)).map(|(index, _)| index).collect()
    };
    // Headers that differ in case alone can still be told apart by writing them exactly.
    let exact = found(&|header| header == name);
    let found = if exact.len() == 1 { exact } else { found(&|header| folded(header) == folded(name)) };
    match found[..] {
        [index] => Ok(index),
        [first, second, ..] => Err(HeaderFault::Ambiguous { key, name: name.clone(), places: (first + 1, second + 1) }),
        [] => Err(HeaderFault::Missing {
            key,
            name: name.clone(),
            found: headers.to_vec(),
            near: nearest(name, headers.iter().map(String::as_str)).map(str::to_owned),
        }),
    }
}

/// A header without case and without the kind of white space in it.
fn folded(header: &str) -> String {
    header.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn find(headers: &[&str], columns: Option<&str>, module: Option<&str>) -> Result<Vec<usize>, Vec<HeaderFault>> {
        let options = TableOptions {
            columns: columns.map(|text| text.parse().unwrap()),
            module: module.map(|text| text.parse().unwrap()),
            ..TableOptions::default()
        };
        let headers = headers.iter().map(|&header| header.to_owned()).collect();
        Columns::find(headers, &options).map(|(columns, _)| columns.places.into_values().collect())
    }

    fn faults(headers: &[&str], columns: Option<&str>, module: Option<&str>) -> Vec<(String, Option<String>)> {
        let faults = find(headers, columns, module).unwrap_err();
        faults.into_iter().map(|fault| (fault.to_string(), fault.hint())).collect()
    }

    #[test]
    fn finds_columns_by_header_and_number() {
        let headers = ["ECU", "Control  name", "", "DID", "did"];
        assert_eq!(find(&headers, Some("module=ecu,setting=control name,value=#3"), None), Ok(vec![0, 1, 2]));
        assert_eq!(find(&headers, Some("module=ECU,serial=did"), None), Ok(vec![0, 4]));
        assert_eq!(find(&["Module", "SETTING", "Note", "value"], None, None), Ok(vec![0, 1, 3]));
        assert_eq!(find(&["Part number", "Trouble-Code"], None, Some("body")), Ok(vec![0, 1]));
        assert_eq!(find(&["setting", "value"], None, None), Ok(vec![0, 1]));
    }

    #[test]
    fn every_column_that_is_not_there_is_reported() {
        let faults = faults(&["ECU", "Name", "Value"], Some("module=ECU,setting=Nmae,value=#4"), None);
        assert_eq!(
            faults,
            [
                (
                    "there is no column `Nmae` for `setting`; the headers are `ECU`, `Name`, `Value`".to_owned(),
                    Some("did you mean `Name`?".to_owned())
                ),
                (
                    "there is no column #4 for `value`: the header line has 3".to_owned(),
                    Some("columns are numbered from #1".to_owned())
                ),
            ]
        );
    }

    #[test]
    fn columns_are_never_mixed_up() {
        let twice = find(&["Name", "A", "name"], Some("setting=NAME,value=A"), None).unwrap_err();
        assert!(matches!(twice[..], [HeaderFault::Ambiguous { places: (1, 3), .. }]), "{twice:?}");
        let twice = find(&["setting", "value", "Value"], None, None).unwrap_err();
        assert!(matches!(twice[..], [HeaderFault::Ambiguous { places: (2, 3), .. }]), "{twice:?}");
        let shared = find(&["A", "B"], Some("setting=A,value=#1"), None).unwrap_err();
        assert!(matches!(shared[..], [HeaderFault::Shared { number: 1, .. }]), "{shared:?}");
    }

    #[test]
    fn nothing_is_guessed_but_an_example_is_shown() {
        assert_eq!(
            faults(&["ECU", "Name", "Value"], None, None),
            [(
                "no column mapping is given, and the headers do not make one: `ECU`, `Name`, `Value` (a column for `value` \
                 makes no sense without one for `setting`)"
                    .to_owned(),
                Some("say which column holds what, for example: --columns module=ECU,setting=Name,value=Value".to_owned())
            )]
        );
        assert_eq!(
            faults(&["Unit", "Key"], None, None)[0].0,
            "no column mapping is given, and the headers do not make one: `Unit`, `Key`"
        );
    }

    #[test]
    fn one_source_says_the_module() {
        assert_eq!(find(&["record", "bytes"], None, None), Err(vec![HeaderFault::NoModule]));
        assert_eq!(find(&["record", "bytes"], None, Some("body")), Ok(vec![0, 1]));
        let two = find(&["module", "record", "bytes"], None, Some("body")).unwrap_err();
        assert!(matches!(two[..], [HeaderFault::TwoModules { number: 1, .. }]), "{two:?}");
    }
}
