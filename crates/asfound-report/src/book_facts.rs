//! What an entry tells beside what it altered: odometer, trouble codes, orders and consents, corrections.

use asfound_core::entry::{AuthorisedItem, Body, Correction, Entry, OrderTerms, ReadingBody, WorkBody};

use crate::language::{Language, Numbers};
use crate::printed::authority;
use crate::shown::shown;

/// One line for each thing.
pub(crate) fn facts(entry: &Entry, language: Language) -> Vec<String> {
    match &entry.body {
        Body::Reading(reading) => of_reading(reading, language),
        Body::OrderOpened(terms) | Body::OrderExtended(terms) => of_order(terms, language),
        Body::OrderClosed(number) => vec![format!("{} {number}", language.words().order)],
        Body::Correction(correction) => of_correction(correction, language),
        Body::Change(work) | Body::PutBack(_, work) => of_work(work, language),
        Body::Enrolled(_) | Body::Note(_) | Body::Witness(_) => Vec::new(),
    }
}

fn of_reading(reading: &ReadingBody, language: Language) -> Vec<String> {
    let words = language.words();
    let mut facts = Vec::new();
    if let Some(km) = reading.odometer_km {
        facts.push(format!("{}: {} km", words.odometer, language.whole(km)));
    }
    if let Some(volts) = &reading.supply_voltage {
        facts.push(format!("{}: {} V", words.supply_voltage, language.decimal(&volts.to_string())));
    }
    let mut scanned = false;
    for (module, covered) in &reading.covered {
        let Some(codes) = &covered.trouble_codes else { continue };
        scanned = true;
        let names: Vec<String> = codes.iter().map(|reported| reported.code.to_string()).collect();
        if !names.is_empty() {
            facts.push(format!("{}, {module}: {}", words.trouble_codes, shown(&names.join(", "))));
        }
    }
    if scanned && reading.covered.values().flat_map(|covered| &covered.trouble_codes).all(Vec::is_empty) {
        facts.push(words.no_codes.to_owned());
    }
    facts
}

fn of_order(terms: &OrderTerms, language: Language) -> Vec<String> {
    let words = language.words();
    let item = |item: &AuthorisedItem| authority(&item.subject().to_string(), item.value().as_deref(), language);
    let mut facts = vec![
        format!("{} {}", words.order, terms.number),
        format!("{}: {}", words.consents, shown(terms.consent.as_str())),
    ];
    facts.extend(terms.estimate.as_ref().map(|text| format!("{}: {}", words.estimate, shown(text.as_str()))));
    facts.extend(terms.authorised.iter().map(|one| format!("{}: {}", words.authorised, item(one))));
    let put_right = terms.put_right.iter();
    facts.extend(put_right.map(|one| format!("{} ({} {})", item(&one.meant), words.first_written, one.term)));
    facts.extend(terms.withdrawn.iter().map(|subject| format!("{}: {subject}", words.withdrawn)));
    facts
}

fn of_correction(correction: &Correction, language: Language) -> Vec<String> {
    let words = language.words();
    let mut facts: Vec<String> = Vec::new();
    facts.extend(correction.never_made.then(|| words.never_made.to_owned()));
    facts.extend(correction.words.as_ref().map(|text| format!("{}: {}", words.should_be, shown(text.as_str()))));
    facts.extend(correction.happened.map(|at| format!("{}: {}", words.date_and_time, language.moment(at))));
    let was = correction.was.iter();
    facts.extend(was.map(|(path, value)| {
        format!("{}: {} {}", words.as_found, language.field(&path.to_string()), language.value(value))
    }));
    facts
}

fn of_work(work: &WorkBody, language: Language) -> Vec<String> {
    let given = work.acknowledgements.iter();
    given
        .map(|given| format!("{}: {} ({})", language.system(given.tag), shown(&given.name), shown(&given.grounds)))
        .collect()
}
