//! The elements of a document, one after the other.
//!
//! Nothing is expanded: entities of the document's own are refused where they are declared or used.

use std::rc::Rc;
use std::sync::Arc;

use quick_xml::Reader;
use quick_xml::escape::resolve_xml_entity;
use quick_xml::events::{BytesStart, Event};

use super::element::{Element, attribute};
use super::text_source::{Gauge, Stop, TextSource};
use crate::error::{OdxError, Place, shown};
use crate::limits::Limits;

/// The beginning of an element.
#[derive(Debug, Clone)]
pub(crate) struct Head {
    pub(crate) name: Box<str>,
    pub(crate) attributes: Vec<(Box<str>, Box<str>)>,
    pub(crate) line: u32,
}

impl Head {
    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        attribute(&self.attributes, name)
    }
}

enum Token {
    Start(Head),
    End,
    Text(String),
    Eof,
}

/// Reads a document element by element.
pub(crate) struct Xml<'r> {
    reader: Reader<TextSource<'r>>,
    buffer: Vec<u8>,
    gauge: Rc<Gauge>,
    document: Arc<str>,
    limits: Limits,
    open: usize,
    /// Whether it is unpacked while it is read, so that what cannot be read is a fault of the archive.
    packed: bool,
}

impl<'r> Xml<'r> {
    pub(crate) fn new(document: Arc<str>, source: TextSource<'r>, limits: Limits) -> Self {
        let gauge = source.gauge();
        let mut reader = Reader::from_reader(source);
        let config = reader.config_mut();
        config.expand_empty_elements = true;
        config.check_end_names = true;
        Self { reader, buffer: Vec::new(), gauge, document, limits, open: 0, packed: false }
    }

    /// A document that is unpacked while it is read.
    pub(crate) fn packed(self) -> Self {
        Self { packed: true, ..self }
    }

    pub(crate) fn document(&self) -> &Arc<str> {
        &self.document
    }

    fn place(&self, line: u32) -> Place {
        Place { document: Arc::clone(&self.document), line, id: None }
    }

    fn wrong(&self, line: u32, why: impl Into<String>) -> OdxError {
        OdxError::Xml { place: self.place(line), why: why.into() }
    }

    /// The next element within the open one; nothing at its end, which closes it.
    pub(crate) fn next_child(&mut self) -> Result<Option<Head>, OdxError> {
        loop {
            match self.token(false)? {
                Token::Start(head) => return Ok(Some(head)),
                Token::End | Token::Eof => return Ok(None),
                Token::Text(_) => {}
            }
        }
    }

    /// The rest of the element that was just opened.
    pub(crate) fn element(&mut self, head: Head) -> Result<Element, OdxError> {
        let (line, mut count) = (head.line, 1_usize);
        let mut stack = vec![Element::new(head)];
        loop {
            match self.token(true)? {
                Token::Start(head) => {
                    count += 1;
                    if count > self.limits.object {
                        return Err(
                            self.wrong(line, format!("an object has more than {} elements", self.limits.object))
                        );
                    }
                    stack.push(Element::new(head));
                }
                Token::Text(text) => stack.last_mut().expect("the element is open").text.push_str(&text),
                Token::End | Token::Eof => {
                    let closed = stack.pop().expect("the element is open");
                    match stack.last_mut() {
                        Some(outer) => outer.children.push(closed),
                        None => return Ok(closed),
                    }
                }
            }
        }
    }

    /// Passes over the rest of the element that was just opened.
    pub(crate) fn skip(&mut self) -> Result<(), OdxError> {
        let mut depth = 1_usize;
        while depth > 0 {
            match self.token(false)? {
                Token::Start(_) => depth += 1,
                Token::End => depth -= 1,
                Token::Text(_) => {}
                Token::Eof => break,
            }
        }
        Ok(())
    }

    fn token(&mut self, texts: bool) -> Result<Token, OdxError> {
        loop {
            self.buffer.clear();
            self.gauge.begin_token();
            let line = self.gauge.line();
            let event = match self.reader.read_event_into(&mut self.buffer) {
                Ok(event) => event,
                Err(error) => return Err(failure(&self.document, &self.gauge, self.packed, line, &error)),
            };
            match event {
                Event::Start(start) => {
                    let head = head(&start, line).map_err(|why| OdxError::Xml {
                        place: Place { document: Arc::clone(&self.document), line, id: None },
                        why,
                    })?;
                    self.open += 1;
                    if self.open > self.limits.depth {
                        return Err(
                            self.wrong(line, format!("more than {} elements within each other", self.limits.depth))
                        );
                    }
                    return Ok(Token::Start(head));
                }
                Event::End(_) => {
                    self.open -= 1;
                    return Ok(Token::End);
                }
                Event::Eof if self.open > 0 => {
                    let line = self.gauge.line();
                    return Err(self.wrong(line, "the document ends in the middle: it was cut off"));
                }
                Event::Eof => return Ok(Token::Eof),
                Event::Text(text) if texts => return Ok(Token::Text(text.xml10_content().into_owned())),
                Event::CData(data) if texts => return Ok(Token::Text(data.xml10_content().into_owned())),
                Event::GeneralRef(reference) if texts => {
                    if let Ok(Some(character)) = reference.resolve_char_ref() {
                        return Ok(Token::Text(character.to_string()));
                    }
                    let name = reference.xml10_content();
                    if let Some(text) = resolve_xml_entity(&name) {
                        return Ok(Token::Text(text.to_owned()));
                    }
                    let why =
                        format!("the entity `&{};` is not one of XML's own, and no other is expanded", shown(&name));
                    return Err(self.wrong(line, why));
                }
                Event::DocType(declaration) => {
                    // ODX documents follow a schema; a declaration can only bring entities.
                    let text = declaration.into_inner();
                    if text.contains('[') || text.contains("<!") {
                        return Err(
                            self.wrong(line, "the document declares types or entities, which ODX does not have")
                        );
                    }
                }
                _ => {}
            }
        }
    }
}

fn head(start: &BytesStart<'_>, line: u32) -> Result<Head, String> {
    let mut attributes = Vec::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| format!("in the tag `{}`: {error}", shown(tag(start))))?;
        let value = attribute
            .normalized_value(quick_xml::XmlVersion::Explicit1_0)
            .map_err(|error| format!("in the tag `{}`: {error}", shown(tag(start))))?;
        attributes.push((Box::from(attribute.key.local_name().into_inner()), Box::from(value.as_ref())));
    }
    Ok(Head { name: Box::from(tag(start)), attributes, line })
}

fn tag<'s>(start: &'s BytesStart<'_>) -> &'s str {
    start.local_name().into_inner()
}

fn failure(document: &Arc<str>, gauge: &Gauge, packed: bool, line: u32, error: &quick_xml::Error) -> OdxError {
    let place = Place { document: Arc::clone(document), line: gauge.line(), id: None };
    match gauge.stop() {
        Some(Stop::Encoding(encoding)) => OdxError::Encoding { place, encoding: encoding.to_owned() },
        Some(Stop::UnknownEncoding(label)) => {
            OdxError::Xml { place, why: format!("the encoding `{}` is not known", shown(&label)) }
        }
        Some(Stop::Document(most)) => OdxError::TooLarge {
            document: Arc::clone(document),
            what: "the unpacked document",
            limit: format!("the {} MiB that its packed size allows", most >> 20),
        },
        Some(Stop::Token(most)) => OdxError::TooLarge {
            document: Arc::clone(document),
            what: "one tag or run of text",
            limit: format!("{} MiB", most >> 20),
        },
        None => match error {
            // What the archive itself finds wrong while it is unpacked, such as a checksum.
            quick_xml::Error::Io(error) if packed => {
                OdxError::Archive { document: Arc::clone(document), why: error.to_string() }
            }
            quick_xml::Error::Io(error) => {
                OdxError::Unreadable { document: Arc::clone(document), why: error.to_string() }
            }
            other => OdxError::Xml { place: Place { line, ..place }, why: shown(&other.to_string()) },
        },
    }
}
