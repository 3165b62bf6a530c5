//! Text out of a file, made fit for a message.

/// The most characters of a foreign text that a message repeats.
const MOST: usize = 64;

/// A text of unknown origin as a message may repeat it: control characters escaped, cut after 64 characters.
pub fn shown_text(text: &str) -> String {
    match text.char_indices().nth(MOST) {
        Some((at, _)) => escaped(&text[..at]) + "…",
        None => escaped(text),
    }
}

/// The text with everything escaped that could make a terminal show something else than what stands there: control
/// characters, and marks that turn the direction of writing.
pub(super) fn escaped(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        let turns = matches!(character, '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}');
        if character.is_control() || turns {
            shown.extend(character.escape_default());
        } else {
            shown.push(character);
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn escapes_and_cuts() {
        assert_eq!(shown_text("fog lämp"), "fog lämp");
        assert_eq!(shown_text("a\u{1B}[2J\nb\u{202E}"), "a\\u{1b}[2J\\nb\\u{202e}");
        assert_eq!(shown_text(&"x".repeat(65)), "x".repeat(64) + "…");
        assert_eq!(shown_text(&"ä".repeat(64)), "ä".repeat(64));
    }
}
