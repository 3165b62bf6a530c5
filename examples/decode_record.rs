//! Decodes a record by a definition, alters one setting, and shows that no other bit moved.
#![allow(clippy::print_stdout, reason = "an example prints what it finds")]

use std::error::Error;

use asfound_core::definition::Definition;
use asfound_core::difference::differ;
use asfound_core::value::BitMask;

const DEFINITION: &str = r#"
format = "asfound-definition/1"
id = "example-body"
title = "An invented body module"

[applies_to]
module = "body"

[records.0D01]
label = "Comfort functions"
length = 2
checksum = { at = 1, over = "0", kind = "xor" }

[settings.lane_change_flashes]
label = "Lane-change flashes"
record = "0D01"
byte = 0
bits = 3
type = "integer"
range = { min = 1, max = 5 }
tags = ["lighting"]

[settings.lock_by_horn]
label = "Horn on locking"
record = "0D01"
byte = 0
bit = 3
bits = 1
type = "switch"
tags = ["audible"]
"#;

fn main() -> Result<(), Box<dyn Error>> {
    let definition = Definition::parse(DEFINITION)?.definition;
    let found = [0x0B, 0x0B];
    for setting in definition.settings().values() {
        println!("{} = {}", setting.path(), setting.layout().decode(&found)?);
    }

    let mut left = found;
    let flashes = definition.setting(&"lane_change_flashes".parse()?).ok_or("the definition has it")?;
    flashes.layout().encode(&flashes.parse_value("5")?, &mut left)?;
    let record = "0D01".parse()?;
    if let Some(checksum) = definition.record(&record).and_then(|record| record.checksum()) {
        checksum.set(&mut left)?;
    }

    let difference = differ(&record, Some(&definition), &found, &left);
    println!("{:02X?} -> {:02X?}: {}", found, left, BitMask::differing(&found, &left));
    assert_eq!(difference.settings.len(), 1, "one setting was altered");
    assert!(difference.undeclared.is_empty(), "and no bit without a name");
    Ok(())
}

#[test]
fn runs() -> Result<(), Box<dyn Error>> {
    main()
}
