//! The first page of a handover sheet, for the customer: what was altered, was it agreed to, what was not done, what not read.

use asfound_core::entry::StepOutcome;

use super::handover::{authority, check_command};
use super::{Block, Mark, PrintedPart};
use crate::language::{Language, Numbers};
use crate::page::NOTHING;
use crate::qr::{QrCode, TooLong};
use crate::sheet::{AccountedBy, FrontPage, NotDone, NotReadModule, ProofLevel, Sheet, SheetChange};
use crate::shown::shown;

/// The parts of the first page.
pub(super) fn front<'s>(sheet: &Sheet<'_>, language: Language) -> Result<Vec<PrintedPart<'s>>, TooLong> {
    let words = language.words();
    let front = FrontPage::of(sheet);
    let part = |heading: &str, blocks: Vec<Block<'s>>| PrintedPart::on_front(heading, blocks);
    let by_order = !sheet.agreements.is_empty();
    let (asked, recorded) =
        if by_order { (&front.as_agreed, &front.recorded) } else { (&front.recorded, &front.as_agreed) };
    let mut parts =
        vec![part(if by_order { words.q_as_agreed } else { words.q_altered }, answer(asked, Mark::Agreed, language))];
    // Questions that seldom have an answer are asked only where they have one.
    let seldom: [(&str, &[&SheetChange], Mark); 2] =
        [(words.q_afterwards, &front.afterwards, Mark::Open), (words.q_recorded, recorded, Mark::Open)];
    for (heading, changes, mark) in seldom {
        if !changes.is_empty() {
            parts.push(part(heading, answer(changes, mark, language)));
        }
    }
    let not_agreed = if by_order { words.q_not_agreed } else { words.q_not_recorded };
    parts.push(part(not_agreed, answer(&front.not_agreed, Mark::Alarm, language)));
    if !front.cannot_tell.is_empty() {
        parts.push(part(words.q_cannot_tell, answer(&front.cannot_tell, Mark::Open, language)));
    }
    parts.push(part(
        words.q_not_done,
        listed(front.not_done.iter().map(|one| not_done(one, language)).collect(), language),
    ));
    let mut unread = listed(front.not_read.iter().map(|one| not_read(one, language)).collect(), language);
    let mark = if front.same.records + front.same.settings == 0 { Mark::Open } else { Mark::Good };
    unread.push(Block::Claim(mark, language.all_else(sheet, front.same)));
    parts.push(part(words.q_not_read, unread));
    parts.push(part(
        words.signed_and_sealed,
        vec![
            Block::SignHere(vec![words.sign_workshop.to_owned(), words.sign_customer.to_owned()]),
            Block::Seal {
                label: words.seal.to_owned(),
                short: sheet.seal.short.clone(),
                code: QrCode::of(&sheet.seal.full)?,
                caption: words.qr_caption.to_owned(),
            },
            Block::Line(language.check_with(&check_command(sheet))),
        ],
    ));
    Ok(parts)
}

fn listed<'s>(items: Vec<String>, language: Language) -> Vec<Block<'s>> {
    if items.is_empty() {
        vec![Block::Line(language.words().nothing_here.to_owned())]
    } else {
        vec![Block::List(items)]
    }
}

fn answer<'s>(changes: &[&SheetChange], mark: Mark, language: Language) -> Vec<Block<'s>> {
    /// More than these fill no page that anybody reads; the pages behind have them all.
    const MOST: usize = 24;
    let lines: Vec<String> = changes.iter().take(MOST).map(|change| altered(change, language)).collect();
    let mut blocks = match (lines.is_empty(), mark) {
        (false, Mark::Alarm) => lines.into_iter().map(|line| Block::Claim(mark, line)).collect(),
        _ => listed(lines, language),
    };
    if changes.len() > MOST {
        blocks.push(Block::Line(language.and_more(changes.len() - MOST)));
    }
    blocks
}

/// `Lane-change flashes: before 3, now 5 (read back)`
fn altered(change: &SheetChange, language: Language) -> String {
    let words = language.words();
    let name = match (&change.label, change.undeclared_bits, &change.record) {
        (Some(label), ..) => shown(label),
        (None, Some(bits), Some(record)) => {
            format!("{} ({}:{record})", language.unnamed_bits(bits), change.module)
        }
        _ => language.field(&change.field),
    };
    let held = |held: Option<&crate::sheet::FieldContent>| {
        held.map_or(words.not_known.to_owned(), |held| language.content(&held.0))
    };
    let (found, left) = (held(change.found.as_ref()), held(change.left.as_ref()));
    let mut notes: Vec<&str> = Vec::new();
    notes.extend(match change.account {
        AccountedBy::WithUnit => Some(words.with_unit),
        AccountedBy::TakenBack => Some(words.taken_back),
        AccountedBy::AgreedAfterwards => Some(words.agreed_afterwards),
        AccountedBy::WithdrawnSince => Some(words.withdrawn_since),
        AccountedBy::WithoutAuthority => Some(words.by_us_unagreed),
        AccountedBy::AnotherHand => Some(words.by_nobody_known),
        AccountedBy::Contradiction => Some(words.contradiction),
        AccountedBy::AsAuthorised | AccountedBy::AsRecorded | AccountedBy::CannotTell => None,
    });
    notes.extend(match change.level {
        Some(ProofLevel::ReadBack(_)) => Some(words.read_back_after),
        Some(ProofLevel::Witnessed(_)) => Some(words.witnessed),
        Some(ProofLevel::PartlyWitnessed(_)) => Some(words.partly_witnessed),
        Some(ProofLevel::Stated) => Some(words.not_yet_read_back),
        Some(ProofLevel::Contradicted(_)) => Some(words.contradicted),
        Some(ProofLevel::Read(_)) | None => None,
    });
    let notes = if notes.is_empty() { String::new() } else { format!(" ({})", notes.join("; ")) };
    format!("{name}: {}{notes}", language.before_and_now(&found, &left))
}

fn not_done(one: &NotDone, language: Language) -> String {
    let words = language.words();
    let what = match (&one.label, &one.value) {
        (Some(label), Some(value)) => format!("{} = {}", shown(label), language.value(value)),
        (Some(label), None) => shown(label),
        (None, _) if one.outcome.is_some() => language.field(&one.what),
        (None, value) => authority(&one.what, value.as_deref(), language),
    };
    match one.outcome {
        None => what,
        Some(StepOutcome::InDoubt) => format!("{what}: {}", words.in_doubt),
        Some(StepOutcome::ReadBackOtherwise) => format!("{what}: {}", words.read_back_otherwise),
        Some(_) => format!("{what}: {}", words.not_made),
    }
}

fn not_read(one: &NotReadModule<'_>, language: Language) -> String {
    let words = language.words();
    if one.whole {
        return format!("{}: {}", one.module, words.no_answer);
    }
    let names = |records: &[&crate::sheet::RecordShown]| {
        let name =
            |record: &&crate::sheet::RecordShown| record.label.as_deref().map_or(record.record.to_string(), shown);
        records.iter().map(name).collect::<Vec<_>>().join(", ")
    };
    let mut parts = Vec::new();
    if !one.records.is_empty() {
        parts.push(format!("{} {}", names(&one.records), words.not_read_twice));
    }
    if !one.refused.is_empty() {
        parts.push(format!("{} {}", names(&one.refused), words.not_given));
    }
    if one.settings > 0 {
        parts.push(language.settings_not_read(one.settings));
    }
    let text = if parts.is_empty() { NOTHING.to_owned() } else { parts.join("; ") };
    format!("{}: {text}", one.module)
}
