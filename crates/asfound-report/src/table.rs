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

    /// Whether there are no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The table as text, no line longer than `width` characters where the words allow it.
    pub fn text(&self, width: u16) -> String {
        let mut table = comfy_table::Table::new();
        table.load_style(TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─')));
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(width);
        table.set_header(self.heads.clone());
        for row in &self.rows {
            table.add_row(row.iter().map(|cell| cell.replace('\t', " ")).collect::<Vec<_>>());
        }
        let last = self.heads.len().saturating_sub(1);
        for (at, column) in table.column_iter_mut().enumerate() {
            column.set_padding((0, if at == last { 0 } else { 2 }));
            if self.right.contains(&at) {
                column.set_cell_alignment(CellAlignment::Right);
            }
            if let Some((_, least)) = self.least.iter().find(|(which, _)| *which == at) {
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
}
