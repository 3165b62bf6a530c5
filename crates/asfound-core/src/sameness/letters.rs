//! Characters: what is the same character written otherwise.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The text with one way of writing each character: canonically composed (NFC), full and half width folded, decimal digits of every
/// script as `0` to `9`, the minus sign as `-`, nothing invisible, single spaces and none at the ends.
pub(super) fn clean(text: &str) -> String {
    let mut clean = String::with_capacity(text.len());
    let mut space = false;
    for character in text.chars().filter(|c| !is_invisible(*c)).flat_map(narrow).nfc() {
        if character.is_whitespace() {
            space = !clean.is_empty();
            continue;
        }
        if std::mem::take(&mut space) {
            clean.push(' ');
        }
        clean.push(plain(character));
    }
    clean
}

/// The text without difference between small and capital letters: Unicode's simple case folding, one character for each.
///
/// Full folding would make `Maße` and `Masse` one word, which they are not.
pub(super) fn fold(text: &str) -> String {
    text.chars().map(fold_character).nfc().collect()
}

/// What is left of a text when marks, spaces and accents are taken away and letters that are easily mistaken made one.
pub(super) fn skeleton(text: &str) -> String {
    let letters = text.nfkd().filter(|c| !is_combining_mark(*c)).map(fold_character).filter(|c| c.is_alphanumeric());
    letters.fold(String::with_capacity(text.len()), |mut skeleton, letter| {
        match letter {
            'ß' => skeleton.push_str("ss"),
            'o' => skeleton.push('0'),
            'i' | 'ı' | 'l' => skeleton.push('1'),
            other => skeleton.push(other),
        }
        skeleton
    })
}

fn fold_character(character: char) -> char {
    let folded = unicode_case_mapping::case_folded(character).and_then(|folded| char::from_u32(folded.get()));
    folded.unwrap_or(character)
}

/// Characters that show nothing and part nothing: soft hyphen, zero-width space, word joiner, byte-order mark, and the marks
/// of direction that override nothing. Joiners are left: they can tell words apart.
fn is_invisible(character: char) -> bool {
    matches!(
        character,
        '\u{ad}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{2060}' | '\u{2066}'..='\u{2069}' | '\u{feff}'
    )
}

/// Full-width and half-width forms as what they are forms of.
fn narrow(character: char) -> impl Iterator<Item = char> {
    let wide = matches!(character, '\u{ff01}'..='\u{ffee}');
    let narrow = wide.then(|| std::iter::once(character).nfkc());
    narrow.into_iter().flatten().chain((!wide).then_some(character))
}

fn plain(character: char) -> char {
    match character {
        '\u{2212}' | '\u{2010}' | '\u{2011}' => '-',
        '\u{66b}' => '.',
        'µ' => 'μ',
        other => digit(other).map_or(other, |digit| char::from(b'0' + digit)),
    }
}

/// The zeros of scripts whose ten digits follow each other (Unicode, general category Nd).
const ZEROS: [char; 19] = [
    '\u{660}', '\u{6f0}', '\u{7c0}', '\u{966}', '\u{9e6}', '\u{a66}', '\u{ae6}', '\u{b66}', '\u{be6}', '\u{c66}',
    '\u{ce6}', '\u{d66}', '\u{e50}', '\u{ed0}', '\u{f20}', '\u{1040}', '\u{17e0}', '\u{1810}', '\u{1946}',
];

fn digit(character: char) -> Option<u8> {
    let at = u32::from(character);
    let zero = ZEROS.iter().map(|zero| u32::from(*zero)).find(|zero| (*zero..*zero + 10).contains(&at))?;
    u8::try_from(at - zero).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_way_of_writing_each_character() {
        for (text, shown) in [
            ("  30\u{a0}\u{202f}s\t", "30 s"),
            ("e\u{301}teint", "éteint"),
            ("３０", "30"),
            ("ｶﾞ", "ガ"),
            ("٣٠", "30"),
            ("\u{2212}5", "-5"),
            ("\u{feff}o\u{ad}n\u{200b}", "on"),
            ("", ""),
            ("\u{3000}", ""),
        ] {
            assert_eq!(clean(text), shown, "{text:?}");
        }
    }

    #[test]
    fn case_is_folded_one_character_for_one() {
        for (text, folded) in [("ÄÖÜ", "äöü"), ("ΣΣ", "σσ"), ("ς", "σ"), ("Maße", "maße"), ("K", "k"), ("İ", "İ")]
        {
            assert_eq!(fold(text), folded, "{text:?}");
        }
        assert_ne!(fold("Masse"), fold("Maße"));
    }

    #[test]
    fn a_skeleton_is_what_is_not_easily_mistaken() {
        assert_eq!(skeleton("7M0-951 A"), skeleton("7mo951a"));
        assert_eq!(skeleton("Straße"), skeleton("STRASSE"));
        assert_ne!(skeleton("7M0-951"), skeleton("7M0-952"));
    }
}
