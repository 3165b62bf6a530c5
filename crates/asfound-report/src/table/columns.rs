//! How wide the columns of a table are.

use comfy_table::ContentArrangement;

use super::rows::RowSource;
use super::{Table, style, untabbed};

impl Table {
    /// How wide each column of a table of many rows is: as wide as if all of them were laid out at once, which takes a
    /// thousand bytes a row and more.
    pub(super) fn arranged(&self, rows: RowSource<'_>, width: u16) -> Vec<u16> {
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
    fn widest(&self, rows: RowSource<'_>) -> Vec<u16> {
        let mut widest = vec![0; self.heads.len()];
        rows.each(&mut |piece| {
            for (widest, width) in widest.iter_mut().zip(self.filled(piece).column_max_content_widths()) {
                *widest = width.max(*widest);
            }
        });
        widest
    }

    /// The longest line of a column whose lines are broken at a width, or any that is less than three short of it.
    fn longest_line(&self, rows: RowSource<'_>, column: usize, width: usize) -> usize {
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

    /// A width for every column. What needs no more than its even share gets what it needs; the others share what is left.
    pub(super) fn columns(&self, width: u16) -> Vec<u16> {
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
