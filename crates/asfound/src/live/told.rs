//! What was asked and answered, in words.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::names::{ModuleName, Vin};
use asfound_core::situation::Engine;
use asfound_link::client::{Outcome, Silence, Undelivered};
use asfound_link::ip::gateway_text;
use asfound_link::reading::{Refused, TakenReading, Unread, UnreadWhy, VinVerdict};
use asfound_link::request::{CodesReport, ReadRequest};
use asfound_wire::conversation::ModuleAddress;

use crate::screens::shared::counted;

/// What a request asks for, in a word or two.
pub fn request_text(request: ReadRequest) -> String {
    match request {
        ReadRequest::Record(identifier) => format!("record {identifier:04X}"),
        ReadRequest::Codes(CodesReport::Count { .. } | CodesReport::List { .. }) => "trouble codes".to_owned(),
        ReadRequest::Codes(CodesReport::Snapshots { .. }) => "snapshots".to_owned(),
        ReadRequest::Codes(CodesReport::Extended { .. }) => "extended data".to_owned(),
        ReadRequest::Present => "presence".to_owned(),
        ReadRequest::Session(_) => "session".to_owned(),
        ReadRequest::Current(parameter) => format!("parameter {parameter:02X}"),
        ReadRequest::Stored { parameter, .. } => format!("stored parameter {parameter:02X}"),
        ReadRequest::Vehicle(item) => format!("vehicle item {item:02X}"),
    }
}

/// Why something was not read, in words.
fn why_text(why: &UnreadWhy) -> String {
    match why {
        UnreadWhy::NotAsked => "not asked any more".to_owned(),
        UnreadWhy::Length { found, expected } => {
            format!("came with {}, its definition says {expected}", counted(*found, "byte", "bytes"))
        }
        UnreadWhy::NoAnswer(outcome) => match outcome {
            Outcome::Silent(Silence::Nothing) => "no answer".to_owned(),
            Outcome::Silent(Silence::AfterPending) => "no answer after \"pending\"".to_owned(),
            Outcome::Silent(Silence::StillPending) => "\"pending\" until the time was over".to_owned(),
            Outcome::Silent(Silence::Busy) => "busy each time".to_owned(),
            Outcome::Silent(Silence::SomethingElse(_)) => "only something else was answered".to_owned(),
            Outcome::Silent(Silence::DoubtfulRefusal(why)) => {
                format!("refused ({why}), and it cannot be told whether that was about this")
            }
            Outcome::Undelivered(Undelivered::Gateway(code)) => {
                format!("not passed on: {code:02X} {}", gateway_text(*code))
            }
            Outcome::Answered(_) | Outcome::Refused(_) => "answered".to_owned(),
        },
    }
}

/// What each module did not give, a line for each reason.
pub fn unread_lines(unread: &[Unread]) -> Vec<String> {
    let mut lines: BTreeMap<(&ModuleName, String), BTreeSet<String>> = BTreeMap::new();
    for Unread { module, request, why } in unread {
        lines.entry((module, why_text(why))).or_default().insert(request_text(*request));
    }
    let line = |((module, why), what): ((&ModuleName, String), BTreeSet<String>)| {
        format!("{module}: {}: {why}", what.into_iter().collect::<Vec<_>>().join(", "))
    };
    lines.into_iter().map(line).collect()
}

/// What modules refused that was to be expected of them, with the codes.
pub fn refused_lines(refused: &[Refused]) -> Vec<String> {
    let expected = |refused: &&Refused| refused.expected || matches!(refused.request, ReadRequest::Codes(_));
    let line =
        |refused: &Refused| format!("{}: {} refused: {}", refused.module, request_text(refused.request), refused.why);
    let lines: BTreeSet<String> = refused.iter().filter(expected).map(line).collect();
    lines.into_iter().collect()
}

/// What is worth saying of the car as a whole.
pub fn vehicle_lines(
    verdict: &VinVerdict,
    taken: &TakenReading,
    names: &BTreeMap<ModuleAddress, ModuleName>,
) -> Vec<String> {
    let mut lines = Vec::new();
    match verdict {
        VinVerdict::Same { others } => {
            for (address, vin) in others {
                let name = names.get(address).map_or("a module", ModuleName::as_str);
                lines.push(format!("{name} tells another VIN: {vin}"));
            }
        }
        VinVerdict::New(vin) => {
            lines.push(format!("the journal had no VIN; the car tells {vin}, and is known by it now"));
        }
        VinVerdict::Several(vins) => {
            lines.push(format!("the journal has no VIN, and the car tells several: {}", vin_list(vins)));
        }
        VinVerdict::NotTold => lines.push("the car told no VIN: that it is this one, nobody checked".to_owned()),
        VinVerdict::Another(_) => {}
    }
    if taken.reading.situation.engine == Some(Engine::Running) {
        lines.push("the engine was running".to_owned());
    }
    let silent: Vec<&str> = taken.reading.situation.did_not_answer.iter().map(ModuleName::as_str).collect();
    if !silent.is_empty() {
        lines.push(format!("no answer at all: {}", silent.join(", ")));
    }
    lines
}

/// VINs, with commas between.
pub fn vin_list(vins: &BTreeSet<Vin>) -> String {
    vins.iter().map(Vin::as_str).collect::<Vec<_>>().join(", ")
}
