//! What names alone say about the care that is needed.

use std::collections::BTreeSet;

use super::SafetyTag;
use super::words::{ENDINGS, OTHER_SENSES, PAIRS, STEMS, WORDS};
use crate::names::ModuleName;

/// The restricted systems that a module's name names, even without a definition: [`systems_in_name`].
pub fn role_tags(module: &ModuleName) -> BTreeSet<SafetyTag> {
    systems_in_name(module.as_str())
}

/// The restricted systems that a short name names: of a module, of a setting, or of a block of bytes.
///
/// A name is divided at `_`, and digits at the end of a word do not count. Words count whole, so that neither `absence`
/// nor `espresso` is about brakes; only German compounds are told by their first or last part. A few pairs have another
/// sense, such as `brake_light` and `window_motor`.
pub fn systems_in_name(name: &str) -> BTreeSet<SafetyTag> {
    let words: Vec<&str> = name
        .split('_')
        .map(|word| word.trim_end_matches(|c: char| c.is_ascii_digit()))
        .filter(|word| !word.is_empty())
        .collect();
    let mut systems = BTreeSet::new();
    let mut rest = &words[..];
    while let [word, after @ ..] = rest {
        rest = after;
        if let Some(length) = OTHER_SENSES.iter().find_map(|sense| taken(sense, word, after)) {
            rest = &after[length..];
        } else if let Some((system, _)) =
            PAIRS.iter().find(|(_, [first, second])| first == word && after.first() == Some(second))
        {
            systems.insert(*system);
            rest = &after[1..];
        } else {
            systems.extend(system_of(word));
        }
    }
    systems
}

/// How many of the words after `word` belong to a sense of its own; nothing where it is not that.
fn taken(sense: &[&[&str]], word: &str, after: &[&str]) -> Option<usize> {
    let (first, following) = sense.split_first()?;
    let fits = first.contains(&word)
        && after.len() >= following.len()
        && following.iter().zip(after).all(|(permitted, word)| permitted.contains(word));
    fits.then_some(following.len())
}

/// The system that one word names.
fn system_of(word: &str) -> Option<SafetyTag> {
    let listed = |table: &[(SafetyTag, &[&str])], fits: &dyn Fn(&str) -> bool| {
        table.iter().find(|(_, listed)| listed.iter().any(|listed| fits(listed))).map(|(system, _)| *system)
    };
    listed(WORDS, &|whole| word == whole)
        .or_else(|| listed(STEMS, &|stem| word.starts_with(stem)))
        .or_else(|| listed(ENDINGS, &|ending| word.ends_with(ending)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(name: &str) -> String {
        systems_in_name(name).into_iter().map(SafetyTag::as_str).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn names_of_restricted_systems_are_known_in_english_and_german() {
        for (names, system) in [
            (
                "restraint restraints airbag airbags airbag2 rear_airbag air_bag srs seat_belt gurtstraffer rueckhaltesystem airbagsteuergeraet",
                "restraint",
            ),
            (
                "brake brakes braking park_brake abs abs_pump esp esc esp9 traction_control epb bremse bremsen bremsanlage bremskraftverstaerker feststellbremse",
                "braking",
            ),
            ("steering power_steering eps lenkung servolenkung lenkhilfe elv", "steering"),
            (
                "engine engine_1 transmission gearbox powertrain ecm pcm tcm motor motor_2 motorsteuergeraet getriebe automatikgetriebe",
                "powertrain",
            ),
            (
                "emissions exhaust egr abgas abgasreinigung dpf scr partikelfilter dieselpartikelfilter auspuff",
                "emissions",
            ),
            ("immobiliser immobilizer immo wegfahrsperre wfs", "immobiliser"),
            (
                "high_voltage hv hv_battery hochvolt hochvoltbatterie hoch_volt traction_battery inverter onboard_charger",
                "high-voltage",
            ),
        ] {
            for name in names.split(' ') {
                assert_eq!(of(name), system, "{name}");
            }
        }
    }

    #[test]
    fn settings_name_them_too() {
        for (name, system) in [
            ("airbag_off", "restraint"),
            ("srs_lamp", "restraint"),
            ("passenger_airbag_lamp", "restraint"),
            ("abs_off_road", "braking"),
            ("brake_pad_warning", "braking"),
            ("engine_and_brakes", "powertrain braking"),
        ] {
            assert_eq!(of(name), system, "{name}");
        }
    }

    #[test]
    fn words_that_only_look_alike_are_left_alone() {
        for name in [
            "body",
            "absence",
            "absent_driver",
            "espresso",
            "escape",
            "epsilon",
            "absolute",
            "hvac",
            "motorway",
            "engineer",
            "immobile",
            "lenkradheizung",
            "ablenkung",
            "getrieben",
            "brake_light_delay",
            "brake_lamps",
            "third_brake_light",
            "bremslicht",
            "steering_wheel_heating",
            "steering_wheel_button_light",
            "window_motor",
            "wiper_motor_2",
            "usb_charger",
            "wireless_charger",
            "locking",
            "lane_change_flashes",
            "supercharger_x",
            "embraking",
            "a_2",
            "x",
        ] {
            assert_eq!(of(name), "", "{name}");
        }
        // What has a sense of its own takes nothing else with it.
        assert_eq!(of("brake_light_and_abs"), "braking");
        assert_eq!(of("window_motor_engine"), "powertrain");
    }

    #[test]
    fn every_word_is_in_one_table_once_and_can_stand_in_a_name() {
        let words = WORDS.iter().chain(STEMS).chain(ENDINGS).flat_map(|(_, words)| words.iter());
        let mut seen = BTreeSet::new();
        for word in words {
            assert!(word.bytes().all(|b| b.is_ascii_lowercase()), "{word}");
            assert!(seen.insert(*word), "{word} is listed twice");
        }
        for (system, _) in WORDS.iter().chain(STEMS).chain(ENDINGS) {
            assert_eq!(system.class(), crate::safety::SafetyClass::Restricted);
        }
    }
}
