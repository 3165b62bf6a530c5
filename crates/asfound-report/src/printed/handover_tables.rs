//! The tables of a handover sheet.

use asfound_core::history::Field;

use super::handover::or_nothing;
use super::{Block, Cell, ColumnHead, Grid, GridRows, Mark};
use crate::language::{Language, Numbers};
use crate::page::NOTHING;
use crate::sheet::{
    AccountedBy, IdentityShown, ModuleShown, ProofLevel, RecordVerdict, Sheet, SheetChange, SignatureShown,
    SignatureWorth, WorkShown,
};
use crate::shown::shown;

fn nothing() -> Vec<Block<'static>> {
    vec![Block::Line(NOTHING.to_owned())]
}

/// As found, as left.
pub(super) fn changes<'s>(sheet: &'s Sheet<'_>, language: Language) -> Vec<Block<'s>> {
    let words = language.words();
    if sheet.changes.is_empty() {
        return vec![Block::Line(words.nothing_differs.to_owned())];
    }
    let row = move |change: &SheetChange| {
        let field = change.altered();
        let name = match &change.label {
            Some(label) => Cell::of(shown(label)).and(language.field(&field)),
            None => Cell::of(language.field(&field)),
        };
        let name = match change.undeclared_bits {
            Some(bits) => name.and(format!("{}: {bits}", words.undeclared)),
            None => name,
        };
        let held = |held: Option<&crate::sheet::FieldContent>| {
            held.map_or(NOTHING.to_owned(), |held| language.content(&held.0))
        };
        vec![
            name,
            Cell::of(held(change.found.as_ref())),
            Cell::of(held(change.left.as_ref())),
            proven(change, language),
            account(change, language),
        ]
    };
    vec![Block::Grid(Grid {
        caption: words.found_and_left.to_owned(),
        heads: vec![
            ColumnHead::text(words.setting, 7),
            ColumnHead::text(words.as_found, 4),
            ColumnHead::text(words.as_left, 4),
            ColumnHead::text(words.proven, 4),
            ColumnHead::text(words.accounted_for, 4),
        ],
        rows: GridRows::made(sheet.changes.len(), move |at| row(&sheet.changes[at])),
    })]
}

fn entry_in(language: Language, entry: impl std::fmt::Display) -> String {
    format!("{} {entry}", language.words().entry)
}

fn proven(change: &SheetChange, language: Language) -> Cell {
    let words = language.words();
    match change.level {
        Some(ProofLevel::ReadBack(reading)) => {
            Cell::marked(Mark::Good, words.read_back).and(entry_in(language, reading))
        }
        Some(ProofLevel::PartlyWitnessed(log)) => {
            Cell::marked(Mark::Good, words.partly_witnessed).and(entry_in(language, log))
        }
        Some(ProofLevel::Witnessed(log)) => Cell::marked(Mark::Good, words.witnessed).and(entry_in(language, log)),
        Some(ProofLevel::Stated) => Cell::marked(Mark::Open, words.stated),
        Some(ProofLevel::Contradicted(reading)) => {
            Cell::marked(Mark::Alarm, words.contradicted).and(entry_in(language, reading))
        }
        Some(ProofLevel::Read(reading)) => Cell::marked(Mark::Good, words.as_read).and(entry_in(language, reading)),
        None => Cell::of(NOTHING),
    }
}

fn account(change: &SheetChange, language: Language) -> Cell {
    let words = language.words();
    let cell = match change.account {
        AccountedBy::AsAuthorised => Cell::marked(Mark::Agreed, words.as_authorised),
        AccountedBy::AgreedAfterwards => Cell::marked(Mark::Open, words.agreed_afterwards),
        AccountedBy::WithdrawnSince => Cell::marked(Mark::Open, words.withdrawn_since),
        AccountedBy::WithUnit => Cell::marked(Mark::Agreed, words.with_unit),
        AccountedBy::TakenBack => Cell::marked(Mark::Agreed, words.taken_back),
        AccountedBy::AsRecorded => Cell::marked(Mark::Agreed, words.as_recorded),
        AccountedBy::WithoutAuthority => Cell::marked(Mark::Alarm, words.without_authority),
        AccountedBy::AnotherHand => Cell::marked(Mark::Alarm, words.another_hand),
        AccountedBy::Contradiction => Cell::marked(Mark::Alarm, words.contradiction),
        AccountedBy::CannotTell => Cell::marked(Mark::Open, words.cannot_tell),
    };
    match change.entry {
        Some(entry) => cell.and(entry_in(language, entry)),
        None => cell,
    }
}

/// A verdict for every module.
pub(super) fn verdicts(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    if sheet.modules.is_empty() {
        return nothing();
    }
    let rows = sheet.modules.iter().map(|module| {
        let sum = |of: fn(&crate::sheet::RecordShown) -> usize| {
            language.whole(module.records.iter().map(of).sum::<usize>() as u64)
        };
        vec![
            named(module),
            verdict(module, sheet.is_judged_by_orders(), language),
            Cell::of(sum(|record| record.bytes_compared)),
            Cell::of(sum(|record| record.bytes_volatile)),
            Cell::of(sum(|record| record.undeclared_bits as usize)),
        ]
    });
    // Most often all modules were read at the same two moments, and a column would say the same in every row.
    let mut between: Vec<String> = sheet.modules.iter().map(readings).collect();
    let rows: Vec<Vec<Cell>> = rows.collect();
    between.dedup();
    let alike = between.len() == 1;
    let mut heads = vec![
        ColumnHead::text(words.module, 8),
        ColumnHead::text(words.verdict, 12),
        ColumnHead::figures(words.bytes, 3),
        ColumnHead::figures(words.volatile, 3),
        ColumnHead::figures(words.undeclared, 3),
    ];
    if !alike {
        heads.push(ColumnHead::text(words.readings, 4));
    }
    let rows = rows.into_iter().zip(&sheet.modules).map(|(mut row, module)| {
        row.extend((!alike).then(|| Cell::of(readings(module))));
        row
    });
    let grid = Block::Grid(Grid { caption: words.not_touched.to_owned(), heads, rows: rows.collect() });
    let line = alike.then(|| Block::Line(format!("{}: {}", words.readings, between.concat())));
    line.into_iter().chain([grid]).collect()
}

/// A module with what it says of itself, where that did not change: what did has a table of its own.
fn named(module: &ModuleShown) -> Cell {
    let name = Cell::of(module.module.to_string());
    let IdentityShown { part_number, hardware, software, serial } = &module.left;
    let parts: Vec<String> =
        [part_number, hardware, software, serial].into_iter().flatten().map(|part| shown(part)).collect();
    if module.renewed || parts.is_empty() { name } else { name.and(parts.join(" · ")) }
}

/// One line for every verdict that a module's records have.
fn verdict(module: &ModuleShown, by_order: bool, language: Language) -> Cell {
    let of = |verdict| module.records.iter().filter(move |record| record.verdict == verdict);
    let count = |verdict| of(verdict).count();
    let same_bytes = of(RecordVerdict::Same).map(|record| record.bytes_compared).sum();
    let lines = [
        (RecordVerdict::ChangedOtherwise, Mark::Alarm),
        (RecordVerdict::CannotTell, Mark::Open),
        (RecordVerdict::ChangedAsAgreed, Mark::Agreed),
        (RecordVerdict::Same, Mark::Good),
        (RecordVerdict::OnlyVolatile, Mark::Open),
        (RecordVerdict::NotRead, Mark::Open),
        (RecordVerdict::Refused, Mark::Open),
    ];
    let mut cell = Cell::default();
    for (verdict, mark) in lines {
        let records = count(verdict);
        if records == 0 {
            continue;
        }
        let text = match verdict {
            RecordVerdict::Same => language.same(records, same_bytes),
            RecordVerdict::ChangedAsAgreed => language.changed_as_agreed(records, by_order),
            RecordVerdict::ChangedOtherwise => language.changed_otherwise(records),
            RecordVerdict::CannotTell => language.cannot_tell(records),
            RecordVerdict::OnlyVolatile => language.only_volatile(records),
            RecordVerdict::NotRead => language.not_read(records),
            RecordVerdict::Refused => language.refused(records),
        };
        cell.lines.extend(Cell::marked(mark, text).lines);
    }
    if cell.lines.is_empty() { Cell::marked(Mark::Open, language.words().nothing_known) } else { cell }
}

/// The readings between which a module's records were compared.
fn readings(module: &ModuleShown) -> String {
    let list = |of: fn(&crate::sheet::RecordShown) -> Option<asfound_core::names::EntryNumber>| {
        let all: std::collections::BTreeSet<_> = module.records.iter().filter_map(of).collect();
        let all: Vec<String> = all.iter().map(ToString::to_string).collect();
        if all.is_empty() { NOTHING.to_owned() } else { all.join(", ") }
    };
    format!("{} → {}", list(|record| record.read_as_found), list(|record| record.read_as_left))
}

/// The entries, in their order.
pub(super) fn work<'s>(sheet: &'s Sheet<'_>, language: Language) -> Vec<Block<'s>> {
    let words = language.words();
    let row = move |line: &WorkShown<'_>| {
        let mut what = Cell::of(line.role.map_or_else(|| language.kind(line.kind), |role| language.reading(role)));
        if line.never_made {
            what = what.and(words.never_made);
        }
        for altered in &line.altered {
            let found = altered.step.found.as_ref().map_or("?".to_owned(), |found| language.content(found));
            let left = language.content(&altered.step.left);
            what = what.and(match altered.field {
                Field::Undeclared { .. } => {
                    language.altered(altered.field, altered.step.found.as_ref(), Some(&altered.step.left))
                }
                Field::Setting(_) => format!("{} {found} → {left}", language.field(&altered.field.to_string())),
            });
        }
        vec![
            Cell::of(line.entry.to_string()),
            Cell::of(language.moment(line.at)),
            what,
            Cell::of(shown(&line.by)),
            Cell::of(language.reason(&line.why, line.plain_why.as_deref())),
        ]
    };
    vec![Block::Grid(Grid {
        caption: words.work_done.to_owned(),
        heads: vec![
            ColumnHead::figures(words.entry, 4),
            ColumnHead::text(words.date_and_time, 13),
            ColumnHead::text(words.what, 20),
            ColumnHead::text(words.by, 7),
            ColumnHead::text(words.why, 12),
        ],
        rows: GridRows::made(sheet.work.len(), move |at| row(&sheet.work[at])),
    })]
}

/// Hardware and software of every module, before and after.
pub(super) fn identities(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    if !sheet.modules.iter().any(|module| module.renewed) {
        return nothing();
    }
    let rows = sheet.modules.iter().filter(|module| module.renewed).map(|module| {
        let part = |of: fn(&IdentityShown) -> Option<&String>| {
            let (found, left) = (of(&module.found), of(&module.left));
            match (found, left) {
                (Some(found), Some(left)) if found != left => {
                    Cell::marked(Mark::Alarm, format!("{} → {}", shown(found), shown(left)))
                }
                _ => Cell::of(or_nothing(left.or(found).map(String::as_str))),
            }
        };
        vec![
            Cell::of(module.module.to_string()),
            Cell::of(or_nothing(module.address.as_deref())),
            part(|identity| identity.part_number.as_ref()),
            part(|identity| identity.hardware.as_ref()),
            part(|identity| identity.software.as_ref()),
            part(|identity| identity.serial.as_ref()),
        ]
    });
    vec![Block::Grid(Grid {
        caption: words.hardware_and_software.to_owned(),
        heads: vec![
            ColumnHead::text(words.module, 4),
            ColumnHead::text(words.address, 3),
            ColumnHead::text(words.part_number, 5),
            ColumnHead::text(words.hardware, 4),
            ColumnHead::text(words.software, 4),
            ColumnHead::text(words.serial, 5),
        ],
        rows: rows.collect(),
    })]
}

/// Corrections beside what they correct.
pub(super) fn amendments(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    if sheet.amendments.is_empty() {
        return nothing();
    }
    let rows = sheet.amendments.iter().map(|one| {
        let right = match (&one.words, one.never_made) {
            (Some(text), _) => shown(text),
            (None, true) => words.never_made.to_owned(),
            (None, false) => shown(&one.why),
        };
        vec![
            Cell::of(one.corrects.to_string()),
            Cell::of(shown(&one.original)),
            Cell::of(right),
            Cell::of(shown(&one.by)).and(format!("{}, {}", entry_in(language, one.entry), language.date(one.at))),
        ]
    });
    vec![Block::Grid(Grid {
        caption: words.amendments.to_owned(),
        heads: vec![
            ColumnHead::figures(words.corrects, 2),
            ColumnHead::text(words.original, 5),
            ColumnHead::text(words.should_be, 5),
            ColumnHead::text(words.by, 4),
        ],
        rows: rows.collect(),
    })]
}

/// Name, time and meaning of every signature.
pub(super) fn signatures<'s>(sheet: &'s Sheet<'_>, language: Language) -> Block<'s> {
    let words = language.words();
    let row = move |one: &SignatureShown| {
        let (mark, worth) = match one.standing {
            SignatureWorth::Good => (Mark::Good, words.signed_good),
            SignatureWorth::ForAnother => (Mark::Alarm, words.signed_for_another),
            SignatureWorth::Unknown => (Mark::Open, words.signed_unknown),
            SignatureWorth::Bad => (Mark::Alarm, words.signed_bad),
            SignatureWorth::Unsigned => (Mark::Open, words.signed_not),
        };
        let mut worth = Cell::marked(mark, worth);
        if let Some(signer) = &one.signer {
            worth = worth.and(shown(signer));
        }
        let meaning = match one.meaning {
            "made" => words.meaning_made,
            "read" => words.meaning_read,
            "released" => words.meaning_released,
            _ => words.meaning_stated,
        };
        vec![
            Cell::of(one.entry.to_string()),
            Cell::of(language.moment(one.at)),
            Cell::of(shown(&one.name)),
            Cell::of(meaning),
            match &one.key {
                Some(key) => worth.and(shown(key)),
                None => worth,
            },
        ]
    };
    Block::Grid(Grid {
        caption: words.signatures.to_owned(),
        heads: vec![
            ColumnHead::figures(words.entry, 4),
            ColumnHead::text(words.date_and_time, 17),
            ColumnHead::text(words.name, 9),
            ColumnHead::text(words.meaning, 10),
            ColumnHead::text(words.signature, 16),
        ],
        rows: GridRows::made(sheet.signatures.len(), move |at| row(&sheet.signatures[at])),
    })
}
