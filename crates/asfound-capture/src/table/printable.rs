//! Cells and headers as they can be shown in a message.

/// How much of a cell a message shows, in characters.
const SHOWN: usize = 48;

/// How many headers a message lists.
const LISTED: usize = 16;

/// The text made visible: a table must not be able to drive the terminal it is shown on.
pub(crate) fn printable(text: &str) -> String {
    asfound_core::document::visible(text).into_owned()
}

/// The text, printable, and cut where it is long.
pub(super) fn shortened(text: &str) -> String {
    let mut letters = text.chars();
    let mut start: String = letters.by_ref().take(SHOWN).collect();
    if letters.next().is_some() {
        start.push('…');
    }
    printable(&start)
}

/// Headers in a row, each in back quotes; headers without text by their number.
pub(super) fn listed(headers: &[String]) -> String {
    let mut names: Vec<String> = headers
        .iter()
        .take(LISTED)
        .enumerate()
        .map(|(index, header)| match header.as_str() {
            "" => format!("`#{}`", index + 1),
            text => format!("`{}`", shortened(text)),
        })
        .collect();
    if headers.len() > LISTED {
        names.push(format!("and {} more", headers.len() - LISTED));
    }
    names.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_no_control_character_and_no_long_text() {
        assert_eq!(shortened("a\u{1b}[2J\nb"), "a‹U+001B›[2J b");
        assert_eq!(shortened(&"x".repeat(60)), format!("{}…", "x".repeat(48)));
        assert_eq!(listed(&["ECU".into(), String::new()]), "`ECU`, `#2`");
    }
}
