//! What rows say: settings, records, identities and trouble codes.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

use asfound_capture::table::{RowContent, SettingCell, TableIdentity, TableOptions, TableReading, parse_table};

fn read(text: &str, columns: Option<&str>, module: Option<&str>) -> TableReading {
    let options = TableOptions {
        columns: columns.map(|text| text.parse().unwrap()),
        module: module.map(|text| text.parse().unwrap()),
        ..TableOptions::default()
    };
    parse_table(text.as_bytes(), &options).unwrap_or_else(|problems| panic!("{problems}"))
}

/// Each row as `line module: content`.
fn shown(reading: &TableReading) -> Vec<String> {
    let content = |what: &RowContent| match what {
        RowContent::Setting { setting: SettingCell::Name(name), value } => format!("{name} = {value}"),
        RowContent::Setting { setting: SettingCell::Label { text, slug }, value } => {
            let slug = slug.as_ref().map_or("none", |slug| slug.as_str());
            format!("\"{text}\" ({slug}) = {value}")
        }
        RowContent::Record { record, bytes } => format!("{record} [{bytes}]"),
        RowContent::Identity(TableIdentity { part_number, hardware, software, serial }) => {
            let text = |part: &Option<String>| part.clone().unwrap_or_else(|| "?".into());
            format!("is {} {} {} {}", text(part_number), text(hardware), text(software), text(serial))
        }
        RowContent::TroubleCode { code, status } => format!("code {code} {status:?}"),
    };
    reading.rows.iter().map(|row| format!("{} {}: {}", row.line, row.module, content(&row.what))).collect()
}

#[test]
fn settings_under_headers_that_say_it() {
    let text = "Module,Note,Setting,Value\n\
                body,,lane_change_flashes,5\n\
                Body Control,x,Lock tone (horn), low \n\
                17 Cluster,,3 blinks,on\n";
    let reading = read(text, None, None);
    assert_eq!(
        shown(&reading),
        [
            "2 body: lane_change_flashes = 5",
            "3 body_control: \"Lock tone (horn)\" (lock_tone_horn) = low",
            "4 m_17_cluster: \"3 blinks\" (s_3_blinks) = on",
        ]
    );
    assert_eq!(reading.columns.to_string(), "module=Module,setting=Setting,value=Value");
}

#[test]
fn settings_that_name_their_module_or_are_all_of_one() {
    let text = "setting;value\nbody.lock_tone;low\ncluster.needle_sweep;on\n";
    assert_eq!(shown(&read(text, None, None)), ["2 body: lock_tone = low", "3 cluster: needle_sweep = on"]);
    let text = "Name;Now\nLock tone;low\nbody.fog_lamps;on\n";
    assert_eq!(
        shown(&read(text, Some("setting=Name,value=Now"), Some("body"))),
        ["2 body: \"Lock tone\" (lock_tone) = low", "3 body: fog_lamps = on"]
    );
}

#[test]
fn records_in_every_spelling() {
    let text = "ECU\tDID\tData\n\
                body\t0D01\t03 0F 85 00\n\
                body\t0x0d02\t0x03 0x0F\n\
                body\t$0D03\t03-0F\n\
                body\tcomfort\t030f\n";
    assert_eq!(
        shown(&read(text, Some("module=ECU,record=DID,bytes=Data"), None)),
        ["2 body: 0D01 [03 0F 85 00]", "3 body: 0D02 [03 0F]", "4 body: 0D03 [03 0F]", "5 body: comfort [03 0F]"]
    );
}

#[test]
fn one_identity_for_each_module() {
    let text = "module,part_number,software,serial,setting,value\n\
                body,7M0-951,0210,,lock_tone,low\n\
                body,7M0-951,0210,S-1,fog_lamps,on\n\
                brakes,7M0-614,,,,\n";
    let reading = read(text, None, None);
    assert_eq!(
        shown(&reading),
        [
            "2 body: is 7M0-951 ? 0210 S-1",
            "2 body: lock_tone = low",
            "3 body: fog_lamps = on",
            "4 brakes: is 7M0-614 ? ? ?",
        ]
    );
    assert_eq!((reading.without_value, reading.repeated), (0, 0));
}

#[test]
fn trouble_codes_with_and_without_status() {
    let text = "module,trouble_code,status\nbrakes,C0035-11,2F\nbody,B16A1,\nbody,,ok\n";
    let reading = read(text, None, None);
    assert_eq!(shown(&reading), ["2 brakes: code C0035-11 Some(\"2F\")", "3 body: code B16A1 None"]);
    assert_eq!(reading.without_value, 1);
}

#[test]
fn settings_and_records_side_by_side() {
    let text = "setting,value,record,bytes\nlock_tone,low,0D01,03\nfog_lamps,,0D02,04\n,,0D03,05\n";
    let reading = read(text, None, Some("body"));
    assert_eq!(
        shown(&reading),
        ["2 body: lock_tone = low", "2 body: 0D01 [03]", "3 body: 0D02 [04]", "4 body: 0D03 [05]"]
    );
    assert_eq!(reading.without_value, 1);
}

#[test]
fn what_is_left_out_is_counted() {
    let text = "\n;;;\nmodule;setting;value;note\n\
                body;lock_tone;low;\n\
                body;fog_lamps;;not read\n\
                Comfort functions;;;\n\
                ;;;\n\
                ;;;end of list\n\
                body;Lock_Tone;low;again\n\
                body;lock_tone;low;again\n";
    let reading = read(text, None, None);
    assert_eq!(shown(&reading), ["4 body: lock_tone = low"]);
    assert_eq!(reading.without_value, 3);
    assert_eq!(reading.repeated, 2);
}

#[test]
fn a_table_may_say_nothing() {
    let reading = read("module,setting,value\n", None, None);
    assert!(reading.rows.is_empty());
    assert_eq!((reading.without_value, reading.repeated), (0, 0));
}
