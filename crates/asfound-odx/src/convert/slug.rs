//! Names for typing, from short names.

use std::collections::{BTreeSet, HashMap};

/// The longest name for typing.
const LONGEST: usize = 64;
/// Room that is left for what tells names apart.
const STEM: usize = 48;

/// A short name in lower case: words are divided at changes from small to capital letters and at other characters.
pub(crate) fn slug(text: &str, joiner: char) -> String {
    let letters: Vec<char> = text.chars().flat_map(plain).collect();
    let mut slug = String::new();
    for (at, letter) in letters.iter().enumerate() {
        if !letter.is_ascii_alphanumeric() {
            if !slug.is_empty() && !slug.ends_with(joiner) {
                slug.push(joiner);
            }
            continue;
        }
        let before = at.checked_sub(1).map(|at| letters[at]);
        let after = letters.get(at + 1);
        let starts = letter.is_ascii_uppercase()
            && (before.is_some_and(|before| before.is_ascii_lowercase() || before.is_ascii_digit())
                || before.is_some_and(|before| before.is_ascii_uppercase())
                    && after.is_some_and(char::is_ascii_lowercase));
        if starts && !slug.is_empty() && !slug.ends_with(joiner) {
            slug.push(joiner);
        }
        slug.push(letter.to_ascii_lowercase());
    }
    let slug = slug.trim_end_matches(joiner);
    let slug = if slug.starts_with(|c: char| c.is_ascii_lowercase()) { slug.to_owned() } else { format!("x{slug}") };
    cut(&slug, LONGEST, joiner)
}

/// A letter without its marks, as far as names commonly have them.
fn plain(letter: char) -> Vec<char> {
    let text = match letter {
        'ä' => "ae",
        'ö' => "oe",
        'ü' => "ue",
        'Ä' => "Ae",
        'Ö' => "Oe",
        'Ü' => "Ue",
        'ß' => "ss",
        _ => return vec![letter],
    };
    text.chars().collect()
}

fn cut(slug: &str, most: usize, joiner: char) -> String {
    slug[..slug.len().min(most)].trim_end_matches(joiner).to_owned()
}

/// Names that are each their own: those that would be the same get the record behind them, and after that a number.
/// The order does not matter to names that are told apart by their records.
pub(crate) fn distinct(wanted: &[(String, String)]) -> Vec<String> {
    let mut counts: HashMap<&str, usize> = HashMap::new();
    for (name, _) in wanted {
        *counts.entry(name).or_default() += 1;
    }
    let mut taken: BTreeSet<String> = BTreeSet::new();
    let mut names = Vec::with_capacity(wanted.len());
    for (name, record) in wanted {
        let alone = counts[name.as_str()] == 1;
        let first = if alone { name.clone() } else { format!("{}_{record}", cut(name, STEM, '_')) };
        let mut candidate = first.clone();
        let mut number = 2;
        while !taken.insert(candidate.clone()) {
            candidate = format!("{}_{number}", cut(&first, STEM + 8, '_'));
            number += 1;
        }
        names.push(candidate);
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_names_become_names_for_typing() {
        for (text, name) in [
            ("FogLamp_Threshold", "fog_lamp_threshold"),
            ("DTCSetting", "dtc_setting"),
            ("read2Lamps", "read2_lamps"),
            ("__A__b", "a_b"),
            ("1st", "x1st"),
            ("Türöffner", "tueroeffner"),
            ("", "x"),
        ] {
            assert_eq!(slug(text, '_'), name, "{text}");
            assert!(slug(text, '_').parse::<asfound_core::names::SettingName>().is_ok(), "{text}");
        }
        assert_eq!(slug(&"long_".repeat(40), '_').len(), 64);
    }

    #[test]
    fn the_same_name_in_two_records_is_told_apart_by_them() {
        let pairs = [("mode", "0d01"), ("mode", "0d02"), ("level", "0d01"), ("mode", "0d02")];
        let wanted: Vec<_> = pairs.map(|(name, record)| (name.to_owned(), record.to_owned())).to_vec();
        assert_eq!(distinct(&wanted), ["mode_0d01", "mode_0d02", "level", "mode_0d02_2"]);
    }
}
