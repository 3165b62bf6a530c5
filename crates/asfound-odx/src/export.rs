//! A definition as an ODX document: one base variant with a service for each record.

use std::fmt::Write;

use asfound_core::definition::{Definition, Permitted, RecordDefinition, SettingDefinition};
use asfound_core::layout::{ByteOrder, Coding, Conversion, Linear, TextEntry, ValueKind};
use asfound_core::names::RecordName;

/// A definition as a document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExportedDocument {
    /// The text of the document.
    pub document: String,
    /// What the document has no place for, for people.
    pub left: Vec<String>,
}

/// A definition as a document of one container and one base variant.
pub fn export(definition: &Definition) -> ExportedDocument {
    let id = definition.id().as_str().replace('-', "_");
    let mut parts = Parts::default();
    let mut units: Vec<&str> = Vec::new();
    for setting in definition.settings().values() {
        if let ValueKind::Quantity { unit, .. } = setting.layout().kind()
            && !units.contains(&unit.as_str())
        {
            units.push(unit);
        }
    }
    for setting in definition.settings().values() {
        object(setting, &units, &mut parts);
    }
    for record in definition.records().values() {
        services(definition, record, &mut parts);
    }
    if !definition.rules().is_empty() {
        parts.left.push("the rules between settings".to_owned());
    }
    if !definition.plausibility().is_empty() {
        parts.left.push("the rules on trouble codes".to_owned());
    }
    parts.left.push("safety tags, cautions and which modules the definition is for".to_owned());
    let mut listed = String::new();
    for (at, unit) in units.iter().enumerate() {
        let _ = writeln!(
            listed,
            "<UNIT ID=\"U.{at}\"><SHORT-NAME>unit_{at}</SHORT-NAME><DISPLAY-NAME>{}</DISPLAY-NAME></UNIT>",
            escaped(unit)
        );
    }
    let units = list("UNIT-SPEC", &list("UNITS", &listed));
    let objects = if parts.objects.is_empty() && units.is_empty() {
        String::new()
    } else {
        let objects = list("DATA-OBJECT-PROPS", &parts.objects);
        format!("<DIAG-DATA-DICTIONARY-SPEC>\n{objects}{units}</DIAG-DATA-DICTIONARY-SPEC>\n")
    };
    let document = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <ODX MODEL-VERSION=\"2.2.0\" xmlns:xsi=\"http://www.w3.org/2001/XMLSchema-instance\">\n\
         <DIAG-LAYER-CONTAINER ID=\"C.{id}\">\n<SHORT-NAME>{id}</SHORT-NAME>\n<BASE-VARIANTS>\n\
         <BASE-VARIANT ID=\"BV.{id}\">\n<SHORT-NAME>{id}</SHORT-NAME>\n<LONG-NAME>{}</LONG-NAME>\n{objects}{}{}{}\
         </BASE-VARIANT>\n</BASE-VARIANTS>\n</DIAG-LAYER-CONTAINER>\n</ODX>\n",
        escaped(definition.title()),
        list("DIAG-COMMS", &parts.comms),
        list("REQUESTS", &parts.requests),
        list("POS-RESPONSES", &parts.responses),
    );
    ExportedDocument { document, left: parts.left }
}

#[derive(Default)]
struct Parts {
    objects: String,
    comms: String,
    requests: String,
    responses: String,
    left: Vec<String>,
}

fn list(name: &str, inside: &str) -> String {
    if inside.is_empty() { String::new() } else { format!("<{name}>\n{inside}</{name}>\n") }
}

/// The services that read and write a record.
fn services(definition: &Definition, record: &RecordDefinition, parts: &mut Parts) {
    let name = record.name();
    let (identifier, bits, read, write) = match name {
        RecordName::Identifier(number) => (u32::from(*number), 16, 0x22, 0x2E),
        RecordName::Local(number) => (u32::from(*number), 8, 0x21, 0x3B),
        RecordName::Long(_) | RecordName::Block(_) => {
            parts.left.push(format!("the record {name}, which has no data identifier"));
            return;
        }
    };
    if record.checksum().is_some() {
        parts.left.push(format!("the checksum of the record {name}"));
    }
    if record.volatile().count() > 0 {
        parts.left.push(format!("which bytes of the record {name} change by themselves"));
    }
    let from = 1 + bits / 8;
    let mut values = String::new();
    for setting in record.settings().iter().filter_map(|setting| definition.settings().get(setting)) {
        value(setting, from, &mut values);
    }
    // What no setting names keeps its place: the last byte holds the length.
    let last = definition.settings().values().filter(|setting| setting.record() == name);
    let end = last.map(|setting| setting.layout().placement().end()).max().unwrap_or(0);
    if end < record.length() {
        let _ = writeln!(
            values,
            "<PARAM xsi:type=\"RESERVED\"><SHORT-NAME>end</SHORT-NAME><BYTE-POSITION>{}</BYTE-POSITION><BIT-LENGTH>8</BIT-LENGTH></PARAM>",
            from + record.length() - 1
        );
    }
    let short = name.to_string().replace('-', "_");
    let header = |sid: u32| constant("sid", 0, 8, sid) + &constant("identifier", 1, bits, identifier);
    let answer = |sid: u32| {
        constant("sid", 0, 8, sid + 0x40)
            + &format!(
                "<PARAM xsi:type=\"MATCHING-REQUEST-PARAM\"><SHORT-NAME>identifier</SHORT-NAME><BYTE-POSITION>1</BYTE-POSITION><REQUEST-BYTE-POS>1</REQUEST-BYTE-POS><BYTE-LENGTH>{}</BYTE-LENGTH></PARAM>\n",
                bits / 8
            )
    };
    let mut add = |verb: &str, request: String, response: String| {
        let _ = writeln!(
            parts.comms,
            "<DIAG-SERVICE ID=\"DS.{verb}_{short}\"><SHORT-NAME>{verb}_{short}</SHORT-NAME><LONG-NAME>{}</LONG-NAME><REQUEST-REF ID-REF=\"RQ.{verb}_{short}\"/><POS-RESPONSE-REFS><POS-RESPONSE-REF ID-REF=\"PR.{verb}_{short}\"/></POS-RESPONSE-REFS></DIAG-SERVICE>",
            escaped(record.label())
        );
        let _ = writeln!(
            parts.requests,
            "<REQUEST ID=\"RQ.{verb}_{short}\"><SHORT-NAME>RQ_{verb}_{short}</SHORT-NAME>\n<PARAMS>\n{request}</PARAMS></REQUEST>"
        );
        let _ = writeln!(
            parts.responses,
            "<POS-RESPONSE ID=\"PR.{verb}_{short}\"><SHORT-NAME>PR_{verb}_{short}</SHORT-NAME>\n<PARAMS>\n{response}</PARAMS></POS-RESPONSE>"
        );
    };
    add("read", header(read), answer(read) + &values);
    add("write", header(write) + &values, answer(write));
}

fn constant(name: &str, byte: usize, bits: usize, value: u32) -> String {
    format!(
        "<PARAM xsi:type=\"CODED-CONST\"><SHORT-NAME>{name}</SHORT-NAME><BYTE-POSITION>{byte}</BYTE-POSITION><CODED-VALUE>{value}</CODED-VALUE><DIAG-CODED-TYPE BASE-DATA-TYPE=\"A_UINT32\" xsi:type=\"STANDARD-LENGTH-TYPE\"><BIT-LENGTH>{bits}</BIT-LENGTH></DIAG-CODED-TYPE></PARAM>\n"
    )
}

fn value(setting: &SettingDefinition, from: usize, text: &mut String) {
    let (name, placement) = (&setting.path().setting, setting.layout().placement());
    let about = setting.about().map_or_else(String::new, |about| format!("<DESC><p>{}</p></DESC>", escaped(about)));
    let _ = writeln!(
        text,
        "<PARAM xsi:type=\"VALUE\" SEMANTIC=\"DATA\"><SHORT-NAME>{name}</SHORT-NAME><LONG-NAME>{}</LONG-NAME>{about}<BYTE-POSITION>{}</BYTE-POSITION><BIT-POSITION>{}</BIT-POSITION><DOP-REF ID-REF=\"D.{name}\"/></PARAM>",
        escaped(setting.label()),
        from + placement.byte(),
        placement.bit()
    );
}

/// The data object of a setting.
fn object(setting: &SettingDefinition, units: &[&str], parts: &mut Parts) {
    let (name, layout) = (&setting.path().setting, setting.layout());
    let placement = layout.placement();
    let (base, encoding) = match layout.coding() {
        Coding::Unsigned => ("A_UINT32", ""),
        Coding::TwosComplement => ("A_INT32", " BASE-TYPE-ENCODING=\"2C\""),
        Coding::Bcd => ("A_UINT32", " BASE-TYPE-ENCODING=\"BCD-P\""),
        Coding::BcdUnpacked => ("A_UINT32", " BASE-TYPE-ENCODING=\"BCD-UP\""),
        Coding::Ascii { pad } => {
            if pad.is_some() {
                parts.left.push(format!("that {name} is filled up at its end"));
            }
            ("A_ASCIISTRING", "")
        }
        Coding::Bytes => ("A_BYTEFIELD", ""),
    };
    let order = if placement.order() == ByteOrder::Little { " IS-HIGHLOW-BYTE-ORDER=\"false\"" } else { "" };
    let (physical, precision, unit) = match layout.kind() {
        ValueKind::Switch | ValueKind::Choice | ValueKind::Text => ("A_UNICODE2STRING", None, None),
        ValueKind::Bytes => ("A_BYTEFIELD", None, None),
        ValueKind::Integer if matches!(layout.conversion(), Conversion::Identical) => (base, None, None),
        ValueKind::Integer => ("A_INT32", None, None),
        ValueKind::Quantity { unit, decimals } => ("A_FLOAT64", *decimals, units.iter().position(|one| one == unit)),
    };
    let precision =
        precision.map_or_else(|| "/>".to_owned(), |places| format!("><PRECISION>{places}</PRECISION></PHYSICAL-TYPE>"));
    let unit = unit.map_or_else(String::new, |at| format!("<UNIT-REF ID-REF=\"U.{at}\"/>"));
    let constraint = constraint(setting, &mut parts.left);
    let _ = writeln!(
        parts.objects,
        "<DATA-OBJECT-PROP ID=\"D.{name}\"><SHORT-NAME>{name}</SHORT-NAME><LONG-NAME>{}</LONG-NAME>\n{}\n<DIAG-CODED-TYPE BASE-DATA-TYPE=\"{base}\"{encoding}{order} xsi:type=\"STANDARD-LENGTH-TYPE\"><BIT-LENGTH>{}</BIT-LENGTH></DIAG-CODED-TYPE><PHYSICAL-TYPE BASE-DATA-TYPE=\"{physical}\"{precision}{}</DATA-OBJECT-PROP>",
        escaped(setting.label()),
        method(layout.conversion(), *layout.kind() == ValueKind::Switch),
        placement.bits(),
        unit + &constraint,
    );
}

/// The permitted numbers of a setting as a constraint of its physical value.
fn constraint(setting: &SettingDefinition, left: &mut Vec<String>) -> String {
    match setting.permitted() {
        Permitted::Any => String::new(),
        Permitted::Range { min, max } => match (min.number(), max.number()) {
            (Some(min), Some(max)) => {
                format!("<PHYS-CONSTR><LOWER-LIMIT>{min}</LOWER-LIMIT><UPPER-LIMIT>{max}</UPPER-LIMIT></PHYS-CONSTR>")
            }
            _ => String::new(),
        },
        Permitted::List(_) => {
            left.push(format!("which single values {} may have", setting.path().setting));
            String::new()
        }
    }
}

fn method(conversion: &Conversion, switch: bool) -> String {
    let entry = |name: &str, from: i128, to: i128, write: i128| {
        let inverse = if write == from {
            String::new()
        } else {
            format!("<COMPU-INVERSE-VALUE><V>{write}</V></COMPU-INVERSE-VALUE>")
        };
        format!(
            "<COMPU-SCALE><LOWER-LIMIT>{from}</LOWER-LIMIT><UPPER-LIMIT>{to}</UPPER-LIMIT>{inverse}<COMPU-CONST><VT>{}</VT></COMPU-CONST></COMPU-SCALE>",
            escaped(name)
        )
    };
    let line = |line: &Linear| {
        let [offset, factor] = &line.numerator;
        format!(
            "<COMPU-RATIONAL-COEFFS><COMPU-NUMERATOR><V>{offset}</V><V>{factor}</V></COMPU-NUMERATOR><COMPU-DENOMINATOR><V>{}</V></COMPU-DENOMINATOR></COMPU-RATIONAL-COEFFS>",
            line.denominator
        )
    };
    let (category, scales) = match conversion {
        Conversion::Identical if switch => ("TEXTTABLE", entry("off", 0, 0, 0) + &entry("on", 1, 1, 1)),
        Conversion::Identical => ("IDENTICAL", String::new()),
        Conversion::Linear(linear) => ("LINEAR", format!("<COMPU-SCALE>{}</COMPU-SCALE>", line(linear))),
        Conversion::ScaleLinear(scales) => {
            let category = if scales.len() == 1 { "LINEAR" } else { "SCALE-LINEAR" };
            let scales = scales.iter().map(|scale| {
                let inverse = if scale.line.numerator[1].is_zero() {
                    format!("<COMPU-INVERSE-VALUE><V>{}</V></COMPU-INVERSE-VALUE>", scale.from)
                } else {
                    String::new()
                };
                format!(
                    "<COMPU-SCALE><LOWER-LIMIT>{}</LOWER-LIMIT><UPPER-LIMIT>{}</UPPER-LIMIT>{inverse}{}</COMPU-SCALE>",
                    scale.from,
                    scale.to,
                    line(&scale.line)
                )
            });
            (category, scales.collect())
        }
        Conversion::Table(table) => {
            let one = |one: &TextEntry| entry(&one.name, one.from, one.to, one.write);
            ("TEXTTABLE", table.entries.iter().map(one).collect())
        }
    };
    let scales = if scales.is_empty() {
        scales
    } else {
        format!("<COMPU-INTERNAL-TO-PHYS><COMPU-SCALES>{scales}</COMPU-SCALES></COMPU-INTERNAL-TO-PHYS>")
    };
    format!("<COMPU-METHOD><CATEGORY>{category}</CATEGORY>{scales}</COMPU-METHOD>")
}

fn escaped(text: &str) -> String {
    quick_xml::escape::escape(text).into_owned()
}
