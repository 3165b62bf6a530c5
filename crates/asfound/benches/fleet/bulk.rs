//! What it takes to file the readings of many cars at once.

use std::fmt::Write as _;
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::Path;
use std::process::Stdio;
use std::time::Instant;

use crate::append::hex;
use crate::measure::{high_water, milliseconds};
use crate::{git, grouped, millions};

/// Modules of each car, and records of each module.
const FEW: usize = 3;

/// Files so many readings of so many cars from one stream, into a garage that is not there yet.
pub(crate) fn section(cars: u32, each: u32) -> String {
    let folder = tempfile::tempdir().unwrap();
    let (place, stream) = (folder.path().join("garage"), folder.path().join("readings.jsonl"));
    write(&stream, cars, each);
    let start = Instant::now();
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_asfound"))
        .args(["--garage", &place.display().to_string(), "--author", "Edda Brandt", "--json"])
        .args(["import", "-", "--enrol", "--partial"])
        .stdin(File::open(&stream).unwrap())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let most = high_water(&mut child);
    let elapsed = start.elapsed();
    let output = child.wait_with_output().unwrap();
    let said: String = String::from_utf8(output.stdout).unwrap().split_whitespace().collect();
    assert!(said.contains(&format!("\"filed\":{},", cars * each)), "{said}");
    // The enrolment is an entry too.
    let entries = u64::from(cars) * u64::from(each + 1);
    let rate = u128::from(entries) * 1_000 / elapsed.as_millis().max(1);
    format!(
        "\n### Many cars at once\n\n{} cars of {each} readings, {FEW} modules of {FEW} records each, one record altered from one to \
         the next, as one stream to `import - --enrol --partial`: {} entries in {}, {} a second, until they would survive a power \
         cut, with {} MB of memory; {} MB on the disk.\n",
        grouped(u64::from(cars)),
        grouped(entries),
        milliseconds(elapsed),
        grouped(u64::try_from(rate).unwrap()),
        most.div_ceil(1024),
        millions(git::size(&place.join("journals.git"))),
    )
}

/// One reading a line, those of one car behind each other.
fn write(file: &Path, cars: u32, each: u32) {
    let mut stream = BufWriter::new(File::create(file).unwrap());
    let mut chance = 1_u64;
    let mut next = move || {
        chance = chance.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        chance.to_be_bytes()[0]
    };
    for car in 0..cars {
        let mut records = [[[0; 16]; FEW]; FEW];
        records.iter_mut().flatten().flatten().for_each(|byte| *byte = next());
        for reading in 0..each {
            let at = usize::try_from(reading).unwrap();
            records[at % FEW][at / FEW % FEW][usize::from(next() % 16)] ^= 1 + next() % 255;
            let mut modules = String::new();
            for (module, records) in records.iter().enumerate() {
                let comma = if module == 0 { "" } else { "," };
                let [a, b, c] = records.each_ref().map(|bytes| hex(bytes));
                write!(
                    modules,
                    "{comma}\"m{module}\":{{\"part_number\":\"P{module}\",\"software\":\"1\",\"records\":\
                     {{\"0D00\":\"{a}\",\"0D01\":\"{b}\",\"0D02\":\"{c}\"}}}}"
                )
                .unwrap();
            }
            let (month, day) = (reading / 28 % 12 + 1, reading % 28 + 1);
            writeln!(
                stream,
                "{{\"format\":\"asfound-reading/1\",\"vehicle\":\"car-{car:05}\",\"taken\":\"2026-{month:02}-{day:02}T08:00:00Z\",\
                 \"by\":\"Edda Brandt\",\"tool\":\"a tester\",\"modules\":{{{modules}}}}}"
            )
            .unwrap();
        }
    }
    stream.flush().unwrap();
}
