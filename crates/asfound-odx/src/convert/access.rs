//! Which record a service reads or writes, and what stands in it.

use asfound_core::names::RecordName;

use super::flatten::flatten;
use super::leaf::{Content, FlatMessage, Leaf};
use crate::model::{ParameterKind, Service};
use crate::reason::Reason;
use crate::view::View;

/// What a service does with a record.
#[derive(Debug, Clone)]
pub(crate) struct Access<'d> {
    pub(crate) record: RecordName,
    pub(crate) writes: bool,
    /// The first byte of the record in its message.
    pub(crate) from: usize,
    pub(crate) flat: FlatMessage<'d>,
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

/// What a service does with a record.
pub(crate) fn access<'d>(view: &View<'d>, layer: usize, service: &'d Service) -> Result<Access<'d>, NoRecord> {
    let request = service.request.as_ref().ok_or(NoRecord::OtherService)?;
    let Some((at, request)) = view.message(layer, request) else {
        return Err(NoRecord::Unclear("its request is not in these documents".to_owned()));
    };
    let sent = flatten(view, at, &request.parameters);
    let first = constant_byte(&sent, 0).ok_or(NoRecord::OtherService)?;
    let Some((_, width, writes)) = SERVICES.into_iter().find(|(byte, ..)| *byte == first) else {
        return Err(NoRecord::OtherService);
    };
    let keyed = request.parameters.iter().any(|parameter| matches!(parameter.kind, ParameterKind::TableKey));
    if keyed {
        return Err(NoRecord::Unclear("a row of a table gives the identifier".to_owned()));
    }
    let identifier: Option<Vec<u8>> = (1..=width).map(|at| constant_byte(&sent, at)).collect();
    let Some(identifier) = identifier else {
        let why = if sent.end <= width { "its identifier is too short" } else { "its identifier is not a constant" };
        return Err(NoRecord::Unclear(why.to_owned()));
    };
    let record = match identifier.as_slice() {
        [high, low] => RecordName::Identifier(u16::from_be_bytes([*high, *low])),
        [only] => RecordName::Local(*only),
        _ => return Err(NoRecord::OtherService),
    };
    let from = 1 + width;
    if writes {
        return Ok(Access { record, writes, from, flat: sent });
    }
    if sent.end > from {
        return Err(NoRecord::Unclear("it asks for more than one identifier, or with more than that".to_owned()));
    }
    if service.responses.len() > 1 {
        return Err(NoRecord::Unclear("it has several positive responses".to_owned()));
    }
    let Some((at, response)) = service.responses.first().and_then(|reference| view.message(layer, reference)) else {
        return Err(NoRecord::Unclear("its positive response is not in these documents".to_owned()));
    };
    let flat = flatten(view, at, &response.parameters);
    answers(&flat, first, &identifier).map_err(|why| NoRecord::Unclear(why.to_owned()))?;
    Ok(Access { record, writes, from, flat })
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
