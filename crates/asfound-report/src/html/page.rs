//! Markup, written piece by piece.

use super::escape;
use super::policy::policy;
use crate::language::Language;
use crate::printed::{Cell, Grid, Mark};
use crate::qr::QrCode;

/// So many bytes of a long page are let go at once.
const AT_ONCE: usize = 1 << 16;

/// A page in the making, which is handed over piece by piece.
pub(super) struct Markup<'r> {
    html: String,
    reader: &'r mut dyn FnMut(&str),
}

impl<'r> Markup<'r> {
    /// The head of a page, up to the opening of its body.
    pub(super) fn begin(
        language: Language,
        title: &str,
        style: &str,
        script: Option<&str>,
        reader: &'r mut dyn FnMut(&str),
    ) -> Self {
        let mut page = Self { html: String::with_capacity(2 * AT_ONCE), reader };
        page.raw("<!DOCTYPE html>\n<html lang=\"").raw(language.tag()).raw("\">\n<head>\n<meta charset=\"utf-8\">\n");
        page.raw("<meta http-equiv=\"Content-Security-Policy\" content=\"").text(&policy(style, script)).raw("\">\n");
        page.raw("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
        page.raw("<meta name=\"referrer\" content=\"no-referrer\">\n<title>").text(title).raw("</title>\n");
        page.raw("<style>").raw(style).raw("</style>\n</head>\n");
        page
    }

    /// Hands over the rest of it.
    pub(super) fn end(self) {
        (self.reader)(&self.html);
    }

    /// Markup of our own, as it is.
    pub(super) fn raw(&mut self, markup: &str) -> &mut Self {
        self.html.push_str(markup);
        if self.html.len() >= AT_ONCE {
            (self.reader)(&self.html);
            self.html.clear();
        }
        self
    }

    /// Text of any origin.
    pub(super) fn text(&mut self, text: &str) -> &mut Self {
        escape(text, &mut self.html);
        self
    }

    /// An element with text in it.
    pub(super) fn element(&mut self, open: &str, text: &str, close: &str) -> &mut Self {
        self.raw(open).text(text).raw(close)
    }

    pub(super) fn mark(&mut self, mark: Mark) -> &mut Self {
        let (class, sign) = signs(mark);
        self.raw("<i class=\"m ").raw(class).raw("\" aria-hidden=\"true\">").raw(sign).raw("</i>")
    }

    fn cell(&mut self, cell: &Cell) {
        for (at, piece) in cell.lines.iter().enumerate() {
            if piece.small {
                self.element("<span class=\"small\">", &piece.text, "</span>");
                continue;
            }
            if at > 0 {
                self.raw("<br>");
            }
            if let Some(mark) = piece.mark {
                self.mark(mark);
            }
            self.text(&piece.text);
        }
    }

    /// A table. The first cell of every row is its head.
    pub(super) fn grid(&mut self, grid: &Grid<'_>) {
        self.raw("<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"").text(&grid.caption).raw("\">");
        self.element("<table><caption>", &grid.caption, "</caption>");
        self.raw("<thead><tr>");
        for head in &grid.heads {
            let class = if head.figures { " class=\"fig\"" } else { "" };
            self.element(&format!("<th scope=\"col\"{class}>"), &head.text, "</th>");
        }
        self.raw("</tr></thead>\n<tbody>\n");
        for row in grid.rows.iter() {
            self.raw("<tr>");
            for (at, (cell, head)) in row.iter().zip(&grid.heads).enumerate() {
                let class = if head.figures { " class=\"fig\"" } else { "" };
                let (open, close) = if at == 0 { ("th scope=\"row\"", "th") } else { ("td", "td") };
                // On a narrow screen a row is a block, and each cell says what it is.
                self.raw(&format!("<{open}{class} data-head=\"")).text(&head.text).raw("\">");
                self.cell(cell);
                self.raw(&format!("</{close}>"));
            }
            self.raw("</tr>\n");
        }
        self.raw("</tbody></table></div>\n");
    }

    /// A QR code, drawn.
    pub(super) fn qr(&mut self, code: &QrCode, caption: &str) {
        let (quiet, size) = (QrCode::QUIET, code.width() + 2 * QrCode::QUIET);
        let mut path = String::new();
        for (column, row, length) in code.runs() {
            path.push_str(&format!("M{} {}h{length}v1h-{length}z", column + quiet, row + quiet));
        }
        self.raw("<svg class=\"qr\" role=\"img\" viewBox=\"0 0 ").raw(&format!("{size} {size}"));
        self.raw("\" shape-rendering=\"crispEdges\" aria-label=\"").text(caption).raw("\">");
        self.raw(&format!(
            "<path fill=\"#fff\" d=\"M0 0h{size}v{size}h-{size}z\"/><path fill=\"#000\" d=\"{path}\"/></svg>"
        ));
        self.element("<p class=\"small\">", caption, "</p>\n");
    }
}

pub(super) fn signs(mark: Mark) -> (&'static str, &'static str) {
    match mark {
        Mark::Good => ("good", "●"),
        Mark::Agreed => ("agreed", "■"),
        Mark::Alarm => ("alarm", "▲"),
        Mark::Open => ("open", "○"),
    }
}
