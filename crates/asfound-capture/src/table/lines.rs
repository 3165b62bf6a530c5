//! Line numbers, whichever line end a file uses.

/// Counts lines while it goes forward through a text: LF, CR LF and a lone CR each end one.
pub(super) struct LineCounter<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl<'a> LineCounter<'a> {
    /// At the start of the text: line 1.
    pub(super) fn new(text: &'a str) -> Self {
        Self { bytes: text.as_bytes(), at: 0, line: 1 }
    }

    /// The line that holds the byte at `offset`; offsets must not go back.
    pub(super) fn line_at(&mut self, offset: usize) -> usize {
        while self.at < offset.min(self.bytes.len()) {
            let ends = match self.bytes[self.at] {
                b'\n' => true,
                b'\r' => self.bytes.get(self.at + 1) != Some(&b'\n'),
                _ => false,
            };
            self.line += usize::from(ends);
            self.at += 1;
        }
        self.line
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_end_counts_once() {
        for (text, line) in [("a", 1), ("a\nb", 2), ("a\r\nb", 2), ("a\rb", 2), ("a\r\rb\n\nc", 5), ("a\n\rb", 3)] {
            assert_eq!(LineCounter::new(text).line_at(text.len()), line, "{text:?}");
        }
    }
}
