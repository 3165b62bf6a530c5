//! What the pieces of a document are, for those who have it read to them.

use std::num::NonZeroU16;

use krilla::tagging::{Identifier, ListNumbering, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};

/// What a part of a document is.
#[derive(Debug, Clone)]
pub(super) enum TagRole {
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

struct TagNode {
    role: TagRole,
    under: Vec<usize>,
    pieces: Vec<Identifier>,
}

/// The parts of a document; 0 is the document itself.
pub(super) struct Tags(Vec<TagNode>);

impl Tags {
    pub(super) fn new() -> Self {
        Self(vec![TagNode { role: TagRole::Root, under: Vec::new(), pieces: Vec::new() }])
    }

    pub(super) fn add(&mut self, under: usize, role: TagRole) -> usize {
        let at = self.0.len();
        self.0.push(TagNode { role, under: Vec::new(), pieces: Vec::new() });
        self.0[under].under.push(at);
        at
    }

    /// Notes a piece of a page as belonging to a part.
    pub(super) fn piece(&mut self, part: usize, piece: Identifier) {
        self.0[part].pieces.push(piece);
    }

    /// The tree, in the order in which the parts were added.
    pub(super) fn tree(self, language: &str) -> TagTree {
        let mut parts: Vec<Option<TagNode>> = self.0.into_iter().map(Some).collect();
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

fn group(parts: &mut [Option<TagNode>], at: usize) -> Option<TagGroup> {
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

fn kind(role: TagRole) -> TagKind {
    match role {
        TagRole::Root | TagRole::Section => Tag::Section.into(),
        TagRole::Heading(level, title) => {
            Tag::Hn(NonZeroU16::new(level).unwrap_or(NonZeroU16::MIN), Some(title)).into()
        }
        TagRole::Paragraph => Tag::P.into(),
        TagRole::List => Tag::L(ListNumbering::Disc).into(),
        TagRole::Item => Tag::LI.into(),
        TagRole::ItemBody => Tag::LBody.into(),
        TagRole::Table => Tag::Table.into(),
        TagRole::Rows { head: true } => Tag::THead.into(),
        TagRole::Rows { head: false } => Tag::TBody.into(),
        TagRole::Row => Tag::TR.into(),
        TagRole::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        TagRole::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        TagRole::Data => Tag::TD.into(),
        TagRole::Figure(says) => Tag::Figure(Some(says)).into(),
    }
}
