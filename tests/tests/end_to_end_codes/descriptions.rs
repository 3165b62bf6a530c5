//! Tables that say what codes mean, always shown as their own word.

use asfound_tests::Workshop;
use asfound_tests::json::{CodeDescribed, DescriptionsLoaded, DescriptionsTables};
use insta::assert_snapshot;

const CELLS: &str =
    "code,description\nC0035-11,Invented: front left to ground\nC0035,Invented: front left\n17158,Old\n";

#[test]
fn a_table_is_loaded_and_named_wherever_it_speaks() {
    let mut shop = Workshop::new();
    shop.write("My codes.csv", CELLS);
    assert_snapshot!(shop.run("code-texts tables"), @"
    $ asfound code-texts tables
    --- standard error
    asfound: there is no garage at ./garage
    hint: enrolling the first vehicle makes one: `asfound enrol TAG`
    --- exit code 2
    ");
    assert_snapshot!(shop.run("code-texts load './My codes.csv'").done(), @"
    $ asfound code-texts load './My codes.csv'
    Table my-codes is kept: 3 codes, SHA-256 525c5b252804….
    What it says is shown as its own word, with its name.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("code-texts tables").done(), @"
    $ asfound code-texts tables
    TABLE      CODES   TITLE   SOURCE   SHA-256
    ─────────────────────────────────────────────────
    my-codes       3   –       –        525c5b252804…
    --- exit code 0
    ");
    assert_snapshot!(shop.run("code-texts code C0035-11").done(), @"
    $ asfound code-texts code C0035-11
    trouble code · C0035-11
    ════════════════════════════════════════════════════════════════════════════════
    structure       chassis, generic
    bytes           40 35 11
    failure type    11
    description     Invented: front left to ground (table my-codes, SHA-256
                    525c5b252804…)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("code-texts code C0035-2F").done(), @"
    $ asfound code-texts code C0035-2F
    trouble code · C0035-2F
    ════════════════════════════════════════════════════════════════════════════════
    structure       chassis, generic
    bytes           40 35 2F
    failure type    2F
    description     Invented: front left (table my-codes, SHA-256 525c5b252804…)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("code-texts code 17158").done(), @"
    $ asfound code-texts code 17158
    trouble code · 17158
    ════════════════════════════════════════════════════════════════════════════════
    structure       of another code system: nothing is guessed from it
    description     Old (table my-codes, SHA-256 525c5b252804…)
    --- exit code 0
    ");
    assert_snapshot!(shop.run("code-texts code P0135").done(), @"
    $ asfound code-texts code P0135
    trouble code · P0135
    ════════════════════════════════════════════════════════════════════════════════
    structure       powertrain, generic, fuel and air metering
    bytes           01 35
    description     no loaded table has it
    --- exit code 0
    ");

    let tables: DescriptionsTables = shop.json("code-texts tables");
    assert_eq!((tables.tables.len(), tables.tables[0].codes), (1, 3));
    let digest = sha256(CELLS.as_bytes());
    assert_eq!(tables.tables[0].sha256, digest, "the digest is that of the file as it was given");
    let code: CodeDescribed = shop.json("code-texts code C0035-11");
    assert_eq!((code.bytes.as_deref(), code.failure_type.as_deref()), (Some("40 35 11"), Some("11")));
    let description = code.description.unwrap();
    assert_eq!((description.table.as_str(), description.sha256), ("my-codes", digest));
    let code: CodeDescribed = shop.json("code-texts code P0135");
    assert_eq!(code.description, None);
}

#[test]
fn a_table_of_the_same_name_takes_the_place_of_the_earlier_one_in_either_form() {
    let mut shop = Workshop::new();
    shop.write("a.csv", CELLS);
    shop.write("a.toml", "format = \"asfound-descriptions/1\"\ntitle = \"T\"\n[codes]\nC0035 = \"Other\"\n");
    let _: DescriptionsLoaded = shop.json("code-texts load ./a.csv");
    let loaded: DescriptionsLoaded = shop.json("code-texts load ./a.toml");
    assert_eq!((loaded.table.name.as_str(), loaded.table.title.as_deref(), loaded.table.codes), ("a", Some("T"), 1));
    let tables: DescriptionsTables = shop.json("code-texts tables");
    assert_eq!(tables.tables.len(), 1);
    let _ = shop.run("code-texts load ./a.csv --as second").done();
    let tables: DescriptionsTables = shop.json("code-texts tables");
    assert_eq!(tables.tables.iter().map(|table| table.name.as_str()).collect::<Vec<_>>(), ["a", "second"]);
    // The first by name that knows the code.
    let code: CodeDescribed = shop.json("code-texts code C0035-11");
    assert_eq!(code.description.unwrap().text, "Other");
}

#[test]
fn a_faulty_table_is_refused_and_nothing_is_kept() {
    let mut shop = Workshop::new();
    shop.write("a.csv", "code,description\nC0035,\nC0036,x\nC0036,y\n");
    assert_snapshot!(shop.refused("code-texts load ./a.csv"), @"
    $ asfound code-texts load ./a.csv
    --- standard error
    asfound: ./a.csv: line 2: C0035 has no description
    line 4: C0036 is described twice: `x` and `y`
    hint: docs/trouble-codes.md shows both forms
    --- exit code 2
    ");
    assert!(!shop.garage().exists());
    assert_snapshot!(shop.refused("code-texts load ./none.csv"), @"
    $ asfound code-texts load ./none.csv
    --- standard error
    asfound: ./none.csv: No such file or directory (os error 2)
    hint: check the name of the file
    --- exit code 2
    ");
    shop.write("ok.csv", CELLS);
    assert_snapshot!(shop.refused("code-texts load ./ok.csv --as 'My table'"), @"
    $ asfound code-texts load ./ok.csv --as 'My table'
    --- standard error
    asfound: `My table` cannot be the name of a table of descriptions
    hint: give one with `--as NAME`: a to z, 0 to 9 and `-`, starting with a letter
    --- exit code 2
    ");
}

fn sha256(bytes: &[u8]) -> String {
    use sha2::{Digest, Sha256};
    Sha256::digest(bytes).iter().fold(String::new(), |text, byte| text + &format!("{byte:02x}"))
}
