//! What earlier rounds say for and against each suspect.

use super::{NarrowingState, RoundOutcome, Suspect, SuspectGroup, Suspicion};
use crate::names::EntryNumber;

/// The code stayed away while the suspect was out.
const AWAY_WHILE_OUT: i32 = 15;
/// The code stayed away although the suspect was in: by itself it does not bring it.
const AWAY_WHILE_IN: i32 = -10;
/// The code came back while the suspect was out: it has nothing to do with it, and no score stands against that.
const BACK_WHILE_OUT: i32 = -1000;

/// What a round says for or against a suspect.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundEvidence {
    /// What it adds to the score; less than nothing where it speaks against.
    pub points: i32,
    /// What was seen.
    pub why: String,
}

/// A suspect in the light of the rounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScoredSuspect {
    /// Its place in [`Suspicion::suspects`].
    pub suspect: usize,
    /// The score of the suspect with the evidence, never below zero.
    pub score: u32,
    /// Its part, as a number in [`NarrowingState::parts`].
    pub part: usize,
}

impl NarrowingState {
    /// What the rounds say for and against the suspects of a part: what several show is told once, with their readings.
    pub fn evidence(&self, part: &SuspectGroup) -> Vec<RoundEvidence> {
        let mut told: Vec<(i32, &str, Vec<EntryNumber>)> = Vec::new();
        for round in &self.rounds {
            let out = part.entries.iter().any(|entry| round.out.contains(entry));
            let (points, what) = match (&round.outcome, out) {
                (RoundOutcome::StayedAway, true) => (AWAY_WHILE_OUT, "stayed away while it was out"),
                (RoundOutcome::StayedAway, false) => (AWAY_WHILE_IN, "stayed away though it was in"),
                (RoundOutcome::CameBack, true) => (BACK_WHILE_OUT, "came back while it was out"),
                // That says nothing of one suspect more than of another that was in.
                (RoundOutcome::CameBack, false) | (RoundOutcome::Undecided(_), _) => continue,
            };
            match told.iter_mut().find(|(_, same, _)| *same == what) {
                Some((sum, _, readings)) => {
                    *sum = sum.saturating_add(points);
                    readings.push(round.reading);
                }
                None => told.push((points, what, vec![round.reading])),
            }
        }
        let evidence = |(points, what, readings): (i32, &str, Vec<EntryNumber>)| {
            let noun = if readings.len() == 1 { "entry" } else { "entries" };
            let readings: Vec<String> = readings.iter().map(ToString::to_string).collect();
            RoundEvidence { points, why: format!("{what}, {noun} {}", readings.join(", ")) }
        };
        told.into_iter().map(evidence).collect()
    }

    /// The suspects in the light of the rounds, strongest first.
    pub fn weighed(&self, suspicion: &Suspicion) -> Vec<ScoredSuspect> {
        let points = |part: &SuspectGroup| self.evidence(part).iter().map(|evidence| i64::from(evidence.points)).sum();
        let points: Vec<i64> = self.parts.iter().map(points).collect();
        let entries = self.parts.iter().enumerate().flat_map(|(at, part)| part.entries.iter().map(move |it| (*it, at)));
        let mut part_of: Vec<(EntryNumber, usize)> = entries.collect();
        part_of.sort_unstable();
        let weigh = |(at, suspect): (usize, &Suspect)| {
            let (_, part) = part_of[part_of.binary_search_by_key(&suspect.entry, |(entry, _)| *entry).ok()?];
            let score = u32::try_from((i64::from(suspect.score()) + points[part]).max(0)).unwrap_or(u32::MAX);
            Some(ScoredSuspect { suspect: at, score, part })
        };
        let mut weighed: Vec<ScoredSuspect> = suspicion.suspects.iter().enumerate().filter_map(weigh).collect();
        let entry = |weighed: &ScoredSuspect| suspicion.suspects[weighed.suspect].entry;
        weighed.sort_by(|a, b| b.score.cmp(&a.score).then(entry(b).cmp(&entry(a))));
        weighed
    }
}
