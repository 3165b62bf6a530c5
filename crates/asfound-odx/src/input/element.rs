//! One object of a document, as a small tree.

use super::Head;

/// What is wrong with an object, and in which line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Fault {
    pub(crate) line: u32,
    pub(crate) what: String,
}

/// An element with all that is in it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Element {
    pub(crate) name: Box<str>,
    pub(crate) attributes: Vec<(Box<str>, Box<str>)>,
    pub(crate) text: String,
    pub(crate) children: Vec<Element>,
    pub(crate) line: u32,
}

impl Element {
    pub(crate) fn new(head: Head) -> Self {
        Self { name: head.name, attributes: head.attributes, line: head.line, ..Self::default() }
    }

    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        attribute(&self.attributes, name)
    }

    pub(crate) fn child(&self, name: &str) -> Option<&Element> {
        self.children.iter().find(|child| &*child.name == name)
    }

    /// The children of a name, within the child of another name.
    pub(crate) fn list<'e>(&'e self, outer: &str, name: &'e str) -> impl Iterator<Item = &'e Element> {
        self.child(outer).into_iter().flat_map(move |list| list.named(name))
    }

    pub(crate) fn named<'e>(&'e self, name: &'e str) -> impl Iterator<Item = &'e Element> {
        self.children.iter().filter(move |child| &*child.name == name)
    }

    /// The text of a child, without white space around it; nothing where the child is absent or empty.
    pub(crate) fn text_of(&self, name: &str) -> Option<&str> {
        self.child(name).map(|child| child.text.trim()).filter(|text| !text.is_empty())
    }

    /// All text within, with single spaces.
    pub(crate) fn words(&self) -> String {
        let mut pieces = Vec::new();
        self.gather(&mut pieces);
        pieces.join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn gather<'e>(&'e self, pieces: &mut Vec<&'e str>) {
        pieces.push(&self.text);
        for child in &self.children {
            child.gather(pieces);
        }
    }

    pub(crate) fn fault(&self, what: impl Into<String>) -> Fault {
        Fault { line: self.line, what: what.into() }
    }

    pub(crate) fn required(&self, name: &str) -> Result<&Element, Fault> {
        self.child(name).ok_or_else(|| self.fault(format!("`{}` has no `{name}`", self.name)))
    }

    pub(crate) fn required_text(&self, name: &str) -> Result<&str, Fault> {
        self.text_of(name).ok_or_else(|| self.fault(format!("`{}` has no `{name}`", self.name)))
    }

    pub(crate) fn required_attribute(&self, name: &str) -> Result<&str, Fault> {
        self.attribute(name).ok_or_else(|| self.fault(format!("`{}` has no attribute `{name}`", self.name)))
    }

    /// A number in a child, where it is there.
    pub(crate) fn number<T: std::str::FromStr>(&self, name: &str) -> Result<Option<T>, Fault> {
        let Some(text) = self.text_of(name) else { return Ok(None) };
        let wrong = || {
            let line = self.child(name).map_or(self.line, |child| child.line);
            Fault {
                line,
                what: format!("`{name}` is `{}`, which is no number that it can be", crate::error::shown(text)),
            }
        };
        text.parse().map(Some).map_err(|_| wrong())
    }

    pub(crate) fn required_number<T: std::str::FromStr>(&self, name: &str) -> Result<T, Fault> {
        self.number(name)?.ok_or_else(|| self.fault(format!("`{}` has no `{name}`", self.name)))
    }
}

pub(crate) fn attribute<'a>(attributes: &'a [(Box<str>, Box<str>)], name: &str) -> Option<&'a str> {
    attributes.iter().find(|(key, _)| &**key == name).map(|(_, value)| &**value)
}
