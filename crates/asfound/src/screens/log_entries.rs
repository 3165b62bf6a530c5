//! What `entry` shows of a filed witness.

use std::collections::BTreeSet;

use asfound_capture::bus_log::Clock;
use asfound_core::entry::Body;
use time::UtcOffset;

use super::write_lines::{accounted_for, answer_text, clock_lines, clock_text, date_and_clock, mended_text};
use asfound_report::{NOTHING, Page, Table};

/// A filed witness, as `entry` shows it.
pub fn witness_text(page: &mut Page, offset: UtcOffset, body: &Body) {
    let Body::Witness(witness) = body else { return };
    for log in &witness.logs {
        page.pair("log", &format!("{}, {} bytes", log.name, log.bytes));
        page.pair("SHA-256", log.sha256.as_str());
        page.pair(
            "its clock",
            &format!("{} to {}", date_and_clock(log.first, offset), date_and_clock(log.last, offset)),
        );
    }
    let clock = Clock {
        journal_later_ms: witness.journal_later_ms,
        spread_ms: 0,
        found: witness.writes.iter().filter(|write| write.entry.is_some()).count(),
        put_later_ms: witness.put_later_ms,
    };
    if clock.journal_later_ms.is_some() || clock.put_later_ms.is_some() {
        clock_lines(&clock).iter().for_each(|line| page.pair("clock", line));
    }
    for (module, places) in &witness.modules {
        for place in places {
            page.pair("module", &format!("{module} asked at {}, answers at {}", place.asked.join(", "), place.answers));
        }
    }
    let filed: Vec<String> = witness.filed.iter().map(ToString::to_string).collect();
    if !filed.is_empty() {
        page.pair("made of it", &format!("entry {}", filed.join(", ")));
    }
    if !witness.writes.is_empty() {
        let testers: BTreeSet<&Option<String>> = witness.writes.iter().map(|write| &write.tester).collect();
        page.part("Written");
        let mut table = Table::new(["time", "record", "answer", "read again", "accounted for by"]);
        for (place, write) in witness.writes.iter().enumerate() {
            let again = match (write.read_back_agrees(), &write.read_back) {
                (Some(true), _) => "as written",
                (Some(false), _) => "otherwise",
                (None, Some(_)) => "read",
                (None, None) => "not read",
            };
            table.row([
                clock_text(write.at, offset),
                format!("{}:{}", write.module, write.record),
                answer_text(write),
                again.to_owned(),
                accounted_for(&witness.writes, place, true, &BTreeSet::new()),
            ]);
        }
        page.table(&table);
        for write in &witness.writes {
            page.line(&format!("{} record {}, {}", write.module, write.record, clock_text(write.at, offset)));
            for (label, bytes) in
                [("  read before", &write.found), ("  written", &write.written), ("  read again", &write.read_back)]
            {
                page.pair(label, &bytes.as_ref().map_or_else(|| NOTHING.to_owned(), ToString::to_string));
            }
            if let Some(gap) = &write.gap {
                let after = gap.after.as_ref().map_or_else(String::new, |after| format!(" {after}"));
                page.pair("  in the log", &format!("{} … ({} bytes missing){after}", gap.before, gap.missing));
            }
            if let Some(tester) = write.tester.as_ref().filter(|_| testers.len() > 1) {
                page.pair("  tester", tester);
            }
            if !write.mended.is_empty() {
                page.pair("  mended", &mended_text(&write.mended));
            }
        }
    }
    if !witness.actions.is_empty() {
        page.part("Done besides");
        for action in &witness.actions {
            page.item(&format!(
                "{} {}: {}, {}",
                clock_text(action.at, offset),
                action.module,
                action.what,
                action.answer
            ));
        }
    }
}
