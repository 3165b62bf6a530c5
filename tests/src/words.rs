//! A command line as people type it, taken apart.

/// The words of a line; what stands between `'` or `"` is one word, or part of one.
pub fn words(line: &str) -> Vec<String> {
    let (mut words, mut word, mut quote) = (Vec::new(), None::<String>, None);
    for c in line.chars() {
        match quote {
            Some(end) if c == end => quote = None,
            None if c == '\'' || c == '"' => {
                quote = Some(c);
                word.get_or_insert_default();
            }
            None if c.is_whitespace() => words.extend(word.take()),
            _ => word.get_or_insert_default().push(c),
        }
    }
    assert!(quote.is_none(), "a quotation mark is not closed in: {line}");
    words.extend(word);
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quoted_words_stay_together() {
        assert_eq!(words("note wren 'two words' --on 4"), ["note", "wren", "two words", "--on", "4"]);
        assert_eq!(
            words(r#"change wren body:0D01="01 02" --why ''"#),
            ["change", "wren", "body:0D01=01 02", "--why", ""]
        );
    }
}
