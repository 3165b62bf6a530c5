//! Short texts as people type them.

/// Takes a text that is one line and not blank; spaces around it are left out.
///
/// Control characters would do to the terminal whatever they say, every time that the text is shown.
///
/// # Errors
/// When it is blank, or holds line ends or other control characters.
pub fn one_line(text: &str) -> Result<String, String> {
    let text = text.trim();
    if text.is_empty() {
        Err("the text is blank".to_owned())
    } else if text.contains(char::is_control) {
        Err("the text must be one line, without control characters".to_owned())
    } else {
        Ok(text.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_a_line_can_show() {
        assert_eq!(one_line(" grey estate "), Ok("grey estate".to_owned()));
        for text in ["", "  ", "two\nlines", "red \u{1b}[31m car"] {
            assert!(one_line(text).is_err(), "{text:?}");
        }
    }
}
