//! A handover sheet, in words.

use super::front::front;
use super::handover_codes as with_codes;
use super::handover_tables as tables;
use super::{Block, Cell, ColumnHead, Grid, GridRows, Logo, Mark, Printed, PrintedPart};
use crate::language::{Language, Numbers};
use crate::page::NOTHING;
use crate::qr::TooLong;
use crate::sheet::{AccountedBy, Agreement, Conditions, SettingShown, Sheet};
use crate::shown::shown;

/// Puts a sheet into words.
///
/// # Errors
/// When its seal is too long for a QR code, which no seal is.
pub fn handover<'s>(sheet: &'s Sheet<'_>, language: Language, logo: Option<Logo>) -> Result<Printed<'s>, TooLong> {
    let words = language.words();
    let vehicle = &sheet.vehicle;
    let mut about = vec![vehicle.tag.to_string()];
    about.extend(vehicle.vin.as_ref().map(|vin| format!("{} {vin}", words.vin)));
    about.extend(vehicle.about.as_deref().map(shown));
    let letterhead = sheet.workshop.name.iter().chain(&sheet.workshop.address).map(|line| shown(line)).collect();
    let part = PrintedPart::new;
    let mut parts = front(sheet, language)?;
    parts.extend([
        part(words.in_short, in_short(sheet, language)),
        part(words.asked_and_agreed, agreed(sheet, language)),
        part(words.found_and_left, tables::changes(sheet, language)),
        part(words.noticed, noticed(sheet, language)),
        part(words.not_touched, tables::verdicts(sheet, language)),
        part(words.unchanged, unchanged(sheet, language)),
        part(words.trouble_codes, with_codes::codes(sheet, language)),
        part(words.work_done, tables::work(sheet, language)),
        part(words.on_trial, with_codes::trials(sheet, language)),
        part(words.hardware_and_software, tables::identities(sheet, language)),
        part(words.vehicle_and_conditions, conditions(sheet, language)),
        part(words.cautions, cautions(sheet, language)),
        part(words.amendments, tables::amendments(sheet, language)),
        part(words.limits, limits(sheet, language)),
        part(words.signatures, signatures(sheet, language)),
        part(words.seal, seal(sheet, language)),
        part(words.how_to_check, how_to_check(sheet, language)),
    ]);
    Ok(Printed {
        language,
        at: sheet.printed,
        title: words.sheet.to_owned(),
        about: about.join(" · "),
        letterhead,
        logo,
        number: sheet.number.clone(),
        parts,
        footer: sheet.workshop.footer.as_deref().map(shown),
        end: format!("{} {}", words.end, sheet.number),
    })
}

/// The text, or the sign for nothing.
pub(super) fn or_nothing(text: Option<&str>) -> String {
    text.map(shown).filter(|text| !text.trim().is_empty()).unwrap_or_else(|| NOTHING.to_owned())
}

/// Whether somebody altered it whom nobody asked to.
fn accuses(account: AccountedBy) -> bool {
    !account.is_accounted_for() && account != AccountedBy::CannotTell
}

fn in_short(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let totals = &sheet.totals;
    let mark = if totals.records_compared() == 0 {
        Mark::Open
    } else if totals.changed_otherwise > 0 || sheet.changes.iter().any(|change| accuses(change.account)) {
        Mark::Alarm
    } else if sheet.changes.iter().any(|change| change.account == AccountedBy::CannotTell) {
        Mark::Open
    } else {
        Mark::Good
    };
    vec![
        Block::Claim(mark, language.claim(sheet)),
        Block::Pairs(vec![
            (words.sheet_number.to_owned(), sheet.number.clone()),
            (words.printed.to_owned(), language.moment(sheet.printed)),
            (words.customer.to_owned(), or_nothing(sheet.customer.as_deref())),
            (words.order.to_owned(), listed(sheet.agreements.iter().map(|one| one.order.clone()).collect())),
            (words.workshop.to_owned(), or_nothing(sheet.workshop.name.as_deref())),
            (words.licence.to_owned(), or_nothing(sheet.workshop.licence.as_deref())),
        ]),
    ]
}

fn agreed(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let systems: Vec<String> = sheet.systems.iter().map(|tag| language.system(*tag).to_owned()).collect();
    let mut blocks = Vec::new();
    if sheet.agreements.is_empty() {
        blocks.push(Block::Line(words.no_order.to_owned()));
    }
    for agreement in &sheet.agreements {
        blocks.push(Block::Pairs(of_order(agreement, language)));
    }
    blocks.push(Block::Pairs(vec![(words.systems.to_owned(), listed(systems))]));
    blocks
}

fn listed(items: Vec<String>) -> String {
    if items.is_empty() { NOTHING.to_owned() } else { items.join("; ") }
}

/// What one order has to say of itself.
fn of_order(agreement: &Agreement, language: Language) -> Vec<(String, String)> {
    let words = language.words();
    let dated = |text: &str, at: Option<time::OffsetDateTime>| match at {
        Some(at) => format!("{} ({})", shown(text), language.moment(at)),
        None => shown(text),
    };
    let estimates = agreement.consents.iter().filter_map(|consent| {
        let estimate = shown(consent.estimate.as_deref()?);
        Some(consent.at.map_or(estimate.clone(), |at| format!("{estimate} ({})", language.date(at))))
    });
    let authorised = agreement.authorised.iter().map(|item| {
        let mut text = authority(&item.field, item.value.as_deref(), language);
        if let Some(first) = &item.first_written {
            text.push_str(&format!(" ({} {})", words.first_written, shown(first)));
        }
        if let Some(entry) = item.withdrawn {
            text.push_str(&format!(" ({}, {} {entry})", words.withdrawn, words.of_entry));
        }
        text
    });
    let consents = agreement.consents.iter().map(|one| dated(&one.words, one.at));
    vec![
        (words.order.to_owned(), agreement.order.clone()),
        (words.asked.to_owned(), or_nothing(agreement.asked.as_deref())),
        (words.estimate.to_owned(), listed(estimates.collect())),
        (words.authorised.to_owned(), listed(authorised.collect())),
        (words.consents.to_owned(), listed(consents.collect())),
    ]
}

/// The settings that stayed as they were, by label: one line a module.
fn unchanged(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let lines: Vec<(String, String)> = sheet
        .modules
        .iter()
        .filter(|module| !module.settings_same.is_empty())
        .map(|module| {
            let one = |setting: &SettingShown| {
                let name = setting.label.as_deref().map_or(setting.setting.to_string(), shown);
                match &setting.holds {
                    Some(holds) => format!("{name} {}", language.content(&holds.0)),
                    None => name,
                }
            };
            (module.module.to_string(), module.settings_same.iter().map(one).collect::<Vec<_>>().join("; "))
        })
        .collect();
    if lines.is_empty() { vec![Block::Line(NOTHING.to_owned())] } else { vec![Block::Pairs(lines)] }
}

/// What was authorised: a setting or a record with its content, or a module itself.
pub(super) fn authority(field: &str, value: Option<&str>, language: Language) -> String {
    match value {
        Some(value) => format!("{} = {}", language.field(field), language.value(value)),
        None => format!("{}: {}", shown(field), language.words().another_unit),
    }
}

fn conditions(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let vehicle = &sheet.vehicle;
    let reading = |conditions: &Conditions| {
        let kind = conditions.role.map_or(words.no_reading, |role| language.reading(role));
        if conditions.partial { format!("{kind} ({})", words.partial) } else { kind.to_owned() }
    };
    let kilometres = |conditions: &Conditions| {
        conditions.odometer_km.map_or(NOTHING.to_owned(), |km| format!("{} km", language.whole(km)))
    };
    let volts = |conditions: &Conditions| {
        let volts = conditions.supply_voltage.as_ref();
        volts.map_or(NOTHING.to_owned(), |volts| format!("{} V", language.decimal(&volts.to_string())))
    };
    let row = |label: &str, of: &dyn Fn(&Conditions) -> String| {
        vec![Cell::of(label), Cell::of(of(&sheet.found)), Cell::of(of(&sheet.left))]
    };
    vec![
        Block::Pairs(vec![
            (words.vehicle.to_owned(), vehicle.tag.to_string()),
            (words.vin.to_owned(), vehicle.vin.as_ref().map_or(NOTHING.to_owned(), ToString::to_string)),
            (words.about.to_owned(), or_nothing(vehicle.about.as_deref())),
        ]),
        Block::Grid(Grid {
            caption: words.vehicle_and_conditions.to_owned(),
            heads: vec![
                ColumnHead::text(words.condition, 3),
                ColumnHead::text(words.as_found, 4),
                ColumnHead::text(words.as_left, 4),
            ],
            rows: GridRows::from(vec![
                row(words.entry, &|at| at.entry.to_string()),
                row(words.reading, &reading),
                row(words.date_and_time, &|at| language.moment(at.at)),
                row(words.taken_by, &|at| shown(&at.by)),
                row(words.tool, &|at| or_nothing(at.tool.as_deref())),
                row(words.odometer, &kilometres),
                row(words.supply_voltage, &volts),
            ]),
        }),
    ]
}

fn cautions(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let mut cautions: Vec<String> = language.general_cautions().into_iter().map(str::to_owned).collect();
    cautions.extend(sheet.cautions.iter().map(|caution| shown(caution)));
    let mut blocks = vec![Block::List(cautions)];
    if sheet.acknowledgements.is_empty() {
        return blocks;
    }
    let rows = sheet.acknowledgements.iter().map(|given| {
        vec![
            Cell::of(given.entry.to_string()),
            Cell::of(language.system(given.system)),
            Cell::of(shown(&given.name)),
            Cell::of(shown(&given.grounds)),
        ]
    });
    blocks.push(Block::Grid(Grid {
        caption: words.cautions.to_owned(),
        heads: vec![
            ColumnHead::figures(words.entry, 1),
            ColumnHead::text(words.system, 2),
            ColumnHead::text(words.name, 3),
            ColumnHead::text(words.grounds, 6),
        ],
        rows: rows.collect(),
    }));
    blocks
}

fn noticed(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let undone = sheet.undone.iter().map(|undone| {
        use asfound_core::entry::StepOutcome;
        let word = match undone.outcome {
            None => words.authorised_not_done,
            Some(StepOutcome::InDoubt) => words.in_doubt,
            Some(StepOutcome::ReadBackOtherwise) => words.read_back_otherwise,
            Some(StepOutcome::NotMade | StepOutcome::Made | StepOutcome::ReadBackAsWanted) => words.not_made,
        };
        let what = match (&undone.value, undone.outcome) {
            (None, Some(_)) => language.field(&undone.what),
            (value, _) => authority(&undone.what, value.as_deref(), language),
        };
        format!("{what}: {word}")
    });
    let notes = sheet
        .noticed
        .iter()
        .map(|note| format!("{} ({}, {})", shown(&note.words), shown(&note.by), language.date(note.at)));
    let lines: Vec<String> = undone.chain(notes).collect();
    if lines.is_empty() { vec![Block::Line(NOTHING.to_owned())] } else { vec![Block::List(lines)] }
}

fn limits(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let always = [words.limit_points, words.limit_answers, words.limit_signature].map(str::to_owned);
    vec![Block::List(sheet.limits.iter().map(|limit| language.limit(*limit)).chain(always).collect())]
}

fn signatures<'s>(sheet: &'s Sheet<'_>, language: Language) -> Vec<Block<'s>> {
    vec![tables::signatures(sheet, language)]
}

fn seal(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    vec![
        Block::Line(language.sealed(sheet.seal.entries)),
        Block::Code(words.short_form.to_owned(), sheet.seal.short.clone()),
        Block::Code(words.full_form.to_owned(), sheet.seal.full.clone()),
    ]
}

fn how_to_check(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let command = format!("asfound audit {} --seal {}", sheet.vehicle.tag, sheet.seal.short);
    vec![Block::List(vec![
        words.check_journal.to_owned(),
        language.check_with(&command),
        words.check_by_hand.to_owned(),
    ])]
}
