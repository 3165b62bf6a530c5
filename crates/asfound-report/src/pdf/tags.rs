//! What the pieces of a document are, for those who have it read to them.

use std::num::NonZeroU16;

use krilla::tagging::{Identifier, ListNumbering, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};

/// What a part of a document is.
#[derive(Debug, Clone)]
pub(super) enum Role {
    /// The document.
    Root,
    /// A part under a heading.
    Section,
    /// A heading.
    Heading(u16, String),
    Paragraph,
    List,
    Item,
    ItemBody,
    Table,
    Rows {
        head: bool,
    },
    Row,
    ColumnHead,
    RowHead,
    Data,
    Figure(String),
}

struct Part {
    role: Role,
    under: Vec<usize>,
    pieces: Vec<Identifier>,
}

/// The parts of a document; 0 is the document itself.
pub(super) struct Tags(Vec<Part>);

impl Tags {
    pub(super) fn new() -> Self {
        Self(vec![Part { role: Role::Root, under: Vec::new(), pieces: Vec::new() }])
    }

    pub(super) fn add(&mut self, under: usize, role: Role) -> usize {
        let at = self.0.len();
        self.0.push(Part { role, under: Vec::new(), pieces: Vec::new() });
        self.0[under].under.push(at);
        at
    }

    /// Notes a piece of a page as belonging to a part.
    pub(super) fn piece(&mut self, part: usize, piece: Identifier) {
        self.0[part].pieces.push(piece);
    }

    /// The tree, in the order in which the parts were added.
    pub(super) fn tree(self, language: &str) -> TagTree {
        let mut parts: Vec<Option<Part>> = self.0.into_iter().map(Some).collect();
        let mut tree = TagTree::new().with_lang(Some(language.to_owned()));
        let root = parts[0].take().map(|part| part.under).unwrap_or_default();
        for part in root {
            if let Some(group) = group(&mut parts, part) {
                tree.push(group);
            }
        }
        tree
    }
}

fn group(parts: &mut [Option<Part>], at: usize) -> Option<TagGroup> {
    let part = parts[at].take()?;
    let mut group = TagGroup::new(kind(part.role));
    let empty = part.pieces.is_empty() && part.under.is_empty();
    part.pieces.into_iter().for_each(|piece| group.push(piece));
    for under in part.under {
        if let Some(inner) = self::group(parts, under) {
            group.push(inner);
        }
    }
    (!empty).then_some(group)
}

fn kind(role: Role) -> TagKind {
    match role {
        Role::Root | Role::Section => Tag::Section.into(),
        Role::Heading(level, title) => Tag::Hn(NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN), Some(title)).into(),
        Role::Paragraph => Tag::P.into(),
        Role::List => Tag::L(ListNumbering::Disc).into(),
        Role::Item => Tag::LI.into(),
        Role::ItemBody => Tag::LBody.into(),
        Role::Table => Tag::Table.into(),
        Role::Rows { head: true } => Tag::THead.into(),
        Role::Rows { head: false } => Tag::TBody.into(),
        Role::Row => Tag::TR.into(),
        Role::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        Role::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        Role::Data => Tag::TD.into(),
        Role::Figure(says) => Tag::Figure(Some(says)).into(),
    }
}
