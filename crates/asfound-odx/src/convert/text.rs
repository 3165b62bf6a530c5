//! A draft as the text of a definition file.

use std::fmt::Write;

use asfound_core::definition::Permitted;
use asfound_core::layout::{ByteOrder, Coding, Conversion, Linear, TextEntry, ValueKind};
use asfound_core::value::Value;

use super::draft::{Draft, RecordDraft, SettingDraft};
use crate::report::Report;

/// What is said of every setting, because nobody looked at its tags.
const CAUTION: &str = "Its safety tags were proposed from names; look at them before you rely on them";

/// The most values and records that a file names in comments because they stay bytes.
const MOST_NAMED: usize = 200;

/// The text of a definition file; comments say what stays bytes.
pub(crate) fn text(draft: &Draft, report: &Report) -> String {
    let mut text = String::new();
    let _ = writeln!(text, "format = \"asfound-definition/2\"");
    let _ = writeln!(text, "id = {}", quoted(&draft.id));
    let _ = writeln!(text, "title = {}", quoted(&draft.title));
    let _ = writeln!(text, "source = {}", quoted(&draft.source));
    let _ = writeln!(text, "# {}.", comment(&report.summary()));
    let left = report
        .left
        .iter()
        .map(|left| format!("The record {} has no place here: {} ({})", left.record, left.why, left.place));
    let kept = report.kept.iter().filter(|kept| kept.setting.is_none());
    let kept =
        kept.map(|kept| format!("{} of {} has no setting: {} ({})", kept.path, kept.record, kept.why, kept.place));
    for line in left.chain(kept).take(MOST_NAMED) {
        let _ = writeln!(text, "# {}", comment(&line));
    }
    let _ = writeln!(text, "\n[applies_to]\nmodule = {}", quoted(&draft.modules.module));
    for (key, patterns) in [("part_number", &draft.modules.part_number), ("hardware", &draft.modules.hardware)] {
        if !patterns.is_empty() {
            let _ =
                writeln!(text, "{key} = [{}]", patterns.iter().map(|one| quoted(one)).collect::<Vec<_>>().join(", "));
        }
    }
    if let Some((from, up_to)) = &draft.modules.software {
        let _ = writeln!(text, "software = {{ from = {}, up_to = {} }}", quoted(from), quoted(up_to));
    }
    for one in &draft.records {
        record(one, &mut text);
    }
    text
}

fn record(record: &RecordDraft, text: &mut String) {
    let how = if record.alterable { "read and written" } else { "only read" };
    let _ = writeln!(text, "\n# {}: {how}.", comment(&record.place.to_string()));
    let _ = writeln!(text, "[records.{}]", record.name);
    let _ = writeln!(text, "label = {}", quoted(&record.label));
    let _ = writeln!(text, "length = {}", record.length);
    for one in &record.settings {
        let _ = writeln!(text);
        if record.alterable && !one.alterable {
            let _ = writeln!(text, "# The message that writes the record has no such value in this place.");
        }
        setting(one, text);
    }
}

fn setting(setting: &SettingDraft, text: &mut String) {
    let layout = &setting.layout;
    let placement = layout.placement();
    let _ = writeln!(text, "[settings.{}]", setting.name);
    let _ = writeln!(text, "label = {}", quoted(&setting.label));
    let _ = writeln!(text, "record = {}", quoted(&setting.record));
    let _ = writeln!(text, "byte = {}", placement.byte());
    if placement.bit() > 0 {
        let _ = writeln!(text, "bit = {}", placement.bit());
    }
    let _ = writeln!(text, "bits = {}", placement.bits());
    if placement.order() == ByteOrder::Little {
        let _ = writeln!(text, "order = \"little\"");
    }
    if !matches!(layout.coding(), Coding::Unsigned | Coding::Ascii { .. } | Coding::Bytes) {
        let _ = writeln!(text, "coding = \"{}\"", layout.coding());
    }
    let _ = writeln!(text, "type = \"{}\"", layout.kind());
    if let ValueKind::Quantity { unit, decimals } = layout.kind() {
        let _ = writeln!(text, "unit = {}", quoted(unit));
        if let Some(decimals) = decimals {
            let _ = writeln!(text, "decimals = {decimals}");
        }
    }
    conversion(layout.conversion(), text);
    match &setting.permitted {
        Permitted::Any => {}
        Permitted::Range { min, max } => {
            let _ = writeln!(text, "range = {{ min = {}, max = {} }}", plain(min), plain(max));
        }
        Permitted::List(values) => {
            let _ = writeln!(text, "permitted = [{}]", values.iter().map(plain).collect::<Vec<_>>().join(", "));
        }
    }
    let tags = setting.tags.iter().map(|tag| format!("\"{}\"", tag.as_str())).collect::<Vec<_>>();
    let _ = writeln!(text, "tags = [{}] # proposed", tags.join(", "));
    let _ = writeln!(text, "cautions = [{}]", quoted(CAUTION));
    if let Some(about) = &setting.about {
        let _ = writeln!(text, "about = {}", quoted(about));
    }
    let _ = writeln!(text, "source = {}", quoted(&setting.source));
}

fn conversion(conversion: &Conversion, text: &mut String) {
    let line = |line: &Linear| {
        let [offset, factor] = &line.numerator;
        format!("numerator = [{offset}, {factor}], denominator = {}", line.denominator)
    };
    let _ = match conversion {
        Conversion::Identical => Ok(()),
        Conversion::Linear(linear) => writeln!(text, "scale = {{ {} }}", line(linear)),
        Conversion::ScaleLinear(scales) => {
            let scales = scales
                .iter()
                .map(|scale| format!("\n  {{ from = {}, to = {}, {} }},", scale.from, scale.to, line(&scale.line)));
            writeln!(text, "scales = [{}\n]", scales.collect::<String>())
        }
        Conversion::Table(table) => {
            let entry = |entry: &TextEntry| {
                let name = quoted(&entry.name);
                if entry.from == entry.to {
                    format!("{name} = {}", entry.from)
                } else {
                    format!("{name} = {{ from = {}, to = {}, write = {} }}", entry.from, entry.to, entry.write)
                }
            };
            let entries: Vec<String> = table.entries.iter().map(entry).collect();
            writeln!(text, "choices = {{ {} }}", entries.join(", "))
        }
    };
}

/// A value as a definition writes it.
fn plain(value: &Value) -> String {
    match value {
        Value::Integer(number) => number.to_string(),
        Value::Quantity { number, .. } => number.to_string(),
        other => quoted(&other.to_string()),
    }
}

pub(super) fn quoted(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let mut quoted = String::from("\"");
    for letter in clean.trim().chars() {
        if matches!(letter, '"' | '\\') {
            quoted.push('\\');
        }
        quoted.push(letter);
    }
    quoted.push('"');
    quoted
}

fn comment(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}
