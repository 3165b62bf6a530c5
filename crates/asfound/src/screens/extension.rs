//! What `audit` shows of a proof that a journal was only added to.

use std::path::PathBuf;

use asfound_journal::seal::{Extension, ExtensionFinding};
use serde_json::{Value, json};

use super::seal::{entries, seal_json};
use crate::setup::Screen;
use asfound_report::Page;

/// How many entries were added between two seals, in words.
pub fn added(count: u64) -> String {
    match count {
        0 => "none was added since".to_owned(),
        1 => "1 entry was added since".to_owned(),
        _ => format!("{count} entries were added since"),
    }
}

/// A proof of an extension that was checked.
pub struct ExtensionChecked {
    /// The file.
    pub file: PathBuf,
    /// The proof.
    pub proof: Extension,
    /// What speaks against it.
    pub findings: Vec<ExtensionFinding>,
    /// Whether the earlier and the later seal were given to compare.
    pub kept: [bool; 2],
}

fn finding_text(finding: ExtensionFinding) -> &'static str {
    match finding {
        ExtensionFinding::NoExtension => {
            "no way leads from the earlier seal to the later one: the file was altered, or the journal was rewritten \
             between the two"
        }
        ExtensionFinding::EarlierDiffers => "the earlier seal is not the one that was kept",
        ExtensionFinding::LaterDiffers => "the later seal is not the one that was kept",
    }
}

fn finding_kind(finding: ExtensionFinding) -> &'static str {
    match finding {
        ExtensionFinding::NoExtension => "no-extension",
        ExtensionFinding::EarlierDiffers => "earlier-differs",
        ExtensionFinding::LaterDiffers => "later-differs",
    }
}

impl Screen for ExtensionChecked {
    fn text(&self, page: &mut Page) {
        let (earlier, later) = (self.proof.earlier(), self.proof.later());
        page.head(&[&self.file.display().to_string(), "proof that a journal was only added to"]);
        page.pair("earlier seal", &format!("{}, over {}", earlier.short(), entries(earlier.entries)));
        page.pair("later seal", &format!("{}, over {}", later.short(), entries(later.entries)));
        page.gap();
        self.findings.iter().for_each(|finding| page.alarm(finding_text(*finding)));
        if !self.findings.is_empty() {
            return;
        }
        page.line(&format!(
            "It holds: the journal with the later seal begins with the first {} of the earlier one, in their order; {}.",
            entries(earlier.entries),
            added(later.entries - earlier.entries)
        ));
        let stated = match self.kept {
            [true, true] => return,
            [false, false] => "both seals are as the file states them; compare them with what",
            [false, true] => "the earlier seal is as the file states it; compare it with one that",
            [true, false] => "the later seal is as the file states it; compare it with one that",
        };
        page.remark(&format!("{stated} you have from elsewhere (--seal for the earlier, --until for the later)"));
    }

    fn json(&self) -> Value {
        json!({
            "schema": "asfound/extension-check/1",
            "file": self.file,
            "earlier": seal_json(self.proof.earlier()),
            "later": seal_json(self.proof.later()),
            "compared": { "earlier": self.kept[0], "later": self.kept[1] },
            "holds": self.findings.is_empty(),
            "findings": self.findings.iter()
                .map(|finding| json!({ "kind": finding_kind(*finding), "message": finding_text(*finding) }))
                .collect::<Vec<_>>(),
        })
    }
}
