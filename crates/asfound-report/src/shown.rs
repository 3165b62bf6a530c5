//! Text of unknown origin, made fit for print.

/// The text with everything made visible that could make paper or screen show something else than what stands there:
/// control characters, marks that turn the direction of writing, and characters without width are written as their number,
/// `‹U+202E›`. Line ends and tabs become spaces.
pub fn shown(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\r' | '\t' => shown.push(' '),
            c if c.is_control() || hides(c) => shown.push_str(&by_number(c)),
            c => shown.push(c),
        }
    }
    shown
}

/// A character by its number: `‹U+202E›`.
pub(crate) fn by_number(c: char) -> String {
    format!("‹U+{:04X}›", u32::from(c))
}

/// Marks that turn the direction of writing, have no width, or are no characters for interchange.
fn hides(c: char) -> bool {
    matches!(c,
        '\u{061C}' | '\u{180E}' | '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}' | '\u{E0000}'..='\u{E007F}'
        | '\u{2028}' | '\u{2029}' | '\u{FDD0}'..='\u{FDEF}')
        || u32::from(c) & 0xFFFE == 0xFFFE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_stays_hidden() {
        assert_eq!(shown("fog lämp\tleft\nright"), "fog lämp left right");
        assert_eq!(shown("a\u{202E}b\u{1B}[2J\u{200B}"), "a‹U+202E›b‹U+001B›[2J‹U+200B›");
        assert_eq!(shown("\u{FFFF}\u{85}"), "‹U+FFFF›‹U+0085›");
        // Letters of every script and emoji stay as they are, also those that are joined.
        assert_eq!(shown("שלום 👩\u{200D}🔧"), "שלום 👩\u{200D}🔧");
    }
}
