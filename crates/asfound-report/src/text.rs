//! Something printed, as plain text.

use crate::page::Page;
use crate::printed::{Block, Cell, ColumnHead, GridRows, Mark, Printed};
use crate::qr::QrCode;
use crate::table::Table;

/// The text at a width in characters. What a mark says is said in words beside it, so that it needs no sign.
pub fn text(printed: &Printed<'_>, width: u16) -> String {
    let mut text = String::new();
    text_for(printed, width, &mut |piece| text.push_str(piece));
    text
}

/// The same, handed over piece by piece while it is put together.
pub fn text_for(printed: &Printed<'_>, width: u16, reader: &mut dyn FnMut(&str)) {
    let mut rest = |text: &str| reader(text);
    let mut page = Page::new(width, false).read_by(&mut rest);
    page.head(&[&printed.title, &printed.number, &printed.about]);
    printed.span.iter().for_each(|span| page.line(span));
    printed.letterhead.iter().for_each(|line| page.line(line));
    for part in &printed.parts {
        page.part(&part.heading);
        for block in &part.blocks {
            match block {
                Block::Line(text) => page.line(text),
                Block::Claim(mark, text) => match mark {
                    Mark::Alarm => page.line(&format!("{}: {text}", printed.language.words().note_well)),
                    _ => page.line(text),
                },
                Block::Pairs(pairs) => pairs.iter().for_each(|(label, text)| page.pair_wide(label, text)),
                Block::List(items) => items.iter().for_each(|item| page.item(item)),
                Block::Code(label, text) => {
                    page.line(&format!("{label}:"));
                    page.verbatim(text);
                }
                // The same stands above in letters, for where it cannot be read.
                Block::Seal { label, short, code, caption } => {
                    page.gap();
                    page.line(&format!("{label}:"));
                    page.verbatim(short);
                    if code.width() + 2 * QrCode::QUIET <= usize::from(width) {
                        page.line(&format!("{caption}. {}", printed.language.words().qr_in_letters));
                        page.as_it_is(&code.half_blocks());
                    }
                }
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
                    for (column, least) in least_widths(&grid.heads, &grid.rows, width).into_iter().enumerate() {
                        table = table.at_least(column, least);
                    }
                    page.table_of(&table, grid.rows.len(), &|at| grid.rows.row(at).iter().map(cell).collect());
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
    let last = page.into_text();
    reader(&last);
}

/// How wide each column is at least: its share of the width, but no wider than what stands in it, and no narrower than the
/// longest word in it, within reason.
fn least_widths(heads: &[ColumnHead], rows: &GridRows<'_>, width: u16) -> Vec<u16> {
    /// Behind a column, and between two.
    const PADDING: u16 = 2;
    const GAP: u16 = PADDING + 1;
    /// No longer word is kept whole at the cost of other columns.
    const WORD: usize = 24;
    let last = heads.len().saturating_sub(1);
    let gaps = GAP * u16::try_from(last).unwrap_or_default();
    let (space, shares) = (width.saturating_sub(gaps), heads.iter().map(|head| head.share).sum::<u16>().max(1));
    let number = |count: usize| u16::try_from(count).unwrap_or(u16::MAX);
    let lines = |text: &str| text.lines().map(|line| line.chars().count()).max().unwrap_or_default();
    let words = |text: &str| {
        let lengths = text.split_whitespace().map(|word| word.chars().count());
        lengths.filter(|length| *length <= WORD).max().unwrap_or_default()
    };
    let mut longest: Vec<(usize, usize)> = heads.iter().map(|head| (lines(&head.text), words(&head.text))).collect();
    for row in rows.iter() {
        for ((line, word), text) in longest.iter_mut().zip(row.iter().map(cell)) {
            (*line, *word) = (lines(&text).max(*line), words(&text).max(*word));
        }
    }
    let wanted = |(head, (line, word)): (&ColumnHead, (usize, usize))| {
        (space * head.share / shares).min(number(line)).max(number(word))
    };
    let mut widths: Vec<u16> = heads.iter().zip(longest).map(wanted).collect();
    // What some take for their heads the widest one gives.
    while widths.iter().sum::<u16>() > space {
        let Some(widest) = widths.iter().copied().max().filter(|widest| *widest > 1) else { break };
        widths.iter_mut().rfind(|width| **width == widest).into_iter().for_each(|width| *width -= 1);
    }
    widths.iter().enumerate().map(|(column, width)| if column == last { *width } else { *width + PADDING }).collect()
}

fn cell(cell: &Cell) -> String {
    cell.lines.iter().map(|piece| piece.text.as_str()).collect::<Vec<_>>().join("\n")
}
