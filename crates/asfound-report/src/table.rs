//! Tables.

use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, TableStyle, Width};

/// A table in the sheet's look: heads in capitals, a rule below them, no other lines.
#[derive(Debug, Clone)]
pub struct Table {
    heads: Vec<String>,
    rows: Vec<Vec<String>>,
    right: Vec<usize>,
    least: Vec<(usize, u16)>,
}

impl Table {
    /// A table with these heads.
    pub fn new<const N: usize>(heads: [&str; N]) -> Self {
        let heads = heads.iter().map(|head| head.to_uppercase()).collect();
        Self { heads, rows: Vec::new(), right: Vec::new(), least: Vec::new() }
    }

    /// A table with as many columns as there are heads.
    pub(crate) fn with_heads(heads: &[&str]) -> Self {
        let heads = heads.iter().map(|head| head.to_uppercase()).collect();
        Self { heads, rows: Vec::new(), right: Vec::new(), least: Vec::new() }
    }

    /// Adds a row with as many cells as there are columns; a line end begins a new line in its cell.
    pub(crate) fn cells(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
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

    /// Adds a row.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.rows.push(cells.into());
    }

    /// How many rows it has.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as text, no line longer than `width` characters where the words allow it.
    pub fn text(&self, width: u16) -> String {
        self.laid_out(width, None)
    }

    fn laid_out(&self, width: u16, columns: Option<&[u16]>) -> String {
        let mut table = comfy_table::Table::new();
        table.load_style(TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─')));
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(width);
        table.set_header(self.heads.clone());
        for row in &self.rows {
            table.add_row(row.iter().map(|cell| cell.replace('\t', " ")).collect::<Vec<_>>());
        }
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
        let text = table.to_string();
        let mut lines = String::new();
        for line in text.lines() {
            lines.push_str(line.trim_end());
            lines.push('\n');
        }
        lines
    }

    /// The space behind a column.
    fn padding(&self, column: usize) -> u16 {
        if column + 1 == self.heads.len() { 0 } else { 2 }
    }

    /// The same table to be written piece by piece: how wide its columns are follows from the rows that it has by now.
    pub fn in_pieces(mut self, width: u16) -> TablePieces {
        let columns = self.columns(width);
        let first = std::mem::take(&mut self.rows);
        TablePieces { table: self, columns, width, first: Some(first) }
    }

    /// A width for every column. What needs no more than its even share gets what it needs; the others share what is left.
    fn columns(&self, width: u16) -> Vec<u16> {
        let paddings: u16 = (0..self.heads.len()).map(|at| self.padding(at)).sum();
        // The rule below the heads has something between columns too, and leaves room for it in every line.
        let between = u16::try_from(self.heads.len().saturating_sub(1)).unwrap_or(u16::MAX);
        let mut left = width.saturating_sub(paddings.saturating_add(between));
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

    /// How wide a column is where nothing is broken.
    fn wanted(&self, column: usize) -> u16 {
        let cells = self.rows.iter().filter_map(|row| row.get(column)).chain(self.heads.get(column));
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
    first: Option<Vec<Vec<String>>>,
}

impl TablePieces {
    /// Adds a row to the next piece.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        self.table.row(cells);
    }

    /// The rows since the last piece as text; the first piece has the heads, and the rows that the widths follow from.
    pub fn text(&mut self) -> String {
        let rows = std::mem::take(&mut self.table.rows);
        let is_first = self.first.is_some();
        self.table.rows = self.first.take().into_iter().flatten().chain(rows).collect();
        let text = self.table.laid_out(self.width, Some(&self.columns));
        self.table.rows.clear();
        if is_first {
            return text;
        }
        // The heads and the rule below them were written before.
        let heads = self.table.laid_out(self.width, Some(&self.columns)).len();
        text[heads..].to_owned()
    }
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
}
