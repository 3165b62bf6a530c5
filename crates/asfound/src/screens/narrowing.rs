//! How far a trouble code is narrowed down, and what to put back next.

use std::collections::BTreeSet;

use asfound_core::difference::AlteredBits;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::{Plan, Write};
use asfound_core::suspects::{
    Cause, Check, NarrowingFinding, NarrowingState, NotTried, Proposal, RequiredObservation, Round, RoundOutcome,
    Suspicion,
};
use asfound_core::value::HexBytes;
use serde_json::{Value, json};

use super::shared::{or_nothing, quoted};
use asfound_report::{Page, Table};

/// Why a suspect is not experimented with.
pub fn not_tried_text(not_tried: &NotTried) -> String {
    match not_tried {
        NotTried::Restricted(tags) => {
            let tags: Vec<&str> = tags.iter().map(|tag| tag.as_str()).collect();
            format!("not experimented with, {}: a qualified technician should look", tags.join(", "))
        }
        NotTried::Impossible(why) => format!("not experimented with: {why}"),
    }
}

fn numbers<'n>(entries: impl IntoIterator<Item = &'n EntryNumber>) -> String {
    let list: Vec<String> = entries.into_iter().map(ToString::to_string).collect();
    match list.as_slice() {
        [one] => format!("entry {one}"),
        list => format!("entries {}", list.join(", ")),
    }
}

fn outcome_text(outcome: &RoundOutcome) -> String {
    match outcome {
        RoundOutcome::CameBack => "it came back".to_owned(),
        RoundOutcome::StayedAway => "it stayed away".to_owned(),
        RoundOutcome::Undecided(why) => format!("undecided: {why}"),
    }
}

/// The sets of entries that a finding names, each of which goes with the code by itself; none while nothing is probable.
fn named(narrowed: &NarrowingState) -> Vec<BTreeSet<EntryNumber>> {
    match narrowed.finding {
        NarrowingFinding::Probable(cause) if cause != Cause::NONE => {
            cause.sets().map(|set| narrowed.entries(set)).collect()
        }
        NarrowingFinding::Probable(_) | NarrowingFinding::Open => Vec::new(),
    }
}

/// The kind of a finding.
fn finding_word(narrowed: &NarrowingState) -> &'static str {
    let NarrowingFinding::Probable(cause) = narrowed.finding else { return "open" };
    let sets: Vec<u32> = cause.sets().map(|set| set.count_ones()).collect();
    match sets.as_slice() {
        [0] => "none",
        [1] => "one",
        [2] => "pair",
        [_] => "together",
        _ => "either",
    }
}

/// The entries that are not experimented with.
fn not_tried(narrowed: &NarrowingState) -> BTreeSet<EntryNumber> {
    let parts = narrowed.parts.iter().filter(|part| part.not_tried.is_some());
    parts.flat_map(|part| part.entries.iter().copied()).collect()
}

/// A cause in words.
fn cause_text(narrowed: &NarrowingState, cause: Cause) -> String {
    let sets: Vec<String> = cause
        .sets()
        .map(|set| match (set.count_ones(), numbers(&narrowed.entries(set))) {
            (0, _) => "something else".to_owned(),
            (1, text) => text,
            (_, text) => format!("{text} together"),
        })
        .collect();
    match sets.as_slice() {
        [a, b] => format!("{a}, and by itself {b}"),
        sets => sets.join(""),
    }
}

/// What the rounds have shown, in words.
fn finding_text(narrowed: &NarrowingState) -> Option<String> {
    let left = not_tried(narrowed);
    let besides = if left.is_empty() {
        String::new()
    } else {
        format!(
            " {} not experimented with; a technician should look at what {} altered.",
            were(&left),
            it_or_they(&left)
        )
    };
    if narrowed.parts.iter().all(|part| part.not_tried.is_some()) {
        return Some("Nothing in the window can be experimented with: a qualified technician should look.".to_owned());
    }
    let NarrowingFinding::Probable(cause) = narrowed.finding else {
        return (!narrowed.rounds.is_empty()).then(|| cannot_tell_text(narrowed));
    };
    let probably = if narrowed.confirmed { "" } else { " probably" };
    let text = match finding_word(narrowed) {
        "none" if narrowed.confirmed => {
            "Not due to a recorded change that can be put back; look at the car.".to_owned()
        }
        "none" => "Probably not due to a recorded change that can be put back.".to_owned(),
        "one" if narrowed.entries(cause.parts()).len() > 1 => {
            let entries = numbers(&narrowed.entries(cause.parts()));
            format!("The code{probably} goes with {entries}, which altered the same settings.")
        }
        "one" => format!("The code{probably} goes with {}.", cause_text(narrowed, cause)),
        "either" => format!("The code{probably} goes with {}: each is enough.", cause_text(narrowed, cause)),
        "pair" => format!("The code{probably} goes with {}, not with either alone.", cause_text(narrowed, cause)),
        _ => format!("The code{probably} goes with {}, not with fewer of them.", cause_text(narrowed, cause)),
    };
    Some(format!("{text}{besides}"))
}

/// That nothing can be said yet, and what is still possible.
fn cannot_tell_text(narrowed: &NarrowingState) -> String {
    let possible: Vec<String> = narrowed.possible.iter().map(|(cause, _)| cause_text(narrowed, *cause)).collect();
    format!("Cannot tell yet. Still possible, the most likely first: {}.", possible.join("; "))
}

/// What it takes to be certain, and how much of it was seen.
fn watched_text(page: &mut Page, narrowed: &NarrowingState) {
    let mut table = Table::new(["in", "out", "the code has to", "drives"]).figures(3);
    let list = |entries: &BTreeSet<EntryNumber>| {
        if entries.is_empty() { "nothing".to_owned() } else { numbers(entries) }
    };
    for watched in &narrowed.watched {
        let Check { comes, seen, needed, .. } = watched.check;
        let what = if comes { "come back" } else { "stay away" };
        table.row([list(&watched.suspects_in), list(&watched.out), what.to_owned(), format!("{seen} of {needed}")]);
    }
    page.table(&table);
    page.gap();
    if !narrowed.confirmed {
        page.line("That is not certain yet; the table says on how many drives what has to be seen.");
    } else if let Some(noticed) = narrowed.noticed_from.filter(|noticed| *noticed > 0.0) {
        let percent = (noticed * 100.0).ceil();
        page.line(&format!("A second cause that shows on fewer than {percent:.0} in 100 drives may have been missed."));
    }
}

fn were(entries: &BTreeSet<EntryNumber>) -> String {
    let text = numbers(entries);
    let text = text.replacen("entr", "Entr", 1);
    format!("{text} {}", if entries.len() == 1 { "was" } else { "were" })
}

fn it_or_they(entries: &BTreeSet<EntryNumber>) -> &'static str {
    if entries.len() == 1 { "it" } else { "they" }
}

/// The command that shows the work sheet of a proposal; with ` --done` it files the round.
fn command(tag: &Tag, proposal: &Proposal) -> String {
    let entries: Vec<String> = proposal.wish.entries.iter().map(ToString::to_string).collect();
    let mut command = format!("asfound put-back {tag} {}", entries.join(" "));
    proposal.wish.keep.iter().for_each(|path| command.push_str(&format!(" --keep {path}")));
    let chosen = proposal.wish.choose.iter().map(|(path, value)| quoted(&format!("{path}={value}")));
    chosen.for_each(|chosen| command.push_str(&format!(" --choose {chosen}")));
    command
}

/// The command that files a proposal as carried out; the code is on the sheet that was followed.
fn done(tag: &Tag, suspicion: &Suspicion, narrowed: &NarrowingState, proposal: &Proposal) -> String {
    let why = quoted(&format!("round {} for {}", narrowed.rounds.len() + 1, suspicion.code));
    format!("{} --done --sheet CODE --why {why}", command(tag, proposal))
}

/// Shows the rounds so far and what they have shown; with `next`, what to do next.
pub fn narrowing_text(page: &mut Page, tag: &Tag, suspicion: &Suspicion, narrowed: &NarrowingState, next: bool) {
    if !narrowed.rounds.is_empty() {
        let mut table = Table::new(["reading", "after", "out", "the code"]).figures(0).figures(1);
        for round in &narrowed.rounds {
            let out = if round.out.is_empty() { "nothing".to_owned() } else { numbers(&round.out) };
            table.row([round.reading.to_string(), round.work.to_string(), out, outcome_text(&round.outcome)]);
        }
        page.part("Rounds so far");
        page.table(&table);
    }
    let finding = finding_text(narrowed);
    if let Some(finding) = &finding {
        page.part("What the rounds show");
        page.line(finding);
        if !narrowed.watched.is_empty() && !narrowed.rounds.is_empty() {
            watched_text(page, narrowed);
        }
    }
    if !next {
        if narrowed.next.is_some() {
            let module = &suspicion.window.module;
            page.gap();
            page.line(&format!(
                "Next: asfound suspects {tag} {} --module {module} --next",
                quoted(&suspicion.code.to_string())
            ));
        }
        return;
    }
    if let Some(proposal) = &narrowed.next {
        next_round(page, tag, suspicion, narrowed, proposal);
    } else if let Some(why) = &narrowed.stopped {
        page.part("No next round");
        page.line(&format!("What is open cannot be put back safely: {why}."));
        page.line("A qualified technician should look.");
    }
}

fn next_round(page: &mut Page, tag: &Tag, suspicion: &Suspicion, narrowed: &NarrowingState, proposal: &Proposal) {
    let module = &suspicion.window.module;
    page.part(&format!("Round {}", narrowed.rounds.len() + 1));
    let expected = match narrowed.expected_drives() {
        Some(expected) => format!("about {expected:.0} more drives are to be expected"),
        None => format!("no fewer than {:.0} more drives are to be expected", narrowed.least_drives),
    };
    page.line(&format!("If the code shows on every drive, {expected} until it is certain."));
    let out = if proposal.out.is_empty() { "nothing".to_owned() } else { numbers(&proposal.out) };
    page.pair("to be out", &out);
    match &proposal.plan {
        Some(plan) => steps_text(page, plan),
        None => page.line("That is how the vehicle is: nothing has to be put back for it."),
    }
    page.gap();
    if proposal.plan.is_some() {
        page.item(&format!("Work sheet: {}", command(tag, proposal)));
        page.item(&format!("When it is done: {}", done(tag, suspicion, narrowed, proposal)));
    }
    page.item("Clear the code with your own equipment before the drive, not after it; then drive.");
    page.item(&format!("Scan {module}, file it with `asfound read {tag} FILE`, and ask again."));
    let missing = narrowed.watched.iter().find(|watched| watched.out == proposal.out).map(|it| it.check.missing());
    if let Some(missing) = missing.filter(|missing| *missing > 1) {
        page.item(&format!("{missing} drives like this are needed, with a scan filed after each."));
    }
    match &narrowed.other_half {
        Some(Ok(other)) if other.plan.is_some() => {
            page.gap();
            page.line(&format!("The other half instead, safe too: {}", command(tag, other)));
        }
        Some(Err(why)) => {
            page.gap();
            page.line(&format!("The other half has no safe plan: {why}."));
        }
        Some(Ok(_)) | None => {}
    }
}

/// The steps of a plan.
fn steps_text(page: &mut Page, plan: &Plan) {
    let mut table = Table::new(["step", "module", "setting", "now", "then"]).figures(0);
    for (at, step) in (1..).zip(&plan.steps) {
        for setting in &step.settings {
            let found = setting.found.as_ref().map_or("?".to_owned(), ToString::to_string);
            let (module, name) = (step.module.to_string(), setting.setting.to_string());
            table.row([at.to_string(), module, name, found, setting.left.to_string()]);
        }
        if !step.undeclared.is_empty() {
            let (record, found, left) = match &step.write {
                Write::Record { record, expect, write, .. } => (Some(record), Some(expect), Some(write)),
                Write::BlindRecord { record, expect, write } => (Some(record), expect.as_ref(), Some(write)),
                Write::ByName { .. } => (None, None, None),
            };
            let bytes = |side: Option<&HexBytes>| side.map(|bytes| bytes.as_slice().to_vec());
            let (a, b) = (bytes(found), bytes(left));
            let bits = AlteredBits::of(&step.undeclared, a.as_deref(), b.as_deref());
            let name = format!("{} {bits}", or_nothing(record));
            table.row([at.to_string(), step.module.to_string(), name, or_nothing(found), or_nothing(left)]);
        }
    }
    page.table(&table);
    let cautions: BTreeSet<&String> = plan.steps.iter().flat_map(|step| &step.cautions).collect();
    cautions.into_iter().for_each(|caution| page.caution(caution));
}

fn proposal_json(tag: &Tag, proposal: &Proposal) -> Value {
    json!({
        "out": proposal.out,
        "put_back": proposal.wish.entries,
        "keep": proposal.wish.keep,
        "choose": proposal.wish.choose.iter().map(|(path, value)| format!("{path}={value}")).collect::<Vec<_>>(),
        "steps": proposal.plan.as_ref().map_or(0, |plan| plan.steps.len()),
        "command": proposal.plan.as_ref().map(|_| command(tag, proposal)),
    })
}

/// The same in JSON.
pub fn narrowing_json(tag: &Tag, suspicion: &Suspicion, narrowed: &NarrowingState, next: bool) -> Value {
    let round = |round: &Round| {
        let (outcome, why) = match &round.outcome {
            RoundOutcome::CameBack => ("came-back", None),
            RoundOutcome::StayedAway => ("stayed-away", None),
            RoundOutcome::Undecided(why) => ("undecided", Some(why)),
        };
        json!({ "work": round.work, "reading": round.reading, "out": round.out, "outcome": outcome, "why": why })
    };
    let watched = |watched: &RequiredObservation| {
        let Check { comes, seen, drives, needed, .. } = watched.check;
        let code = if comes { "comes-back" } else { "stays-away" };
        json!({
            "suspects_in": watched.suspects_in,
            "suspects_out": watched.out,
            "code": code,
            "seen": seen,
            "drives": drives,
            "needed": needed,
        })
    };
    let possible = |(cause, likelihood): &(Cause, f64)| {
        let sets: Vec<BTreeSet<EntryNumber>> = cause.sets().map(|set| narrowed.entries(set)).collect();
        json!({ "sets": sets, "likelihood": format!("{likelihood:.3}") })
    };
    let tenths = |drives: f64| format!("{drives:.1}");
    let shown = if next { narrowed.next.as_ref() } else { None };
    json!({
        "rounds": narrowed.rounds.iter().map(round).collect::<Vec<_>>(),
        "finding": finding_word(narrowed),
        "named": named(narrowed).into_iter().flatten().collect::<BTreeSet<_>>(),
        "sets": named(narrowed),
        "confirmed": narrowed.confirmed,
        "watched": narrowed.watched.iter().map(watched).collect::<Vec<_>>(),
        "noticed_from": narrowed.noticed_from.map(|noticed| format!("{noticed:.2}")),
        "possible": narrowed.possible.iter().map(possible).collect::<Vec<_>>(),
        "not_tried": not_tried(narrowed),
        "expected_drives": narrowed.expected_drives().map(tenths),
        "least_drives": tenths(narrowed.least_drives),
        "next": shown.map(|proposal| proposal_json(tag, proposal)),
        "file_with": shown.filter(|proposal| proposal.plan.is_some()).map(|proposal| done(tag, suspicion, narrowed, proposal)),
        "other_half": shown.and(narrowed.other_half.as_ref()).and_then(|other| other.as_ref().ok())
            .map(|proposal| proposal_json(tag, proposal)),
        "stopped": narrowed.stopped,
    })
}
