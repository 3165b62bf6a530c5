//! Breaks text into lines of a width.

use super::faces::{FaceName, Faces};

/// The lines of a text. Lines end at spaces; a word wider than a line is broken, after a sign between its parts where it has one.
/// Every line but the last ends with a space, so that words stay apart when the text is copied; a broken word has none.
pub(super) fn lines(faces: &Faces, face: FaceName, size: f32, text: &str, width: f32) -> Vec<String> {
    let text = faces.printable(face, text);
    let measure = |text: &str| faces.width(face, size, text);
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let mut rest = word;
        if !line.is_empty() && measure(&line) + measure(" ") + measure(rest) <= width {
            line.push(' ');
            line.push_str(rest);
            continue;
        }
        if !line.is_empty() {
            line.push(' ');
            lines.push(std::mem::take(&mut line));
        }
        while measure(rest) > width {
            let at = fitting(rest, width, &measure);
            lines.push(rest[..at].to_owned());
            rest = &rest[at..];
        }
        line.push_str(rest);
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// How many bytes of a word fit, at least one character: up to the last sign between parts in the second half, else as many as fit.
fn fitting(word: &str, width: f32, measure: &impl Fn(&str) -> f32) -> usize {
    let mut fits = word.chars().next().map_or(word.len(), char::len_utf8);
    let (mut so_far, mut parted) = (0.0, None);
    for (at, c) in word.char_indices() {
        let end = at + c.len_utf8();
        so_far += measure(&word[at..end]);
        if so_far > width {
            break;
        }
        fits = end;
        if matches!(c, '.' | '_' | '-' | '/' | ':' | '=' | ',' | '@') {
            parted = Some(end);
        }
    }
    parted.filter(|at| *at * 2 >= fits).unwrap_or(fits)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn nothing_is_lost_and_nothing_sticks_out(text in "[ a-zA-Z._äß😀]{0,80}", width in 12.0f32..200.0) {
            let faces = Faces::new();
            let lines = lines(&faces, FaceName::Regular, 9.0, &text, width);
            let together: String = lines.concat();
            let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            prop_assert_eq!(words(&together), words(&faces.printable(FaceName::Regular, &text)));
            for line in &lines {
                prop_assert!(faces.width(FaceName::Regular, 9.0, line.trim_end()) <= width + 0.01 || line.chars().count() == 1);
            }
        }
    }
}
