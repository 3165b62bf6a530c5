//! Trouble codes and trials on a handover sheet.

use std::collections::BTreeMap;

use asfound_core::names::ModuleName;
use asfound_core::trouble_code::ReportedCode;

use super::handover::or_nothing;
use super::{Block, Cell, ColumnHead, Grid, GridRows, Mark};
use crate::language::{Language, Numbers};
use crate::page::NOTHING;
use crate::sheet::{CodeShown, CodesShown, ScanShown, Sheet, TrialShown, TrialWord};
use crate::shown::shown;

/// Every code with what the readings hold of it, then the modules without any.
pub(super) fn codes(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let mut rows = Vec::new();
    for module in &sheet.codes {
        for (list, mark, word) in [
            (&module.new, Some(Mark::Alarm), words.new),
            (&module.there_before, None, words.there_before),
            (&module.gone, None, words.gone),
            (&module.last_known, Some(Mark::Open), words.codes_not_examined),
        ] {
            for code in list {
                let standing = mark.map_or_else(|| Cell::of(word), |mark| Cell::marked(mark, word));
                rows.push(row(module, code, standing, language));
            }
        }
    }
    let mut blocks = Vec::new();
    if !rows.is_empty() {
        blocks.push(Block::Grid(Grid {
            caption: words.trouble_codes.to_owned(),
            heads: vec![
                ColumnHead::text(words.code, 4),
                ColumnHead::text(words.before_and_after, 5),
                ColumnHead::text(words.status, 6),
                ColumnHead::text(words.seen, 9),
                ColumnHead::text(words.stored_with_it, 7),
            ],
            rows: rows.into(),
        }));
    }
    let modules = |wanted: &dyn Fn(&CodesShown) -> bool| {
        let names = sheet.codes.iter().filter(|codes| wanted(codes)).map(|codes| &codes.module);
        or_nothing(Some(&listed(names)))
    };
    let none = |codes: &CodesShown| {
        codes.examined && codes.new.is_empty() && codes.there_before.is_empty() && codes.gone.is_empty()
    };
    blocks.push(Block::Pairs(vec![
        (words.no_codes.to_owned(), modules(&none)),
        (words.not_scanned.to_owned(), modules(&|codes| !codes.examined)),
    ]));
    blocks
}

fn listed<'m>(modules: impl IntoIterator<Item = &'m ModuleName>) -> String {
    modules.into_iter().map(ModuleName::as_str).collect::<Vec<_>>().join(", ")
}

fn row(module: &CodesShown, code: &CodeShown, standing: Cell, language: Language) -> Vec<Cell> {
    let words = language.words();
    let status = |reported: &Option<ReportedCode>| reported.as_ref().and_then(|reported| reported.status);
    let (before, after) = (status(&code.found), status(&code.left));
    let said = match (before, after) {
        (_, Some(after)) => Cell::of(language.status(after)),
        (Some(before), None) => Cell::of(language.status(before)),
        (None, None) => Cell::of(NOTHING),
    };
    let said = match (before, after) {
        (Some(before), Some(after)) if before != after => said.and(format!("{}: {before}", words.status_before)),
        _ => said,
    };
    let at = |seen: &ScanShown| format!("{} {}, {}", words.of_entry, seen.entry, language.date(seen.at));
    let seen = match (&code.first_seen, &code.last_seen) {
        (Some(first), Some(last)) if first.entry != last.entry => {
            let mut cell = Cell::of(format!("{} {}", words.first, at(first)));
            cell.lines.extend(Cell::of(format!("{} {}", words.last, at(last))).lines);
            cell
        }
        (Some(only), _) | (_, Some(only)) => Cell::of(at(only)),
        (None, None) => Cell::of(NOTHING),
    };
    vec![
        Cell::of(shown(&code.code.to_string())).and(module.module.to_string()),
        standing,
        said,
        seen,
        stored(code, language),
    ]
}

/// What the module stored with a code: its counter, its odometer, its freeze frame.
fn stored(code: &CodeShown, language: Language) -> Cell {
    let words = language.words();
    let mut lines: Vec<String> = Vec::new();
    let count = |reported: &Option<ReportedCode>| reported.as_ref().and_then(|reported| reported.occurrences);
    match (count(&code.found), count(&code.left)) {
        (Some(before), Some(after)) if before != after => {
            lines.push(format!("{} {} → {}", words.counted, language.whole(before), language.whole(after)));
        }
        (before, after) => {
            lines.extend(after.or(before).map(|count| format!("{} {}", words.counted, language.whole(count))));
        }
    }
    if let Some(reported) = code.left.as_ref().or(code.found.as_ref()) {
        lines.extend(reported.odometer_km.map(|km| format!("{} km", language.whole(km))));
        if let Some(frame) = &reported.freeze_frame {
            lines.extend(frame.values.iter().map(|(name, value)| format!("{name} {}", shown(value))));
            lines.extend(frame.raw.as_ref().map(|raw| format!("{} {raw}", words.freeze_frame)));
        }
    }
    if lines.is_empty() {
        return Cell::of(NOTHING);
    }
    let mut cell = Cell::default();
    lines.into_iter().for_each(|line| cell.lines.extend(Cell::of(line).lines));
    cell
}

/// How the work stands its trial; entries that stand alike in one row.
pub(super) fn trials<'s>(sheet: &'s Sheet<'_>, language: Language) -> Vec<Block<'s>> {
    let words = language.words();
    if sheet.trials.is_empty() {
        return vec![Block::Line(NOTHING.to_owned())];
    }
    let (mut alike, mut places): (Vec<Vec<usize>>, BTreeMap<_, usize>) = (Vec::new(), BTreeMap::new());
    for (at, trial) in sheet.trials.iter().enumerate() {
        let key = (trial.state, trial.by, &trial.to_read, &trial.to_scan, &trial.new_codes);
        let place = *places.entry(key).or_insert(alike.len());
        match alike.get_mut(place) {
            Some(others) => others.push(at),
            None => alike.push(vec![at]),
        }
    }
    let row = move |alike: &[usize]| {
        let entries: Vec<String> = alike.iter().map(|at| sheet.trials[*at].entry.to_string()).collect();
        let trial = &sheet.trials[alike[0]];
        let (mark, word) = match trial.state {
            TrialWord::Open => (Mark::Open, words.trial_open),
            TrialWord::Held => (Mark::Good, words.trial_held),
            TrialWord::NotHeld => (Mark::Alarm, words.trial_not_held),
            TrialWord::TakenOver => (Mark::Agreed, words.trial_taken_over),
        };
        let state = Cell::marked(mark, word);
        let state = match trial.by {
            Some(entry) => state.and(format!("{} {entry}", words.entry)),
            None => state,
        };
        vec![Cell::of(entries.join(", ")), state, needed(trial, language)]
    };
    vec![Block::Grid(Grid {
        caption: words.on_trial.to_owned(),
        heads: vec![
            ColumnHead::text(words.work_of_entry, 3),
            ColumnHead::text(words.trial_stands, 5),
            ColumnHead::text(words.still_needed, 12),
        ],
        rows: GridRows::made(alike.len(), move |at| row(&alike[at])),
    })]
}

fn needed(trial: &TrialShown, language: Language) -> Cell {
    let words = language.words();
    let mut cell = Cell::default();
    let both: Vec<&ModuleName> = trial.to_read.iter().filter(|module| trial.to_scan.contains(module)).collect();
    let read = trial.to_read.iter().filter(|module| !both.contains(module)).collect();
    let scan = trial.to_scan.iter().filter(|module| !both.contains(module)).collect();
    for (modules, word) in
        [(both.clone(), words.read_and_scan), (read, words.read_after_drive), (scan, words.scan_after_drive)]
    {
        if !modules.is_empty() {
            cell.lines.extend(Cell::of(format!("{word}: {}", listed(modules))).lines);
        }
    }
    for new in &trial.new_codes {
        let word = if new.scanned_before { words.code_since } else { words.code_of_unknown_age };
        let text = format!("{word}: {} {}", new.module, shown(&new.code.to_string()));
        cell.lines.extend(Cell::marked(Mark::Alarm, text).lines);
        cell = cell.and(format!("{} {}", words.entry, new.reading));
    }
    if cell.lines.is_empty() { Cell::of(NOTHING) } else { cell }
}
