//! Records that are rows of tables, and what goes with them. Values are held against odxtools in `oracle.rs`; here stands
//! what the report says, and what odxtools does not read.

use std::path::Path;

use asfound_odx::{Converter, LayerDefinition, Limits, Package, Reason};

const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ODX MODEL-VERSION=\"2.2.0\">\n<DIAG-LAYER-CONTAINER ID=\"C\">\n<SHORT-NAME>Nest</SHORT-NAME>\n";
const TAIL: &str = "</DIAG-LAYER-CONTAINER>\n</ODX>\n";

fn heron(layer: &str) -> LayerDefinition {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/heron.pdx");
    let package = Package::open(&path, Limits::default(), &mut |_| {}).expect("the recorded data is whole");
    let converter = Converter::new(&package);
    converter.take_over(converter.find(layer).expect("the layer is there")[0], None).expect("the layer is whole")
}

#[test]
fn a_row_gives_a_record_of_its_own_with_its_names() {
    let taken = heron("HeronBody");
    assert!(taken.report.records.iter().any(|record| record == "0D01"), "{:?}", taken.report.records);
    let text = taken.definition.expect("the layer has records");
    assert!(text.contains("label = \"Lamp settings\""), "{text}");
    assert!(text.contains("service Read_Comfort, table row Lamps, parameter Lamps.OnFrom"), "{text}");
    // The service that writes has the same rows.
    let lamps = taken.report.whole.iter().find(|value| value.record == "0D01").expect("the record has values");
    assert!(lamps.alterable);
    let own = taken.report.whole.iter().find(|value| value.record == "0D51").expect("the record has values");
    assert!(!own.alterable);
}

#[test]
fn two_rows_of_one_key_give_no_record_and_are_named() {
    let taken = heron("HeronBody");
    assert!(!taken.report.records.iter().any(|record| record == "0D08"));
    let named = |row: &str| taken.report.notes.iter().any(|note| note.text.contains(&format!("the row {row} ")));
    assert!(named("Twice") && named("Again"), "{:?}", taken.report.notes);
}

#[test]
fn rows_of_different_lengths_within_a_record_leave_it_out() {
    let taken = heron("HeronBody");
    let left = taken.report.left.iter().find(|left| left.record == "0E03").expect("the record is left out");
    assert_eq!(left.why, Reason::Table);
    let depends = taken.report.left.iter().find(|left| left.record == "0E05").expect("the record is left out");
    assert_eq!(depends.why, Reason::EnvironmentData);
}

#[test]
fn a_path_of_short_names_tells_the_part_number_of_a_variant() {
    let text = heron("HeronBody_1").definition.expect("the layer has records");
    assert!(text.contains("part_number = [\"7M1101\"]"), "{text}");
}

#[test]
fn the_language_of_the_labels_is_said_where_the_documents_say_it() {
    let taken = heron("HeronBody");
    assert_eq!(taken.report.languages.iter().collect::<Vec<_>>(), ["de-DE"]);
    assert!(taken.definition.expect("the layer has records").contains("(ISO 22901-1), labels in de-DE\""));
    assert!(document(MATCHED, "").report.languages.is_empty());
}

/// A base variant with one table and a service that reads by its key.
fn document(response: &str, structures: &str) -> LayerDefinition {
    let constant = |name: &str, value: u8| {
        format!(
            "<PARAM xsi:type=\"CODED-CONST\"><SHORT-NAME>{name}</SHORT-NAME><BYTE-POSITION>0</BYTE-POSITION><CODED-VALUE>{value}</CODED-VALUE>{}</PARAM>",
            coded(8)
        )
    };
    let text = format!(
        "{HEAD}<BASE-VARIANTS>\n<BASE-VARIANT ID=\"BV\"><SHORT-NAME>Wren</SHORT-NAME>\n\
         <DIAG-DATA-DICTIONARY-SPEC><DATA-OBJECT-PROPS>{}{}</DATA-OBJECT-PROPS>\
         <STRUCTURES><STRUCTURE ID=\"ST\"><SHORT-NAME>Pair</SHORT-NAME><PARAMS>\
         <PARAM xsi:type=\"VALUE\"><SHORT-NAME>Level</SHORT-NAME><BYTE-POSITION>0</BYTE-POSITION><DOP-REF ID-REF=\"Byte\"/></PARAM>\
         </PARAMS></STRUCTURE>{structures}</STRUCTURES>\
         <TABLES><TABLE ID=\"T\"><SHORT-NAME>Rows</SHORT-NAME><KEY-DOP-REF ID-REF=\"Word\"/>\n\
         <TABLE-ROW ID=\"R1\"><SHORT-NAME>One</SHORT-NAME><KEY>3329</KEY><STRUCTURE-REF ID-REF=\"ST\"/></TABLE-ROW>\n\
         <TABLE-ROW ID=\"R2\"><SHORT-NAME>Two</SHORT-NAME><KEY>far</KEY><STRUCTURE-REF ID-REF=\"ST\"/></TABLE-ROW>\n\
         </TABLE></TABLES></DIAG-DATA-DICTIONARY-SPEC>\n\
         <DIAG-COMMS><DIAG-SERVICE ID=\"DS\"><SHORT-NAME>Read</SHORT-NAME><REQUEST-REF ID-REF=\"RQ\"/>\
         <POS-RESPONSE-REFS><POS-RESPONSE-REF ID-REF=\"PR\"/></POS-RESPONSE-REFS></DIAG-SERVICE></DIAG-COMMS>\n\
         <REQUESTS><REQUEST ID=\"RQ\"><SHORT-NAME>Q</SHORT-NAME><PARAMS>{}\
         <PARAM ID=\"K\" xsi:type=\"TABLE-KEY\"><SHORT-NAME>Did</SHORT-NAME><BYTE-POSITION>1</BYTE-POSITION><TABLE-REF ID-REF=\"T\"/></PARAM>\
         </PARAMS></REQUEST></REQUESTS>\n\
         <POS-RESPONSES><POS-RESPONSE ID=\"PR\"><SHORT-NAME>R</SHORT-NAME><PARAMS>{}{response}</PARAMS></POS-RESPONSE></POS-RESPONSES>\n\
         </BASE-VARIANT></BASE-VARIANTS>{TAIL}",
        object("Byte", 8),
        object("Word", 16),
        constant("Sid", 0x22),
        constant("Sid", 0x62),
    );
    let package = Package::from_bytes(text.as_bytes(), "nest.odx-d", Limits::default()).expect("the document is whole");
    assert_eq!(package.problems(), []);
    Converter::new(&package).take_over(0, None).expect("the layer is whole")
}

fn coded(bits: usize) -> String {
    format!(
        "<DIAG-CODED-TYPE BASE-DATA-TYPE=\"A_UINT32\" xsi:type=\"STANDARD-LENGTH-TYPE\"><BIT-LENGTH>{bits}</BIT-LENGTH></DIAG-CODED-TYPE>"
    )
}

fn object(id: &str, bits: usize) -> String {
    format!(
        "<DATA-OBJECT-PROP ID=\"{id}\"><SHORT-NAME>{id}</SHORT-NAME><COMPU-METHOD><CATEGORY>IDENTICAL</CATEGORY></COMPU-METHOD>{}\
         <PHYSICAL-TYPE BASE-DATA-TYPE=\"A_UINT32\"/></DATA-OBJECT-PROP>",
        coded(bits)
    )
}

/// The response repeats the identifier and names the request's key: odxtools reads no such message, so that what is
/// expected here stands by itself.
const MATCHED: &str = "<PARAM xsi:type=\"MATCHING-REQUEST-PARAM\"><SHORT-NAME>Id</SHORT-NAME><BYTE-POSITION>1</BYTE-POSITION>\
     <REQUEST-BYTE-POS>1</REQUEST-BYTE-POS><BYTE-LENGTH>2</BYTE-LENGTH></PARAM>\
     <PARAM xsi:type=\"TABLE-STRUCT\"><SHORT-NAME>Data</SHORT-NAME><BYTE-POSITION>3</BYTE-POSITION><TABLE-KEY-REF ID-REF=\"K\"/></PARAM>";

#[test]
fn a_response_that_names_the_requests_key_has_its_row() {
    let taken = document(MATCHED, "");
    assert_eq!(taken.report.records, ["0D01"]);
    assert_eq!(taken.report.whole.iter().map(|value| value.path.as_str()).collect::<Vec<_>>(), ["One.Level"]);
    // A key that is no number of its data object chooses nothing.
    assert!(taken.report.notes.iter().any(|note| note.text.contains("the row Two ")), "{:?}", taken.report.notes);
}

#[test]
fn a_table_structure_without_its_key_leaves_the_record_out() {
    let taken = document(&MATCHED.replace("ID-REF=\"K\"", "ID-REF=\"Nothing\""), "");
    assert_eq!(taken.report.records, Vec::<String>::new());
    assert_eq!(taken.report.left[0].why, Reason::Table);
}

#[test]
fn rows_within_their_own_rows_end() {
    let round = "<STRUCTURE ID=\"ROUND\"><SHORT-NAME>Round</SHORT-NAME><PARAMS>\
         <PARAM ID=\"K2\" xsi:type=\"TABLE-KEY\"><SHORT-NAME>Again</SHORT-NAME><TABLE-ROW-REF ID-REF=\"R3\"/></PARAM>\
         <PARAM xsi:type=\"TABLE-STRUCT\"><SHORT-NAME>More</SHORT-NAME><BYTE-POSITION>2</BYTE-POSITION><TABLE-KEY-REF ID-REF=\"K2\"/></PARAM>\
         </PARAMS></STRUCTURE></STRUCTURES><TABLES><TABLE ID=\"T2\"><SHORT-NAME>Rounds</SHORT-NAME><KEY-DOP-REF ID-REF=\"Word\"/>\
         <TABLE-ROW ID=\"R3\"><SHORT-NAME>Three</SHORT-NAME><KEY>3</KEY><STRUCTURE-REF ID-REF=\"ROUND\"/></TABLE-ROW>\
         <TABLE-ROW ID=\"R4\"><SHORT-NAME>Four</SHORT-NAME><KEY>4</KEY><STRUCTURE-REF ID-REF=\"ROUND\"/></TABLE-ROW></TABLE></TABLES><STRUCTURES>";
    for row in ["<TABLE-ROW-REF ID-REF=\"R3\"/>", "<TABLE-REF ID-REF=\"T2\"/>"] {
        let structures = round.replace("<TABLE-ROW-REF ID-REF=\"R3\"/>", row);
        let behind = "<PARAM xsi:type=\"VALUE\"><SHORT-NAME>Behind</SHORT-NAME><BYTE-POSITION>4</BYTE-POSITION><DOP-REF ID-REF=\"ROUND\"/></PARAM>";
        let taken = document(&format!("{MATCHED}{behind}"), &structures);
        assert_eq!(taken.report.records, Vec::<String>::new(), "{row}");
        assert!(matches!(taken.report.left[0].why, Reason::Nested | Reason::Table | Reason::Layout), "{row}");
    }
}
