//! Something printed, as a page.

use base64ct::{Base64, Encoding};

use super::page::{Markup, signs};
use super::style;
use crate::printed::{Block, LogoKind, Printed};

/// The page, as one file.
pub fn page(printed: &Printed<'_>) -> String {
    let mut html = String::new();
    page_for(printed, &mut |piece| html.push_str(piece));
    html
}

/// The same, handed over piece by piece while it is put together.
pub fn page_for(printed: &Printed<'_>, reader: &mut dyn FnMut(&str)) {
    let style = style::sheet(&printed.number, printed.language);
    let title = format!("{} {} · {}", printed.title, printed.number, printed.about);
    let mut page = Markup::begin(printed.language, &title, &style, None, reader);
    page.raw("<body>\n<div class=\"sheet\">\n<header class=\"head\">\n<div>");
    page.element("<h1>", &printed.title, "</h1>").element("<p>", &printed.about, "</p>");
    if let Some(span) = &printed.span {
        page.element("<p>", span, "</p>");
    }
    page.element("<p class=\"number code\">", &printed.number, "</p></div>\n");
    if printed.logo.is_some() || !printed.letterhead.is_empty() {
        page.raw("<div class=\"own\">");
        if let Some(logo) = &printed.logo {
            let kind = match logo.kind {
                LogoKind::Png => "image/png",
                LogoKind::Jpeg => "image/jpeg",
            };
            let name = printed.letterhead.first().map_or("", String::as_str);
            page.raw("<img class=\"logo\" alt=\"").text(name).raw("\" src=\"data:").raw(kind).raw(";base64,");
            page.raw(&Base64::encode_string(&logo.bytes)).raw("\">");
        }
        for line in &printed.letterhead {
            page.element("<p>", line, "</p>");
        }
        page.raw("</div>\n");
    }
    page.raw("</header>\n<main>\n");
    let fronts = printed.parts.iter().filter(|part| part.front).count();
    for (at, part) in printed.parts.iter().enumerate() {
        match at {
            0 if fronts > 0 => drop(page.raw("<div class=\"front\">\n")),
            _ if at == fronts && fronts > 0 => drop(page.raw("</div>\n")),
            _ => {}
        }
        page.raw(&format!("<section aria-labelledby=\"p{at}\">\n<h2 id=\"p{at}\">")).text(&part.heading).raw("</h2>\n");
        part.blocks.iter().for_each(|one| block(&mut page, one));
        page.raw("</section>\n");
    }
    page.raw("</main>\n<footer>");
    if let Some(footer) = &printed.footer {
        page.element("<p class=\"small\">", footer, "</p>");
    }
    page.element("<p class=\"end\">— ", &printed.end, " —</p></footer>\n</div>\n</body>\n</html>\n");
    page.end();
}

fn block(page: &mut Markup<'_>, block: &Block<'_>) {
    match block {
        Block::Line(text) => {
            page.element("<p>", text, "</p>\n");
        }
        Block::Claim(mark, text) => {
            page.raw("<p class=\"claim ").raw(signs(*mark).0).raw("\">").mark(*mark);
            page.element("<span class=\"t\">", text, "</span></p>\n");
        }
        Block::Pairs(pairs) => {
            page.raw("<dl>");
            for (label, text) in pairs {
                page.element("<dt>", label, "</dt>").element("<dd>", text, "</dd>");
            }
            page.raw("</dl>\n");
        }
        Block::Grid(grid) => page.grid(grid),
        Block::List(items) => {
            page.raw("<ul>");
            for item in items {
                page.element("<li>", item, "</li>");
            }
            page.raw("</ul>\n");
        }
        Block::Code(label, text) => {
            page.element("<p class=\"seal\"><span class=\"small\">", label, "</span>");
            page.element("<code>", text, "</code></p>\n");
        }
        Block::Seal { label, short, code, caption } => {
            page.raw("<div class=\"sealed\"><p class=\"seal\"><span class=\"small\">").text(label).raw("</span>");
            page.element("<code>", short, "</code></p>\n<div>");
            page.qr(code, caption);
            page.raw("</div></div>\n");
        }
        Block::SignHere(lines) => {
            page.raw("<div class=\"sign\">");
            for line in lines {
                page.element("<p>", line, "</p>");
            }
            page.raw("</div>\n");
        }
    }
}
