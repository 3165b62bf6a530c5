//! A book, as a page.

use super::book_lines::lines;
use super::page::Markup;
use super::style;
use crate::book::{Book, BookEntry};
use crate::language::Numbers;

/// Finds as one types; a search can also be asked for in the address: `book.html#find=flashes`.
const SCRIPT: &str = include_str!("find.js");

/// How many entries are laid out together, or left alone together while they are out of sight. A browser that has to look after
/// each of 5,000 entries by itself spends 50 to 80 ms on every frame (Chromium 156, on a busy machine); with groups of 50 it spends
/// 10 to 19.
const GROUP: usize = 50;

/// The page, as one file.
pub fn book_page(book: &Book<'_>) -> String {
    let mut html = String::new();
    book_page_for(book, &mut |piece| html.push_str(piece));
    html
}

/// The same, handed over piece by piece while it is put together.
pub fn book_page_for(book: &Book<'_>, reader: &mut dyn FnMut(&str)) {
    let (language, words) = (book.language, book.language.words());
    let title = format!("{} · {}", words.book, book.about);
    let style = style::book(&format!("{} {}", book.tag, book.seal.short), language);
    let mut page = Markup::begin(language, &title, &style, Some(SCRIPT), reader);
    page.raw("<body>\n<a class=\"skip\" href=\"#entries\">").text(words.skip).raw("</a>\n<header class=\"title\">");
    page.element("<h1>", words.book, "</h1>").element("<p>", &book.about, "</p><p class=\"muted\">");
    let count = language.entries(book.entries.len());
    page.text(&format!("{count} · {} → {}", language.date(book.span.0), language.date(book.span.1)));
    page.text(&format!(" · {} {}", words.printed, language.moment(book.printed)));
    page.element("<br>", words.seal, " <code>").element("", &book.seal.short, "</code></p></header>\n");
    page.raw("<div class=\"bar\" id=\"bar\" role=\"search\" hidden><label for=\"find\">")
        .text(words.search)
        .raw("</label>");
    page.raw("<input id=\"find\" type=\"search\" autocomplete=\"off\" spellcheck=\"false\" placeholder=\"")
        .text(words.search_hint);
    page.raw("\"><span id=\"count\" class=\"muted\" role=\"status\" data-words=\"")
        .text(words.entries_found)
        .raw("\"></span></div>\n");
    page.raw("<noscript><p class=\"title muted\">").text(words.needs_script).raw("</p></noscript>\n<main>\n");
    lines(&mut page, book);
    page.raw("<section class=\"beside\" id=\"entries\" tabindex=\"0\" aria-labelledby=\"all\"><h2 id=\"all\">");
    page.text(words.all_entries).raw("</h2>\n<div role=\"list\">\n");
    // Newest first.
    for entries in book.entries.rchunks(GROUP) {
        page.raw("<div class=\"g\" role=\"none\">\n");
        entries.iter().rev().for_each(|one| entry(&mut page, book, one));
        page.raw("</div>\n");
    }
    page.raw("</div></section>\n</main>\n<script>").raw(SCRIPT).raw("</script>\n</body>\n</html>\n");
    page.end();
}

fn entry(page: &mut Markup<'_>, book: &Book<'_>, entry: &BookEntry) {
    let (language, words) = (book.language, book.language.words());
    let number = entry.number.to_string();
    page.raw("<div class=\"e f\" role=\"listitem\" id=\"e")
        .raw(&number)
        .raw("\"><p><span class=\"no\">")
        .raw(&number)
        .raw("</span> <b>");
    page.text(&entry.kind).raw("</b>");
    if book.never_made(entry) {
        page.element(" (", words.never_made, ")");
    }
    page.element(" <span class=\"muted\">", &language.moment(entry.at), "</span></p>");
    let mut altered = book.altered(entry).peekable();
    if altered.peek().is_some() || !entry.facts.is_empty() {
        page.raw("<ul>");
        for fact in &entry.facts {
            page.element("<li>", fact, "</li>");
        }
        for (line, text) in altered {
            match line {
                Some(line) => page.raw(&format!("<li><a href=\"#s{line}\">")).text(&text).raw("</a>"),
                None => page.raw("<li>").text(&text),
            };
            page.raw("</li>");
        }
        page.raw("</ul>");
    }
    page.element("<p>", &entry.why, "</p>").element("<p class=\"small\">", &entry.by, "</p></div>\n");
}
