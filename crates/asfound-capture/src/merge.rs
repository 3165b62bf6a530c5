//! Several readings of one moment put together: one file a module, a table beside a file, values typed by hand.

use std::collections::BTreeMap;

use asfound_core::identity::Identity;
use asfound_core::names::{ModuleName, SettingName};
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::sameness::{compare_identity_texts, compare_texts};
use asfound_core::trouble_code::{ReportedCode, StatusError, TroubleCode, TroubleCodeError};
use asfound_core::value::HexBytes;
use thiserror::Error;

use crate::table::{RowContent, SettingCell, TableIdentity, TableReading, printable};

/// Why readings cannot be put together.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MergeError {
    /// Two of them say different things of one matter.
    #[error("{what} is given twice and differs: {first} and {second}")]
    Differs {
        /// The matter.
        what: String,
        /// What one says.
        first: String,
        /// What the other says.
        second: String,
    },
    /// A setting's label is known to no definition, and no name can be made of it.
    #[error("line {line}: no setting of {module} has the label `{}`, and no name can be made of it", printable(text))]
    Label {
        /// The line in the table.
        line: usize,
        /// The label.
        text: String,
        /// The module.
        module: ModuleName,
    },
    /// A trouble code in a table is none.
    #[error("line {line}: {}", printable(&.source.to_string()))]
    Code {
        /// The line in the table.
        line: usize,
        /// What is wrong with it.
        #[source]
        source: TroubleCodeError,
    },
    /// The status of a trouble code in a table is none.
    #[error("line {line}: {}", printable(&.source.to_string()))]
    Status {
        /// The line in the table.
        line: usize,
        /// What is wrong with it.
        #[source]
        source: StatusError,
    },
}

/// Adds what `other` says to `reading`. What both say must be the same; where it is said differently, the first text stands.
///
/// # Errors
/// The first matter in which they differ; `reading` is then half merged and of no use.
pub fn merge(reading: &mut Reading, other: Reading) -> Result<(), MergeError> {
    let Reading { vehicle, taken, by, tool, odometer_km, supply_voltage, situation, modules } = other;
    if let (Some(first), Some(second)) = (&reading.vehicle, &vehicle)
        && first != second
    {
        let what = "the vehicle".to_owned();
        return Err(MergeError::Differs { what, first: format!("{first:?}"), second: format!("{second:?}") });
    }
    reading.vehicle = reading.vehicle.take().or(vehicle);
    // One reading of several files was taken when its last part was.
    reading.taken = reading.taken.max(taken);
    one(&mut reading.by, by, "who read")?;
    one(&mut reading.tool, tool, "the tool")?;
    reading.odometer_km = reading.odometer_km.max(odometer_km);
    reading.supply_voltage = match (reading.supply_voltage.take(), supply_voltage) {
        // The lowest one is what modules may have suffered from.
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    };
    one(&mut reading.situation.engine, situation.engine, "the engine")?;
    one(&mut reading.situation.ignition, situation.ignition, "the ignition")?;
    reading.situation.did_not_answer.extend(situation.did_not_answer);
    for (name, module) in modules {
        merge_module(&name, reading.modules.entry(name.clone()).or_default(), module)?;
    }
    Ok(())
}

fn merge_module(name: &ModuleName, into: &mut ModuleReading, other: ModuleReading) -> Result<(), MergeError> {
    one(&mut into.address, other.address, &format!("the address of {name}"))?;
    identity(&mut into.identity.part_number, other.identity.part_number, &format!("the part number of {name}"))?;
    identity(&mut into.identity.hardware, other.identity.hardware, &format!("the hardware of {name}"))?;
    identity(&mut into.identity.software, other.identity.software, &format!("the software of {name}"))?;
    identity(&mut into.identity.serial, other.identity.serial, &format!("the serial of {name}"))?;
    let to_the_letter = |first: &HexBytes, second: &HexBytes| first == second;
    all(&mut into.records, other.records, to_the_letter, |record| format!("{name} record {record}"))?;
    let said_alike = |first: &String, second: &String| compare_texts(first, second).is_same();
    all(&mut into.settings, other.settings, said_alike, |setting| format!("{name}.{setting}"))?;
    into.refused.extend(other.refused);
    if let Some(codes) = other.trouble_codes {
        let known = into.trouble_codes.get_or_insert_default();
        // A row of a table brings one code: it is looked for. A file brings many: they are looked up.
        let place = |known: &[ReportedCode], code: &TroubleCode| known.iter().position(|earlier| earlier.code == *code);
        let few = codes.len() < 4;
        let listed = if few { &[][..] } else { known.as_slice() };
        let mut places: BTreeMap<TroubleCode, usize> =
            listed.iter().enumerate().map(|(at, reported)| (reported.code.clone(), at)).collect();
        for code in codes {
            match if few { place(known, &code.code) } else { places.get(&code.code).copied() } {
                Some(at) => merge_code(name, &mut known[at], code)?,
                None => {
                    places.insert(code.code.clone(), known.len());
                    known.push(code);
                }
            }
        }
    }
    Ok(())
}

/// One code that two files give: what both say of it must be the same.
fn merge_code(module: &ModuleName, into: &mut ReportedCode, other: ReportedCode) -> Result<(), MergeError> {
    let ReportedCode { code, status, format, occurrences, odometer_km, freeze_frame } = other;
    let what = |part: &str| format!("the {part} of {code} of {module}");
    one(&mut into.status, status, &what("status"))?;
    one(&mut into.format, format, &what("format identifier"))?;
    one(&mut into.occurrences, occurrences, &what("occurrence counter"))?;
    one(&mut into.odometer_km, odometer_km, &what("odometer"))?;
    match (&into.freeze_frame, freeze_frame) {
        (Some(first), Some(second)) if *first != second => {
            let (first, second) = (format!("{first:?}"), format!("{second:?}"));
            Err(MergeError::Differs { what: what("freeze frame"), first, second })
        }
        (None, other) => {
            into.freeze_frame = other;
            Ok(())
        }
        _ => Ok(()),
    }
}

fn one<T: PartialEq + std::fmt::Display>(into: &mut Option<T>, other: Option<T>, what: &str) -> Result<(), MergeError> {
    match (into.as_ref(), other) {
        (Some(first), Some(second)) if *first != second => {
            Err(MergeError::Differs { what: what.to_owned(), first: first.to_string(), second: second.to_string() })
        }
        (None, other) => {
            *into = other;
            Ok(())
        }
        _ => Ok(()),
    }
}

/// A part of an identity; where both give it, in two ways of writing it at most, the first one stands.
fn identity(into: &mut Option<String>, other: Option<String>, what: &str) -> Result<(), MergeError> {
    let alike = |(first, second): (&String, &String)| compare_identity_texts(first, second).is_same();
    if into.as_ref().zip(other.as_ref()).is_some_and(alike) { Ok(()) } else { one(into, other, what) }
}

fn all<K: Ord, V: std::fmt::Display>(
    into: &mut BTreeMap<K, V>,
    other: BTreeMap<K, V>,
    same: impl Fn(&V, &V) -> bool,
    what: impl Fn(&K) -> String,
) -> Result<(), MergeError> {
    for (key, value) in other {
        match into.get(&key) {
            Some(first) if !same(first, &value) => {
                let (first, second) = (first.to_string(), value.to_string());
                return Err(MergeError::Differs { what: what(&key), first, second });
            }
            Some(_) => {}
            None => {
                into.insert(key, value);
            }
        }
    }
    Ok(())
}

/// Turns a table into a reading. `named` finds the setting of a module that has a label.
///
/// # Errors
/// The first row that cannot be taken on, or that contradicts an earlier one.
pub fn reading_of_table(
    table: TableReading,
    named: impl Fn(&ModuleName, &Identity, &str) -> Option<SettingName>,
) -> Result<Reading, MergeError> {
    let mut identities: BTreeMap<ModuleName, Identity> = BTreeMap::new();
    for row in &table.rows {
        if let RowContent::Identity(identity) = &row.what {
            identities.insert(row.module.clone(), identity_of(identity));
        }
    }
    let mut reading = Reading::default();
    for row in table.rows {
        let mut said = ModuleReading::default();
        let (line, module) = (row.line, row.module);
        match row.what {
            RowContent::Setting { setting, value } => {
                let setting = match setting {
                    SettingCell::Name(name) => name,
                    SettingCell::Label { text, slug } => {
                        let identity = identities.get(&module).cloned().unwrap_or_default();
                        let found = named(&module, &identity, &text).or(slug);
                        found.ok_or_else(|| MergeError::Label { line, text, module: module.clone() })?
                    }
                };
                said.settings.insert(setting, value);
            }
            RowContent::Record { record, bytes } => {
                said.records.insert(record, bytes);
            }
            RowContent::Identity(identity) => said.identity = identity_of(&identity),
            RowContent::TroubleCode { code, status } => {
                let code = code.parse().map_err(|source| MergeError::Code { line, source })?;
                let status = status.map(|status| status.parse()).transpose();
                let status = status.map_err(|source| MergeError::Status { line, source })?;
                said.trouble_codes = Some(vec![ReportedCode::new(code, status)]);
            }
        }
        merge_module(&module, reading.modules.entry(module.clone()).or_default(), said)?;
    }
    Ok(reading)
}

fn identity_of(identity: &TableIdentity) -> Identity {
    Identity {
        part_number: identity.part_number.clone(),
        hardware: identity.hardware.clone(),
        software: identity.software.clone(),
        serial: identity.serial.clone(),
    }
}
