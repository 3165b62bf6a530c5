//! From text to cells.

use csv::{ReaderBuilder, StringRecord};

use super::lines::LineCounter;
use super::separator::Separator;

/// One line of a table, as long as it happens to be.
pub(super) struct GridLine {
    /// The line of the file on which it starts, from 1.
    pub(super) line: usize,
    /// The cells, exactly as written.
    pub(super) cells: StringRecord,
}

impl GridLine {
    /// Whether no cell holds anything but white space.
    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// The lines of a text that hold anything, the header among them; empty lines are left out.
pub(super) fn lines_of(text: &str, separator: Separator) -> Vec<GridLine> {
    // Ragged lines are let through here, so that all of them can be reported and not only the first.
    let mut reader =
        ReaderBuilder::new().has_headers(false).flexible(true).delimiter(separator.byte()).from_reader(text.as_bytes());
    let mut counter = LineCounter::new(text);
    let mut lines = Vec::new();
    for record in reader.records() {
        let cells = record.expect("text in memory is UTF-8 throughout, and lines of any length are let through");
        // The reader's place is the end of the line before; the line ends that follow it belong to no line. Its own
        // line count knows no lone CR.
        let from = cells.position().map_or(0, |place| usize::try_from(place.byte()).unwrap_or(usize::MAX));
        let ends = text.as_bytes().iter().skip(from).take_while(|byte| matches!(byte, b'\r' | b'\n')).count();
        lines.push(GridLine { line: counter.line_at(from.saturating_add(ends)), cells });
    }
    lines
}

#[cfg(test)]
mod tests {
    use csv::{QuoteStyle, Terminator, WriterBuilder};
    use proptest::prelude::*;

    use super::*;

    fn cells_of(text: &str, separator: Separator) -> Vec<(usize, Vec<String>)> {
        let owned = |line: GridLine| (line.line, line.cells.iter().map(str::to_owned).collect());
        lines_of(text, separator).into_iter().map(owned).collect()
    }

    /// The examples of RFC 4180, section 2, items 1, 2, 6 and 7.
    #[test]
    fn reads_the_examples_of_rfc_4180() {
        let cells = |line: usize, cells: [&str; 3]| (line, cells.map(str::to_owned).to_vec());
        for text in ["aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "aaa,bbb,ccc\r\nzzz,yyy,xxx"] {
            assert_eq!(
                cells_of(text, Separator::COMMA),
                [cells(1, ["aaa", "bbb", "ccc"]), cells(2, ["zzz", "yyy", "xxx"])]
            );
        }
        assert_eq!(
            cells_of("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", Separator::COMMA),
            [cells(1, ["aaa", "b\r\nbb", "ccc"]), cells(3, ["zzz", "yyy", "xxx"])]
        );
        assert_eq!(cells_of("\"aaa\",\"b\"\"bb\",\"ccc\"", Separator::COMMA), [cells(1, ["aaa", "b\"bb", "ccc"])]);
    }

    #[test]
    fn lines_are_counted_through_every_line_end() {
        for end in ["\n", "\r\n", "\r"] {
            let text = ["", "a,b", "", "", "\"c", "d\",e", "f,g", ""].join(end);
            let lines: Vec<usize> = lines_of(&text, Separator::COMMA).iter().map(|line| line.line).collect();
            assert_eq!(lines, [2, 5, 7], "{end:?}");
        }
    }

    fn separator() -> impl Strategy<Value = Separator> {
        prop_oneof![Just(Separator::COMMA), Just(Separator::SEMICOLON), Just(Separator::TAB), Just(Separator::PIPE)]
    }

    fn terminator() -> impl Strategy<Value = Terminator> {
        prop_oneof![Just(Terminator::CRLF), Just(Terminator::Any(b'\n')), Just(Terminator::Any(b'\r'))]
    }

    /// Cells in which quotation marks, separators and line ends are common.
    fn cell() -> impl Strategy<Value = String> {
        prop_oneof![any::<String>(), "[a\",;\t|\r\n ]{0,8}", "[ -~äöü–]{0,20}"]
    }

    proptest! {
        /// Whatever the CSV writer writes, in whichever dialect, reads back as the same cells and with no fault.
        #[test]
        fn a_written_table_reads_back(
            rows in (1usize..5).prop_flat_map(|width| {
                proptest::collection::vec(proptest::collection::vec(cell(), width), 1..6)
            }),
            separator in separator(),
            terminator in terminator(),
            always in any::<bool>(),
        ) {
            let style = if always { QuoteStyle::Always } else { QuoteStyle::Necessary };
            let mut writer = WriterBuilder::new()
                .delimiter(separator.byte())
                .terminator(terminator)
                .quote_style(style)
                .from_writer(Vec::new());
            for row in &rows {
                writer.write_record(row).unwrap();
            }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            // A mark at the very start of a file is no text; the text is rid of it before it comes here.
            prop_assume!(!text.starts_with('\u{feff}'));
            let read: Vec<Vec<String>> = cells_of(&text, separator).into_iter().map(|(_, cells)| cells).collect();
            prop_assert_eq!(read, rows);
            prop_assert_eq!(super::super::quoting::check(&text, separator), []);
        }
    }
}
