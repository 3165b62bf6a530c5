//! What `audit` shows.

use std::path::PathBuf;

use asfound_core::names::EntryNumber;
use asfound_journal::audit::{Audit, Finding, FindingLevel, Signatures};
use serde_json::{Value, json};

pub use super::held_against::SealComparisonScreen;
use super::shared::{counted, or_nothing};
use crate::setup::Screen;
use asfound_report::{NOTHING, Page, Table};

/// How many findings of a journal are shown to people.
const SHOWN: usize = 40;

/// The audits of some journals.
pub struct AuditScreen {
    /// The garage.
    pub garage: PathBuf,
    /// Whether one vehicle was asked for.
    pub one: bool,
    /// The audits, by tag.
    pub audits: Vec<Audit>,
    /// The one journal that was asked for, held against the seals that were given.
    pub against: Option<SealComparisonScreen>,
}

impl Screen for AuditScreen {
    fn text(&self, page: &mut Page) {
        if self.audits.is_empty() {
            page.line(&format!("No vehicle is enrolled in {}.", self.garage.display()));
            return;
        }
        if !self.one {
            self.overview(page);
        }
        let told = self.audits.iter().filter(|audit| self.one || !audit.findings.is_empty());
        told.for_each(|audit| {
            page.gap();
            one(page, audit);
        });
        page.gap();
        match &self.against {
            Some(against) => against.text(page),
            None => page.line(
                "A journal that was rewritten from some entry to its very last, or cut short, shows it only to somebody who \
                 kept a seal of it.",
            ),
        }
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/audit/1",
            "garage": self.garage,
            "sound": self.audits.iter().all(Audit::is_sound) && !self.against.as_ref().is_some_and(SealComparisonScreen::refuted),
            "journals": self.audits.iter().map(audit_json).collect::<Vec<_>>(),
            "seals": self.against.as_ref().map(SealComparisonScreen::json),
        })
    }
}

impl AuditScreen {
    fn overview(&self, page: &mut Page) {
        let entries: usize = self.audits.iter().map(|audit| audit.entries_checked as usize).sum();
        let vehicles = counted(self.audits.len(), "journal", "journals");
        page.head(&["audit", &vehicles, &counted(entries, "entry", "entries")]);
        let mut table = Table::new(["vehicle", "entries", "sound until", "findings"]).figures(1).figures(2);
        for audit in &self.audits {
            table.row([
                audit.tag.to_string(),
                audit.entries_checked.to_string(),
                or_nothing(audit.sound_until.as_ref()),
                findings_text(audit),
            ]);
        }
        page.table(&table);
    }
}

/// How many findings there are of each level.
fn findings_text(audit: &Audit) -> String {
    let levels = [FindingLevel::Tampering, FindingLevel::Unreadable, FindingLevel::Doubt, FindingLevel::Remark];
    let of = |level| match (level, audit.count(level)) {
        (_, 0) => None,
        (FindingLevel::Doubt, count) => Some(counted(count, "doubt", "doubts")),
        (FindingLevel::Remark, count) => Some(counted(count, "remark", "remarks")),
        (level, count) => Some(format!("{count} {level}")),
    };
    let texts: Vec<String> = levels.into_iter().filter_map(of).collect();
    if texts.is_empty() { NOTHING.to_owned() } else { texts.join(", ") }
}

fn one(page: &mut Page, audit: &Audit) {
    page.head(&[audit.tag.as_str(), "audit", &counted(audit.entries_checked as usize, "entry", "entries")]);
    let sound = match audit.sound_until {
        None => "no entry is sound for certain".to_owned(),
        Some(EntryNumber::FIRST) => "entry 1 is sound".to_owned(),
        Some(until) => format!("entries 1 to {until} are sound"),
    };
    if audit.is_sound() {
        page.line(&format!("As far as the journal itself can show, {sound}."));
    } else {
        let from = audit.lost_from.map(|entry| format!(" from entry {entry} on")).unwrap_or_default();
        page.alarm(&format!("trust is lost{from}; {sound}"));
    }
    if let Some(line) = signatures_text(&audit.signatures) {
        page.line(&line);
    }
    if audit.findings.is_empty() {
        return;
    }
    page.gap();
    let mut table = Table::new(["entry", "level", "finding"]).figures(0).at_least(1, 12);
    for Finding { level, entry, what, .. } in audit.findings.iter().take(SHOWN) {
        table.row([or_nothing(entry.as_ref()), level.to_string(), what.to_string()]);
    }
    page.table(&table);
    let more = audit.findings.len().saturating_sub(SHOWN);
    if more > 0 {
        page.line(&format!("And {more} more; `--json` lists them all."));
    }
}

/// How many entries are signed, where any is.
fn signatures_text(signatures: &Signatures) -> Option<String> {
    let Signatures { good, unknown, bad, missing } = *signatures;
    let counts = [(good, "good"), (unknown, "by keys that are not trusted"), (bad, "bad"), (missing, "missing")];
    let told: Vec<String> =
        counts.iter().filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}")).collect();
    (good + unknown + bad > 0).then(|| format!("Signatures: {}.", told.join(", ")))
}

fn audit_json(audit: &Audit) -> Value {
    let finding = |finding: &Finding| {
        json!({
            "level": finding.level,
            "entry": finding.entry,
            "commit": finding.commit,
            "kind": finding.what.word(),
            "message": finding.what.to_string(),
        })
    };
    json!({
        "vehicle": audit.tag,
        "entries_checked": audit.entries_checked,
        "sound_until": audit.sound_until,
        "lost_from": audit.lost_from,
        "signatures": {
            "good": audit.signatures.good,
            "unknown": audit.signatures.unknown,
            "bad": audit.signatures.bad,
            "missing": audit.signatures.missing,
        },
        "findings": audit.findings.iter().map(finding).collect::<Vec<_>>(),
    })
}
