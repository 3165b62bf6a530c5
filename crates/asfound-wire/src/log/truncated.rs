//! A reader that ends where its source breaks off, and remembers how.

use std::cell::RefCell;
use std::io::{self, Read};
use std::rc::Rc;

/// How a source ended, if it did not simply end.
#[derive(Debug, Clone, Default)]
pub(super) struct SourceEnd(Rc<RefCell<Option<io::Error>>>);

impl SourceEnd {
    /// Whether the source has broken off so far.
    pub fn broke_off_already(&self) -> bool {
        self.0.borrow().is_some()
    }

    /// Whether compressed data broke off or was damaged; an error of reading itself comes back as error.
    pub fn broke_off(&self) -> io::Result<bool> {
        match self.0.borrow_mut().take() {
            None => Ok(false),
            Some(error) => match error.kind() {
                io::ErrorKind::UnexpectedEof | io::ErrorKind::InvalidData | io::ErrorKind::InvalidInput => Ok(true),
                _ => Err(error),
            },
        }
    }
}

pub(super) struct TruncatedReader<R> {
    reader: R,
    ending: SourceEnd,
}

impl<R: Read> TruncatedReader<R> {
    pub fn new(reader: R) -> (Self, SourceEnd) {
        let ending = SourceEnd::default();
        (Self { reader, ending: ending.clone() }, ending)
    }
}

impl<R: Read> Read for TruncatedReader<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        loop {
            match self.reader.read(into) {
                Ok(read) => return Ok(read),
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => {
                    *self.ending.0.borrow_mut() = Some(error);
                    return Ok(0);
                }
            }
        }
    }
}
