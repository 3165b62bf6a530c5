//! Safety tags that names propose. The standard has none, so nothing is taken for routine without a person's word.

use std::collections::BTreeSet;

use asfound_core::safety::{SafetyClass, SafetyTag, systems_in_name};

/// Words that tell of systems which are not restricted (common practice, no source); the restricted ones are known to
/// [`systems_in_name`].
const WORDS: &[(SafetyTag, &[&str])] = &[
    (
        SafetyTag::Lighting,
        &[
            "lamp",
            "lamps",
            "light",
            "lights",
            "lighting",
            "headlamp",
            "indicator",
            "flash",
            "flashes",
            "licht",
            "leuchte",
            "blinker",
            "drl",
        ],
    ),
    (SafetyTag::Visibility, &["wiper", "wipers", "washer", "mirror", "mirrors", "defrost", "wischer", "spiegel"]),
    (
        SafetyTag::DriverAssistance,
        &["assist", "assistant", "cruise", "lane", "distance", "parking", "camera", "radar", "assistent"],
    ),
    (SafetyTag::Locking, &["lock", "locks", "locking", "unlock", "door", "doors", "latch", "tuer", "verriegelung"]),
    (SafetyTag::Audible, &["horn", "chime", "tone", "buzzer", "beep", "volume", "gong", "hupe"]),
    (SafetyTag::Display, &["display", "cluster", "gauge", "needle", "screen", "language", "anzeige", "sprache"]),
    (SafetyTag::Climate, &["climate", "fan", "blower", "heater", "ventilation", "klima", "geblaese"]),
    (SafetyTag::Comfort, &["comfort", "seat", "window", "windows", "sunroof", "komfort", "fenster", "sitz"]),
];

/// The tags that names propose, at least one of them not routine.
pub(crate) fn proposed(names: &[String]) -> Vec<SafetyTag> {
    let mut tags: BTreeSet<SafetyTag> = BTreeSet::new();
    for name in names {
        tags.extend(systems_in_name(name));
        let words: Vec<&str> =
            name.split('_').map(|word| word.trim_end_matches(|c: char| c.is_ascii_digit())).collect();
        tags.extend(
            WORDS.iter().filter(|(_, known)| words.iter().any(|word| known.contains(word))).map(|(tag, _)| *tag),
        );
    }
    // No tag says "nobody knows". This one is the plainest that asks for care.
    if tags.iter().all(|tag| tag.class() == SafetyClass::Routine) {
        tags.insert(SafetyTag::DriverAssistance);
    }
    tags.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_proposed_as_routine() {
        for (name, expected) in [
            ("lock_tone", vec![SafetyTag::Locking, SafetyTag::Audible, SafetyTag::DriverAssistance]),
            ("fog_lamp_level", vec![SafetyTag::Lighting]),
            ("airbag_delay", vec![SafetyTag::Restraint]),
            ("zzz", vec![SafetyTag::DriverAssistance]),
        ] {
            let mut expected = expected;
            expected.sort_unstable();
            let found = proposed(&[name.to_owned()]);
            assert_eq!(found, expected, "{name}");
            assert!(found.iter().any(|tag| tag.class() > SafetyClass::Routine), "{name}");
        }
    }
}
