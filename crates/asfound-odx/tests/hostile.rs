//! Damaged, hostile and contradicting documents: a clear error with document, line and identifier, or a value left out.

use std::io::Write;

use asfound_odx::{Converter, Limits, OdxError, Package, Reason};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ODX MODEL-VERSION=\"2.2.0\">\n<DIAG-LAYER-CONTAINER ID=\"C\">\n<SHORT-NAME>Nest</SHORT-NAME>\n";
const TAIL: &str = "</DIAG-LAYER-CONTAINER>\n</ODX>\n";

/// One base variant with a service that reads 0D01; `value` is its only parameter, `objects` its data dictionary.
fn document(objects: &str, value: &str) -> String {
    format!(
        "{HEAD}<BASE-VARIANTS>\n<BASE-VARIANT ID=\"BV\"><SHORT-NAME>Wren</SHORT-NAME>\n\
         <DIAG-DATA-DICTIONARY-SPEC>{objects}</DIAG-DATA-DICTIONARY-SPEC>\n\
         <DIAG-COMMS><DIAG-SERVICE ID=\"DS\"><SHORT-NAME>Read</SHORT-NAME><REQUEST-REF ID-REF=\"RQ\"/>\
         <POS-RESPONSE-REFS><POS-RESPONSE-REF ID-REF=\"PR\"/></POS-RESPONSE-REFS></DIAG-SERVICE></DIAG-COMMS>\n\
         <REQUESTS><REQUEST ID=\"RQ\"><SHORT-NAME>Q</SHORT-NAME><PARAMS>{}{}</PARAMS></REQUEST></REQUESTS>\n\
         <POS-RESPONSES><POS-RESPONSE ID=\"PR\"><SHORT-NAME>R</SHORT-NAME><PARAMS>{}\
         <PARAM xsi:type=\"MATCHING-REQUEST-PARAM\"><SHORT-NAME>Id</SHORT-NAME><BYTE-POSITION>1</BYTE-POSITION>\
         <REQUEST-BYTE-POS>1</REQUEST-BYTE-POS><BYTE-LENGTH>2</BYTE-LENGTH></PARAM>\n{value}\n</PARAMS></POS-RESPONSE></POS-RESPONSES>\n\
         </BASE-VARIANT></BASE-VARIANTS>{TAIL}",
        constant("Sid", 0, 8, 0x22),
        constant("Did", 1, 16, 0x0D01),
        constant("Sid", 0, 8, 0x62),
    )
}

fn constant(name: &str, byte: usize, bits: usize, value: u32) -> String {
    format!(
        "<PARAM xsi:type=\"CODED-CONST\"><SHORT-NAME>{name}</SHORT-NAME><BYTE-POSITION>{byte}</BYTE-POSITION>\
         <CODED-VALUE>{value}</CODED-VALUE>{}</PARAM>",
        coded(bits)
    )
}

fn coded(bits: usize) -> String {
    format!(
        "<DIAG-CODED-TYPE BASE-DATA-TYPE=\"A_UINT32\" xsi:type=\"STANDARD-LENGTH-TYPE\"><BIT-LENGTH>{bits}</BIT-LENGTH></DIAG-CODED-TYPE>"
    )
}

fn object(id: &str, method: &str) -> String {
    format!(
        "<DATA-OBJECT-PROPS><DATA-OBJECT-PROP ID=\"{id}\"><SHORT-NAME>{id}</SHORT-NAME><COMPU-METHOD>{method}</COMPU-METHOD>{}\
         <PHYSICAL-TYPE BASE-DATA-TYPE=\"A_UINT32\"/></DATA-OBJECT-PROP></DATA-OBJECT-PROPS>",
        coded(8)
    )
}

const IDENTICAL: &str = "<CATEGORY>IDENTICAL</CATEGORY>";

fn value(reference: &str) -> String {
    format!(
        "<PARAM xsi:type=\"VALUE\"><SHORT-NAME>Level</SHORT-NAME><BYTE-POSITION>3</BYTE-POSITION>{reference}</PARAM>"
    )
}

fn read(bytes: &[u8]) -> Result<Package, OdxError> {
    Package::from_bytes(bytes, "wren.odx-d", Limits::default())
}

fn refused(bytes: &[u8]) -> String {
    read(bytes).expect_err("it is refused").to_string()
}

fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        writer.start_file(*name, SimpleFileOptions::default()).expect("memory takes it");
        writer.write_all(bytes).expect("memory takes it");
    }
    writer.finish().expect("memory takes it").into_inner()
}

/// The report of the only layer.
fn report(text: &str) -> asfound_odx::Report {
    let package = read(text.as_bytes()).expect("it is a document");
    let converter = Converter::new(&package);
    converter.take_over(0, None).expect("it is a whole layer").report
}

#[test]
fn a_sound_document_is_taken_over() {
    let good = document(&object("D", IDENTICAL), &value("<DOP-REF ID-REF=\"D\"/>"));
    let report = report(&good);
    assert_eq!((report.whole.len(), report.kept.len()), (1, 0));
    assert_eq!(report.whole[0].place.document.as_ref(), "wren.odx-d");
    assert_eq!(report.whole[0].place.line, 11);
}

#[test]
fn a_document_cut_at_any_place_is_refused() {
    let good = document(&object("D", IDENTICAL), &value("<DOP-REF ID-REF=\"D\"/>"));
    let body = good.trim_end().len();
    for end in 0..body {
        assert!(read(&good.as_bytes()[..end]).is_err(), "cut at {end} of {body}");
    }
    let middle = good.find("<REQUESTS>").unwrap();
    assert_eq!(
        refused(&good.as_bytes()[..middle]),
        "wren.odx-d, line 9: the document ends in the middle: it was cut off"
    );
}

#[test]
fn a_package_cut_at_any_place_is_refused() {
    let good = document(&object("D", IDENTICAL), &value("<DOP-REF ID-REF=\"D\"/>"));
    let whole = archive(&[("a.odx-d", good.as_bytes()), ("notes.txt", b"none")]);
    assert!(Package::from_bytes(&whole, "wren.pdx", Limits::default()).is_ok());
    for end in 0..whole.len() {
        assert!(Package::from_bytes(&whole[..end], "wren.pdx", Limits::default()).is_err(), "cut at {end}");
    }
    // A byte changed within the packed document is found by the archive's checksum, or is no document any more.
    let inside = whole.windows(7).position(|window| window == b"a.odx-d").unwrap() + 40;
    let mut changed = whole.clone();
    changed[inside] ^= 0x40;
    assert!(Package::from_bytes(&changed, "wren.pdx", Limits::default()).is_err());
}

#[test]
fn a_bomb_goes_off_at_its_limit() {
    let mut bomb = HEAD.as_bytes().to_vec();
    bomb.resize(64 << 20, b' ');
    let packed = archive(&[("bomb.odx-d", &bomb)]);
    assert!(packed.len() < 1 << 20, "{}", packed.len());
    let error = Package::from_bytes(&packed, "bomb.pdx", Limits::default()).unwrap_err();
    assert!(matches!(error, OdxError::TooLarge { .. }), "{error}");
    // One run of text has its own, smaller limit, also in a plain document.
    let error = read(&bomb).unwrap_err();
    assert_eq!(error.to_string(), "wren.odx-d: one tag or run of text is larger than 4 MiB");
}

#[test]
fn entities_are_not_expanded() {
    let lol = "<?xml version=\"1.0\"?>\n<!DOCTYPE ODX [\n<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;\">\n]>\n<ODX/>";
    assert_eq!(
        refused(lol.as_bytes()),
        "wren.odx-d, line 2: the document declares types or entities, which ODX does not have"
    );
    let file = "<!DOCTYPE ODX [<!ENTITY x SYSTEM \"file:///etc/passwd\">]><ODX/>";
    assert!(refused(file.as_bytes()).contains("declares types or entities"));
    let used = document(&object("D", IDENTICAL), &value("<DOP-REF ID-REF=\"D\"/>"))
        .replace("<SHORT-NAME>Wren<", "<SHORT-NAME>&wren;<");
    assert_eq!(
        refused(used.as_bytes()),
        "wren.odx-d, line 6: the entity `&wren;` is not one of XML's own, and no other is expanded"
    );
}

#[test]
fn wrong_encodings_are_named_with_their_line() {
    let good = document(&object("D", IDENTICAL), &value("<DOP-REF ID-REF=\"D\"/>"));
    let at = good.find("Wren<").unwrap();
    let mut bytes = good.clone().into_bytes();
    bytes[at] = 0xE4;
    assert_eq!(refused(&bytes), "wren.odx-d, line 6: the text is not UTF-8");
    let latin = good.replace("UTF-8", "ISO-8859-1");
    let mut bytes = latin.into_bytes();
    let at = bytes.windows(5).position(|window| window == b"Wren<").unwrap();
    bytes[at] = 0xE4;
    let package = read(&bytes).unwrap();
    assert_eq!(Converter::new(&package).names(), ["ären"]);
    let wide: Vec<u8> =
        [0xFEFF].into_iter().chain(good.replace("UTF-8", "UTF-16").encode_utf16()).flat_map(u16::to_be_bytes).collect();
    assert!(read(&wide).is_ok());
}

#[test]
fn depth_and_size_are_bounded() {
    let deep = format!("{HEAD}{}", "<A>".repeat(1000));
    assert_eq!(refused(deep.as_bytes()), "wren.odx-d, line 5: more than 64 elements within each other");
    let attribute = format!("<ODX a=\"{}\">", "x".repeat(5 << 20));
    assert_eq!(refused(attribute.as_bytes()), "wren.odx-d: one tag or run of text is larger than 4 MiB");
    let many = Limits { files: 3, ..Limits::default() };
    let packed = archive(&[("1", b""), ("2", b""), ("3", b""), ("4.odx", b"")]);
    let error = Package::from_bytes(&packed, "wren.pdx", many).unwrap_err();
    assert_eq!(error.to_string(), "wren.pdx: the package is larger than 3 files");
}

#[test]
fn what_is_no_document_is_said_so() {
    assert_eq!(refused(b"<html></html>"), "wren.odx-d is not an ODX document: its first element is `html`, not `ODX`");
    assert_eq!(refused(b""), "wren.odx-d is not an ODX document: it is empty, or not XML");
    assert!(matches!(read(b"P").unwrap_err(), OdxError::Empty { .. } | OdxError::Xml { .. }));
    assert_eq!(refused(b"<ODX></ODX>"), "wren.odx-d has no diagnostic layers in it");
    assert!(matches!(read(b"\x00\x01\x02").unwrap_err(), OdxError::Empty { .. } | OdxError::Xml { .. }));
}

#[test]
fn layers_that_inherit_in_a_circle_are_refused_by_name() {
    let layer = |name: &str, parent: &str| {
        format!(
            "<BASE-VARIANT ID=\"{name}\"><SHORT-NAME>{name}</SHORT-NAME><PARENT-REFS><PARENT-REF ID-REF=\"{parent}\"/></PARENT-REFS></BASE-VARIANT>"
        )
    };
    let text =
        format!("{HEAD}<BASE-VARIANTS>{}{}{}</BASE-VARIANTS>{TAIL}", layer("A", "B"), layer("B", "C"), layer("C", "B"));
    let package = read(text.as_bytes()).unwrap();
    let error = Converter::new(&package).take_over(0, None).unwrap_err();
    assert_eq!(
        error.to_string(),
        "wren.odx-d, line 5, object `B`: the layers inherit from each other in a circle: B -> C -> B"
    );
}

#[test]
fn two_layers_of_one_identifier_are_named() {
    let layer = |name: &str| format!("<BASE-VARIANT ID=\"A\"><SHORT-NAME>{name}</SHORT-NAME></BASE-VARIANT>\n");
    let text = format!("{HEAD}<BASE-VARIANTS>{}{}</BASE-VARIANTS>{TAIL}", layer("Wren"), layer("Plover"));
    let package = read(text.as_bytes()).unwrap();
    let problems: Vec<String> = package.problems().iter().map(ToString::to_string).collect();
    assert_eq!(problems, ["wren.odx-d, line 6, object `A`: another layer has the same identifier"]);
}

#[test]
fn a_missing_parent_is_named_with_its_place() {
    let text = format!(
        "{HEAD}<BASE-VARIANTS><BASE-VARIANT ID=\"A\"><SHORT-NAME>A</SHORT-NAME>\n<PARENT-REFS><PARENT-REF ID-REF=\"P\" DOCREF=\"Other\" DOCTYPE=\"CONTAINER\"/></PARENT-REFS></BASE-VARIANT></BASE-VARIANTS>{TAIL}"
    );
    let package = read(text.as_bytes()).unwrap();
    let error = Converter::new(&package).take_over(0, None).unwrap_err();
    assert_eq!(error.to_string(), "wren.odx-d, line 6: PARENT-REF `P` of `Other` refers to nothing in these documents");
    assert_eq!(error.hint().as_deref(), Some("give the package that holds all documents"));
}

#[test]
fn a_value_whose_object_is_missing_or_ambiguous_stays_bytes() {
    let missing = report(&document(&object("D", IDENTICAL), &value("<DOP-REF ID-REF=\"E\"/>")));
    assert_eq!((missing.left.len(), &missing.kept[0].why), (1, &Reason::Missing));
    let twice = object("D", IDENTICAL) + &object("D", "<CATEGORY>COMPUCODE</CATEGORY>");
    let text = document(&twice, &value("<DOP-REF ID-REF=\"D\"/>"));
    let package = read(text.as_bytes()).unwrap();
    assert_eq!(
        package.problems()[0].to_string(),
        "wren.odx-d, line 7, object `D`: another object has the same identifier"
    );
    assert_eq!(report(&text).kept[0].why, Reason::Missing);
}

#[test]
fn an_object_that_the_schema_refuses_is_named_and_left_out() {
    let text = document(&object("D", "<CATEGORY>MAGIC</CATEGORY>"), &value("<DOP-REF ID-REF=\"D\"/>"));
    let package = read(text.as_bytes()).unwrap();
    let problems: Vec<String> = package.problems().iter().map(OdxError::to_string).collect();
    assert_eq!(problems, ["wren.odx-d, line 7, object `D`: the computation `MAGIC` is not one of the standard's"]);
    assert_eq!(report(&text).kept[0].why, Reason::Missing);
}

#[test]
fn structures_that_hold_themselves_end() {
    let inner = "<STRUCTURES><STRUCTURE ID=\"S\"><SHORT-NAME>S</SHORT-NAME><PARAMS>\
        <PARAM xsi:type=\"VALUE\"><SHORT-NAME>A</SHORT-NAME><DOP-REF ID-REF=\"S\"/></PARAM>\
        <PARAM xsi:type=\"VALUE\"><SHORT-NAME>B</SHORT-NAME><DOP-REF ID-REF=\"S\"/></PARAM></PARAMS></STRUCTURE></STRUCTURES>";
    let report = report(&document(inner, &value("<DOP-REF ID-REF=\"S\"/>")));
    assert_eq!(report.left[0].why, Reason::Nested);
    let case = |name: &str| {
        format!(
            "<CASE><SHORT-NAME>{name}</SHORT-NAME><STRUCTURE-REF ID-REF=\"S\"/><LOWER-LIMIT>0</LOWER-LIMIT><UPPER-LIMIT>0</UPPER-LIMIT></CASE>"
        )
    };
    let mux = format!(
        "{}<MUXS><MUX ID=\"M\"><SHORT-NAME>M</SHORT-NAME><BYTE-POSITION>1</BYTE-POSITION><SWITCH-KEY><BYTE-POSITION>0</BYTE-POSITION><DATA-OBJECT-PROP-REF ID-REF=\"D\"/></SWITCH-KEY><CASES>{}</CASES></MUX></MUXS>\
         <STRUCTURES><STRUCTURE ID=\"S\"><SHORT-NAME>S</SHORT-NAME><PARAMS><PARAM xsi:type=\"VALUE\"><SHORT-NAME>A</SHORT-NAME><DOP-REF ID-REF=\"M\"/></PARAM></PARAMS></STRUCTURE></STRUCTURES>",
        object("D", IDENTICAL),
        (0..50).map(|at| case(&format!("C{at}"))).collect::<String>()
    );
    let report = self::report(&document(&mux, &value("<DOP-REF ID-REF=\"M\"/>")));
    assert_eq!(report.kept[0].why, Reason::Multiplexer);
}

#[test]
fn a_service_that_may_answer_in_two_ways_gives_no_record() {
    let good = document(&object("D", IDENTICAL), &value("<DOP-REF ID-REF=\"D\"/>"));
    let two = good.replace(
        "<POS-RESPONSE-REF ID-REF=\"PR\"/>",
        "<POS-RESPONSE-REF ID-REF=\"PR\"/><POS-RESPONSE-REF ID-REF=\"PR\"/>",
    );
    let report = report(&two);
    assert_eq!((report.whole.len(), report.kept.len(), report.other_services), (0, 0, 1));
    assert_eq!(report.notes[0].text, "The service Read gives no record: it has several positive responses");
    let other = good.replace("<REQUEST-BYTE-POS>1<", "<REQUEST-BYTE-POS>2<");
    assert_eq!(
        self::report(&other).notes[0].text,
        "The service Read gives no record: its response repeats another identifier"
    );
}
