//! One setting of a definition that was accepted, on one record.

use asfound_core::definition::{Permitted, SettingDefinition};
use asfound_core::layout::{DecodeError, EncodeError, Layout};
use asfound_core::value::{BitMask, Value};

use crate::messages::harmless;

/// Decodes and encodes a setting in a record of its definition's length; `typed` is what somebody types as its value.
pub(crate) fn exercise(setting: &SettingDefinition, record: &[u8], typed: &str) {
    let layout = setting.layout();
    let mask = layout.mask(record.len());
    assert_eq!(mask.count(), u32::from(layout.placement().bits()), "{} has bits outside its record", setting.path());
    let other: Vec<u8> = record.iter().map(|byte| !byte).collect();

    // Coded bits come back exactly, whether or not they have a meaning.
    let coded = layout.coded(record).expect("the setting lies within its record");
    let mut written = other.clone();
    layout.put_coded(&coded, &mut written).expect("they were read from there");
    touched_only(&mask, &other, &written);
    assert_eq!(mask.of(&written), mask.of(record), "{} came back as other bits", setting.path());

    match layout.decode(record) {
        Ok(value) => comes_back(layout, &value, record, &mask),
        Err(error @ DecodeError::NoMeaning { .. }) => harmless(error),
        Err(DecodeError::TooShort { .. }) => panic!("{} does not lie within its record", setting.path()),
    }
    typed_in(setting, typed);
    for value in named(setting) {
        setting.check(value).unwrap_or_else(|error| panic!("{} cannot be {value}: {error}", setting.path()));
        comes_back(layout, value, record, &mask);
    }
    for limit in layout.limits().into_iter().flat_map(|(least, most)| [least, most]) {
        comes_back(layout, &limit, record, &mask);
    }
}

/// The values that the definition itself gives for a setting.
fn named(setting: &SettingDefinition) -> impl Iterator<Item = &Value> {
    let permitted: Vec<&Value> = match setting.permitted() {
        Permitted::Any => Vec::new(),
        Permitted::Range { min, max } => vec![min, max],
        Permitted::List(values) => values.iter().collect(),
    };
    permitted.into_iter().chain(setting.factory())
}

/// A value that can be stored: encoding it touches no other bit, decoding gives it again, and so does typing what is shown.
fn comes_back(layout: &Layout, value: &Value, record: &[u8], mask: &BitMask) {
    let mut written: Vec<u8> = record.iter().map(|byte| !byte).collect();
    let before = written.clone();
    layout.encode(value, &mut written).unwrap_or_else(|error| panic!("{value} cannot be stored: {error}"));
    touched_only(mask, &before, &written);
    assert_eq!(layout.decode(&written).as_ref(), Ok(value));
    let shown = value.to_string();
    assert_eq!(layout.parse_value(&shown).as_ref(), Ok(value), "{shown:?} is read as something else");
}

fn typed_in(setting: &SettingDefinition, typed: &str) {
    let layout = setting.layout();
    let value = match layout.parse_value(typed) {
        Ok(value) => value,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    match layout.coded_for(&value) {
        Ok(coded) => assert_eq!(layout.value_of(&coded).as_ref(), Ok(&value)),
        Err(EncodeError::Number(refused)) => {
            for near in refused.below.iter().chain(&refused.above) {
                assert!(layout.coded_for(near).is_ok(), "{near} is offered for {value} and cannot be stored");
            }
            let number = |value: &Value| value.number().expect("the setting is a number");
            assert!(refused.below.iter().all(|below| number(below) < number(&value)));
            assert!(refused.above.iter().all(|above| number(above) > number(&value)));
        }
        Err(EncodeError::TooShort { .. }) => panic!("no record was asked for"),
        Err(error) => assert!(!error.to_string().is_empty()),
    }
    if let Ok(value) = setting.parse_value(typed) {
        setting.check(&value).expect("it was accepted");
    }
}

/// Two contents differ in no bit outside the mask.
pub(crate) fn touched_only(mask: &BitMask, before: &[u8], after: &[u8]) {
    let mut stray = BitMask::differing(before, after);
    stray.remove(mask);
    assert!(stray.is_empty(), "bits were touched that are none of it: {:?}", stray.bits().collect::<Vec<_>>());
}
