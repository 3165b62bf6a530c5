//! How far a trouble code is narrowed down, and what to put back next.

use std::collections::BTreeSet;

use asfound_core::names::{EntryNumber, Tag};
use asfound_core::suspects::{Finding, Narrowed, NotTried, Outcome, Proposal, Round, Suspicion};
use serde_json::{Value, json};

use super::shared::quoted;
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

fn outcome_text(outcome: &Outcome) -> String {
    match outcome {
        Outcome::CameBack => "it came back".to_owned(),
        Outcome::StayedAway => "it stayed away".to_owned(),
        Outcome::Undecided(why) => format!("undecided: {why}"),
    }
}

/// The entries that a finding names.
fn named(narrowed: &Narrowed) -> BTreeSet<EntryNumber> {
    let entries = |part: usize| narrowed.parts[part].entries.clone();
    match narrowed.finding {
        Finding::One(part) => entries(part),
        Finding::Pair(a, b) => &entries(a) | &entries(b),
        Finding::Open | Finding::None | Finding::Contradiction => BTreeSet::new(),
    }
}

/// The entries that are not experimented with.
fn not_tried(narrowed: &Narrowed) -> BTreeSet<EntryNumber> {
    let parts = narrowed.parts.iter().filter(|part| part.not_tried.is_some());
    parts.flat_map(|part| part.entries.iter().copied()).collect()
}

/// What the rounds have shown, in words.
fn finding_text(narrowed: &Narrowed) -> Option<String> {
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
    let entries = named(narrowed);
    Some(match narrowed.finding {
        Finding::Open => return None,
        Finding::One(_) if entries.len() == 1 => format!("The code goes with {}.{besides}", numbers(&entries)),
        Finding::One(_) => {
            format!("The code goes with {}, which altered the same settings.{besides}", numbers(&entries))
        }
        Finding::Pair(..) => {
            format!("The code goes with {} together, not with either alone.{besides}", numbers(&entries))
        }
        Finding::None if narrowed.parts.iter().all(|part| part.not_tried.is_some()) => {
            "Nothing in the window can be experimented with: a qualified technician should look.".to_owned()
        }
        Finding::None => format!("Not due to a recorded change that can be put back; look at the car.{besides}"),
        Finding::Contradiction => {
            "The rounds fit neither one entry nor two together nor none: the code may come and go. \
                                   Look at the car."
                .to_owned()
        }
    })
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
    command
}

/// The command that files a proposal as carried out.
fn done(tag: &Tag, suspicion: &Suspicion, narrowed: &Narrowed, proposal: &Proposal) -> String {
    let why = quoted(&format!("round {} for {}", narrowed.rounds.len() + 1, suspicion.code));
    format!("{} --done --why {why}", command(tag, proposal))
}

/// Shows the rounds so far and what they have shown; with `next`, what to do next.
pub fn narrowing_text(page: &mut Page, tag: &Tag, suspicion: &Suspicion, narrowed: &Narrowed, next: bool) {
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
        if narrowed.next.is_some() {
            page.line("It rests on no more than two entries being needed together; one more round makes sure.");
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

fn next_round(page: &mut Page, tag: &Tag, suspicion: &Suspicion, narrowed: &Narrowed, proposal: &Proposal) {
    let module = &suspicion.window.module;
    page.part(&format!("Round {}", narrowed.rounds.len() + 1));
    if narrowed.finding == Finding::Open {
        let expected = match narrowed.expected_drives {
            Some(expected) => format!("about {expected:.1} more drives are to be expected"),
            None => format!("no fewer than {:.1} more drives are to be expected", narrowed.least_drives),
        };
        page.line(&format!("With half of the suspicion put back each time, {expected}."));
    }
    let out = if proposal.out.is_empty() { "nothing".to_owned() } else { numbers(&proposal.out) };
    page.pair("to be out", &out);
    let mut table = Table::new(["step", "module", "setting", "now", "then"]).figures(0);
    for (at, step) in (1..).zip(&proposal.plan.steps) {
        for setting in &step.settings {
            let found = setting.found.as_ref().map_or("?".to_owned(), ToString::to_string);
            let (module, name) = (step.module.to_string(), setting.setting.to_string());
            table.row([at.to_string(), module, name, found, setting.left.to_string()]);
        }
        if !step.undeclared.is_empty() {
            let bits = format!("bits {}", step.undeclared);
            table.row([at.to_string(), step.module.to_string(), bits, "as altered".into(), "as before".into()]);
        }
    }
    page.table(&table);
    let cautions: BTreeSet<&String> = proposal.plan.steps.iter().flat_map(|step| &step.cautions).collect();
    cautions.into_iter().for_each(|caution| page.caution(caution));
    page.gap();
    page.item(&format!("Work sheet: {}", command(tag, proposal)));
    page.item(&format!("When it is done: {}", done(tag, suspicion, narrowed, proposal)));
    page.item("Clear the code with your own equipment, and drive.");
    page.item(&format!("Scan {module}, file it with `asfound read {tag} FILE`, and ask again."));
    match &narrowed.other_half {
        Some(Ok(other)) => {
            page.gap();
            page.line(&format!("The other half instead, safe too: {}", command(tag, other)));
        }
        Some(Err(why)) => {
            page.gap();
            page.line(&format!("The other half has no safe plan: {why}."));
        }
        None => {}
    }
}

fn proposal_json(tag: &Tag, proposal: &Proposal) -> Value {
    json!({
        "out": proposal.out,
        "put_back": proposal.wish.entries,
        "keep": proposal.wish.keep,
        "steps": proposal.plan.steps.len(),
        "command": command(tag, proposal),
    })
}

/// The same in JSON.
pub fn narrowing_json(tag: &Tag, suspicion: &Suspicion, narrowed: &Narrowed, next: bool) -> Value {
    let round = |round: &Round| {
        let (outcome, why) = match &round.outcome {
            Outcome::CameBack => ("came-back", None),
            Outcome::StayedAway => ("stayed-away", None),
            Outcome::Undecided(why) => ("undecided", Some(why)),
        };
        json!({ "work": round.work, "reading": round.reading, "out": round.out, "outcome": outcome, "why": why })
    };
    let finding = match narrowed.finding {
        Finding::Open => "open",
        Finding::One(_) => "one",
        Finding::Pair(..) => "pair",
        Finding::None => "none",
        Finding::Contradiction => "contradiction",
    };
    let tenths = |drives: f64| format!("{drives:.1}");
    let shown = if next { narrowed.next.as_ref() } else { None };
    json!({
        "rounds": narrowed.rounds.iter().map(round).collect::<Vec<_>>(),
        "finding": finding,
        "named": named(narrowed),
        "confirmed": narrowed.confirmed,
        "not_tried": not_tried(narrowed),
        "expected_drives": narrowed.expected_drives.map(tenths),
        "least_drives": tenths(narrowed.least_drives),
        "next": shown.map(|proposal| proposal_json(tag, proposal)),
        "file_with": shown.map(|proposal| done(tag, suspicion, narrowed, proposal)),
        "other_half": shown.and(narrowed.other_half.as_ref()).and_then(|other| other.as_ref().ok())
            .map(|proposal| proposal_json(tag, proposal)),
        "stopped": narrowed.stopped,
    })
}
