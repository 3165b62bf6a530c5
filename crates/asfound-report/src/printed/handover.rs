//! A handover sheet, in words.

use std::collections::BTreeSet;

use super::front::front;
use super::handover_codes as with_codes;
use super::handover_tables as tables;
use super::{Block, Cell, ColumnHead, Grid, Logo, Mark, Printed, PrintedPart};
use crate::language::{Language, Numbers};
use crate::page::NOTHING;
use crate::qr::TooLong;
use crate::sheet::{AccountedBy, Agreement, Conditions, SettingShown, Sheet, SignatureWorth};
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
    // What has nothing to say takes no room.
    parts.retain(|part| !matches!(&part.blocks[..], [Block::Line(line)] if line == NOTHING));
    Ok(Printed {
        language,
        at: sheet.printed,
        title: words.sheet.to_owned(),
        about: about.join(" · "),
        span: Some(span(sheet, language)),
        letterhead,
        logo,
        number: sheet.number.clone(),
        parts,
        footer: sheet.workshop.footer.as_deref().map(shown),
        end: format!("{} {}", words.end, sheet.number),
    })
}

/// `Work order A-17 · before 14 March 2026, 09:20, 84,210 km · after 14 March 2026, 11:45, 84,213 km`
fn span(sheet: &Sheet<'_>, language: Language) -> String {
    let words = language.words();
    let orders = sheet.agreements.iter().map(|agreement| format!("{} {}", words.order, agreement.order));
    let moment = |word: &str, at: &Conditions| {
        let driven = at.odometer_km.map(|km| format!(", {} km", language.whole(km))).unwrap_or_default();
        format!("{word} {}{driven}", language.moment(at.at))
    };
    let moments = [moment(words.before, &sheet.found), moment(words.after, &sheet.left)];
    orders.chain(moments).collect::<Vec<_>>().join(" · ")
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
        told(vec![
            (words.sheet_number, sheet.number.clone()),
            (words.printed, language.moment(sheet.printed)),
            (words.customer, or_nothing(sheet.customer.as_deref())),
            (words.workshop, or_nothing(sheet.workshop.name.as_deref())),
            (words.licence, or_nothing(sheet.workshop.licence.as_deref())),
        ]),
    ]
}

/// Labels with what belongs to them, where there is something.
fn told<'s>(pairs: Vec<(&str, String)>) -> Block<'s> {
    let something = pairs.into_iter().filter(|(_, text)| text != NOTHING);
    Block::Pairs(something.map(|(label, text)| (label.to_owned(), text)).collect())
}

fn agreed(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let systems: Vec<String> = sheet.systems.iter().map(|tag| language.system(*tag).to_owned()).collect();
    let mut blocks = Vec::new();
    if sheet.agreements.is_empty() {
        blocks.push(Block::Line(words.no_order.to_owned()));
    }
    for agreement in &sheet.agreements {
        blocks.push(told(of_order(agreement, language)));
    }
    blocks.push(told(vec![(words.systems, listed(&systems))]));
    blocks
}

fn listed(items: &[String]) -> String {
    if items.is_empty() { NOTHING.to_owned() } else { items.join("; ") }
}

/// What one order has to say of itself.
fn of_order(agreement: &Agreement, language: Language) -> Vec<(&'static str, String)> {
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
        (words.order, agreement.order.clone()),
        (words.asked, or_nothing(agreement.asked.as_deref())),
        (words.estimate, listed(&estimates.collect::<Vec<_>>())),
        (words.authorised, listed(&authorised.collect::<Vec<_>>())),
        (words.consents, listed(&consents.collect::<Vec<_>>())),
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
pub(crate) fn authority(field: &str, value: Option<&str>, language: Language) -> String {
    match value {
        Some(value) => format!("{} = {}", language.field(field), language.value(value)),
        None => format!("{}: {}", shown(field), language.words().another_unit),
    }
}

fn conditions(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let vehicle = &sheet.vehicle;
    let side = |at: &Conditions| {
        let kind = at.role.map_or(words.no_reading, |role| language.reading(role));
        let kind = if at.partial { format!("{kind} ({})", words.partial) } else { kind.to_owned() };
        let volts = at.supply_voltage.as_ref().map(|volts| format!("{} V", language.decimal(&volts.to_string())));
        let parts = [
            Some(format!("{} {}, {kind}", words.of_entry, at.entry)),
            Some(language.moment(at.at)),
            at.odometer_km.map(|km| format!("{} km", language.whole(km))),
            volts,
            Some(shown(&at.by)),
            at.tool.as_deref().map(shown),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(" · ")
    };
    vec![told(vec![
        (words.vehicle, vehicle.tag.to_string()),
        (words.vin, vehicle.vin.as_ref().map_or(NOTHING.to_owned(), ToString::to_string)),
        (words.about, or_nothing(vehicle.about.as_deref())),
        (words.as_found, side(&sheet.found)),
        (words.as_left, side(&sheet.left)),
    ])]
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
    if sheet.signatures.iter().all(|one| one.standing == SignatureWorth::Unsigned) {
        let names: BTreeSet<String> = sheet.signatures.iter().map(|one| shown(&one.name)).collect();
        let names = names.into_iter().collect::<Vec<_>>().join(", ");
        return vec![Block::Line(format!("{names}: {}", language.words().signed_not))];
    }
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

/// The command that holds the journal against the seal of the sheet.
pub(super) fn check_command(sheet: &Sheet<'_>) -> String {
    format!("asfound audit {} --seal {}", sheet.vehicle.tag, sheet.seal.short)
}

fn how_to_check(sheet: &Sheet<'_>, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    vec![Block::List(vec![
        words.check_journal.to_owned(),
        language.check_with(&check_command(sheet)),
        words.check_by_hand.to_owned(),
    ])]
}
