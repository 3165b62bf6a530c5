//! Places in a text: line and column.

use std::fmt;

/// A place in a text. Lines and columns count from 1; columns count characters, not bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TextPosition {
    /// The line, from 1.
    pub line: usize,
    /// The character in the line, from 1.
    pub column: usize,
}

impl TextPosition {
    /// The first character of a text.
    pub const START: Self = Self { line: 1, column: 1 };
}

impl fmt::Display for TextPosition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("line {}, column {}", self.line, self.column))
    }
}

/// How many bytes lie between two counts of characters.
const STEP: usize = 256;

/// Finds places by byte offset, quickly even in a text that is one long line.
pub(super) struct PositionIndex<'t> {
    text: &'t str,
    line_starts: Vec<usize>,
    /// The characters before byte 0, `STEP`, 2·`STEP` …
    characters: Vec<usize>,
}

impl<'t> PositionIndex<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        let newlines = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        let line_starts = std::iter::once(0).chain(newlines).collect();
        let mut so_far = 0;
        let characters = text
            .as_bytes()
            .chunks(STEP)
            .map(|chunk| {
                let before = so_far;
                so_far += starts(chunk);
                before
            })
            .collect();
        Self { text, line_starts, characters }
    }

    /// The place of the character at byte `offset`; behind the end, the place behind the last character.
    pub(super) fn place(&self, offset: usize) -> TextPosition {
        let offset = offset.min(self.text.len());
        let line = self.line_starts.partition_point(|start| *start <= offset);
        let start = self.line_starts[line - 1];
        let before = if offset - start < STEP {
            starts(&self.text.as_bytes()[start..offset])
        } else {
            self.characters_before(offset) - self.characters_before(start)
        };
        TextPosition { line, column: before + 1 }
    }

    fn characters_before(&self, offset: usize) -> usize {
        let step = (offset / STEP).min(self.characters.len().saturating_sub(1));
        let counted = self.characters.get(step).copied().unwrap_or(0);
        counted + starts(&self.text.as_bytes()[step * STEP..offset])
    }
}

/// The characters that start in the bytes of a UTF-8 text.
fn starts(bytes: &[u8]) -> usize {
    bytes.iter().filter(|byte| **byte & 0xC0 != 0x80).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_lines_and_characters_from_one() {
        let text = "aé\r\n\n  x";
        let index = PositionIndex::new(text);
        for (offset, line, column) in [(0, 1, 1), (1, 1, 2), (3, 1, 3), (5, 2, 1), (6, 3, 1), (8, 3, 3), (99, 3, 4)] {
            assert_eq!(index.place(offset), TextPosition { line, column }, "byte {offset}");
        }
        assert_eq!(PositionIndex::new("").place(0), TextPosition::START);
    }

    #[test]
    fn agrees_with_counting_in_a_long_line() {
        let text = "ä1€2𝄞3\n".repeat(3) + &"ä1€2𝄞3".repeat(400);
        let index = PositionIndex::new(&text);
        for (offset, _) in text.char_indices() {
            let before = &text[..offset];
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().unwrap().chars().count() + 1;
            assert_eq!(index.place(offset), TextPosition { line, column });
        }
        assert_eq!(index.place(text.len()).column, 2401);
    }
}
