//! Long names, long records, long words: the page stays 80 columns wide. The workshop makes sure of that with every
//! command that it runs. (A single word longer than the line, such as a path, is left whole.)

use std::fmt::Write;

use asfound_tests::Workshop;

#[test]
fn long_names_and_many_settings() {
    let mut shop = Workshop::equipped();
    let module = "rear_compartment_left";
    let mut definition = format!(
        "format = \"asfound-definition/1\"\nid = \"long-{0}\"\ntitle = \"{1}\"\n[applies_to]\nmodule = \"{module}\"\n\
         part_number = [{2}]\n[records.0E00]\nlabel = \"{1}\"\nlength = 40\n",
        "name-".repeat(8).trim_end_matches('-'),
        "A title of many words, ".repeat(6).trim_end(),
        (0..12).map(|n| format!("\"7H0-{n:03}-*\"")).collect::<Vec<_>>().join(", "),
    );
    for byte in 0..39 {
        write!(
            definition,
            "[settings.a_setting_with_a_rather_long_name_for_byte_number_{byte}]\nlabel = \"{}\"\nrecord = \"0E00\"\n\
             byte = {byte}\ntype = \"integer\"\ntags = [\"comfort\"]\ncautions = [\"{}\"]\n",
            "Label of many words ".repeat(4).trim_end(),
            "a".repeat(60),
        )
        .unwrap();
    }
    shop.write("long.toml", definition);
    let _ = shop.run("definition keep ./long.toml").done();
    let about = "w".repeat(60);
    let _ = shop.run(&format!("enrol {} --about '{about}'", "wren-".repeat(12).trim_end_matches('-'))).done();
    let tag = "wren-".repeat(12).trim_end_matches('-').to_owned();
    let bytes = |first: u8| (0..40).map(|n| format!("{:02X}", first.wrapping_add(n * 3))).collect::<Vec<_>>().join(" ");
    let reading = |first| {
        format!(
            "format = \"asfound-reading/1\"\ntool = \"{}\"\n[modules.{module}]\npart_number = \"7H0-001-{}\"\n\
             records = {{ 0E00 = \"{}\", an_unexplained_block_with_a_long_name = \"{}\" }}\n",
            "t".repeat(60),
            "9".repeat(50),
            bytes(first),
            "A5 ".repeat(200).trim_end(),
        )
    };
    shop.write("one.toml", reading(1));
    shop.write("two.toml", reading(2));
    let _ = shop.run(&format!("read {tag} ./one.toml --why '{}'", "because ".repeat(40).trim_end())).done();
    let _ = shop.run(&format!("read {tag} ./two.toml --why {}", "x".repeat(60))).done();
    let setting = format!("{module}.a_setting_with_a_rather_long_name_for_byte_number_3");
    let _ = shop.run(&format!("change {tag} {setting}=200 --why '{}'", "because ".repeat(40).trim_end())).done();
    let _ = shop.run(&format!("change {tag} {module}:0E00='{}' --why bytes", bytes(3))).done();
    let _ = shop.run(&format!("correct {tag} 4 {setting}=100 --why '{}'", "y".repeat(60)));
    for line in [
        format!("entries {tag}"),
        format!("entries {tag} {setting}"),
        format!("settings {tag}"),
        format!("compare {tag} 2 3"),
        format!("put-back {tag} 3 4 5"),
        format!("return-to {tag} 2"),
        format!("explain {setting}"),
        "explain rather".to_owned(),
        "vehicles".to_owned(),
        "definition list".to_owned(),
    ] {
        let ran = shop.run(&line);
        assert_eq!(ran.exit, 0, "{ran}");
    }
    for number in 1..=5 {
        let _ = shop.run(&format!("entry {tag} {number}")).done();
    }
}

#[test]
fn many_modules_and_codes() {
    let mut shop = Workshop::equipped();
    let _ = shop.run("enrol wren").done();
    let mut reading = "format = \"asfound-reading/1\"\n".to_owned();
    for number in 0..30 {
        write!(reading, "[modules.unit_{number}]\nrecords = {{ 0A00 = \"{number:02}\" }}\ntrouble_codes = [").unwrap();
        for code in 0..30 {
            write!(reading, "{{ code = \"C{:04}-11\" }},", code + 100).unwrap();
        }
        reading.push_str("]\n");
    }
    shop.write("many.toml", &reading);
    let _ = shop.run("read wren ./many.toml").done();
    shop.write("other.toml", reading.replace("C0100", "C0900").replace("\"00\"", "\"99\""));
    let _ = shop.run("read wren ./other.toml").done();
    shop.write("few.toml", "format = \"asfound-reading/1\"\n[modules.unit_1]\nrecords = { 0A00 = \"01\" }\n");
    let _ = shop.run("read wren ./few.toml --partial").done();
    for line in ["entry wren 2", "entry wren 4", "compare wren 2 3", "settings wren", "entries wren"] {
        let _ = shop.run(line).done();
    }
}
