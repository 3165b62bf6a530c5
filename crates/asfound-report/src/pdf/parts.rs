//! Lays the parts of something printed out on pages.

use super::faces::FaceName;
use super::flow::{Flow, PageItem, SIDE, TOP, TextStyle};
use super::lines::lines;
use super::row::table;
use super::tags::TagRole;
use super::{Paper, PdfError, draw};
use crate::palette::{LIGHT, Rgb};
use crate::printed::{Block, Mark, Printed};

const TITLE: TextStyle = TextStyle { face: FaceName::Bold, size: 19.0, colour: LIGHT.ink };
const TEXT: TextStyle = TextStyle { face: FaceName::Regular, size: 9.4, colour: LIGHT.ink };
const FRONT: TextStyle = TextStyle { size: 10.5, ..TEXT };
const SOFT: TextStyle = TextStyle { face: FaceName::Regular, size: 9.0, colour: LIGHT.muted };
const HEADING: TextStyle = TextStyle { face: FaceName::Bold, size: 10.6, colour: LIGHT.accent };
const SEAL: TextStyle = TextStyle { face: FaceName::Mono, size: 9.4, colour: LIGHT.ink };
const LABELS: f32 = 138.0;
const QR: f32 = 96.0;

/// The colour of a mark.
pub(super) fn colour(mark: Mark) -> Rgb {
    match mark {
        Mark::Good => LIGHT.accent,
        Mark::Agreed => LIGHT.agreed,
        Mark::Alarm => LIGHT.alarm,
        Mark::Open => LIGHT.muted,
    }
}

/// The pages.
pub(super) fn laid_out(printed: &Printed, paper: Paper) -> Result<Flow, PdfError> {
    let mut flow = Flow::new(paper);
    head(&mut flow, printed)?;
    for (at, part) in printed.parts.iter().enumerate() {
        // What stands on the first page stands there alone.
        if flow.front && !part.front {
            flow.turn();
        }
        flow.front = part.front;
        let section = flow.part(0, TagRole::Section);
        flow.y += if flow.front { 9.0 } else { 13.0 };
        flow.need(if flow.front { 48.0 } else { 84.0 });
        // The end does not stand on a page alone: the last part goes with it.
        if at + 1 == printed.parts.len() {
            let height = ending(&flow, printed);
            flow.need(if height < flow.whole() { height } else { 84.0 });
        }
        let heading = flow.part(section, TagRole::Heading(2, part.heading.clone()));
        let y = flow.y;
        flow.put(None, PageItem::Rule { x: SIDE, y, length: flow.measure(), width: 1.1, colour: LIGHT.accent });
        flow.y += 5.0;
        let wide = flow.measure();
        let looks = TextStyle { size: if flow.front { 11.6 } else { HEADING.size }, ..HEADING };
        flow.paragraph(heading, looks, &part.heading, (SIDE, wide));
        flow.y += 3.0;
        part.blocks.iter().for_each(|one| block(&mut flow, section, one));
    }
    flow.front = false;
    flow.y += 16.0;
    let wide = flow.measure();
    if let Some(footer) = &printed.footer {
        let part = flow.part(0, TagRole::Paragraph);
        flow.paragraph(part, SOFT, footer, (SIDE, wide));
    }
    flow.need(SOFT.leading() + 6.0);
    flow.y += 6.0;
    let part = flow.part(0, TagRole::Paragraph);
    let end = flow.faces.printable(SOFT.face, &format!("— {} —", printed.end));
    let x = SIDE + (wide - flow.faces.width(SOFT.face, SOFT.size, &end)) / 2.0;
    flow.text(Some(part), SOFT, end, x.max(SIDE));
    Ok(flow)
}

/// How high the last part is together with the end, as far as it is a list.
fn ending(flow: &Flow, printed: &Printed) -> f32 {
    let wide = flow.measure();
    let high = |looks: TextStyle, text: &str, width: f32| {
        lines(&flow.faces, looks.face, looks.size, text, width).len() as f32 * looks.leading()
    };
    let last = printed.parts.last().map_or(&[][..], |part| &part.blocks);
    let items = last.iter().flat_map(|block| match block {
        Block::List(items) => items.as_slice(),
        _ => &[],
    });
    let height: f32 = items.map(|item| high(TEXT, item, wide - 12.0) + 1.5).sum();
    let footer = printed.footer.as_deref().map_or(0.0, |footer| high(SOFT, footer, wide));
    HEADING.leading() + 8.0 + height + 16.0 + footer + 6.0 + SOFT.leading()
}

/// Title and number on the left, whose sheet it is on the right.
fn head(flow: &mut Flow, printed: &Printed) -> Result<(), PdfError> {
    let beside = printed.logo.is_some() || !printed.letterhead.is_empty();
    let (left, right) = (flow.measure() * if beside { 0.6 } else { 1.0 }, flow.measure() * 0.37);
    let title = flow.part(0, TagRole::Heading(1, printed.title.clone()));
    flow.paragraph(title, TITLE, &printed.title, (SIDE, left));
    let about = flow.part(0, TagRole::Paragraph);
    flow.paragraph(about, FRONT, &printed.about, (SIDE, left));
    if let Some(span) = &printed.span {
        let part = flow.part(0, TagRole::Paragraph);
        flow.paragraph(part, FRONT, span, (SIDE, left));
    }
    let number = flow.part(0, TagRole::Paragraph);
    flow.y += 2.0;
    flow.paragraph(number, SOFT, &printed.number, (SIDE, left));
    let below = flow.y;
    flow.y = TOP + 3.0;
    if let Some(logo) = &printed.logo {
        let (width, height) = draw::logo_size(logo)?;
        let scale = (right / width).min(50.0 / height).min(1.0);
        let (width, height) = (width * scale, height * scale);
        let name = printed.letterhead.first().cloned().unwrap_or_default();
        let part = flow.part(0, TagRole::Figure(name));
        let ink = PageItem::Logo { x: flow.right() - width, y: flow.y, width, height };
        flow.put(Some(part), ink);
        flow.y += height + 4.0;
    }
    for (at, line) in printed.letterhead.iter().enumerate() {
        let part = flow.part(0, TagRole::Paragraph);
        let looks = if at == 0 { TextStyle { face: FaceName::Bold, ..TEXT } } else { SOFT };
        for line in lines(&flow.faces, looks.face, looks.size, line, right) {
            let wide = flow.faces.width(looks.face, looks.size, line.trim_end());
            let x = flow.right() - wide;
            flow.text(Some(part), looks, line, x);
            flow.y += looks.leading();
        }
    }
    flow.y = flow.y.max(below);
    Ok(())
}

fn block(flow: &mut Flow, under: usize, block: &Block) {
    let (wide, looks, soft) = (flow.measure(), flow.text_style(TEXT), flow.text_style(SOFT));
    match block {
        Block::Line(text) => {
            let part = flow.part(under, TagRole::Paragraph);
            flow.paragraph(part, looks, text, (SIDE, wide));
            flow.y += 3.0;
        }
        Block::Claim(mark, text) => claim(flow, under, *mark, text),
        Block::Pairs(pairs) => {
            for (label, text) in pairs {
                pair(flow, under, label, text);
            }
            flow.y += 3.0;
        }
        Block::Grid(grid) => table(flow, under, grid),
        Block::List(items) => {
            let list = flow.part(under, TagRole::List);
            for text in items {
                let item = flow.part(list, TagRole::Item);
                let body = flow.part(item, TagRole::ItemBody);
                let height =
                    lines(&flow.faces, looks.face, looks.size, text, wide - 12.0).len() as f32 * looks.leading();
                flow.need(height.min(flow.whole()));
                flow.text(None, looks, "•".to_owned(), SIDE + 2.0);
                flow.paragraph(body, looks, text, (SIDE + 12.0, wide - 12.0));
                flow.y += 1.5;
            }
        }
        Block::Code(label, text) => {
            let part = flow.part(under, TagRole::Paragraph);
            let code = flow.text_style(SEAL);
            flow.need(soft.leading() + code.leading());
            flow.paragraph(part, soft, &format!("{label} "), (SIDE, wide));
            flow.paragraph(part, code, text, (SIDE, wide));
            flow.y += 4.0;
        }
        Block::Seal { label, short, code, caption } => {
            flow.need(QR);
            let top = flow.y;
            flow.y += 8.0;
            let room = wide - QR - 12.0;
            let part = flow.part(under, TagRole::Paragraph);
            flow.paragraph(part, soft, &format!("{label} "), (SIDE, room));
            flow.paragraph(part, flow.text_style(SEAL), short, (SIDE, room));
            flow.y += 4.0;
            let part = flow.part(under, TagRole::Paragraph);
            flow.paragraph(part, soft, caption, (SIDE, room));
            let figure = flow.part(under, TagRole::Figure(format!("{caption}: {}", code.text())));
            let x = flow.right() - QR + 8.0;
            flow.put(Some(figure), PageItem::Qr { x, y: top, side: QR, code: code.clone() });
            flow.y = flow.y.max(top + QR);
        }
        Block::SignHere(labels) => sign_here(flow, under, labels),
    }
}

/// The sentence that matters, on a panel with a bar in the colour of its mark.
fn claim(flow: &mut Flow, under: usize, mark: Mark, text: &str) {
    let part = flow.part(under, TagRole::Paragraph);
    let (wide, looks) = (flow.measure(), flow.text_style(TEXT));
    let texts = lines(&flow.faces, looks.face, looks.size, text, wide - 42.0);
    let height = texts.len() as f32 * looks.leading() + 14.0;
    flow.need(height.min(flow.whole()));
    let y = flow.y;
    flow.put(None, PageItem::Panel { x: SIDE, y, width: wide, height, colour: LIGHT.panel });
    flow.put(None, PageItem::Panel { x: SIDE, y, width: 3.0, height, colour: colour(mark) });
    flow.y += 7.0;
    flow.put(None, PageItem::Mark { x: SIDE + 13.0, base: y + 7.0 + looks.size, size: looks.size, mark });
    for line in texts {
        flow.text(Some(part), looks, line, SIDE + 27.0);
        flow.y += looks.leading();
    }
    flow.y = y + height + 6.0;
}

fn pair(flow: &mut Flow, under: usize, label: &str, text: &str) {
    let part = flow.part(under, TagRole::Paragraph);
    let labels = lines(&flow.faces, SOFT.face, SOFT.size, &format!("{label} "), LABELS - 8.0);
    flow.need(TEXT.leading() * labels.len() as f32);
    let (page, top) = (flow.pages.len(), flow.y);
    for line in labels {
        flow.y += TEXT.size - SOFT.size;
        flow.text(Some(part), SOFT, line + " ", SIDE);
        flow.y += SOFT.leading();
    }
    let below = flow.y;
    flow.y = top;
    let wide = flow.measure();
    flow.paragraph(part, TEXT, text, (SIDE + LABELS, wide - LABELS));
    if flow.pages.len() == page {
        flow.y = flow.y.max(below);
    }
    flow.y += 1.0;
}

/// Lines to sign on, side by side.
fn sign_here(flow: &mut Flow, under: usize, labels: &[String]) {
    flow.need(70.0);
    flow.y += 40.0;
    let width = (flow.measure() - 24.0) / labels.len().max(1) as f32;
    let top = flow.y;
    let mut below = top;
    for (at, label) in labels.iter().enumerate() {
        let x = SIDE + at as f32 * (width + 24.0);
        let part = flow.part(under, TagRole::Paragraph);
        flow.put(None, PageItem::Rule { x, y: top, length: width - 12.0, width: 0.7, colour: LIGHT.ink });
        flow.y = top + 3.0;
        let soft = flow.text_style(SOFT);
        flow.paragraph(part, soft, label, (x, width - 12.0));
        below = below.max(flow.y);
    }
    flow.y = below;
}
