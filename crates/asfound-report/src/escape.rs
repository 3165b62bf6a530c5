//! Text into HTML and CSS.

/// Appends a text so that HTML takes every character of it as text, in an element and in an attribute in double quotes.
pub(crate) fn escape(text: &str, into: &mut String) {
    for c in text.chars() {
        match c {
            '&' => into.push_str("&amp;"),
            '<' => into.push_str("&lt;"),
            '>' => into.push_str("&gt;"),
            '"' => into.push_str("&quot;"),
            '\'' => into.push_str("&#39;"),
            // HTML has no place for these; `shown` has written them by their number before.
            c if c.is_control() => into.push('\u{FFFD}'),
            c => into.push(c),
        }
    }
}

/// A text as a CSS string in double quotes: everything but letters and digits by its number.
pub(crate) fn css_string(text: &str) -> String {
    let mut css = String::from("\"");
    for c in text.chars() {
        if c.is_ascii_alphanumeric() || c == ' ' || c == '-' {
            css.push(c);
        } else {
            css.push_str(&format!("\\{:X} ", u32::from(c)));
        }
    }
    css.push('"');
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_ends_its_string() {
        let mut html = String::new();
        escape("<a href=\"x\" title='y'>&\u{1}", &mut html);
        assert_eq!(html, "&lt;a href=&quot;x&quot; title=&#39;y&#39;&gt;&amp;\u{FFFD}");
        assert_eq!(css_string("7-AB \"}</style>"), "\"7-AB \\22 \\7D \\3C \\2F style\\3E \"");
    }
}
