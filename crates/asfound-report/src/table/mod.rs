//! Tables.

mod columns;
mod rows;

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, TableStyle, Width};

use self::rows::Rows;
pub(crate) use self::rows::{RowChunk, RowSource};

/// So many bytes of a piece are handed over at once.
const AT_ONCE: usize = 1 << 16;

/// A table in the sheet's look: heads in capitals, a rule below them, no other lines.
#[derive(Debug, Clone)]
pub struct Table {
    heads: Vec<String>,
    rows: Rows,
    right: Vec<usize>,
    least: Vec<(usize, u16)>,
}

impl Table {
    /// A table with these heads.
    pub fn new<const N: usize>(heads: [&str; N]) -> Self {
        Self::with_heads(&heads)
    }

    /// A table with as many columns as there are heads.
    pub(crate) fn with_heads(heads: &[&str]) -> Self {
        let heads: Vec<String> = heads.iter().map(|head| head.to_uppercase()).collect();
        Self { rows: Rows::of(heads.len()), heads, right: Vec::new(), least: Vec::new() }
    }

    /// Sets a column of figures flush right.
    #[must_use]
    pub fn figures(mut self, column: usize) -> Self {
        self.right.push(column);
        self
    }

    /// Keeps a column at least this wide, in characters.
    #[must_use]
    pub fn at_least(mut self, column: usize, width: u16) -> Self {
        self.least.push((column, width));
        self
    }

    /// Adds a row; a line end begins a new line in its cell.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells);
    }

    /// How many rows it has.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.len() == 0
    }

    /// The table as text, no line longer than `width` characters where the words allow it.
    pub fn text(&self, width: u16) -> String {
        let mut text = String::new();
        self.each_piece(self.held(), width, &mut |piece| text.push_str(piece));
        text
    }

    pub(crate) fn held(&self) -> RowSource<'_> {
        RowSource::Held(&self.rows.pieces)
    }

    /// Hands over these rows as text piece by piece; the heads and the rule below them are in the first.
    pub(crate) fn each_piece(&self, rows: RowSource<'_>, width: u16, hand_over: &mut dyn FnMut(&str)) {
        if !rows.are_many() {
            let mut all = RowChunk::default();
            rows.each(&mut |piece| all = piece.clone());
            return self.hand_over(&all, (width, None), 0, hand_over);
        }
        let columns = self.arranged(rows, width);
        let (mut heads, mut skipped) = (0, 0);
        self.each_line(&RowChunk::default(), width, Some(&columns), &mut |_| heads += 1);
        rows.each(&mut |piece| {
            self.hand_over(piece, (width, Some(&columns)), skipped, hand_over);
            skipped = heads;
        });
    }

    /// Hands over some rows as text, without so many lines of the heads. One cell may say very much, so that they are not
    /// handed over as a whole.
    fn hand_over(
        &self,
        piece: &RowChunk,
        (width, columns): (u16, Option<&[u16]>),
        skipped: usize,
        take: &mut dyn FnMut(&str),
    ) {
        let (mut at, mut waiting) = (0, String::new());
        self.each_line(piece, width, columns, &mut |line| {
            at += 1;
            if at > skipped {
                waiting.push_str(line);
                waiting.push('\n');
            }
            if waiting.len() >= AT_ONCE {
                take(&waiting);
                waiting.clear();
            }
        });
        take(&waiting);
    }

    /// The table with some of its rows.
    fn filled(&self, piece: &RowChunk) -> comfy_table::Table {
        let mut table = comfy_table::Table::new();
        table.load_style(style());
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_header(self.heads.clone());
        for row in piece.rows(self.heads.len()) {
            table.add_row(row.map(untabbed));
        }
        table
    }

    fn laid_out(&self, piece: &RowChunk, width: u16, columns: Option<&[u16]>) -> String {
        let mut lines = String::new();
        self.each_line(piece, width, columns, &mut |line| {
            lines.push_str(line);
            lines.push('\n');
        });
        lines
    }

    /// Hands over the lines of the heads and of some rows.
    fn each_line(&self, piece: &RowChunk, width: u16, columns: Option<&[u16]>, take: &mut dyn FnMut(&str)) {
        let mut table = self.filled(piece);
        table.set_width(width);
        for (at, column) in table.column_iter_mut().enumerate() {
            let padding = self.padding(at);
            column.set_padding((0, padding));
            if self.right.contains(&at) {
                column.set_cell_alignment(CellAlignment::Right);
            }
            if let Some(width) = columns.and_then(|columns| columns.get(at)) {
                column.set_constraint(ColumnConstraint::Absolute(Width::Fixed(width + padding)));
            } else if let Some((_, least)) = self.least.iter().find(|(which, _)| *which == at) {
                column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(*least)));
            }
        }
        table.lines().for_each(|line| take(line.trim_end()));
    }

    /// The space behind a column.
    fn padding(&self, column: usize) -> u16 {
        if column + 1 == self.heads.len() { 0 } else { 2 }
    }

    /// The same table to be written piece by piece: how wide its columns are follows from the rows that it has by now.
    pub fn in_pieces(self, width: u16) -> TablePieces {
        let columns = self.columns(width);
        TablePieces { table: self, columns, width, is_first: true }
    }
}

/// A table that is written piece by piece, so that its rows need not all be at hand.
#[derive(Debug, Clone)]
pub struct TablePieces {
    table: Table,
    columns: Vec<u16>,
    width: u16,
    is_first: bool,
}

impl TablePieces {
    /// Adds a row to the next piece.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.table.row(cells);
    }

    /// The rows since the last piece as text; the first piece has the heads, and the rows that the widths follow from.
    pub fn text(&mut self) -> String {
        let heads = self.table.laid_out(&RowChunk::default(), self.width, Some(&self.columns)).len();
        let mut text = String::new();
        for piece in std::mem::take(&mut self.table.rows.pieces) {
            let piece = self.table.laid_out(&piece, self.width, Some(&self.columns));
            // The heads and the rule below them are written once.
            text.push_str(if std::mem::take(&mut self.is_first) { &piece } else { &piece[heads..] });
        }
        text
    }
}

fn style() -> TableStyle {
    TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'))
}

fn untabbed(cell: &str) -> String {
    cell.replace('\t', " ")
}

#[cfg(test)]
mod tests {
    use super::rows::PIECE;
    use super::*;

    fn table() -> Table {
        Table::new(["entry", "what", "by"]).figures(0).at_least(0, 8)
    }

    fn row(n: usize) -> [String; 3] {
        let words = ["locks", "flashes", "horn", "light"];
        let what: Vec<&str> = (0..n % 9).map(|at| words[(n + at) % 4]).collect();
        [n.to_string(), what.join(" "), format!("E. Brandt {}", n % 3)]
    }

    #[test]
    fn pieces_are_the_table_where_no_line_is_broken() {
        let (mut whole, mut pieces) = (table(), table());
        for n in 0..40 {
            whole.row(row(n));
            if n < 20 {
                pieces.row(row(n));
            }
        }
        let mut pieces = pieces.in_pieces(120);
        let mut text = pieces.text();
        for n in 20..40 {
            pieces.row(row(n));
            if n % 7 == 0 {
                text.push_str(&pieces.text());
            }
        }
        text.push_str(&pieces.text());
        assert_eq!(text, whole.text(120));
        assert_eq!(pieces.text(), "");
    }

    #[test]
    fn pieces_keep_to_the_width_and_lose_no_word() {
        for width in [40, 50, 64] {
            let mut pieces = table();
            (0..5).for_each(|n| pieces.row(row(n)));
            let mut pieces = pieces.in_pieces(width);
            let mut text = pieces.text();
            for n in 5..300 {
                pieces.row(row(n));
                text.push_str(&pieces.text());
            }
            assert!(text.lines().all(|line| line.chars().count() <= usize::from(width)), "{width}");
            let words = |text: &str, word: &str| text.split_whitespace().filter(|it| *it == word).count();
            let rows: Vec<String> = (0..300).map(|n| row(n).join(" ")).collect();
            for word in ["locks", "flashes", "horn", "light", "Brandt", "299"] {
                assert_eq!(words(&text, word), words(&rows.join(" "), word), "{width} {word}");
            }
        }
    }

    /// As wide as if all rows were laid out at once, for texts of many lengths, with and without least widths.
    #[test]
    fn a_long_table_is_laid_out_as_one_of_its_pieces_would_be() {
        let mut chance: u64 = 7;
        let mut below = move |limit: u64| {
            chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (chance >> 33) % limit
        };
        let (mut broken, mut most) = (0, 0);
        for case in 0..60 {
            let mut table = Table::new(["no", "what", "why so", "by"]).figures(0);
            for column in 0..4 {
                if below(3) == 0 {
                    table = table.at_least(column, u16::try_from(below(30)).unwrap());
                }
            }
            let longest: Vec<u64> = (0..4).map(|_| 1 + below(9)).collect();
            let mut rows = Vec::new();
            for number in 0..PIECE + 1 + usize::try_from(below(40)).unwrap() {
                let mut text = |most: u64| -> String {
                    let count = below(most);
                    let word = |_| "löckäße-x".chars().take(1 + usize::try_from(below(9)).unwrap()).collect();
                    let words: Vec<String> = (0..=count).map(word).collect();
                    words.join(if below(200) == 0 { "\n" } else { " " })
                };
                // Now and then one says so much that few of them are a piece.
                let more = if case % 3 == 0 { 30 } else { 0 };
                let row = [number.to_string(), text(longest[1]), text(longest[2] + more), text(longest[3])];
                rows.push(row.to_vec());
                table.row(row);
            }
            let width = 40 + u16::try_from(below(80)).unwrap();
            let mut all = RowChunk::default();
            table.held().each(&mut |piece| piece.rows(4).for_each(|row| all.push(row)));
            let whole = table.laid_out(&all, width, None);
            assert!(table.text(width) == whole, "case {case}");
            let (mut made, mut pieces) = (String::new(), 0);
            let source = RowSource::Made(rows.len(), &|at| rows[at].clone());
            source.each(&mut |_| pieces += 1);
            most = pieces.max(most);
            table.each_piece(source, width, &mut |piece| made.push_str(piece));
            assert!(made == whole, "case {case}");
            broken += usize::from(whole.lines().count() > table.len() * 3 / 2);
        }
        assert!((10..50).contains(&broken), "{broken} of 60 have many broken lines");
        assert!(most > 2, "none was made in more pieces than its rows ask for");
    }
}
