//! Text of unknown origin, made fit to be shown.

use std::borrow::Cow;

use unicode_properties::{GeneralCategory, UnicodeGeneralCategory};

/// The most characters of a foreign text that a message repeats.
const MOST: usize = 64;

/// A text of unknown origin as a message may repeat it: made visible, cut after 64 characters.
pub fn shown_text(text: &str) -> String {
    match text.char_indices().nth(MOST) {
        Some((at, _)) => visible(&text[..at]).into_owned() + "…",
        None => visible(text).into_owned(),
    }
}

/// The text with everything made visible that could make paper or a screen show something else than what stands there:
/// what Unicode calls controls, format characters, separators of lines and paragraphs, and characters for private use
/// (general categories Cc, Cf, Zl, Zp and Co) are written as their number, `‹U+202E›`, and so are fillers without width and what
/// is no character. Line ends and tabs become spaces.
///
/// Characters that join others stay between letters and signs that are no ASCII: scripts and emoji need them.
pub fn visible(text: &str) -> Cow<'_, str> {
    if text.bytes().all(|byte| (b' '..0x7F).contains(&byte)) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    let mut before = None;
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '\n' | '\r' | '\t' => shown.push(' '),
            '\u{200C}' | '\u{200D}' if joins(before, rest.peek().copied()) => shown.push(c),
            c if hides(c) => shown.push_str(&by_number(c)),
            c => shown.push(c),
        }
        before = Some(c);
    }
    Cow::Owned(shown)
}

/// The same of a text of several lines, which stay lines.
pub fn visible_lines(text: &str) -> Cow<'_, str> {
    if !text.contains('\n') {
        return visible(text);
    }
    let lines: Vec<Cow<'_, str>> = text.split('\n').map(visible).collect();
    Cow::Owned(lines.join("\n"))
}

/// A character by its number: `‹U+202E›`.
pub fn by_number(c: char) -> String {
    format!("‹U+{:04X}›", u32::from(c))
}

/// Whether a character could make a screen show something else than what stands there.
pub fn hides(c: char) -> bool {
    let by_category = matches!(
        c.general_category(),
        GeneralCategory::Control
            | GeneralCategory::Format
            | GeneralCategory::LineSeparator
            | GeneralCategory::ParagraphSeparator
            | GeneralCategory::PrivateUse
            | GeneralCategory::Surrogate
    );
    // Letters and marks that are blank by design (Unicode, Default_Ignorable_Code_Point), but for those that choose a form.
    let is_filler =
        matches!(c, '\u{034F}' | '\u{115F}' | '\u{1160}' | '\u{17B4}' | '\u{17B5}' | '\u{3164}' | '\u{FFA0}');
    let is_none = u32::from(c) & 0xFFFE == 0xFFFE || ('\u{FDD0}'..='\u{FDEF}').contains(&c);
    by_category || is_filler || is_none
}

fn joins(before: Option<char>, after: Option<char>) -> bool {
    let joined = |c: char| !c.is_ascii() && !hides(c);
    before.is_some_and(joined) && after.is_some_and(joined)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_and_cuts() {
        assert_eq!(shown_text("fog lämp"), "fog lämp");
        assert_eq!(shown_text("a\u{1B}[2J\nb\u{202E}"), "a‹U+001B›[2J b‹U+202E›");
        assert_eq!(shown_text(&"x".repeat(65)), "x".repeat(64) + "…");
        assert_eq!(shown_text(&"ä".repeat(64)), "ä".repeat(64));
    }

    #[test]
    fn nothing_stays_hidden() {
        assert_eq!(visible("fog lämp\tleft\nright"), "fog lämp left right");
        assert_eq!(visible("a\u{202E}b\u{1B}[2J\u{200B}"), "a‹U+202E›b‹U+001B›[2J‹U+200B›");
        assert_eq!(visible("\u{FFFF}\u{85}\u{7F}\u{9B}"), "‹U+FFFF›‹U+0085›‹U+007F›‹U+009B›");
        assert_eq!(visible_lines("a\nb\u{2028}c\r"), "a\nb‹U+2028›c ");
        // Letters of every script and emoji stay as they are, also those that are joined.
        for text in ["שלום 👩\u{200D}🔧", "می\u{200C}خواهم", "e\u{301}", "❤\u{FE0F}"] {
            assert_eq!(visible(text), text);
        }
        // What joins nothing is only there to be overlooked.
        assert_eq!(visible("wr\u{200D}en\u{200C}"), "wr‹U+200D›en‹U+200C›");
    }

    /// The categories are those of the Unicode Character Database, by the crate `unicode-properties`; these ranges are from its
    /// `DerivedGeneralCategory.txt` (from memory): all of Cc, and of Cf what turns, joins or tags.
    #[test]
    fn whole_categories_are_written_by_number() {
        let ranges = [0..=0x1F, 0x7F..=0x9F, 0x200B..=0x200F, 0x2028..=0x202E, 0x2060..=0x2064, 0x2066..=0x206F]
            .into_iter()
            .chain([0xAD..=0xAD, 0x61C..=0x61C, 0x180E..=0x180E, 0xFEFF..=0xFEFF, 0xFFF9..=0xFFFB])
            .chain([0xE0001..=0xE0001, 0xE0020..=0xE007F, 0xE000..=0xF8FF]);
        for c in ranges.flatten().filter_map(char::from_u32) {
            assert!(hides(c), "{:04X}", u32::from(c));
        }
        for c in (' '..='~').chain('\u{A0}'..='\u{AC}').chain('\u{AE}'..='\u{17F}') {
            assert!(!hides(c), "{:04X}", u32::from(c));
        }
    }
}
