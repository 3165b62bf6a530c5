//! What depends on another value: multiplexers, rows of tables, environment data.

use super::super::constant;
use super::super::leaf::{Content, FlatMessage};
use super::super::table::{MessageKey, rows_by_key};
use super::{DEEPEST, Walk};
use crate::model::{
    DataObject, EnvironmentData, EnvironmentDescription, Multiplexer, ObjectKind, Parameter, ParameterKind, Reference,
    Target,
};
use crate::reason::Reason;
use crate::view::{PlacedRow, TablePlace};

/// Which environment data a message has.
pub(super) enum EnvironmentShape<'d> {
    /// None.
    Nothing,
    /// These, with every trouble code; with the layer that they stand in.
    Always(usize, &'d EnvironmentData),
    /// It depends on a trouble code, or an object is missing.
    Depends,
}

impl<'d> Walk<'_, 'd> {
    /// A walk of its own, to see how long something is.
    fn aside(&self) -> Self {
        Self {
            view: self.view,
            budget: self.budget,
            known: self.known,
            flat: FlatMessage::default(),
            names: Vec::new(),
            labels: Vec::new(),
            unsure: false,
        }
    }

    /// The environment data that are always there.
    pub(super) fn environment_data(
        &self,
        layer: usize,
        description: &'d EnvironmentDescription,
    ) -> EnvironmentShape<'d> {
        let mut all = Vec::new();
        for reference in &description.references {
            match self.view.object(layer, reference) {
                Some((at, DataObject { kind: ObjectKind::EnvironmentData(data), .. })) => all.push((at, data)),
                _ => return EnvironmentShape::Depends,
            }
        }
        all.extend(description.inside.iter().map(|data| (layer, data)));
        match all.as_slice() {
            [] => EnvironmentShape::Nothing,
            [(at, data)] if data.always => EnvironmentShape::Always(*at, data),
            _ => EnvironmentShape::Depends,
        }
    }

    pub(super) fn table_key(
        &mut self,
        layer: usize,
        parameter: &'d Parameter,
        (table, row): (Option<&'d Reference>, Option<&'d Reference>),
        byte: usize,
    ) -> usize {
        let mut table = table.and_then(|reference| self.view.find_table(layer, reference));
        let fixed = row.and_then(|reference| self.view.find_row(layer, reference, table));
        if let Some((of, _)) = fixed {
            table = Some(of);
        }
        let key = table.and_then(|place| Some((place.0, self.view.table(place).key.as_ref()?)));
        let bits = key.and_then(|(at, reference)| self.fixed_bits(at, Some(reference)));
        let chosen = match (fixed, self.known.identifier, table) {
            (Some((_, row)), ..) => Some(row),
            (None, Some(identifier), Some(table))
                if self.names.len() == 1 && (byte, parameter.bit) == (1, 0) && bits == Some(8 * identifier.len()) =>
            {
                rows_by_key(self.view, table).row(identifier)
            }
            _ => None,
        };
        let coded = chosen.zip(key).and_then(|(chosen, (at, reference))| {
            constant::physical(self.view, at, reference, &chosen.row.key, parameter.bit)
        });
        let head = &parameter.head;
        self.flat.keys.push(MessageKey {
            id: head.id.as_deref(),
            name: &head.short_name,
            table,
            row: chosen,
            byte,
            bit: parameter.bit,
            bits,
        });
        let unknown = if bits.is_some() { Content::Opaque(Reason::Table) } else { Content::Variable(Reason::Table) };
        let end = self.leaf(layer, parameter, byte, bits, coded.unwrap_or(unknown));
        // Whether a key that always chooses the same row stands in the message is told in two ways (docs/odx.md).
        self.unsure = fixed.is_some();
        end
    }

    pub(super) fn table_struct(
        &mut self,
        layer: usize,
        parameter: &'d Parameter,
        key: Option<&'d Reference>,
        byte: usize,
        depth: usize,
    ) -> usize {
        let is = |seen: &&MessageKey<'d>| match key.map(|key| &key.target) {
            Some(Target::Id { id, .. }) => seen.id == Some(id),
            Some(Target::ShortName(name)) => seen.name == &**name,
            None => false,
        };
        let seen = self.flat.keys.iter().rev().chain(self.known.keys.iter().rev()).find(is).cloned();
        match seen {
            Some(MessageKey { row: Some(chosen), .. }) if parameter.bit == 0 => self.row(chosen, byte, depth),
            Some(MessageKey { table: Some(table), row: None, .. }) => {
                let bits = self.row_bytes(table, depth).and_then(|bytes| bytes.checked_mul(8));
                let content =
                    if bits.is_some() { Content::Opaque(Reason::Table) } else { Content::Variable(Reason::Table) };
                self.leaf(layer, parameter, byte, bits, content)
            }
            _ => self.leaf(layer, parameter, byte, None, Content::Variable(Reason::Table)),
        }
    }

    /// What a row has, under the row's names.
    fn row(&mut self, chosen: PlacedRow<'d>, byte: usize, depth: usize) -> usize {
        let content = &chosen.row.content;
        if matches!(content.kind, ParameterKind::Value { object: None }) {
            return byte;
        }
        let (name, label) = (self.names.pop(), self.labels.pop());
        self.names.push(content.head.short_name.to_string());
        self.labels.push(content.head.label().to_owned());
        let end = self.parameter(chosen.layer, content, byte, depth + 1);
        self.names.pop();
        self.labels.pop();
        self.names.extend(name);
        self.labels.extend(label);
        end
    }

    /// The bytes of a table's rows where all of them have the same.
    fn row_bytes(&self, table: TablePlace, depth: usize) -> Option<usize> {
        let mut length = None;
        for placed in self.view.rows(table) {
            let mut walk = self.aside();
            let end = walk.row(placed, 0, depth + 1);
            if walk.flat.variable.is_some() || depth > DEEPEST || length.is_some_and(|length| length != end) {
                return None;
            }
            self.budget.set(self.budget.get().checked_sub(1)?);
            length = Some(end);
        }
        length
    }

    /// The bytes of a multiplexer where all of its cases have the same.
    pub(super) fn multiplexer_bytes(&self, layer: usize, multiplexer: &'d Multiplexer, depth: usize) -> Option<usize> {
        let mut length = None;
        for case in &multiplexer.cases {
            let end = match case {
                None => multiplexer.byte,
                Some(reference) => {
                    let (at, object) = self.view.object(layer, reference)?;
                    let mut walk = self.aside();
                    let end = walk.structure(at, object, multiplexer.byte, depth + 1);
                    if walk.flat.variable.is_some() || depth > DEEPEST {
                        return None;
                    }
                    end
                }
            };
            if length.is_some_and(|length| length != end) {
                return None;
            }
            length = Some(end);
        }
        let key = self.fixed_bits(layer, multiplexer.key.as_ref())?;
        let key_end = multiplexer.key_byte + (usize::from(multiplexer.key_bit) + key).div_ceil(8);
        length.map(|length| length.max(key_end))
    }
}
