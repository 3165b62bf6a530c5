//! Words and JSON pieces that several screens use.

use asfound_core::definition::AmbiguousDefinition;
use asfound_core::difference::Content;
use asfound_core::entry::{Entry, StepPlace};
use asfound_core::history::{ContentStatus, Doubt, LogWrite, OpenStep, Origin, Proof};
use asfound_core::moment::{Precision, StatedTime};
use asfound_core::names::DefinitionId;
use asfound_core::safety::{SafetyClass, SafetyTag};
use asfound_core::state::TimingRemark;
use asfound_core::trial::TrialState;
use asfound_core::value::{BitMask, Value};
use serde::Serialize;
use serde_json::{Value as Json, json};
use similar::{ChangeTag, TextDiff};
use time::format_description::well_known::Rfc3339;
use time::{OffsetDateTime, UtcOffset};

use super::write_lines::{date_and_clock, mended_text};
use asfound_report::{NOTHING, date_and_time, date_as_known, short_date};

/// A moment in JSON: RFC 3339.
pub fn moment(at: OffsetDateTime) -> String {
    at.format(&Rfc3339).unwrap_or_else(|_| at.to_string())
}

/// The class of care of a step, in words.
pub fn class_text(class: SafetyClass, restricted: &[SafetyTag]) -> String {
    let tags: Vec<&str> = restricted.iter().map(|tag| tag.as_str()).collect();
    match class {
        SafetyClass::Restricted => format!("restricted ({}): for a qualified technician", tags.join(", ")),
        SafetyClass::NotKnown => "not known: with at least as much care as caution".to_owned(),
        class => class.to_string(),
    }
}

/// That nobody knows what became of a step, and what to do.
pub fn open_step_text(open: &OpenStep) -> String {
    format!("{}: {} since entry {}; read it before anything else", open.place, open.outcome, open.entry)
}

/// An open step in JSON.
pub fn open_step_json(open: &OpenStep) -> Json {
    let (module, record, setting) = match &open.place {
        StepPlace::Record(module, record) => (module, Some(record), None),
        StepPlace::Setting(path) => (&path.module, None, Some(&path.setting)),
    };
    json!({ "module": module, "record": record, "setting": setting, "entry": open.entry, "outcome": open.outcome })
}

/// The text of something, or the sign for nothing.
pub fn or_nothing<T: ToString>(value: Option<&T>) -> String {
    value.map_or_else(|| NOTHING.to_owned(), ToString::to_string)
}

/// A value in JSON: switches as true and false, whole numbers as numbers where they are exact
/// there, everything else as the text people see.
pub fn value_json(value: &Value) -> Json {
    match value {
        Value::Switch(on) => json!(on),
        Value::Integer(number) => match i64::try_from(*number) {
            Ok(number) if number.abs() <= 1 << 53 => json!(number),
            _ => json!(number.to_string()),
        },
        other => json!(other.to_string()),
    }
}

/// What a field holds, in JSON.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ContentJson {
    /// As people see it.
    pub text: String,
    /// Typed, where a definition gives it a meaning.
    pub value: Option<Json>,
    /// The coded bits as hexadecimal, where bytes are known.
    pub coded: Option<String>,
    /// The definition that explains it.
    pub definition: Option<String>,
    /// Of bits that no definition names, which ones it is about, and what they hold; the text has the whole record.
    pub bits: Option<Vec<BitsJson>>,
}

/// Bits next to each other, in JSON.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BitsJson {
    /// The first byte, from 0.
    pub byte: usize,
    /// The lowest bit, from 0 for the least significant.
    pub bit: u8,
    /// How many bits.
    pub length: usize,
    /// What they hold: whole bytes in hexadecimal, fewer bits one digit for each.
    pub value: Option<String>,
}

impl BitsJson {
    fn of(mask: &BitMask, record: &[u8]) -> Vec<Self> {
        let runs = mask.runs().into_iter();
        runs.map(|run| Self { byte: run.byte, bit: run.bit, length: run.length, value: run.of(record) }).collect()
    }
}

impl ContentJson {
    /// The JSON of some content.
    pub fn of(content: &Content) -> Self {
        let (coded, definition) = match content {
            Content::Coded { coded, definition, .. } => (Some(coded.to_string()), Some(definition.to_string())),
            _ => (None, None),
        };
        let bits = match content {
            Content::Bits { mask, bytes } => Some(BitsJson::of(mask, bytes.as_slice())),
            _ => None,
        };
        Self { text: content.to_string(), value: content.value().map(value_json), coded, definition, bits }
    }
}

/// What a field held and holds, side by side. Where both read the same and are not, the coded bits tell them apart.
pub fn side_by_side(found: Option<&Content>, left: Option<&Content>) -> [String; 2] {
    let plain = [or_nothing(found), or_nothing(left)];
    let same = found.zip(left).is_some_and(|(found, left)| found.same(left));
    if same || plain[0] != plain[1] {
        return plain;
    }
    [found, left].map(|content| match content {
        Some(Content::Coded { coded, value: Some(value), .. }) => format!("{value} (coded {coded})"),
        other => or_nothing(other),
    })
}

/// How well an alteration is proven, on a sheet.
pub fn proof_text(proof: Proof) -> String {
    match proof {
        Proof::Stated => "stated".to_owned(),
        Proof::ReadBack(reading) => format!("read back, entry {reading}"),
        Proof::PartlyWitnessed(log) => format!("witnessed in part, entry {log}"),
        Proof::Witnessed(log) => format!("witnessed, entry {log}"),
        Proof::Contradicted(reading) => format!("contradicted, entry {reading}"),
    }
}

/// The same, with what was mended in the bus log that proves it.
pub fn proof_on_the_wire(proof: Proof, wire: Option<&LogWrite>) -> String {
    let mended = match (proof, wire) {
        (Proof::PartlyWitnessed(_), Some(wire)) if !wire.write.mended.is_empty() => {
            format!(": {}", mended_text(&wire.write.mended))
        }
        _ => String::new(),
    };
    format!("{}{mended}", proof_text(proof))
}

/// How well an alteration is proven, in JSON.
pub fn proof_json(proof: Proof) -> Json {
    match proof {
        Proof::Stated => json!({ "level": "stated", "reading": null }),
        Proof::ReadBack(reading) => json!({ "level": "read-back", "reading": reading }),
        Proof::PartlyWitnessed(log) => json!({ "level": "partly-witnessed", "reading": log }),
        Proof::Witnessed(log) => json!({ "level": "witnessed", "reading": log }),
        Proof::Contradicted(reading) => json!({ "level": "contradicted", "reading": reading }),
    }
}

/// How a value is known, on a sheet.
pub fn standing_text(standing: ContentStatus) -> String {
    match standing {
        ContentStatus::Read { last, .. } => format!("as read, entry {last}"),
        ContentStatus::Altered { by, proof: Proof::Stated } => format!("stated, entry {by}"),
        ContentStatus::Altered { by, proof: Proof::ReadBack(reading) } => format!("entry {by}, read back {reading}"),
        ContentStatus::Altered { by, proof: Proof::PartlyWitnessed(log) } => {
            format!("entry {by}, witnessed in part {log}")
        }
        ContentStatus::Altered { by, proof: Proof::Witnessed(log) } => format!("entry {by}, witnessed {log}"),
        ContentStatus::Altered { by, proof: Proof::Contradicted(reading) } => {
            format!("entry {by}, contradicted {reading}")
        }
        ContentStatus::AnotherHand { seen } => format!("another hand, seen {seen}"),
        ContentStatus::Contradiction { of, seen } => format!("against entry {of}, seen {seen}"),
        ContentStatus::CannotTell { seen, doubt } => format!("cannot tell since {seen}: {}", doubt_text(doubt)),
    }
}

/// How a value is known, in JSON.
pub fn standing_json(standing: ContentStatus) -> Json {
    match standing {
        ContentStatus::Read { since, last } => json!({ "known": "read", "since": since, "last_read": last }),
        ContentStatus::Altered { by, proof } => json!({ "known": "altered", "by": by, "proof": proof_json(proof) }),
        ContentStatus::AnotherHand { seen } => json!({ "known": "another-hand", "seen": seen }),
        ContentStatus::Contradiction { of, seen } => json!({ "known": "contradiction", "of": of, "seen": seen }),
        ContentStatus::CannotTell { seen, doubt } => {
            json!({ "known": "cannot-tell", "seen": seen, "doubt": doubt.as_str() })
        }
    }
}

/// How a trial stands, on a sheet; nothing where proof and standing say it already.
pub fn trial_text(trial: &TrialState) -> Option<String> {
    match trial {
        TrialState::Open(_) => Some("on trial".to_owned()),
        TrialState::Held(reading) => Some(format!("held, entry {reading}")),
        TrialState::NotHeld(_) | TrialState::TakenOver(_) => None,
    }
}

/// How a trial stands, in JSON; nothing for what has none.
pub fn trial_json(trial: Option<&TrialState>) -> Json {
    let (state, entry) = match trial {
        None => return Json::Null,
        Some(TrialState::Open(_)) => ("open", None),
        Some(TrialState::Held(reading)) => ("held", Some(reading)),
        Some(TrialState::NotHeld(reading)) => ("not-held", Some(reading)),
        Some(TrialState::TakenOver(work)) => ("taken-over", Some(work)),
    };
    json!({ "state": state, "entry": entry })
}

/// Where a transition comes from, on a sheet.
pub fn origin_text(origin: Origin) -> String {
    match origin {
        Origin::FirstKnown => "first known".to_owned(),
        Origin::Work => "recorded work".to_owned(),
        Origin::AnotherHand(kind) => format!("another hand, {kind}"),
        Origin::Contradicts(entry) => format!("contradicts entry {entry}"),
        Origin::CannotTell(doubt) => format!("cannot tell: {}", doubt_text(doubt)),
    }
}

/// When something happened, as exactly as it is known.
pub fn when(at: StatedTime) -> String {
    date_as_known(at)
}

/// When what an entry tells of happened, likewise.
pub fn entry_when(entry: &Entry) -> String {
    date_as_known(StatedTime { at: entry.happened, precision: entry.precision })
}

/// The same for a table: the day, or no more than is known.
pub fn entry_day(entry: &Entry) -> String {
    let at = StatedTime { at: entry.happened, precision: entry.precision };
    match entry.precision {
        Precision::Second | Precision::Day => short_date(entry.happened),
        Precision::Month | Precision::Year => at.to_string(),
    }
}

/// What is worth saying of the moment of an entry.
pub fn timing_text(remark: TimingRemark) -> String {
    match remark {
        TimingRemark::Future(at) => format!("its moment lies in the future: it is filed {}", date_and_time(at)),
        TimingRemark::BeforeEnrolment(at) => {
            format!("its moment lies before the journal was started ({})", date_and_time(at))
        }
        TimingRemark::Earlier(entry, at) => {
            format!("it is earlier than entry {entry} ({}): what is known from then stays", date_and_time(at))
        }
        TimingRemark::NotOrdered(entry, at) => format!(
            "cannot tell whether it is earlier or later than entry {entry} ({}): nothing follows from their order",
            date_and_time(at)
        ),
    }
}

/// Why nothing is concluded from what a reading shows.
pub fn doubt_text(doubt: Doubt) -> &'static str {
    match doubt {
        Doubt::Order => "before or after",
        Doubt::Comparison => "perhaps the same",
        Doubt::SettingOrMeasured => "setting or measured value",
        Doubt::Unit => "which unit",
    }
}

/// Where a transition comes from, with the time to the millisecond where a bus log shows the write.
pub fn origin_on_the_wire(origin: Origin, wire: Option<&LogWrite>, offset: UtcOffset) -> String {
    let text = origin_text(origin);
    match wire.filter(|_| matches!(origin, Origin::AnotherHand(_))) {
        Some(wire) => format!("{text}, {} (entry {})", date_and_clock(wire.write.at, offset), wire.entry),
        None => text,
    }
}

/// The write on the bus that brought a content, in JSON.
pub fn on_the_wire_json(wire: Option<&LogWrite>) -> Json {
    wire.map_or(
        Json::Null,
        |wire| json!({ "entry": wire.entry, "at": wire.write.at.map(moment), "mended": wire.write.mended }),
    )
}

/// Where a transition comes from, in JSON.
pub fn origin_json(origin: Origin) -> Json {
    match origin {
        Origin::FirstKnown => json!({ "from": "first-known" }),
        Origin::Work => json!({ "from": "work" }),
        Origin::AnotherHand(kind) => json!({ "from": "another-hand", "kind": kind.to_string().replace(' ', "-") }),
        Origin::Contradicts(entry) => json!({ "from": "contradiction", "of": entry }),
        Origin::CannotTell(doubt) => json!({ "from": "cannot-tell", "doubt": doubt.as_str() }),
    }
}

/// An entry's head in JSON.
pub fn entry_json(entry: &Entry, headline: &str) -> Json {
    json!({
        "number": entry.number,
        "kind": entry.body.kind(),
        "headline": headline,
        "recorded": moment(entry.recorded),
        "happened": moment(entry.happened),
        "precision": entry.precision.as_str(),
        "author": { "name": entry.author.name(), "email": entry.author.email() },
        "why": entry.why.as_str(),
    })
}

/// Two texts with the words that differ in brackets, as bytes that differ are.
pub fn words_side_by_side(found: &str, left: &str) -> (String, String) {
    let difference = TextDiff::from_words(found, left);
    let (mut a, mut b) = (String::new(), String::new());
    for op in difference.ops() {
        let side = |wanted: ChangeTag| -> String {
            let parts = difference.iter_changes(op).filter(|change| change.tag() == wanted);
            parts.map(|change| change.value().to_owned()).collect()
        };
        let same = side(ChangeTag::Equal);
        a.push_str(&same);
        b.push_str(&same);
        for (text, into) in [(side(ChangeTag::Delete), &mut a), (side(ChangeTag::Insert), &mut b)] {
            if !text.is_empty() {
                into.push_str(&format!("[{text}]"));
            }
        }
    }
    (a, b)
}

/// One or many.
pub fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// An argument as a shell takes it.
pub fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_.:".contains(c);
    if !text.is_empty() && text.chars().all(plain) {
        text.to_owned()
    } else {
        format!("'{}'", text.replace('\'', "'\\''"))
    }
}

/// That several definitions fit a module, and what follows from that, as a sentence.
pub fn several_line(AmbiguousDefinition { module, ids }: &AmbiguousDefinition) -> String {
    let ids: Vec<&str> = ids.iter().map(DefinitionId::as_str).collect();
    let ids = ids.join(", ");
    format!("Several definitions fit {module} ({ids}): none of them explains it, and its bytes stay as they are.")
}

/// The same for a program that reads along.
pub fn several_json<'s>(several: impl IntoIterator<Item = &'s AmbiguousDefinition>) -> Vec<Json> {
    several.into_iter().map(|several| json!({ "module": several.module, "definitions": several.ids })).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_that_differ_are_in_brackets() {
        let (a, b) = words_side_by_side("horn sounds hoarse", "horn sounds very hoarse");
        assert_eq!((a.as_str(), b.as_str()), ("horn sounds hoarse", "horn sounds [very ]hoarse"));
    }
}
