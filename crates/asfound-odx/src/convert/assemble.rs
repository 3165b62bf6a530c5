//! Puts a layer's records together from the services that read and write them.

use std::collections::BTreeMap;

use asfound_core::definition::Permitted;
use asfound_core::layout::{Coding, Conversion, Layout, Placement, ValueKind};
use asfound_core::names::RecordName;

use super::access::{Access, NoRecord, accesses};
use super::draft::{RecordDraft, SettingDraft};
use super::leaf::{Content, Leaf};
use super::place::whole_bytes;
use super::safety::proposed;
use super::shape::{SettingShape, shape};
use super::slug::{distinct, slug};
use crate::error::Place;
use crate::model::{Head, Service};
use crate::reason::Reason;
use crate::report::{ByteValue, Note, OmittedRecord, Report, WholeValue};
use crate::view::View;

/// The longest record.
const LONGEST: usize = 4095;
/// The longest label, in characters.
const LONGEST_LABEL: usize = 120;

/// A service with what it does to a record.
struct RecordService<'d> {
    layer: usize,
    service: &'d Service,
    access: Access<'d>,
}

impl<'d> RecordService<'d> {
    /// The names of the record: those of the row that its identifier chose, else the service's.
    fn names(&self) -> (usize, &'d Head) {
        self.access.row.map_or((self.layer, &self.service.head), |row| (row.layer, &row.row.content.head))
    }
}

#[derive(Default)]
struct RecordServices<'d> {
    reads: Option<RecordService<'d>>,
    writes: Option<RecordService<'d>>,
}

/// The records of a layer, and what there is to report of them. `names` are words about the whole module.
pub(crate) fn assemble(view: &View<'_>, names: &[String]) -> (Vec<RecordDraft>, Report) {
    let mut report = Report::default();
    let all = gather(view, &mut report);
    let (mut records, mut settings) = (Vec::new(), 0);
    for (name, ways) in &all {
        if let Some(draft) = record(view, name, ways, (names, settings), &mut report) {
            report.records.push(draft.name.clone());
            settings += draft.settings.len();
            records.push(draft);
        }
    }
    name_settings(&mut records, &mut report);
    (records, report)
}

fn gather<'d>(view: &View<'d>, report: &mut Report) -> BTreeMap<RecordName, RecordServices<'d>> {
    let mut all: BTreeMap<RecordName, RecordServices<'_>> = BTreeMap::new();
    for inherited in &view.services.services {
        let (layer, service) = (inherited.service.0, view.service(inherited.service));
        let place = view.database.place(layer, service.head.line, service.head.id.as_deref());
        let accesses = match accesses(view, layer, service) {
            Ok(accesses) => accesses,
            Err(NoRecord::OtherService) => {
                report.other_services += 1;
                continue;
            }
            Err(NoRecord::Unclear(why)) => {
                report.other_services += 1;
                let text = format!("The service {} gives no record: {why}", service.head.short_name);
                report.notes.push(Note { place, text });
                continue;
            }
        };
        for why in accesses.unclear {
            let text = format!("The service {} gives not all records: {why}", service.head.short_name);
            report.notes.push(Note { place: place.clone(), text });
        }
        for access in accesses.found {
            let (record, writes) = (access.record.clone(), access.writes);
            let ways = all.entry(record.clone()).or_default();
            let slot = if writes { &mut ways.writes } else { &mut ways.reads };
            if let Some(first) = slot {
                let verb = if writes { "writes" } else { "reads" };
                let (first, second) = (&first.service.head.short_name, &service.head.short_name);
                let text =
                    format!("The service {second} {verb} the record {record} as {first} does: {first} was taken");
                report.notes.push(Note { place: place.clone(), text });
            } else {
                *slot = Some(RecordService { layer, service, access });
            }
        }
    }
    for name in &view.services.conflicts {
        let layer = &view.database.layers[view.layer];
        let place = view.database.place(view.layer, layer.head.line, layer.head.id.as_deref());
        let text = format!("The service {name} is inherited twice and differently: it was left out");
        report.notes.push(Note { place, text });
    }
    all
}

fn record<'d>(
    view: &View<'d>,
    name: &RecordName,
    ways: &RecordServices<'d>,
    (names, before): (&[String], usize),
    report: &mut Report,
) -> Option<RecordDraft> {
    let way = ways.reads.as_ref().or(ways.writes.as_ref())?;
    let (layer, head) = way.names();
    let place = view.database.place(layer, head.line, head.id.as_deref());
    let length = match way.access.length() {
        Ok(length) if (1..=LONGEST).contains(&length) => length,
        other => {
            let why = other.err().unwrap_or(Reason::Layout);
            left(view, name, way, &why, report);
            report.left.push(OmittedRecord { record: name.to_string(), why, place });
            return None;
        }
    };
    let written = ways.writes.as_ref().map(|write| &write.access);
    if let (Some(written), Some(_)) = (written, &ways.reads)
        && written.length().ok() != Some(length)
    {
        let text = format!("The record {name} is written with another length than it is read with");
        report.notes.push(Note { place: place.clone(), text });
    }
    let mut draft = RecordDraft {
        name: name.to_string(),
        label: label(&[head.label().to_owned()]),
        length,
        place,
        alterable: written.is_some(),
        settings: Vec::new(),
    };
    let mut words = names.to_vec();
    let row = way.access.row;
    for head in [Some(&way.service.head), row.map(|row| &row.row.content.head)].into_iter().flatten() {
        words.push(slug(&head.short_name, '_'));
        words.extend(head.long_name.as_deref().map(|name| slug(name, '_')));
    }
    let of_row = row.into_iter().flat_map(|row| row.row.classes.iter().map(move |class| (row.layer, class)));
    for (layer, class) in way.service.classes.iter().map(|class| (way.layer, class)).chain(of_row) {
        if let Some(class) = view.class(layer, class) {
            words.push(slug(&class.short_name, '_'));
            words.extend(class.long_name.as_deref().map(|name| slug(name, '_')));
        }
    }
    report.languages.extend(view.database.language(layer).map(str::to_owned));
    let mut used = vec![0_u8; length];
    for leaf in way.access.values() {
        let maker = Maker { view, way, written, words: &words, length, before };
        maker.value(leaf, &mut used, &mut draft, report);
    }
    Some(draft)
}

/// Reports the values of a record that the definition does not name.
fn left(view: &View<'_>, name: &RecordName, way: &RecordService<'_>, why: &Reason, report: &mut Report) {
    for leaf in way.access.values() {
        let own = match &leaf.content {
            Content::Variable(why) | Content::Opaque(why) => why.clone(),
            Content::Matching { .. } => Reason::System,
            _ if way.access.flat.variable.is_some() => Reason::RecordLength,
            _ => why.clone(),
        };
        report.kept.push(ByteValue {
            setting: None,
            number: None,
            record: name.to_string(),
            path: leaf.path.join("."),
            why: own,
            place: view.database.place(leaf.layer, leaf.line, None),
        });
    }
}

struct Maker<'m, 'd> {
    view: &'m View<'d>,
    way: &'m RecordService<'d>,
    written: Option<&'m Access<'d>>,
    words: &'m [String],
    length: usize,
    /// Settings of the records before.
    before: usize,
}

impl<'d> Maker<'_, 'd> {
    fn value(&self, leaf: &Leaf<'d>, used: &mut [u8], draft: &mut RecordDraft, report: &mut Report) {
        let from = self.way.access.from;
        let made = match &leaf.content {
            Content::Value { property, layer, .. } => shape(leaf, property, *layer, self.view, from),
            Content::Opaque(why) | Content::Variable(why) => Err(why.clone()),
            Content::Matching { .. } => Err(Reason::System),
            Content::Constant { .. } | Content::Reserved => return,
        };
        let made = made.and_then(|shape| {
            if take(shape.layout.placement(), used, self.length) { Ok(shape) } else { Err(Reason::Overlap) }
        });
        report.languages.extend(self.view.database.language(leaf.layer).map(str::to_owned));
        let (path, place) = (leaf.path.join("."), self.view.database.place(leaf.layer, leaf.line, None));
        let record = draft.name.clone();
        // Names come last, when all are known; until then a number stands for the setting.
        let number = self.before + draft.settings.len();
        match made {
            Ok(shape) => {
                let alterable = self.written.is_some_and(|written| writes(written, leaf, from));
                report.whole.push(WholeValue { setting: String::new(), number, record, path, place, alterable });
                draft.settings.push(self.setting(leaf, shape, draft));
            }
            Err(why) => {
                let bytes = whole_bytes(leaf, from).filter(|placement| take(*placement, used, self.length));
                let layout = bytes.and_then(|placement| {
                    Layout::new(placement, Coding::Bytes, ValueKind::Bytes, Conversion::Identical).ok()
                });
                let holds = layout.is_some();
                if let Some(layout) = layout {
                    let notes = vec![format!("Reason as bytes: {why}")];
                    draft.settings.push(self.setting(
                        leaf,
                        SettingShape { layout, permitted: Permitted::Any, notes },
                        draft,
                    ));
                }
                let number = holds.then_some(number);
                report.kept.push(ByteValue { setting: None, number, record, path, why, place });
            }
        }
    }

    fn setting(&self, leaf: &Leaf<'d>, shape: SettingShape, draft: &RecordDraft) -> SettingDraft {
        let name = slug(&leaf.path.join("_"), '_');
        let mut words = self.words.to_vec();
        words.push(name.clone());
        words.extend(leaf.labels.iter().map(|label| slug(label, '_')));
        words.extend(leaf.semantic.map(|semantic| slug(semantic, '_')));
        let mut about: Vec<String> = leaf.description.map(str::to_owned).into_iter().collect();
        let object = match &leaf.content {
            Content::Value { object, .. } => {
                if about.is_empty() {
                    about.extend(object.head.description.as_deref().map(str::to_owned));
                }
                format!(", data object {}", object.head.short_name)
            }
            _ => String::new(),
        };
        about.extend(shape.notes);
        let about: Vec<String> = about.iter().map(|text| text.trim_end_matches('.').to_owned()).collect();
        let place = self.view.database.place(leaf.layer, leaf.line, None);
        SettingDraft {
            name,
            label: label(&leaf.labels),
            record: draft.name.clone(),
            layout: shape.layout,
            permitted: shape.permitted,
            tags: proposed(&words),
            about: (!about.is_empty()).then(|| about.join(". ")),
            source: source(&place, self.way, leaf, &object),
            alterable: self.written.is_some_and(|written| writes(written, leaf, self.way.access.from)),
        }
    }
}

fn source(place: &Place, way: &RecordService<'_>, leaf: &Leaf<'_>, object: &str) -> String {
    let row = way.access.row.map_or_else(String::new, |row| format!(", table row {}", row.row.content.head.short_name));
    format!("{place}: service {}{row}, parameter {}{object}", way.service.head.short_name, leaf.path.join("."))
}

/// Whether a message that writes the record has a value in the same place.
fn writes(written: &Access<'_>, leaf: &Leaf<'_>, from: usize) -> bool {
    written.values().any(|other| {
        other.byte.checked_sub(written.from) == leaf.byte.checked_sub(from)
            && (other.bit, other.bits) == (leaf.bit, leaf.bits)
    })
}

/// Takes bits of a record, unless one of them is taken or behind its end.
fn take(placement: Placement, used: &mut [u8], length: usize) -> bool {
    let mask = placement.mask(length);
    if placement.end() > length || (0..length).any(|at| used[at] & mask.byte(at) != 0) {
        return false;
    }
    (0..length).for_each(|at| used[at] |= mask.byte(at));
    true
}

/// Names for people, the outer first.
fn label(labels: &[String]) -> String {
    let joined = labels.join(": ");
    let clean: String = joined.chars().map(|c| if c.is_control() { ' ' } else { c }).take(LONGEST_LABEL).collect();
    let clean = clean.split_whitespace().collect::<Vec<_>>().join(" ");
    if clean.is_empty() { "(no name)".to_owned() } else { clean }
}

/// Gives every setting a name of its own, in the drafts and in the report, which have them in the same order.
fn name_settings(records: &mut [RecordDraft], report: &mut Report) {
    let wanted: Vec<(String, String)> = records
        .iter()
        .flat_map(|record| &record.settings)
        .map(|setting| (setting.name.clone(), setting.record.to_ascii_lowercase().replace('-', "_")))
        .collect();
    let mut names = distinct(&wanted).into_iter();
    for setting in records.iter_mut().flat_map(|record| &mut record.settings) {
        setting.name = names.next().unwrap_or_default();
    }
    let all: Vec<&str> = records.iter().flat_map(|record| &record.settings).map(|one| one.name.as_str()).collect();
    for value in &mut report.whole {
        value.setting = all.get(value.number).map_or_else(String::new, |name| (*name).to_owned());
    }
    for value in &mut report.kept {
        value.setting = value.number.and_then(|number| all.get(number)).map(|name| (*name).to_owned());
    }
}
