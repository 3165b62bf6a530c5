//! A page: headline, lines, tables.

use std::fmt;

use anstyle::{AnsiColor, Style};
use asfound_core::document::{visible, visible_lines};

use crate::table::RowSource;
use crate::{Table, TablePieces};

/// What stands where nothing applies.
pub const NOTHING: &str = "–";

/// So many bytes of a long page are let go at once.
const AT_ONCE: usize = 1 << 16;

/// A page of text that is put together piece by piece.
pub struct Page<'r> {
    text: String,
    width: u16,
    colour: bool,
    /// Takes what is finished of a long page.
    reader: Option<&'r mut dyn FnMut(&str)>,
}

impl fmt::Debug for Page<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Page").field("text", &self.text).field("width", &self.width).finish_non_exhaustive()
    }
}

impl<'r> Page<'r> {
    /// An empty page of that width, in characters; with colour or without.
    pub fn new(width: u16, colour: bool) -> Self {
        Self { text: String::new(), width: width.clamp(40, 160), colour, reader: None }
    }

    /// The same page, read while it is put together: of a long one, `reader` is handed what is finished, so that it is never
    /// at hand as a whole. What is left in the end is in [`Page::into_text`].
    #[must_use]
    pub fn read_by(mut self, reader: &'r mut dyn FnMut(&str)) -> Self {
        self.reader = Some(reader);
        self
    }

    /// Hands over what is finished, but for line ends, from which follows whether there is a gap.
    fn let_go(&mut self) {
        if let Some(reader) = self.reader.as_mut().filter(|_| self.text.len() >= AT_ONCE) {
            let finished = self.text.trim_end_matches('\n').len();
            reader(&self.text[..finished]);
            self.text.drain(..finished);
        }
    }

    /// The finished text; of a page that is read while it is put together, the rest of it.
    pub fn into_text(self) -> String {
        self.text
    }

    fn styled(&self, style: Style, text: &str) -> String {
        if self.colour { format!("{style}{text}{style:#}") } else { text.to_owned() }
    }

    /// The line at the head of a sheet, over a rule as wide as the page.
    pub fn head(&mut self, parts: &[&str]) {
        let parts: Vec<&str> = parts.iter().copied().filter(|part| !part.is_empty()).collect();
        let line =
            self.styled(Style::new().bold(), wrapped(&visible(&parts.join(" · ")), self.width, "", "").trim_end());
        self.text.push_str(&format!("{line}\n{}\n", "═".repeat(usize::from(self.width))));
    }

    /// The head of a part of the sheet.
    pub fn part(&mut self, title: &str) {
        self.gap();
        let line = self.styled(Style::new().bold(), &visible(title));
        self.text.push_str(&format!("{line}\n"));
    }

    /// An empty line, unless the page is empty or ends with one.
    pub fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A paragraph, wrapped.
    pub fn line(&mut self, text: &str) {
        self.wrapped("", "", text);
    }

    /// A label and what belongs to it, wrapped behind the label.
    pub fn pair(&mut self, label: &str, text: &str) {
        const LABEL: usize = 16;
        let first = format!("{label:<LABEL$}");
        self.wrapped(&first, &" ".repeat(LABEL), text);
    }

    /// A label of any length and what belongs to it, wrapped behind the label.
    pub(crate) fn pair_wide(&mut self, label: &str, text: &str) {
        const LABEL: usize = 24;
        let first = format!("{label:<LABEL$}");
        if label.chars().count() >= LABEL {
            self.line(label);
            self.wrapped(&" ".repeat(LABEL), &" ".repeat(LABEL), text);
        } else {
            self.wrapped(&first, &" ".repeat(LABEL), text);
        }
    }

    /// An item of a list.
    pub fn item(&mut self, text: &str) {
        self.wrapped("  · ", "    ", text);
    }

    /// Lines as they are, indented, for bytes and listings.
    pub fn verbatim(&mut self, text: &str) {
        for line in text.lines() {
            self.text.push_str(&format!("    {}\n", visible(line)));
        }
    }

    /// Lines as they are, not even indented.
    pub(crate) fn as_it_is(&mut self, text: &str) {
        self.text.push_str(text);
    }

    /// Something to watch out for. The word says so; the colour only helps.
    pub fn caution(&mut self, text: &str) {
        self.marked("caution: ", AnsiColor::Yellow, text);
    }

    /// Something worth knowing.
    pub fn remark(&mut self, text: &str) {
        self.marked("remark: ", AnsiColor::Cyan, text);
    }

    /// Something that is not as it should be.
    pub fn alarm(&mut self, text: &str) {
        self.marked("note well: ", AnsiColor::Red, text);
    }

    fn marked(&mut self, mark: &str, colour: AnsiColor, text: &str) {
        let shown = self.styled(Style::new().fg_color(Some(colour.into())), mark);
        let before = self.text.len();
        self.wrapped(mark, &" ".repeat(mark.len()), text);
        if self.colour {
            self.text.replace_range(before..before + mark.len(), &shown);
        }
    }

    /// A table.
    pub fn table(&mut self, table: &Table) {
        self.table_from(table, table.held());
    }

    /// A table of so many rows, each of which is made whenever it is looked at: for rows that would take much room.
    pub fn table_of(&mut self, table: &Table, count: usize, row: &dyn Fn(usize) -> Vec<String>) {
        self.table_from(table, RowSource::Made(count, row));
    }

    fn table_from(&mut self, table: &Table, rows: RowSource<'_>) {
        let mut is_first = true;
        table.each_piece(rows, self.width, &mut |piece| {
            if std::mem::take(&mut is_first) {
                self.heads_and_rows(piece);
            } else {
                self.text.push_str(piece);
            }
            self.let_go();
        });
    }

    /// The first piece of a table that is as wide as the page; what follows is written as it is.
    pub fn table_in_pieces(&mut self, table: Table) -> TablePieces {
        let mut pieces = table.in_pieces(self.width);
        self.heads_and_rows(&pieces.text());
        pieces
    }

    fn heads_and_rows(&mut self, text: &str) {
        let style = Style::new().dimmed();
        match text.split_once('\n') {
            Some((heads, rest)) if self.colour => {
                let heads = self.styled(style, heads);
                self.text.push_str(&format!("{heads}\n{rest}"));
            }
            _ => self.text.push_str(text),
        }
    }

    fn wrapped(&mut self, first: &str, rest: &str, text: &str) {
        // Nobody who puts a page together need think of what a text may hold.
        let (first, text) = (visible(first), visible_lines(text));
        self.text.push_str(&wrapped(&text, self.width, &first, rest));
    }
}

/// Text in lines of at most `width` characters, the first behind `first`, the others behind `rest`.
///
/// Lines are broken at spaces only, so that a path or a name stays whole even where it is too long.
pub fn wrapped(text: &str, width: u16, first: &str, rest: &str) -> String {
    let options = textwrap::Options::new(usize::from(width))
        .initial_indent(first)
        .subsequent_indent(rest)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    let mut lines = String::new();
    for line in textwrap::wrap(text, options) {
        lines.push_str(line.trim_end());
        lines.push('\n');
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_keeps_its_width_and_its_words() {
        let mut page = Page::new(40, false);
        page.head(&["wren", "", "entry 3"]);
        page.pair("why", "the owner would like to have five flashes in place of three");
        page.line("/a/very/long/path/that-is-longer-than-the-page/and/stays/whole");
        assert_eq!(
            page.into_text(),
            "wren · entry 3\n════════════════════════════════════════\n\
             why             the owner would like to\n                have five flashes in\n                place of three\n\
             /a/very/long/path/that-is-longer-than-the-page/and/stays/whole\n"
        );
    }

    #[test]
    fn colour_never_changes_the_words() {
        let text = |colour: bool| {
            let mut page = Page::new(60, colour);
            page.head(&["wren"]);
            page.caution("watch the flashes");
            page.alarm("no way back");
            page.into_text()
        };
        let mut bare = String::new();
        let mut in_code = false;
        for c in text(true).chars() {
            match c {
                '\u{1b}' => in_code = true,
                'm' if in_code => in_code = false,
                c if !in_code => bare.push(c),
                _ => {}
            }
        }
        assert_eq!(bare, text(false));
        assert!(text(true).contains('\u{1b}') && !text(false).contains('\u{1b}'));
    }
}
