//! A package with 1,000 variants and 50,000 parameters to definitions, beside a reference library that loads the same file:
//! `cargo bench -p asfound-odx --bench large -- [--python PROGRAM] [--variants NUMBER] [--file PACKAGE]`, where the program has odxtools.

use std::fmt::Write as _;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use asfound_odx::{Limits, OdxError, Package, each_layer};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// Records of its own in each variant, and values in each.
const RECORDS: usize = 10;
const VALUES: usize = 5;
const OBJECTS: usize = 200;

type Outcome = Result<(), Box<dyn std::error::Error>>;

fn main() -> Outcome {
    let arguments: Vec<String> = std::env::args().collect();
    let python = arguments.iter().position(|one| one == "--python").and_then(|at| arguments.get(at + 1));
    let variants = arguments.iter().position(|one| one == "--variants").and_then(|at| arguments.get(at + 1));
    let variants: usize = variants.map_or(Ok(1000), |text| text.parse())?;
    if let Some(file) = arguments.iter().position(|one| one == "--file").and_then(|at| arguments.get(at + 1)) {
        return measure(&PathBuf::from(file), None, python);
    }
    let path = std::env::temp_dir().join(format!("asfound-odx-large-{}.pdx", std::process::id()));
    let unpacked = make(&path, variants)?;
    let outcome = measure(&path, Some((variants, unpacked)), python);
    std::fs::remove_file(&path)?;
    outcome
}

fn measure(path: &PathBuf, made: Option<(usize, usize)>, python: Option<&String>) -> Outcome {
    let mut out = std::io::stdout().lock();
    let packed = std::fs::metadata(path)?.len();
    if let Some((variants, unpacked)) = made {
        let parameters = variants * RECORDS * VALUES;
        write!(out, "{variants} variants, {parameters} parameters of their own, {} MB of XML, ", unpacked >> 20)?;
    }
    writeln!(out, "{} MB packed", packed >> 20)?;
    let start = Instant::now();
    let mut layers = 0;
    each_layer::<OdxError>(path, Limits::default(), &[], &mut |_| {}, &mut |converter, layer| {
        converter.summary(layer)?;
        layers += 1;
        Ok(())
    })?;
    let listed = start.elapsed();
    let start = Instant::now();
    let (mut definitions, mut settings, mut text) = (0, 0, 0);
    each_layer::<OdxError>(path, Limits::default(), &["*".to_owned()], &mut |_| {}, &mut |converter, layer| {
        let taken = converter.take_over(layer, None)?;
        definitions += usize::from(taken.definition.is_some());
        settings += taken.report.whole.len();
        text += taken.definition.map_or(0, |text| text.len());
        Ok(())
    })?;
    let all = start.elapsed();
    let highest = peak();
    writeln!(
        out,
        "{layers} layers listed in {:.2} s; {definitions} definitions with {settings} settings ({} MB) in {:.2} s; \
         memory at its highest: {highest}",
        listed.as_secs_f64(),
        text >> 20,
        all.as_secs_f64()
    )?;
    // A file that was given may be too large for that.
    if made.is_some() {
        let start = Instant::now();
        Package::open(path, Limits::default(), &mut |_| {})?;
        let opened = start.elapsed().as_secs_f64();
        writeln!(out, "read whole, as a library does: {opened:.2} s, memory then: {}", peak())?;
    }
    let Some(python) = python else { return Ok(()) };
    let program = "import sys, time, resource, warnings\nwarnings.simplefilter('ignore')\nimport odxtools\nstart = time.time()\nodxtools.load_pdx_file(sys.argv[1])\nprint(f'odxtools loads it in {time.time() - start:.2f} s, memory at its highest: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss} kB')";
    let ran = Command::new(python).arg("-c").arg(program).arg(path).output()?;
    out.write_all(&ran.stdout)?;
    out.write_all(&ran.stderr)?;
    Ok(())
}

/// The most memory that was used so far.
fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or("VmHWM: not known");
    line.trim_start_matches("VmHWM:").trim().to_owned()
}

/// Writes the package; gives the bytes of its documents.
fn make(path: &Path, variants: usize) -> Result<usize, Box<dyn std::error::Error>> {
    let mut writer = ZipWriter::new(std::fs::File::create(path)?);
    let mut unpacked = 0;
    let mut add = |name: &str, text: &str| -> Outcome {
        unpacked += text.len();
        writer.start_file(name, SimpleFileOptions::default())?;
        writer.write_all(text.as_bytes())?;
        Ok(())
    };
    add("Base.odx-d", &document("Base", &format!("<BASE-VARIANTS>{}</BASE-VARIANTS>", base()?)))?;
    for hundred in 0..variants / 100 {
        let mut inside = String::from("<ECU-VARIANTS>");
        for at in 0..100 {
            variant(&mut inside, hundred * 100 + at)?;
        }
        inside += "</ECU-VARIANTS>";
        add(&format!("Variants_{hundred}.odx-d"), &document(&format!("Variants_{hundred}"), &inside))?;
    }
    writer.finish()?;
    Ok(unpacked)
}

fn document(name: &str, inside: &str) -> String {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<ODX MODEL-VERSION=\"2.2.0\" xmlns:xsi=\"http://www.w3.org/2001/XMLSchema-instance\">\
         <DIAG-LAYER-CONTAINER ID=\"DLC.{name}\"><SHORT-NAME>{name}</SHORT-NAME>{inside}</DIAG-LAYER-CONTAINER></ODX>\n"
    )
}

fn coded(bits: usize) -> String {
    format!(
        "<DIAG-CODED-TYPE BASE-DATA-TYPE=\"A_UINT32\" xsi:type=\"STANDARD-LENGTH-TYPE\"><BIT-LENGTH>{bits}</BIT-LENGTH></DIAG-CODED-TYPE>"
    )
}

fn base() -> Result<String, std::fmt::Error> {
    let mut text = String::from(
        "<BASE-VARIANT ID=\"BV\"><SHORT-NAME>Wren</SHORT-NAME><DIAG-DATA-DICTIONARY-SPEC><DATA-OBJECT-PROPS>",
    );
    for at in 0..OBJECTS {
        let method = if at % 2 == 0 {
            format!(
                "<CATEGORY>LINEAR</CATEGORY><COMPU-INTERNAL-TO-PHYS><COMPU-SCALES><COMPU-SCALE><COMPU-RATIONAL-COEFFS><COMPU-NUMERATOR><V>{at}</V><V>5</V></COMPU-NUMERATOR><COMPU-DENOMINATOR><V>2</V></COMPU-DENOMINATOR></COMPU-RATIONAL-COEFFS></COMPU-SCALE></COMPU-SCALES></COMPU-INTERNAL-TO-PHYS>"
            )
        } else {
            let mut scales = String::new();
            for one in 0..4 {
                write!(
                    scales,
                    "<COMPU-SCALE><LOWER-LIMIT>{one}</LOWER-LIMIT><UPPER-LIMIT>{one}</UPPER-LIMIT><COMPU-CONST><VT>state {one}</VT></COMPU-CONST></COMPU-SCALE>"
                )?;
            }
            format!(
                "<CATEGORY>TEXTTABLE</CATEGORY><COMPU-INTERNAL-TO-PHYS><COMPU-SCALES>{scales}</COMPU-SCALES></COMPU-INTERNAL-TO-PHYS>"
            )
        };
        let physical = if at % 2 == 0 { "A_FLOAT64" } else { "A_UNICODE2STRING" };
        write!(
            text,
            "<DATA-OBJECT-PROP ID=\"D{at}\"><SHORT-NAME>D{at}</SHORT-NAME><COMPU-METHOD>{method}</COMPU-METHOD>{}<PHYSICAL-TYPE BASE-DATA-TYPE=\"{physical}\"/></DATA-OBJECT-PROP>",
            coded(8)
        )?;
    }
    text += "</DATA-OBJECT-PROPS></DIAG-DATA-DICTIONARY-SPEC></BASE-VARIANT>";
    Ok(text)
}

fn variant(text: &mut String, number: usize) -> std::fmt::Result {
    let (mut comms, mut requests, mut responses) = (String::new(), String::new(), String::new());
    for record in 0..RECORDS {
        let id = format!("V{number}.{record}");
        write!(
            comms,
            "<DIAG-SERVICE ID=\"DS.{id}\"><SHORT-NAME>Read_{record}</SHORT-NAME><REQUEST-REF ID-REF=\"RQ.{id}\"/><POS-RESPONSE-REFS><POS-RESPONSE-REF ID-REF=\"PR.{id}\"/></POS-RESPONSE-REFS></DIAG-SERVICE>"
        )?;
        let constant = |name: &str, byte: usize, bits: usize, value: usize| {
            format!(
                "<PARAM xsi:type=\"CODED-CONST\"><SHORT-NAME>{name}</SHORT-NAME><BYTE-POSITION>{byte}</BYTE-POSITION><CODED-VALUE>{value}</CODED-VALUE>{}</PARAM>",
                coded(bits)
            )
        };
        write!(
            requests,
            "<REQUEST ID=\"RQ.{id}\"><SHORT-NAME>RQ_{record}</SHORT-NAME><PARAMS>{}{}</PARAMS></REQUEST>",
            constant("Sid", 0, 8, 0x22),
            constant("Did", 1, 16, 0x2000 + record)
        )?;
        write!(
            responses,
            "<POS-RESPONSE ID=\"PR.{id}\"><SHORT-NAME>PR_{record}</SHORT-NAME><PARAMS>{}{}",
            constant("Sid", 0, 8, 0x62),
            constant("Did", 1, 16, 0x2000 + record)
        )?;
        for value in 0..VALUES {
            let object = (number * 7 + record * 5 + value) % OBJECTS;
            write!(
                responses,
                "<PARAM SEMANTIC=\"DATA\" xsi:type=\"VALUE\"><SHORT-NAME>Value_{value}</SHORT-NAME><LONG-NAME>Value {value} of record {record}</LONG-NAME><BYTE-POSITION>{}</BYTE-POSITION><DOP-REF ID-REF=\"D{object}\" DOCREF=\"Base\" DOCTYPE=\"CONTAINER\"/></PARAM>",
                3 + value
            )?;
        }
        responses += "</PARAMS></POS-RESPONSE>";
    }
    write!(
        text,
        "<ECU-VARIANT ID=\"EV{number}\"><SHORT-NAME>Wren_{number}</SHORT-NAME><DIAG-COMMS>{comms}</DIAG-COMMS><REQUESTS>{requests}</REQUESTS>\
         <POS-RESPONSES>{responses}</POS-RESPONSES><PARENT-REFS><PARENT-REF ID-REF=\"BV\" DOCREF=\"Base\" DOCTYPE=\"CONTAINER\" xsi:type=\"BASE-VARIANT-REF\"/></PARENT-REFS></ECU-VARIANT>"
    )
}
