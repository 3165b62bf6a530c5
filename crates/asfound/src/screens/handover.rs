//! What `handover` and `book` show of what they wrote.

use std::path::PathBuf;

use asfound_core::names::Tag;
use asfound_report::Page;
use asfound_report::sheet::{AccountedBy, FrontPage, Sheet};
use serde::Serialize;
use serde_json::{Value, json};

use super::shared::counted;
use crate::failure::Failure;
use crate::setup::{OneItem, Screen, Session};

/// A sheet that was handed over.
pub struct HandoverScreen<'h> {
    /// The sheet.
    pub sheet: Sheet<'h>,
    /// The file and how long it is, where one was written.
    pub written: Option<(PathBuf, usize)>,
}

impl HandoverScreen<'_> {
    /// Shows it.
    ///
    /// # Errors
    /// When standard output cannot be written.
    pub fn show(self, session: &mut Session<'_>) -> Result<(), Failure> {
        if session.json { self.write_json(session) } else { session.show_text(&mut |page| self.text(page)) }
    }

    fn text(&self, page: &mut Page) {
        let sheet = &self.sheet;
        let between = format!("entries {} to {}", sheet.found.entry, sheet.left.entry);
        page.head(&[sheet.vehicle.tag.as_str(), "handover sheet", &sheet.number, &between]);
        if let Some((file, bytes)) = &self.written {
            page.pair("file", &format!("{}, {bytes} bytes", file.display()));
        }
        let totals = &sheet.totals;
        let records = counted(totals.records_compared(), "record", "records");
        page.pair("compared", &format!("{records}, {} bytes; {} the same", totals.bytes_compared, totals.same));
        page.pair("differs", &counted(sheet.changes.len(), "field", "fields"));
        let unclear = sheet.changes.iter().filter(|change| change.account == AccountedBy::CannotTell).count();
        let open = sheet.changes.iter().filter(|change| !change.account.is_accounted_for()).count() - unclear;
        if open > 0 {
            page.alarm(&format!("{} that no agreed work accounts for", counted(open, "difference", "differences")));
        }
        if unclear > 0 {
            let fields = counted(unclear, "difference", "differences");
            page.pair("cannot tell", &format!("{fields} that may be settings or measured values"));
        }
        if totals.bits_moving > 0 {
            let (bits, records) = (totals.bits_moving as usize, totals.records_moving);
            let bits = counted(bits, "bit", "bits");
            let records = counted(records, "record", "records");
            page.pair("left out", &format!("{bits} in {records}, seen to change without a write"));
        }
        page.pair("seal", &sheet.seal.short);
    }

    /// Writes the sheet as JSON, of its long lists item by item.
    fn write_json(self, session: &mut Session<'_>) -> Result<(), Failure> {
        let mut sheet = self.sheet;
        let same = FrontPage::of(&sheet).same;
        let (changes, work) = (std::mem::take(&mut sheet.changes), std::mem::take(&mut sheet.work));
        let (signatures, trials) = (std::mem::take(&mut sheet.signatures), std::mem::take(&mut sheet.trials));
        let mut frame = serde_json::to_value(&sheet).unwrap_or_default();
        frame["schema"] = json!("asfound/sheet/1");
        frame["same"] = json!(same);
        frame["file"] = json!(self.written.as_ref().map(|(file, _)| file.display().to_string()));
        session.write_lists(
            &frame,
            &mut [
                ("changes", &mut |item| each(&changes, item)),
                ("signatures", &mut |item| each(&signatures, item)),
                ("trials", &mut |item| each(&trials, item)),
                ("work", &mut |item| each(&work, item)),
            ],
        )
    }
}

fn each(list: &[impl Serialize], item: &mut OneItem<'_>) -> Result<(), Failure> {
    list.iter().try_for_each(|one| item(&serde_json::to_value(one).unwrap_or_default()))
}

/// A book that was written.
pub struct BookWritten {
    /// The vehicle.
    pub tag: Tag,
    /// How many entries it has.
    pub entries: usize,
    /// How many life lines.
    pub lines: usize,
    /// Where it is.
    pub file: PathBuf,
    /// How long it is.
    pub bytes: usize,
}

impl Screen for BookWritten {
    fn text(&self, page: &mut Page) {
        page.head(&[self.tag.as_str(), "vehicle book"]);
        page.pair("file", &format!("{}, {} bytes", self.file.display(), self.bytes));
        page.pair(
            "holds",
            &format!(
                "{}, {}",
                counted(self.entries, "entry", "entries"),
                counted(self.lines, "life line", "life lines")
            ),
        );
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/book/1",
            "vehicle": self.tag,
            "entries": self.entries,
            "life_lines": self.lines,
            "file": self.file.display().to_string(),
            "bytes": self.bytes,
        })
    }
}
