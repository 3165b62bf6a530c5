//! Words that mean the same, and words of which one excludes the other.

/// Series of values; each value with the words for it. Two values of one series are different; two words for one value are the
/// same. Words of different series are never compared: whether `active` is `on`, a definition has to say.
///
/// Only for on and off, yes and no, true and false words of several languages stand for one value. Yes and no are those of
/// Unicode CLDR (posix/messages), true and false those of spreadsheets (both from memory); the rest is common practice, no source.
const SERIES: &[&[&[&str]]] = &[
    &[&["on", "ein", "an", "aan"], &["off", "aus", "uit"]],
    &[&["yes", "ja", "oui", "sí", "sì", "si"], &["no", "nein", "non", "nee", "nej"]],
    &[&["true", "wahr", "vrai", "verdadero", "vero", "waar"], &["false", "falsch", "faux", "falso", "onwaar"]],
    &[&["active"], &["inactive"]],
    &[&["activated"], &["deactivated"]],
    &[&["enabled"], &["disabled"]],
    &[&["aktiv"], &["inaktiv"]],
    &[&["aktiviert"], &["deaktiviert"]],
    &[&["activé"], &["désactivé"]],
    &[&["activado"], &["desactivado"]],
    &[&["attivato"], &["disattivato"]],
    &[&["allumé"], &["éteint"]],
    &[&["encendido"], &["apagado"]],
    &[&["acceso"], &["spento"]],
    &[&["low"], &["medium"], &["high"]],
    &[&["niedrig"], &["mittel"], &["hoch"]],
    &[&["soft"], &["loud"]],
    &[&["leise"], &["laut"]],
    &[&["short"], &["long"]],
    &[&["kurz"], &["lang"]],
    &[&["slow"], &["fast"]],
    &[&["langsam"], &["schnell"]],
    &[&["open"], &["closed"]],
    &[&["offen"], &["geschlossen"]],
    &[&["locked"], &["unlocked"]],
    &[&["left"], &["right"]],
    &[&["links"], &["rechts"]],
    &[&["automatic"], &["manual"]],
    &[&["automatisch"], &["manuell"]],
    &[&["never"], &["always"]],
    &[&["nie"], &["immer"]],
    &[&["present"], &["absent"]],
    &[&["vorhanden"], &["fehlt"]],
];

/// Words that turn the one behind them round.
const NEGATIONS: [&str; 2] = ["not ", "nicht "];

/// A value of a series: the series, and the place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct SeriesValue {
    pub(super) series: usize,
    pub(super) place: usize,
}

impl SeriesValue {
    /// The value that a text names, white space and case folded.
    pub(super) fn of(folded: &str) -> Option<Self> {
        SERIES.iter().enumerate().find_map(|(series, places)| {
            let place = places.iter().position(|words| words.contains(&folded))?;
            Some(Self { series, place })
        })
    }
}

/// Whether one text says that it is not as the other says: `not fitted` and `fitted`.
pub(super) fn negates(a: &str, b: &str) -> bool {
    let negation_of = |a: &str, b: &str| NEGATIONS.iter().any(|not| a.strip_prefix(not) == Some(b));
    negation_of(a, b) || negation_of(b, a)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::super::letters::{clean, fold};
    use super::*;

    #[test]
    fn no_word_stands_twice_and_all_are_folded() {
        let words: Vec<&str> =
            SERIES.iter().flat_map(|series| series.iter()).flat_map(|words| words.iter()).copied().collect();
        assert_eq!(words.iter().collect::<BTreeSet<_>>().len(), words.len());
        assert!(words.iter().all(|word| fold(&clean(word)) == *word));
    }
}
