//! The rows of a table, kept or made.

use asfound_core::document::visible_lines;

/// So many rows are laid out at once.
pub(super) const PIECE: usize = 100;

/// Fewer where they say so many bytes: laid out, all cells of a row have as many lines as the longest of them.
const LARGE: usize = 1 << 13;

/// Rows, one cell behind the other in one text: of a long table each cell by itself would take more room than what it says.
#[derive(Debug, Clone, Default)]
pub(super) struct Rows {
    pub(super) pieces: Vec<RowChunk>,
    columns: usize,
}

/// Up to [`PIECE`] rows.
#[derive(Debug, Clone, Default)]
pub(crate) struct RowChunk {
    text: String,
    /// Where each cell ends.
    ends: Vec<usize>,
}

impl Rows {
    pub(super) fn of(columns: usize) -> Self {
        Self { pieces: Vec::new(), columns }
    }

    pub(super) fn push<S: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = S>) {
        let full = PIECE * self.columns;
        if self.pieces.last().is_none_or(|last| last.ends.len() >= full) {
            self.pieces.push(RowChunk::default());
        }
        let Some(piece) = self.pieces.last_mut() else { return };
        piece.push(cells);
        if piece.ends.len() >= full {
            piece.text.shrink_to_fit();
        }
    }

    pub(super) fn len(&self) -> usize {
        self.pieces.iter().map(|piece| piece.ends.len()).sum::<usize>() / self.columns.max(1)
    }
}

impl RowChunk {
    pub(super) fn push<S: AsRef<str>>(&mut self, cells: impl IntoIterator<Item = S>) {
        for cell in cells {
            self.text.push_str(&visible_lines(cell.as_ref()));
            self.ends.push(self.text.len());
        }
    }

    fn cell(&self, at: usize) -> &str {
        let start = at.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.text[start..self.ends[at]]
    }

    /// The cells, row by row.
    pub(super) fn rows(&self, columns: usize) -> impl Iterator<Item = impl Iterator<Item = &str>> {
        (0..self.ends.len()).step_by(columns.max(1)).map(move |first| (first..first + columns).map(|at| self.cell(at)))
    }

    /// The cells of one column.
    pub(super) fn column(&self, column: usize, columns: usize) -> impl Iterator<Item = &str> {
        (column..self.ends.len()).step_by(columns.max(1)).map(|at| self.cell(at))
    }
}

/// Where the rows of a table come from.
#[derive(Clone, Copy)]
pub(crate) enum RowSource<'r> {
    /// From the table itself.
    Held(&'r [RowChunk]),
    /// So many are made, each time that they are asked for.
    Made(usize, &'r dyn Fn(usize) -> Vec<String>),
}

impl RowSource<'_> {
    pub(super) fn each(&self, take: &mut dyn FnMut(&RowChunk)) {
        match *self {
            Self::Held(pieces) => pieces.iter().for_each(take),
            Self::Made(count, row) => {
                let mut piece = RowChunk::default();
                for at in 0..count {
                    piece.push(row(at));
                    let (next, is_large) = (at + 1, count > PIECE && piece.text.len() >= LARGE);
                    if next == count || next % PIECE == 0 || is_large {
                        take(&std::mem::take(&mut piece));
                    }
                }
            }
        }
    }

    pub(super) fn are_many(&self) -> bool {
        match self {
            Self::Held(pieces) => pieces.len() > 1,
            Self::Made(count, _) => *count > PIECE,
        }
    }
}
