//! What `pack` shows.

use std::path::PathBuf;

use asfound_journal::store::PackOutcome;
use serde_json::{Value, json};

use super::shared::counted;
use crate::setup::Screen;
use asfound_report::Page;

/// A garage that was tidied.
pub struct PackScreen {
    /// The garage.
    pub garage: PathBuf,
    /// What it came to.
    pub tidied: PackOutcome,
}

impl Screen for PackScreen {
    fn text(&self, page: &mut Page) {
        let PackOutcome { objects, merged, references, damaged, bytes: (before, after) } = self.tidied;
        if objects + merged + references == 0 {
            page.line("There was nothing to pack.");
        } else {
            page.line(&format!(
                "Packed {} and {}; put {} together.",
                counted(objects, "object", "objects"),
                counted(references, "journal's reference", "journals' references"),
                counted(merged, "pack", "packs"),
            ));
            page.line(&format!("The journals took {} and take {}.", size(before), size(after)));
        }
        if damaged > 0 {
            page.alarm(&format!(
                "{} damaged and left as found; `asfound audit` tells what that costs",
                counted(damaged, "object is", "objects are")
            ));
        }
    }

    fn json(&self) -> Value {
        let PackOutcome { objects, merged, references, damaged, bytes } = self.tidied;
        json!({
            "schema": "asfound/tidied/1",
            "garage": self.garage,
            "objects": objects,
            "references": references,
            "packs_put_together": merged,
            "damaged": damaged,
            "bytes_before": bytes.0,
            "bytes_after": bytes.1,
        })
    }
}

/// A number of bytes in the unit that suits it.
fn size(bytes: u64) -> String {
    match bytes {
        0..10_000 => format!("{bytes} bytes"),
        10_000..10_000_000 => format!("{} kB", bytes / 1_000),
        _ => format!("{} MB", bytes / 1_000_000),
    }
}
