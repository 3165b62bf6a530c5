//! Puts every value of a message in its place (ISO 22901-1: positions are relative to the structure; without one, a
//! parameter follows the one before it).

mod dependent;

use std::cell::Cell;

use self::dependent::EnvironmentShape;
use super::constant;
use super::leaf::{Content, FlatMessage, Leaf};
use super::table::MessageKey;
use crate::model::{DataObject, Field, FieldCount, ObjectKind, Parameter, ParameterKind, Reference, StructureShape};
use crate::reason::Reason;
use crate::view::View;

/// Structures within each other.
const DEEPEST: usize = 16;
/// Values of one message; a longest record of single bits has as many.
const MOST: usize = 8 * 4096;
/// Parameters looked at for one message, so that structures within each other cannot take for ever.
const BUDGET: usize = 16 * MOST;
/// Bytes of the longest message: the longest record with its header.
const LONGEST: usize = 4095 + 8;

/// What is known of a message before it is looked at.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct MessageContext<'k, 'd> {
    /// The identifier behind the first byte: a key of a table in that place chooses the row of this key.
    pub(crate) identifier: Option<&'k [u8]>,
    /// Keys in the message that this one answers.
    pub(crate) keys: &'k [MessageKey<'d>],
}

/// The parameters of a message that stand in a layer, flat.
pub(crate) fn flatten<'d>(
    view: &View<'d>,
    layer: usize,
    parameters: &'d [Parameter],
    known: MessageContext<'_, 'd>,
) -> FlatMessage<'d> {
    let budget = Cell::new(BUDGET);
    let mut walk = Walk {
        view,
        budget: &budget,
        known,
        flat: FlatMessage::default(),
        names: Vec::new(),
        labels: Vec::new(),
        unsure: false,
    };
    let end = walk.parameters(layer, parameters, 0, 0);
    walk.flat.end = end;
    walk.flat
}

struct Walk<'v, 'd> {
    view: &'v View<'d>,
    budget: &'v Cell<usize>,
    known: MessageContext<'v, 'd>,
    flat: FlatMessage<'d>,
    names: Vec<String>,
    labels: Vec<String>,
    /// Whether the last structure has its furthest value not at its end, and no size: where what follows begins without a
    /// position of its own is told in two ways (docs/odx.md).
    unsure: bool,
}

impl<'d> Walk<'_, 'd> {
    /// Walks through parameters of a structure that begins at `origin`; gives the first byte behind it.
    fn parameters(&mut self, layer: usize, parameters: &'d [Parameter], origin: usize, depth: usize) -> usize {
        let (mut cursor, mut end) = (origin, origin);
        for parameter in parameters {
            if std::mem::take(&mut self.unsure) && parameter.byte.is_none() {
                self.vary(Reason::Layout);
            }
            let byte = parameter.byte.map_or(cursor, |byte| origin.saturating_add(byte));
            self.budget.set(self.budget.get().saturating_sub(1));
            if byte > LONGEST || self.flat.leaves.len() > MOST || depth > DEEPEST || self.budget.get() == 0 {
                self.vary(Reason::Nested);
                return end;
            }
            self.names.push(parameter.head.short_name.to_string());
            self.labels.push(parameter.head.label().to_owned());
            cursor = self.parameter(layer, parameter, byte, depth);
            self.names.pop();
            self.labels.pop();
            end = end.max(cursor);
        }
        self.unsure |= depth > 0 && cursor != end;
        end
    }

    fn parameter(&mut self, layer: usize, parameter: &'d Parameter, byte: usize, depth: usize) -> usize {
        match &parameter.kind {
            ParameterKind::CodedConst { coded, value } => {
                let (bits, content) = constant::coded(coded, value, parameter.bit);
                self.leaf(layer, parameter, byte, bits, content)
            }
            ParameterKind::Reserved { bits } => {
                self.leaf(layer, parameter, byte, Some(*bits as usize), Content::Reserved)
            }
            ParameterKind::MatchingRequest { from, bytes } => {
                self.leaf(layer, parameter, byte, bytes.checked_mul(8), Content::Matching { from: *from })
            }
            ParameterKind::Value { object } => self.value(layer, parameter, object.as_ref(), byte, depth),
            ParameterKind::PhysicalConst { object, value } => {
                let bits = self.fixed_bits(layer, object.as_ref());
                let constant = object
                    .as_ref()
                    .and_then(|object| constant::physical(self.view, layer, object, value, parameter.bit));
                let unknown =
                    if bits.is_some() { Content::Reserved } else { Content::Variable(Reason::VariableLength) };
                self.leaf(layer, parameter, byte, bits, constant.unwrap_or(unknown))
            }
            ParameterKind::LengthKey => {
                self.leaf(layer, parameter, byte, None, Content::Variable(Reason::VariableLength))
            }
            ParameterKind::TableKey { table, row } => {
                self.table_key(layer, parameter, (table.as_ref(), row.as_ref()), byte)
            }
            ParameterKind::TableStruct { key } => self.table_struct(layer, parameter, key.as_ref(), byte, depth),
            ParameterKind::Other { object } => {
                let bits = self.fixed_bits(layer, object.as_ref());
                let content =
                    if bits.is_some() { Content::Opaque(Reason::System) } else { Content::Variable(Reason::System) };
                self.leaf(layer, parameter, byte, bits, content)
            }
        }
    }

    /// The length of a simple object.
    fn fixed_bits(&self, layer: usize, reference: Option<&Reference>) -> Option<usize> {
        let (_, object) = self.view.object(layer, reference?)?;
        let coded = match &object.kind {
            ObjectKind::Property(property) => &property.coded,
            ObjectKind::TroubleCodes(codes) => &codes.coded,
            _ => return None,
        };
        coded.fixed_bits().map(|bits| bits as usize)
    }

    fn value(
        &mut self,
        layer: usize,
        parameter: &'d Parameter,
        reference: Option<&'d Reference>,
        byte: usize,
        depth: usize,
    ) -> usize {
        let found = reference.and_then(|reference| self.view.object(layer, reference));
        let Some((at, object)) = found else {
            return self.leaf(layer, parameter, byte, None, Content::Variable(Reason::Missing));
        };
        match &object.kind {
            ObjectKind::Property(property) => {
                let bits = property.coded.fixed_bits().map(|bits| bits as usize);
                let content = match bits {
                    Some(_) => Content::Value { object, property, layer: at },
                    None => Content::Variable(Reason::VariableLength),
                };
                self.leaf(layer, parameter, byte, bits, content)
            }
            ObjectKind::TroubleCodes(codes) => {
                let bits = codes.coded.fixed_bits().map(|bits| bits as usize);
                let content = if bits.is_some() {
                    Content::Opaque(Reason::TroubleCode)
                } else {
                    Content::Variable(Reason::TroubleCode)
                };
                self.leaf(layer, parameter, byte, bits, content)
            }
            ObjectKind::Structure(_) if parameter.bit != 0 => {
                self.leaf(layer, parameter, byte, None, Content::Variable(Reason::Layout))
            }
            ObjectKind::Structure(_) => self.structure(at, object, byte, depth),
            ObjectKind::Field(field) => self.field(layer, parameter, (at, field), byte, depth),
            ObjectKind::Multiplexer(multiplexer) => {
                let bits = self.multiplexer_bytes(at, multiplexer, depth).and_then(|bytes| bytes.checked_mul(8));
                let content = if bits.is_some() {
                    Content::Opaque(Reason::Multiplexer)
                } else {
                    Content::Variable(Reason::Multiplexer)
                };
                self.leaf(layer, parameter, byte, bits, content)
            }
            ObjectKind::EnvironmentDescription(description) => {
                // Data that go with every code always lie there; what goes with single codes may be there or not.
                match self.environment_data(at, description) {
                    EnvironmentShape::Always(layer, data) if parameter.bit == 0 => {
                        self.shape(layer, &data.shape, byte, depth)
                    }
                    EnvironmentShape::Nothing => byte,
                    _ => self.leaf(layer, parameter, byte, None, Content::Variable(Reason::EnvironmentData)),
                }
            }
            ObjectKind::EnvironmentData(_) => {
                self.leaf(layer, parameter, byte, None, Content::Variable(Reason::Layout))
            }
        }
    }

    fn structure(&mut self, layer: usize, object: &'d DataObject, byte: usize, depth: usize) -> usize {
        let ObjectKind::Structure(shape) = &object.kind else { return byte };
        self.shape(layer, shape, byte, depth)
    }

    fn shape(&mut self, layer: usize, shape: &'d StructureShape, byte: usize, depth: usize) -> usize {
        let end = self.parameters(layer, &shape.parameters, byte, depth + 1);
        if let Some(size) = shape.byte_size {
            self.unsure = false;
            return byte.saturating_add(size);
        }
        end
    }

    fn field(
        &mut self,
        layer: usize,
        parameter: &'d Parameter,
        (at, field): (usize, &'d Field),
        byte: usize,
        depth: usize,
    ) -> usize {
        let structure = field.structure.as_ref().and_then(|reference| self.view.object(at, reference));
        let (items, size) = match field.count {
            FieldCount::Fixed { items, item_size } => (items, Some(item_size)),
            FieldCount::ToEnd { least: Some(least), most: Some(most) } if least == most => (most, None),
            FieldCount::ToEnd { .. } => {
                return self.leaf(layer, parameter, byte, None, Content::Variable(Reason::EndOfPduField));
            }
            FieldCount::Counted => {
                return self.leaf(layer, parameter, byte, None, Content::Variable(Reason::CountedField));
            }
            FieldCount::Marked => {
                return self.leaf(layer, parameter, byte, None, Content::Variable(Reason::MarkedField));
            }
        };
        let Some((inner, object)) = structure else {
            return self.leaf(layer, parameter, byte, None, Content::Variable(Reason::Missing));
        };
        if items > LONGEST || size == Some(0) {
            return self.leaf(layer, parameter, byte, None, Content::Variable(Reason::Nested));
        }
        let (name, label) = (self.names.pop().unwrap_or_default(), self.labels.pop().unwrap_or_default());
        let mut at_byte = byte;
        for item in 1..=items {
            self.names.push(format!("{name}[{item}]"));
            self.labels.push(format!("{label} {item}"));
            let end = self.structure(inner, object, at_byte, depth);
            if let Some(size) = size {
                self.unsure = false;
                at_byte = at_byte.saturating_add(size);
            } else {
                at_byte = end;
            }
            self.names.pop();
            self.labels.pop();
            if at_byte > LONGEST {
                self.vary(Reason::Nested);
                break;
            }
        }
        self.names.push(name);
        self.labels.push(label);
        at_byte
    }

    fn leaf(
        &mut self,
        layer: usize,
        parameter: &'d Parameter,
        byte: usize,
        bits: Option<usize>,
        content: Content<'d>,
    ) -> usize {
        if let Content::Variable(why) = &content {
            self.vary(why.clone());
        }
        let bits = bits.unwrap_or(0);
        if bits > 8 * LONGEST {
            self.vary(Reason::Wide);
            return byte;
        }
        let leaf = Leaf {
            path: self.names.clone(),
            labels: self.labels.clone(),
            description: parameter.head.description.as_deref(),
            layer,
            line: parameter.head.line,
            semantic: parameter.semantic.as_deref(),
            byte,
            bit: parameter.bit,
            bits,
            content,
        };
        let end = leaf.end();
        self.flat.leaves.push(leaf);
        end
    }

    fn vary(&mut self, why: Reason) {
        self.flat.variable.get_or_insert(why);
    }
}
