//! Dotted paths to the parts of a file, for messages.

use super::shown_text;

/// The path of the key `name` in the table at `at`.
pub(crate) fn join(at: &str, name: &str) -> String {
    let bare = !name.is_empty() && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-');
    let shown = shown_text(name);
    match (at.is_empty(), bare) {
        (true, true) => shown,
        (true, false) => format!("\"{shown}\""),
        (false, true) => format!("{at}.{shown}"),
        (false, false) => format!("{at}.\"{shown}\""),
    }
}

/// The path of item `index`, counted from 0, of the list at `at`. People count from 1.
pub(crate) fn item(at: &str, index: usize) -> String {
    format!("{at}[{}]", index + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_what_is_no_bare_key() {
        assert_eq!(join("", "a"), "a");
        assert_eq!(join("a", "0D01"), "a.0D01");
        assert_eq!(join("a", "b.c"), "a.\"b.c\"");
        assert_eq!(item("a", 0), "a[1]");
    }
}
