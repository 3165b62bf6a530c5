//! What a log leaves open at its end: whoever goes on with the vehicle has to know it.

use asfound_report::Page;
use asfound_wire::conversation::{Conversations, LeftOpen, ModuleAddress, OpenMatter};
use serde_json::{Value, json};

use super::shared::counted;
use super::wire::{module_text, moment_text};
use super::wire_text::LogTimes;
use crate::bus_log::Buses;

/// So many are shown one by one.
const MOST_OPEN: usize = 8;

/// Everything that is open, the gravest of each module first; without a module what was asked of all at once.
fn all(conversations: &Conversations) -> Vec<(Option<ModuleAddress>, LeftOpen)> {
    let of_all = conversations.left_open.iter().map(|open| (None, *open));
    let of_one = |(module, timeline): (&ModuleAddress, &asfound_wire::conversation::ModuleTimeline)| {
        let module = *module;
        timeline.left_open.clone().into_iter().map(move |open| (Some(module), open))
    };
    let mut all: Vec<_> = of_all.chain(conversations.modules.iter().flat_map(of_one)).collect();
    all.sort_by_key(|(module, open)| (gravity(open.what), *module));
    all
}

/// What leaves a module unable to work comes first.
const fn gravity(what: OpenMatter) -> u8 {
    match what {
        OpenMatter::Transfer { .. } => 0,
        OpenMatter::Session(2) => 1,
        OpenMatter::CodesOff => 2,
        OpenMatter::Silenced(_) => 3,
        OpenMatter::Controlled(_) => 4,
        OpenMatter::Session(_) => 5,
    }
}

/// In the words of ISO 14229-1.
fn words(what: OpenMatter) -> String {
    match what {
        OpenMatter::Transfer { up, blocks, bytes } => {
            let blocks = counted(usize::try_from(blocks).unwrap_or(usize::MAX), "block", "blocks");
            let bytes = counted(usize::try_from(bytes).unwrap_or(usize::MAX), "byte", "bytes");
            let way = if up { "from" } else { "to" };
            format!("transfer {way} the module not ended, after {blocks} with {bytes}")
        }
        OpenMatter::Session(2) => "programming session not left".to_owned(),
        OpenMatter::Session(3) => "extended session not left".to_owned(),
        OpenMatter::Session(session) => format!("session {session:02X} not left"),
        OpenMatter::CodesOff => "recording of trouble codes off (85 02)".to_owned(),
        OpenMatter::Silenced(control) => format!("ordinary communication off in part or whole (28 {control:02X})"),
        OpenMatter::Controlled(record) => format!("output {record:04X} not given back to the module (2F)"),
    }
}

/// What is open, at the top of the page. A session that alters nothing by itself is told with the others only.
pub fn left_open(page: &mut Page, conversations: &Conversations, buses: &Buses, times: &LogTimes<'_>) {
    let mut open = all(conversations);
    open.retain(|(_, open)| !matches!(open.what, OpenMatter::Session(session) if session != 2));
    if open.is_empty() {
        return;
    }
    page.part("left open at the end of the log");
    for (module, one) in open.iter().take(MOST_OPEN) {
        let who = module.map_or_else(|| "all modules".to_owned(), |module| module_text(module, buses));
        let doubt = match (one.accepted, one.quiet) {
            (true, _) => "",
            (false, true) => "; no answer was wanted",
            (false, false) => "; the log has no answer to it",
        };
        page.item(&format!("{who}: {}, since {}{doubt}", words(one.what), times.short(one.since)));
    }
    if open.len() > MOST_OPEN {
        page.item(&format!("and {}", counted(open.len() - MOST_OPEN, "more", "more")));
    }
}

/// The same for programs, with every session.
pub fn json(conversations: &Conversations, buses: &Buses) -> Value {
    let one = |(module, open): (Option<ModuleAddress>, LeftOpen)| {
        let (what, number, transferred) = match open.what {
            OpenMatter::Transfer { up: false, blocks, bytes } => ("transfer-to-module", None, Some((blocks, bytes))),
            OpenMatter::Transfer { up: true, blocks, bytes } => ("transfer-from-module", None, Some((blocks, bytes))),
            OpenMatter::Session(session) => ("session", Some(format!("{session:02X}")), None),
            OpenMatter::CodesOff => ("codes-off", None, None),
            OpenMatter::Silenced(control) => ("silenced", Some(format!("{control:02X}")), None),
            OpenMatter::Controlled(record) => ("controlled", Some(format!("{record:04X}")), None),
        };
        json!({
            "module": module.map(|module| module_text(module, buses)),
            "what": what,
            "number": number,
            "blocks": transferred.map(|(blocks, _)| blocks),
            "bytes": transferred.map(|(_, bytes)| bytes),
            "since": moment_text(open.since),
            "accepted": open.accepted,
        })
    };
    all(conversations).into_iter().map(one).collect()
}
