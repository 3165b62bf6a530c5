//! `trouble-codes.toml`: the codes of every module as last scanned.

use std::collections::BTreeMap;

use asfound_core::names::EntryNumber;
use asfound_core::state::State;
use asfound_core::trouble_code::ReportedCode;
use serde::Serialize;

#[derive(Serialize)]
struct ScannedModule {
    /// The entry whose reading gave them.
    read_in_entry: EntryNumber,
    codes: Vec<ReportedCode>,
}

/// The file as text; a module that was never scanned is not in it.
pub fn codes_text(state: &State) -> String {
    let scanned: BTreeMap<_, _> = state
        .modules
        .iter()
        .filter_map(|(name, module)| {
            let codes = module.codes.as_ref()?;
            Some((name.to_string(), ScannedModule { read_in_entry: codes.read, codes: codes.codes.clone() }))
        })
        .collect();
    toml::to_string_pretty(&scanned).expect("codes are made of texts and numbers, which TOML can hold")
}
