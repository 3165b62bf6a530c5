//! Which records a service reads or writes, and what stands in them.

use std::rc::Rc;

use asfound_core::names::RecordName;

use super::flatten::{MessageContext, flatten};
use super::leaf::{Content, FlatMessage, Leaf};
use super::table::{MessageKey, rows_by_key};
use crate::model::{Message, Service};
use crate::reason::Reason;
use crate::view::{PlacedRow, RowsByKey, View};

/// What a service does with a record.
#[derive(Debug, Clone)]
pub(crate) struct Access<'d> {
    pub(crate) record: RecordName,
    pub(crate) writes: bool,
    /// The first byte of the record in its message.
    pub(crate) from: usize,
    pub(crate) flat: FlatMessage<'d>,
    /// The row of a table that the identifier chose.
    pub(crate) row: Option<PlacedRow<'d>>,
}

/// What a service does: one record, or one for each row of a table.
#[derive(Debug, Clone, Default)]
pub(crate) struct Accesses<'d> {
    pub(crate) found: Vec<Access<'d>>,
    /// Why some rows give no record.
    pub(crate) unclear: Vec<String>,
}

/// Why a service that reads or writes identifiers gives no record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum NoRecord {
    /// It does something else.
    OtherService,
    /// It reads or writes an identifier, but this is not as a record has it.
    Unclear(String),
}

/// Services that read or write by identifier: the request's first byte, the bytes of the identifier, and whether it writes
/// (ISO 14229-1: 22 and 2E; ISO 14230-3: 21 and 3B; from memory). The options of 1A are other numbers than local identifiers.
const SERVICES: [(u8, usize, bool); 4] = [(0x22, 2, false), (0x2E, 2, true), (0x21, 1, false), (0x3B, 1, true)];
/// What a positive response adds to the request's first byte (ISO 14229-1).
const POSITIVE: u8 = 0x40;

/// What a service does with records.
pub(crate) fn accesses<'d>(view: &View<'d>, layer: usize, service: &'d Service) -> Result<Accesses<'d>, NoRecord> {
    let request = service.request.as_ref().ok_or(NoRecord::OtherService)?;
    let Some(request) = view.message(layer, request) else {
        return Err(NoRecord::Unclear("its request is not in these documents".to_owned()));
    };
    let sent = flatten(view, request.0, &request.1.parameters, MessageContext::default());
    let first = constant_byte(&sent, 0).ok_or(NoRecord::OtherService)?;
    let Some((_, width, writes)) = SERVICES.into_iter().find(|(byte, ..)| *byte == first) else {
        return Err(NoRecord::OtherService);
    };
    if !writes && service.responses.len() > 1 {
        return Err(NoRecord::Unclear("it has several positive responses".to_owned()));
    }
    let response = service.responses.first().and_then(|reference| view.message(layer, reference));
    let shape = Exchange { view, first, width, writes, request, response };
    let identifier: Option<Vec<u8>> = (1..=width).map(|at| constant_byte(&sent, at)).collect();
    if let Some(identifier) = identifier {
        let only = shape.access(&identifier, Some(sent)).map_err(|why| NoRecord::Unclear(why.to_owned()))?;
        return Ok(Accesses { found: vec![only], unclear: Vec::new() });
    }
    let Some(keyed) = shape.rows(&sent) else {
        let why = if sent.end <= width { "its identifier is too short" } else { "its identifier is not a constant" };
        return Err(NoRecord::Unclear(why.to_owned()));
    };
    let mut accesses = Accesses::default();
    for name in &keyed.unclear {
        accesses.unclear.push(format!("the row {name} has no key of its own that can be coded"));
    }
    for key in keyed.keys() {
        match shape.access(key, None) {
            Ok(access) => accesses.found.push(access),
            Err(why) => {
                let row = keyed.row(key).map_or("", |placed| &*placed.row.content.head.short_name);
                accesses.unclear.push(format!("for the row {row} {why}"));
            }
        }
    }
    Ok(accesses)
}

/// The messages of a service that reads or writes by identifier.
struct Exchange<'v, 'd> {
    view: &'v View<'d>,
    first: u8,
    /// Bytes of the identifier.
    width: usize,
    writes: bool,
    request: (usize, &'d Message),
    response: Option<(usize, &'d Message)>,
}

impl<'d> Exchange<'_, 'd> {
    /// The rows of the table whose key is the identifier, in the request or, where that leaves it open, in the response.
    fn rows(&self, sent: &FlatMessage<'d>) -> Option<Rc<RowsByKey<'d>>> {
        let is_identifier = |key: &&MessageKey<'d>| (key.byte, key.bit, key.bits) == (1, 0, Some(8 * self.width));
        let answered = || {
            let open = sent.leaves.iter().any(|leaf| (leaf.byte, leaf.bit, leaf.bits) == (1, 0, 8 * self.width));
            let (at, message) = self.response.filter(|_| open && !self.writes)?;
            let flat = flatten(self.view, at, &message.parameters, MessageContext::default());
            flat.keys.iter().find(is_identifier)?.table
        };
        let table = sent.keys.iter().find(is_identifier).map_or_else(answered, |key| key.table)?;
        Some(rows_by_key(self.view, table))
    }

    /// What the service does with the record of one identifier; `sent` is the request, where it is known.
    fn access(&self, identifier: &[u8], sent: Option<FlatMessage<'d>>) -> Result<Access<'d>, &'static str> {
        let record = match identifier {
            [high, low] => RecordName::Identifier(u16::from_be_bytes([*high, *low])),
            [only] => RecordName::Local(*only),
            _ => return Err("its identifier has neither one byte nor two"),
        };
        let (from, writes) = (1 + self.width, self.writes);
        let known = MessageContext { identifier: Some(identifier), keys: &[] };
        // With a constant identifier the request is what it was without one.
        let sent = sent.unwrap_or_else(|| flatten(self.view, self.request.0, &self.request.1.parameters, known));
        if writes {
            return Ok(Access { record, writes, from, row: chosen(&sent), flat: sent });
        }
        if sent.end > from {
            return Err("it asks for more than one identifier, or with more than that");
        }
        let Some((at, response)) = self.response else {
            return Err("its positive response is not in these documents");
        };
        let flat = flatten(
            self.view,
            at,
            &response.parameters,
            MessageContext { identifier: Some(identifier), keys: &sent.keys },
        );
        answers(&flat, self.first, identifier)?;
        Ok(Access { record, writes, from, row: chosen(&flat).or_else(|| chosen(&sent)), flat })
    }
}

/// The row that the identifier chose.
fn chosen<'d>(flat: &FlatMessage<'d>) -> Option<PlacedRow<'d>> {
    flat.keys.iter().find(|key| (key.byte, key.bit) == (1, 0)).and_then(|key| key.row)
}

/// Whether a response begins as one to the request must: its first byte and the identifier again.
fn answers(response: &FlatMessage<'_>, first: u8, identifier: &[u8]) -> Result<(), &'static str> {
    if constant_byte(response, 0) != Some(first + POSITIVE) {
        return Err("its response does not begin as a positive one does");
    }
    for (at, byte) in identifier.iter().enumerate() {
        let at = at + 1;
        let touching = response.leaves.iter().filter(|leaf| (leaf.byte..leaf.end()).contains(&at));
        for leaf in touching {
            let same = match &leaf.content {
                Content::Constant { .. } => constant_byte(response, at) == Some(*byte),
                Content::Matching { from } => from.saturating_add(at - leaf.byte) == at,
                // The module repeats the identifier; what the documents call it does not matter.
                Content::Value { .. } | Content::Reserved | Content::Opaque(_) => leaf.end() <= 1 + identifier.len(),
                Content::Variable(_) => false,
            };
            if !same {
                return Err("its response repeats another identifier");
            }
        }
        if response.leaves.iter().all(|leaf| !(leaf.byte..leaf.end()).contains(&at)) {
            return Err("its response does not repeat the identifier");
        }
    }
    Ok(())
}

/// The byte of a message that constants give whole.
fn constant_byte(flat: &FlatMessage<'_>, at: usize) -> Option<u8> {
    let (mut byte, mut known) = (0, 0);
    for leaf in &flat.leaves {
        if let (Content::Constant { bytes, mask }, Some(inside)) = (&leaf.content, at.checked_sub(leaf.byte))
            && let (Some(value), Some(bits)) = (bytes.get(inside), mask.get(inside))
        {
            byte |= value & bits;
            known |= bits;
        }
    }
    (known == 0xFF).then_some(byte)
}

impl<'d> Access<'d> {
    /// The values of the record itself: what is not in front of it, and no constant.
    pub(crate) fn values(&self) -> impl Iterator<Item = &Leaf<'d>> {
        self.flat.leaves.iter().filter(|leaf| leaf.byte >= self.from).filter(|leaf| {
            matches!(
                leaf.content,
                Content::Value { .. } | Content::Opaque(_) | Content::Variable(_) | Content::Matching { .. }
            )
        })
    }

    /// The record's length, or why it is not always the same.
    pub(crate) fn length(&self) -> Result<usize, Reason> {
        match &self.flat.variable {
            Some(why) => Err(why.clone()),
            None => Ok(self.flat.end.saturating_sub(self.from)),
        }
    }
}
