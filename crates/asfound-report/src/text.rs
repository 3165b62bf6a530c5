//! Something printed, as plain text.

use crate::page::Page;
use crate::printed::{Block, Cell, Mark, Printed};
use crate::table::Table;

/// The text at a width in characters. What a mark says is said in words beside it, so that it needs no sign.
pub fn text(printed: &Printed, width: u16) -> String {
    let mut page = Page::new(width, false);
    page.head(&[&printed.title, &printed.number, &printed.about]);
    printed.letterhead.iter().for_each(|line| page.line(line));
    for part in &printed.parts {
        page.part(&part.heading);
        for block in &part.blocks {
            match block {
                Block::Line(text) => page.line(text),
                Block::Claim(mark, text) => match mark {
                    Mark::Alarm => page.alarm(text),
                    _ => page.line(text),
                },
                Block::Pairs(pairs) => pairs.iter().for_each(|(label, text)| page.pair_wide(label, text)),
                Block::List(items) => items.iter().for_each(|item| page.item(item)),
                Block::Code(label, text) => {
                    page.line(&format!("{label}:"));
                    page.verbatim(text);
                }
                // Lines of text cannot be scanned; the same stands above in letters.
                Block::Qr(..) => {}
                Block::SignHere(lines) => {
                    for line in lines {
                        page.gap();
                        page.line(&format!("{line}:"));
                        page.gap();
                        page.line(&"_".repeat(usize::from(width.min(72))));
                    }
                }
                Block::Grid(grid) => {
                    let heads: Vec<&str> = grid.heads.iter().map(|head| head.text.as_str()).collect();
                    let mut table = Table::with_heads(&heads);
                    for (column, head) in grid.heads.iter().enumerate() {
                        if head.figures {
                            table = table.figures(column);
                        }
                    }
                    grid.rows.iter().for_each(|row| table.cells(row.iter().map(cell).collect()));
                    page.table(&table);
                    page.gap();
                }
            }
        }
    }
    page.gap();
    if let Some(footer) = &printed.footer {
        page.line(footer);
    }
    page.line(&format!("— {} —", printed.end));
    page.into_text()
}

fn cell(cell: &Cell) -> String {
    cell.lines.iter().map(|piece| piece.text.as_str()).collect::<Vec<_>>().join("\n")
}
