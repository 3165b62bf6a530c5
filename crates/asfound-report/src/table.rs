//! Tables.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, TableStyle, Width};

/// So many rows are laid out at once.
const PIECE: usize = 100;

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

/// Rows, one cell behind the other in one text: of a long table each cell by itself would take more room than what it says.
#[derive(Debug, Clone, Default)]
struct Rows {
    pieces: Vec<Piece>,
    columns: usize,
}

/// Up to [`PIECE`] rows.
#[derive(Debug, Clone, Default)]
pub(crate) struct Piece {
    text: String,
    /// Where each cell ends.
    ends: Vec<usize>,
}

impl Rows {
    fn of(columns: usize) -> Self {
        Self { pieces: Vec::new(), columns }
    }

    fn push<S: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = S>) {
        let full = PIECE * self.columns;
        if self.pieces.last().is_none_or(|last| last.ends.len() >= full) {
            self.pieces.push(Piece::default());
        }
        let Some(piece) = self.pieces.last_mut() else { return };
        piece.push(cells);
        if piece.ends.len() >= full {
            piece.text.shrink_to_fit();
        }
    }

    fn len(&self) -> usize {
        self.pieces.iter().map(|piece| piece.ends.len()).sum::<usize>() / self.columns.max(1)
    }
}

impl Piece {
    fn push<S: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = S>) {
        for cell in cells {
            self.text.push_str(cell.as_ref());
            self.ends.push(self.text.len());
        }
    }

    fn cell(&self, at: usize) -> &str {
        let start = at.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.text[start..self.ends[at]]
    }

    /// The cells, row by row.
    fn rows(&self, columns: usize) -> impl Iterator<Item = impl Iterator<Item = &str>> {
        (0..self.ends.len()).step_by(columns.max(1)).map(move |first| (first..first + columns).map(|at| self.cell(at)))
    }

    /// The cells of one column.
    fn column(&self, column: usize, columns: usize) -> impl Iterator<Item = &str> {
        (column..self.ends.len()).step_by(columns.max(1)).map(|at| self.cell(at))
    }
}

/// Where the rows of a table come from.
#[derive(Clone, Copy)]
pub(crate) enum Source<'r> {
    /// From the table itself.
    Held(&'r [Piece]),
    /// So many are made, each time that they are asked for.
    Made(usize, &'r dyn Fn(usize) -> Vec<String>),
}

impl Source<'_> {
    fn each(&self, take: &mut dyn FnMut(&Piece)) {
        match *self {
            Self::Held(pieces) => pieces.iter().for_each(take),
            Self::Made(count, row) => {
                for first in (0..count).step_by(PIECE) {
                    let mut piece = Piece::default();
                    (first..(first + PIECE).min(count)).for_each(|at| piece.push(row(at)));
                    take(&piece);
                }
            }
        }
    }

    fn are_many(&self) -> bool {
        match self {
            Self::Held(pieces) => pieces.len() > 1,
            Self::Made(count, _) => *count > PIECE,
        }
    }
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

    pub(crate) fn held(&self) -> Source<'_> {
        Source::Held(&self.rows.pieces)
    }

    /// Hands over these rows as text piece by piece; the heads and the rule below them are in the first.
    pub(crate) fn each_piece(&self, rows: Source<'_>, width: u16, hand_over: &mut dyn FnMut(&str)) {
        if !rows.are_many() {
            let mut all = Piece::default();
            rows.each(&mut |piece| all = piece.clone());
            return self.hand_over(&all, (width, None), 0, hand_over);
        }
        let columns = self.arranged(rows, width);
        let (mut heads, mut skipped) = (0, 0);
        self.each_line(&Piece::default(), width, Some(&columns), &mut |_| heads += 1);
        rows.each(&mut |piece| {
            self.hand_over(piece, (width, Some(&columns)), skipped, hand_over);
            skipped = heads;
        });
    }

    /// Hands over some rows as text, without so many lines of the heads. One cell may say very much, so that they are not
    /// handed over as a whole.
    fn hand_over(
        &self,
        piece: &Piece,
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

    /// How wide each column of a table of many rows is: as wide as if all of them were laid out at once, which takes a
    /// thousand bytes a row and more.
    fn arranged(&self, rows: Source<'_>, width: u16) -> Vec<u16> {
        let count = self.heads.len();
        let (least, wanted) = (|at: usize| self.least.iter().find(|(which, _)| *which == at), self.widest(rows));
        let mut left = usize::from(self.space(width));
        let mut decided: Vec<Option<usize>> = (0..count)
            .map(|at| {
                let (_, least) = least(at).filter(|(_, least)| wanted[at] + self.padding(at) <= *least)?;
                Some(usize::from(least.saturating_sub(self.padding(at)).max(1)))
            })
            .collect();
        // What is decided from the start is counted with its padding, and that padding is room for the others.
        for (at, column) in decided.iter().enumerate() {
            let given = column.map_or(usize::from(self.padding(at)), |column| column + usize::from(self.padding(at)));
            left = left.saturating_sub(given);
        }
        let share = |decided: &[Option<usize>], left: usize| {
            let open = decided.iter().filter(|column| column.is_none()).count();
            left.checked_div(open).unwrap_or(0)
        };
        let decide = |decided: &mut Vec<Option<usize>>, at: usize, column: usize, left: &mut usize| {
            *left = left.saturating_sub(column);
            decided[at] = Some(column.max(1));
        };
        let open =
            |decided: &[Option<usize>]| -> Vec<usize> { (0..count).filter(|at| decided[*at].is_none()).collect() };
        // First those that must not be as narrow as their share.
        let mut again = true;
        while std::mem::take(&mut again) {
            for at in open(&decided) {
                let Some((_, least)) = least(at).filter(|(_, least)| share(&decided, left) < usize::from(*least))
                else {
                    continue;
                };
                let column = usize::from(least.saturating_sub(self.padding(at)).max(1));
                decide(&mut decided, at, column, &mut left);
                again = true;
            }
        }
        // Then those that need no more than their share; what they leave is for the others.
        again = true;
        while std::mem::take(&mut again) && share(&decided, left) > 0 {
            for at in open(&decided) {
                if usize::from(wanted[at]) <= share(&decided, left) {
                    decide(&mut decided, at, usize::from(wanted[at]), &mut left);
                    again = true;
                }
            }
        }
        // Then those whose lines, broken at their share, are clearly shorter than it.
        again = true;
        while std::mem::take(&mut again) {
            for at in open(&decided) {
                let share = share(&decided, left);
                if share < 3 {
                    continue;
                }
                let longest = self.longest_line(rows, at, share);
                if share.saturating_sub(longest) >= 3 {
                    decide(&mut decided, at, longest, &mut left);
                    again = true;
                }
            }
        }
        // The rest share what is left, the first of them what is over.
        let rest = open(&decided);
        let left = left.max(rest.len());
        for (nth, at) in rest.iter().enumerate() {
            decided[*at] = Some(left / rest.len() + usize::from(nth < left % rest.len()));
        }
        decided.into_iter().map(|column| u16::try_from(column.unwrap_or(1)).unwrap_or(u16::MAX)).collect()
    }

    /// How wide each column is where nothing is broken.
    fn widest(&self, rows: Source<'_>) -> Vec<u16> {
        let mut widest = vec![0; self.heads.len()];
        rows.each(&mut |piece| {
            for (widest, width) in widest.iter_mut().zip(self.filled(piece).column_max_content_widths()) {
                *widest = width.max(*widest);
            }
        });
        widest
    }

    /// The longest line of a column whose lines are broken at a width, or any that is less than three short of it.
    fn longest_line(&self, rows: Source<'_>, column: usize, width: usize) -> usize {
        let mut longest = 0;
        rows.each(&mut |piece| {
            let mut table = comfy_table::Table::new();
            table.load_style(style());
            table.set_content_arrangement(ContentArrangement::Dynamic);
            table.set_width(u16::try_from(width).unwrap_or(u16::MAX));
            table.set_header([&self.heads[column]]);
            for cell in piece.column(column, self.heads.len()) {
                table.add_row([untabbed(cell)]);
            }
            table.column_iter_mut().for_each(|column| {
                column.set_padding((0, 0));
            });
            // Every line is filled up to the width of the column.
            let filled = table.lines().next().map(|line| textwrap::core::display_width(&line));
            longest = filled.unwrap_or(0).max(longest);
        });
        longest
    }

    /// The table with some of its rows.
    fn filled(&self, piece: &Piece) -> comfy_table::Table {
        let mut table = comfy_table::Table::new();
        table.load_style(style());
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_header(self.heads.clone());
        for row in piece.rows(self.heads.len()) {
            table.add_row(row.map(untabbed));
        }
        table
    }

    fn laid_out(&self, piece: &Piece, width: u16, columns: Option<&[u16]>) -> String {
        let mut lines = String::new();
        self.each_line(piece, width, columns, &mut |line| {
            lines.push_str(line);
            lines.push('\n');
        });
        lines
    }

    /// Hands over the lines of the heads and of some rows.
    fn each_line(&self, piece: &Piece, width: u16, columns: Option<&[u16]>, take: &mut dyn FnMut(&str)) {
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

    /// A width for every column. What needs no more than its even share gets what it needs; the others share what is left.
    fn columns(&self, width: u16) -> Vec<u16> {
        let paddings: u16 = (0..self.heads.len()).map(|at| self.padding(at)).sum();
        let mut left = self.space(width).saturating_sub(paddings);
        let wanted: Vec<u16> = (0..self.heads.len()).map(|at| self.wanted(at)).collect();
        let mut decided: Vec<Option<u16>> = vec![None; wanted.len()];
        loop {
            let open = decided.iter().filter(|column| column.is_none()).count();
            let Some(share) = u16::try_from(open).ok().and_then(|open| left.checked_div(open)) else { break };
            let fits = (0..wanted.len()).find(|at| decided[*at].is_none() && wanted[*at] <= share);
            let at = fits.or_else(|| decided.iter().position(Option::is_none));
            let Some(at) = at else { break };
            let given = wanted[at].min(share.max(self.least_of(at))).max(1);
            decided[at] = Some(given);
            left = left.saturating_sub(given);
        }
        decided.into_iter().map(|column| column.unwrap_or(1)).collect()
    }

    /// The width without what is between two columns: the rule below the heads has something there, and leaves room for it
    /// in every line.
    fn space(&self, width: u16) -> u16 {
        width.saturating_sub(u16::try_from(self.heads.len().saturating_sub(1)).unwrap_or(u16::MAX))
    }

    /// How wide a column is where nothing is broken.
    fn wanted(&self, column: usize) -> u16 {
        let cells = self.rows.pieces.iter().flat_map(|piece| piece.column(column, self.heads.len()));
        let cells = cells.chain(self.heads.get(column).map(String::as_str));
        let widths = cells.flat_map(|cell| cell.lines()).map(textwrap::core::display_width);
        let widest = u16::try_from(widths.max().unwrap_or(0)).unwrap_or(u16::MAX);
        widest.max(self.least_of(column))
    }

    fn least_of(&self, column: usize) -> u16 {
        self.least
            .iter()
            .find(|(which, _)| *which == column)
            .map_or(0, |(_, least)| least.saturating_sub(self.padding(column)))
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
        let heads = self.table.laid_out(&Piece::default(), self.width, Some(&self.columns)).len();
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
        let mut broken = 0;
        for case in 0..60 {
            let mut table = Table::new(["no", "what", "why so", "by"]).figures(0);
            for column in 0..4 {
                if below(3) == 0 {
                    table = table.at_least(column, u16::try_from(below(30)).unwrap());
                }
            }
            let longest: Vec<u64> = (0..4).map(|_| 1 + below(9)).collect();
            for number in 0..PIECE + 1 + usize::try_from(below(40)).unwrap() {
                let mut text = |most: u64| -> String {
                    let count = below(most);
                    let word = |_| "löckäße-x".chars().take(1 + usize::try_from(below(9)).unwrap()).collect();
                    let words: Vec<String> = (0..=count).map(word).collect();
                    words.join(if below(200) == 0 { "\n" } else { " " })
                };
                table.row([number.to_string(), text(longest[1]), text(longest[2]), text(longest[3])]);
            }
            let width = 40 + u16::try_from(below(80)).unwrap();
            let mut all = Piece::default();
            table.held().each(&mut |piece| piece.rows(4).for_each(|row| all.push(row)));
            let whole = table.laid_out(&all, width, None);
            assert!(table.text(width) == whole, "case {case}");
            broken += usize::from(whole.lines().count() > table.len() * 3 / 2);
        }
        assert!((10..50).contains(&broken), "{broken} of 60 have many broken lines");
    }
}
