//! The life lines of a book, each in a section of its own.

use super::page::Markup;
use crate::book::Book;
use crate::language::{Language, Numbers};
use crate::life_line::{LifeLine, StepKind, draw, sample};
use crate::page::NOTHING;
use crate::shown::shown;

/// The section with all life lines.
pub(super) fn lines(page: &mut Markup<'_>, book: &Book<'_>) {
    let words = book.language.words();
    page.raw("<section aria-labelledby=\"lines\"><h2 id=\"lines\">").text(words.life_lines).raw("</h2>\n");
    if book.lines() == 0 {
        page.element("<p>", words.nothing_changed, "</p></section>\n");
        return;
    }
    page.element("<p>", words.life_lines_intro, "</p>\n<ul class=\"key\">");
    let reading = book.entries.last().map_or(asfound_core::names::EntryNumber::FIRST, |entry| entry.number);
    for (kind, text) in [
        (StepKind::FirstKnown, words.origin_first),
        (StepKind::Stated, words.stated),
        (StepKind::ReadBack(reading), words.read_back),
        (StepKind::Contradicted(reading), words.contradicted),
        (StepKind::AnotherHand, words.another_hand),
        (StepKind::CannotTell, words.cannot_tell),
    ] {
        page.raw("<li>").raw(&sample(kind)).text(text).raw("</li>");
    }
    page.raw("</ul>\n");
    for (at, line) in book.life_lines().enumerate() {
        one(page, book, at, &line);
    }
    page.raw("</section>\n");
}

fn one(page: &mut Markup<'_>, book: &Book<'_>, at: usize, line: &LifeLine) {
    let (language, words) = (book.language, book.language.words());
    let field = language.field(&line.field.to_string());
    let title = line.label.as_deref().map_or_else(|| field.clone(), shown);
    page.raw(&format!("<section class=\"life f\" id=\"s{at}\" aria-labelledby=\"h{at}\"><h3 id=\"h{at}\">"));
    page.text(&title).raw("</h3>");
    page.element("<p class=\"small code\">", &field, "</p>");
    let now = line.steps.last().map_or(NOTHING.to_owned(), |step| language.content(&step.left));
    let name = format!("{title}: {} {now}", words.now);
    page.raw("<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"").text(&title).raw("\">");
    page.raw(&draw(line, book.span, &name, language)).raw("</div>\n");
    page.raw("<details><summary>").text(&format!("{}: {}", words.steps, line.steps.len()));
    page.raw("</summary><div class=\"wide\"><table><thead><tr>");
    for head in [words.entry, words.date_and_time, words.as_found, words.as_left, words.proven] {
        page.element("<th scope=\"col\">", head, "</th>");
    }
    page.raw("</tr></thead><tbody>");
    for step in &line.steps {
        page.raw(&format!("<tr><th scope=\"row\"><a href=\"#e{0}\">{0}</a></th><td>", step.entry));
        page.text(&language.date(step.at)).raw("</td><td>");
        page.text(&step.found.as_ref().map_or(NOTHING.to_owned(), |found| language.content(found))).raw("</td><td>");
        page.text(&language.content(&step.left)).raw("</td><td>").text(&proven(step.kind, language)).raw("</td></tr>");
    }
    page.raw("</tbody></table></div></details></section>\n");
}

fn proven(kind: StepKind, language: Language) -> String {
    let words = language.words();
    let entry = |word: &str, entry: asfound_core::names::EntryNumber| format!("{word}, {} {entry}", words.entry);
    match kind {
        StepKind::FirstKnown => words.origin_first.to_owned(),
        StepKind::Stated => words.stated.to_owned(),
        StepKind::ReadBack(reading) => entry(words.read_back, reading),
        StepKind::PartlyWitnessed(log) => entry(words.partly_witnessed, log),
        StepKind::Witnessed(log) => entry(words.witnessed, log),
        StepKind::Contradicted(reading) => entry(words.contradicted, reading),
        StepKind::AnotherHand => words.another_hand.to_owned(),
        StepKind::CannotTell => words.cannot_tell.to_owned(),
    }
}
