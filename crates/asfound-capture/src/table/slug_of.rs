//! From any text to a short name.

use asfound_core::names::{ModuleName, SettingName};

/// The slug of a text: `Body Control` gives `body_control`, `Türgriff (links)` gives `tuergriff_links`.
///
/// Lower case; ASCII letters and digits are kept; umlauts and accented Latin letters are folded (ä to `ae`, é to
/// `e`, ß to `ss`); everything else becomes `_`, once however long the run, and none at the ends. Nothing, where no
/// letter or digit is left. The slug of a slug is the slug itself.
///
/// The result may begin with a digit or be too long for a name: see [`module_name_of`] and [`setting_name_of`].
pub fn slug_of(text: &str) -> Option<String> {
    let mut slug = String::with_capacity(text.len());
    let mut before = None;
    for letter in text.chars().flat_map(char::to_lowercase) {
        match letter {
            'a'..='z' | '0'..='9' => slug.push(letter),
            // A combining diaeresis: the decomposed form of an umlaut. Other combining marks fold to nothing.
            '\u{308}' if matches!(before, Some('a' | 'o' | 'u')) => slug.push('e'),
            '\u{300}'..='\u{36f}' => {}
            _ => match folded(letter) {
                Some(letters) => slug.push_str(letters),
                None if slug.is_empty() || slug.ends_with('_') => {}
                None => slug.push('_'),
            },
        }
        before = Some(letter);
    }
    slug.truncate(slug.trim_end_matches('_').len());
    (!slug.is_empty()).then_some(slug)
}

/// The name of a module that a text gives: its slug, with `m_` before a leading digit. Nothing, where the text has
/// no letter or digit or the name would be too long.
pub fn module_name_of(text: &str) -> Option<ModuleName> {
    lettered("m_", slug_of(text)?).parse().ok()
}

/// The name of a setting that a text gives: its slug, with `s_` before a leading digit. Nothing, where the text has
/// no letter or digit or the name would be too long.
pub fn setting_name_of(text: &str) -> Option<SettingName> {
    lettered("s_", slug_of(text)?).parse().ok()
}

/// The slug with the prefix where it begins with a digit.
fn lettered(prefix: &str, slug: String) -> String {
    if slug.starts_with(|c: char| c.is_ascii_digit()) { format!("{prefix}{slug}") } else { slug }
}

/// The ASCII letters that stand for a lower-case Latin letter with a mark (Latin-1 and Latin Extended-A).
fn folded(letter: char) -> Option<&'static str> {
    Some(match letter {
        'ä' | 'æ' => "ae",
        'ö' | 'ø' | 'œ' => "oe",
        'ü' => "ue",
        'ß' => "ss",
        'þ' => "th",
        'à'..='å' | 'ā' | 'ă' | 'ą' => "a",
        'ç' | 'ć' | 'ĉ' | 'ċ' | 'č' => "c",
        'ð' | 'ď' | 'đ' => "d",
        'è'..='ë' | 'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => "e",
        'ĝ' | 'ğ' | 'ġ' | 'ģ' => "g",
        'ĥ' | 'ħ' => "h",
        'ì'..='ï' | 'ĩ' | 'ī' | 'ĭ' | 'į' | 'ı' => "i",
        'ĵ' => "j",
        'ķ' => "k",
        'ĺ' | 'ļ' | 'ľ' | 'ł' => "l",
        'ñ' | 'ń' | 'ņ' | 'ň' => "n",
        'ò'..='õ' | 'ō' | 'ŏ' | 'ő' => "o",
        'ŕ' | 'ŗ' | 'ř' => "r",
        'ś' | 'ŝ' | 'ş' | 'š' | 'ș' => "s",
        'ţ' | 'ť' | 'ŧ' | 'ț' => "t",
        'ù'..='û' | 'ũ' | 'ū' | 'ŭ' | 'ů' | 'ű' | 'ų' => "u",
        'ŵ' => "w",
        'ý' | 'ÿ' | 'ŷ' => "y",
        'ź' | 'ż' | 'ž' => "z",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn folds_case_marks_and_everything_else() {
        let cases = [
            ("Body Control", "body_control"),
            ("  Lane-change  flashes (×) ", "lane_change_flashes"),
            ("TÜRGRIFF links", "tuergriff_links"),
            ("Tu\u{308}rgriff", "tuergriff"),
            ("Größe", "groesse"),
            ("Éclairage d'été", "eclairage_d_ete"),
            ("e\u{301}te\u{301}", "ete"),
            ("İstanbul", "istanbul"),
            ("__a__b__", "a_b"),
            ("2nd row", "2nd_row"),
            ("lane_change_flashes", "lane_change_flashes"),
        ];
        for (text, slug) in cases {
            assert_eq!(slug_of(text).as_deref(), Some(slug), "{text:?}");
        }
        for text in ["", "  ", "–", "灯", "\u{301}"] {
            assert_eq!(slug_of(text), None, "{text:?}");
        }
    }

    #[test]
    fn names_never_begin_with_a_digit() {
        assert_eq!(module_name_of("17 Cluster").unwrap().as_str(), "m_17_cluster");
        assert_eq!(setting_name_of("3 flashes").unwrap().as_str(), "s_3_flashes");
        assert_eq!(setting_name_of(&"long ".repeat(20)), None);
    }

    proptest! {
        #[test]
        fn a_slug_is_its_own_slug_and_a_name(text in any::<String>()) {
            if let Some(slug) = slug_of(&text) {
                prop_assert_eq!(slug_of(&slug), Some(slug.clone()));
                prop_assert_eq!(module_name_of(&text).is_some(), lettered("m_", slug).len() <= 64);
            }
        }
    }
}
