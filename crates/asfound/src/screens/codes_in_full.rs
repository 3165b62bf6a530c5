//! The trouble codes of a reading, each with everything that was said of it.

use asfound_core::entry::ReadingBody;
use asfound_core::trouble_code::ReportedCode;

use super::shared::counted;
use crate::setup::Descriptions;
use asfound_report::Page;

/// Shows them; nothing where the reading scanned no module that has one.
pub fn codes_in_full(page: &mut Page, reading: &ReadingBody, descriptions: &Descriptions) {
    let codes: Vec<_> = reading
        .covered
        .iter()
        .flat_map(|(module, covered)| covered.trouble_codes.iter().flatten().map(move |code| (module, code)))
        .collect();
    if codes.is_empty() {
        return;
    }
    page.part("Trouble codes");
    for (module, reported) in codes {
        let structure = reported.code.structure().map(|text| format!(": {text}")).unwrap_or_default();
        page.item(&format!("{module} {}{structure}", reported.code));
        said_beside(reported).iter().for_each(|(label, text)| page.pair(&format!("    {label}"), text));
        if let Some(described) = descriptions.find(&reported.code) {
            page.pair("    described", &described.with_origin());
        }
    }
}

/// What was said beside a code: a label and a text each.
fn said_beside(reported: &ReportedCode) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    if let Some(status) = reported.status {
        let names: Vec<&str> = status.names().collect();
        let names = if names.is_empty() { "no bit set".to_owned() } else { names.join(", ") };
        lines.push(("status", format!("{status}: {names}")));
    }
    if let Some(format) = reported.format {
        let list = format.list().map(|list| format!(": {list}")).unwrap_or_default();
        lines.push(("format", format!("{format}{list}")));
    }
    if let Some(count) = reported.occurrences {
        lines.push(("counted", counted(usize::try_from(count).unwrap_or(usize::MAX), "time", "times")));
    }
    if let Some(km) = reported.odometer_km {
        lines.push(("stored at", format!("{km} km")));
    }
    if let Some(frame) = &reported.freeze_frame {
        if let Some(raw) = &frame.raw {
            lines.push(("frame", raw.to_string()));
        }
        lines.extend(frame.values.iter().map(|(name, value)| ("then", format!("{name} {value}"))));
    }
    lines
}
