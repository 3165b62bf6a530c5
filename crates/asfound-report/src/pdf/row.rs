//! Tables: rows that stay whole, heads that come again on every page.

use super::faces::FaceName;
use super::flow::{Flow, PageItem, SIDE, TextStyle};
use super::lines::lines;
use super::tags::TagRole;
use crate::palette::LIGHT;
use crate::printed::{Cell, ColumnHead, Grid, Mark};

const GAP: f32 = 9.0;
const PAD: f32 = 3.0;
const BODY: f32 = 9.2;
const SMALL: f32 = 9.0;

/// A line in a cell.
struct CellText {
    mark: Option<Mark>,
    indent: f32,
    looks: TextStyle,
    text: String,
}

/// Where the columns stand: left edge and width.
fn columns(flow: &Flow, heads: &[ColumnHead]) -> Vec<(f32, f32)> {
    let shares: f32 = heads.iter().map(|head| f32::from(head.share)).sum();
    let room = flow.measure() - GAP * (heads.len().saturating_sub(1)) as f32;
    let mut x = SIDE;
    heads
        .iter()
        .map(|head| {
            let width = room * f32::from(head.share) / shares.max(1.0);
            let at = x;
            x += width + GAP;
            (at, width)
        })
        .collect()
}

/// Puts a table down.
pub(super) fn table(flow: &mut Flow, under: usize, grid: &Grid<'_>) {
    let columns = columns(flow, &grid.heads);
    let table = flow.part(under, TagRole::Table);
    let head = flow.part(table, TagRole::Rows { head: true });
    let head_row = flow.part(head, TagRole::Row);
    let first: f32 = grid.rows.iter().next().map_or(0.0, |row| height(&cells(flow, &row, &columns)));
    let head_lines = heads(flow, &grid.heads, &columns);
    let head_height = height(&head_lines);
    flow.need(head_height + first.min(flow.whole() - head_height - 20.0));
    let parts: Vec<usize> = grid.heads.iter().map(|_| flow.part(head_row, TagRole::ColumnHead)).collect();
    put_heads(flow, &head_lines, &grid.heads, &columns, Some(&parts));
    let body = flow.part(table, TagRole::Rows { head: false });
    for row in grid.rows.iter() {
        let node = flow.part(body, TagRole::Row);
        let parts: Vec<usize> =
            (0..row.len()).map(|at| flow.part(node, if at == 0 { TagRole::RowHead } else { TagRole::Data })).collect();
        let mut cells = cells(flow, &row, &columns);
        if height(&cells) > flow.room() {
            again(flow, &grid.heads, &columns);
        }
        // Only a row that is higher than a page is cut.
        while height(&cells) > flow.room() {
            let room = flow.room() - 2.0 * PAD;
            let rest = cells.iter_mut().map(|cell| cell.split_off(fitting(cell, room))).collect();
            put(flow, &cells, &grid.heads, &columns, Some(&parts));
            cells = rest;
            again(flow, &grid.heads, &columns);
        }
        put(flow, &cells, &grid.heads, &columns, Some(&parts));
        let y = flow.y;
        flow.put(None, PageItem::Rule { x: SIDE, y, length: flow.measure(), width: 0.5, colour: LIGHT.rule });
    }
    flow.y += 4.0;
}

/// How many lines of a cell fit into a height, at least one.
fn fitting(cell: &[CellText], room: f32) -> usize {
    let mut used = 0.0;
    let fits = cell.iter().take_while(|line| {
        used += line.looks.leading();
        used <= room
    });
    fits.count().max(1).min(cell.len())
}

fn height(cells: &[Vec<CellText>]) -> f32 {
    let of = |cell: &Vec<CellText>| cell.iter().map(|line| line.looks.leading()).sum::<f32>();
    2.0 * PAD + cells.iter().map(of).fold(0.0, f32::max)
}

fn heads(flow: &Flow, heads: &[ColumnHead], columns: &[(f32, f32)]) -> Vec<Vec<CellText>> {
    let looks = TextStyle { face: FaceName::Bold, size: SMALL, colour: LIGHT.muted };
    let of = |(head, (_, width)): (&ColumnHead, &(f32, f32))| {
        let texts = lines(&flow.faces, looks.face, looks.size, &head.text, *width);
        texts.into_iter().map(|text| CellText { mark: None, indent: 0.0, looks, text }).collect()
    };
    heads.iter().zip(columns).map(of).collect()
}

fn cells(flow: &Flow, row: &[Cell], columns: &[(f32, f32)]) -> Vec<Vec<CellText>> {
    let of = |(at, (cell, (_, width))): (usize, (&Cell, &(f32, f32)))| {
        let mut all = Vec::new();
        for piece in &cell.lines {
            let face = if at == 0 && !piece.small { FaceName::Bold } else { FaceName::Regular };
            let looks = if piece.small {
                TextStyle { face, size: SMALL, colour: LIGHT.muted }
            } else {
                TextStyle { face, size: BODY, colour: LIGHT.ink }
            };
            let indent = if piece.mark.is_some() { 9.0 } else { 0.0 };
            let texts = lines(&flow.faces, face, looks.size, &piece.text, width - indent);
            all.extend(texts.into_iter().enumerate().map(|(n, text)| CellText {
                mark: piece.mark.filter(|_| n == 0),
                indent,
                looks,
                text,
            }));
        }
        all
    };
    row.iter().zip(columns).enumerate().map(of).collect()
}

fn put_heads(
    flow: &mut Flow,
    lines: &[Vec<CellText>],
    heads: &[ColumnHead],
    columns: &[(f32, f32)],
    parts: Option<&[usize]>,
) {
    put(flow, lines, heads, columns, parts);
    let y = flow.y;
    flow.put(None, PageItem::Rule { x: SIDE, y, length: flow.measure(), width: 0.9, colour: LIGHT.ink });
}

/// The next page, with the heads again: there they only adorn, since they were told before.
fn again(flow: &mut Flow, heads: &[ColumnHead], columns: &[(f32, f32)]) {
    flow.turn();
    let lines = self::heads(flow, heads, columns);
    put_heads(flow, &lines, heads, columns, None);
}

fn put(
    flow: &mut Flow,
    cells: &[Vec<CellText>],
    heads: &[ColumnHead],
    columns: &[(f32, f32)],
    parts: Option<&[usize]>,
) {
    let (top, bottom) = (flow.y, flow.y + height(cells));
    for (at, (cell, (x, width))) in cells.iter().zip(columns).enumerate() {
        flow.y = top + PAD;
        for line in cell {
            let part = parts.map(|parts| parts[at]);
            if let Some(mark) = line.mark {
                let base = flow.y + line.looks.size;
                flow.put(None, PageItem::Mark { x: *x, base, size: line.looks.size, mark });
            }
            let wide = flow.faces.width(line.looks.face, line.looks.size, line.text.trim_end());
            let x = if heads[at].figures { x + width - wide } else { x + line.indent };
            flow.text(part, line.looks, line.text.clone(), x);
            flow.y += line.looks.leading();
        }
    }
    flow.y = bottom;
}
