//! A book of 5,000 entries stays light, and a browser bears it.
//!
//! `cargo test -p asfound-report --test large_book -- --ignored --nocapture` measures how, in headless Chromium (Debian's package
//! `chromium`), and writes what stands in `docs/performance.md`.

#[path = "../../../tests/tests/browser/chromium.rs"]
#[allow(dead_code, reason = "the tests that it was written for need more of it")]
mod chromium;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::entry::{
    Author, Body, Effects, Entry, IdentityEffect, ModuleCoverage, ReadingBody, ReadingRole, Reason, RecordEffect,
    Vehicle, WorkBody,
};
use asfound_core::history::History;
use asfound_core::identity::Identity;
use asfound_core::names::{EntryNumber, RecordName};
use asfound_core::value::HexBytes;
use asfound_report::sheet::SealShown;
use asfound_report::{BookBuilder, BookRequest, Language, book_page};
use time::Duration;
use time::macros::datetime;

const RECORDS: u8 = 8;

/// A module with eight records of five settings each.
fn definition() -> String {
    let mut text =
        "format = \"asfound-definition/1\"\nid = \"large\"\ntitle = \"Body\"\n\n[applies_to]\nmodule = \"body\"\n"
            .to_owned();
    for record in 0..RECORDS {
        text += &format!("\n[records.0D0{record}]\nlabel = \"Group {record}\"\nlength = 5\n");
        for byte in 0..5 {
            text += &format!(
                "\n[settings.group_{record}_item_{byte}]\nlabel = \"Item {byte} of group {record}\"\nrecord = \"0D0{record}\"\n\
                 byte = {byte}\nbit = 0\nbits = 8\ntype = \"integer\"\ntags = [\"comfort\"]\n"
            );
        }
    }
    text
}

fn name(record: u8) -> RecordName {
    format!("0D0{record}").parse().expect("a record")
}

/// An enrolment, a reading, then nine changes and a reading again and again.
fn journal(count: u32) -> (Vec<Entry>, DefinitionSet) {
    let mut definitions = DefinitionSet::new();
    definitions.add(Definition::parse(&definition()).expect("a sound definition").definition).expect("one definition");
    let module: asfound_core::names::ModuleName = "body".parse().expect("a module");
    let mut contents = [[0_u8; 5]; RECORDS as usize];
    let mut entries = Vec::new();
    let start = datetime!(2020-01-02 08:00 +1);
    for number in 1..=count {
        let body = match number {
            1 => {
                Body::Enrolled(Vehicle { tag: "wren".parse().expect("a tag"), vin: None, about: None, enrolled: start })
            }
            number if number % 10 == 2 => {
                let first = number == 2;
                let mut effects = Effects::default();
                if first {
                    effects.identities.push(IdentityEffect {
                        module: module.clone(),
                        found: Identity::default(),
                        left: Identity { software: Some("0130".to_owned()), ..Identity::default() },
                    });
                    effects.records = (0..RECORDS)
                        .map(|record| RecordEffect {
                            module: module.clone(),
                            record: name(record),
                            found: None,
                            left: HexBytes::from(contents[usize::from(record)].to_vec()),
                        })
                        .collect();
                }
                let covered = ModuleCoverage { records: (0..RECORDS).map(name).collect(), ..ModuleCoverage::default() };
                Body::Reading(ReadingBody {
                    role: if first { ReadingRole::AsFound } else { ReadingRole::Check },
                    partial: false,
                    by: None,
                    tool: None,
                    odometer_km: Some(10_000 + number),
                    supply_voltage: None,
                    situation: asfound_core::situation::Situation::default(),
                    covered: [(module.clone(), covered)].into(),
                    effects,
                    late: std::collections::BTreeMap::new(),
                })
            }
            number => {
                let record = u8::try_from(number * 7 % u32::from(RECORDS)).expect("small");
                let byte = usize::try_from(number / 8 % 5).expect("small");
                let bytes = &mut contents[usize::from(record)];
                let found = HexBytes::from(bytes.to_vec());
                bytes[byte] = u8::try_from((u32::from(bytes[byte]) + number % 11 + 1) % 12).expect("small");
                let left = HexBytes::from(bytes.to_vec());
                let effect = RecordEffect { module: module.clone(), record: name(record), found: Some(found), left };
                Body::Change(WorkBody {
                    settings: vec![format!("body.group_{record}_item_{byte}").parse().expect("a setting")],
                    effects: Effects { records: vec![effect], ..Effects::default() },
                    ..WorkBody::default()
                })
            }
        };
        let at = start + Duration::hours(i64::from(number) * 9);
        entries.push(Entry {
            number: EntryNumber::new(number).expect("from 1"),
            recorded: at,
            happened: at,
            precision: asfound_core::moment::Precision::Second,
            author: Author::new("Bench 2", None).expect("a name"),
            why: Reason::try_from(format!("the owner would like it otherwise, visit {number}")).expect("a reason"),
            body,
        });
    }
    (entries, definitions)
}

/// The page of a book of that many entries.
fn page_of(count: u32) -> String {
    let (entries, definitions) = journal(count);
    let history = History::trace(&entries, &definitions).expect("the journal can be traced");
    let seal = SealShown { entries: count.into(), full: format!("{count}:0"), short: format!("{count:05}") };
    let printed = datetime!(2026-03-16 17:00 +1);
    let order = BookRequest { definitions: &definitions, history: &history, seal, printed, language: Language::En };
    let mut binding = BookBuilder::begin(order);
    entries.iter().for_each(|entry| binding.push(entry));
    let book = binding.finish().expect("an enrolment");
    assert_eq!(book.lines(), 36);
    book_page(&book)
}

#[test]
fn five_thousand_entries_make_a_light_page() {
    let page = page_of(5_000);
    assert_eq!(page.matches("<div class=\"e f\"").count(), 5_000);
    // Measured: 2.4 million bytes; `docs/performance.md` says how a browser bears it.
    assert!(page.len() < 3_500_000, "{} bytes", page.len());
}

/// Searches for a word as if it were typed, and gives the milliseconds until the frame after it is drawn.
const SEARCH: &str = "new Promise(done => {
  const box = document.getElementById('find'), begun = performance.now();
  box.value = 'WORD';
  box.dispatchEvent(new Event('input'));
  requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - begun)));
})";

/// Scrolls what scrolls through content that was not shown before, 120 frames of half a window, and gives the milliseconds from
/// each frame to the next.
const SCROLL: &str = "new Promise(done => {
  const list = document.querySelector('.beside'), own = list.scrollHeight > list.clientHeight + 10, times = [];
  let last;
  const step = now => {
    if (last !== undefined) times.push(now - last);
    last = now;
    if (times.length === 120) return done(times);
    scrollBy(0, innerHeight / 2);
    if (own) list.scrollBy(0, list.clientHeight / 2);
    requestAnimationFrame(step);
  };
  requestAnimationFrame(step);
})";

/// The middle one and the greatest.
fn middle_and_most(mut values: Vec<f64>) -> (f64, f64) {
    values.sort_by(f64::total_cmp);
    (values[values.len() / 2], values[values.len() - 1])
}

/// The one-minute load of the machine, where it tells.
fn load() -> String {
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    load.split(' ').next().unwrap_or_default().to_owned()
}

#[test]
#[ignore = "measures in Chromium; run with `-- --ignored --nocapture` where it is installed"]
#[allow(clippy::print_stdout, reason = "what it measures is for people")]
fn a_browser_bears_it() {
    const RUNS: usize = 5;
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("large-book");
    std::fs::create_dir_all(&folder).expect("a folder can be made");
    let page = page_of(5_000);
    std::fs::write(folder.join("book.html"), &page).expect("a file can be written");
    let before = load();
    let mut rows = Vec::new();
    let mut version = String::new();
    let mut elements = 0;
    for width in [1400, 360] {
        let names =
            ["first content", "loaded", "first search", "later searches", "scrolling, a frame", "slowest frame"];
        let mut figures: Vec<Vec<f64>> = vec![Vec::new(); names.len()];
        for _ in 0..RUNS {
            let mut browser = chromium::Browser::start(&folder);
            version = browser.value("navigator.userAgent").as_str().unwrap_or_default().to_owned();
            browser.width(width);
            browser.open(&chromium::address(&folder, "book.html"));
            let number = |value: serde_json::Value| value.as_f64().expect("a number");
            let paint = "new Promise(done => new PerformanceObserver(list => done(list.getEntries()[0].startTime))\
                         .observe({ type: 'paint', buffered: true }))";
            figures[0].push(number(browser.value(paint)));
            figures[1].push(number(browser.value("performance.getEntriesByType('navigation')[0].loadEventEnd")));
            elements = browser.value("document.querySelectorAll('*').length").as_u64().expect("a count");
            let frames = browser.value(SCROLL);
            let frames: Vec<f64> = frames.as_array().expect("a list").iter().filter_map(|time| time.as_f64()).collect();
            let (middle, most) = middle_and_most(frames);
            figures[4].push(middle);
            figures[5].push(most);
            figures[2].push(number(browser.value(&SEARCH.replace("WORD", "item_3"))));
            for word in ["visit 47", "group_2", "bench", ""] {
                figures[3].push(number(browser.value(&SEARCH.replace("WORD", word))));
            }
            let (asked, complained) = browser.asked_and_complained();
            assert!(asked.is_empty() && complained.is_empty(), "{asked:?} {complained:?}");
        }
        for (name, values) in names.iter().zip(figures) {
            let (middle, most) = middle_and_most(values);
            rows.push(format!("| {width} | {name} | {middle:.0} | {most:.0} |"));
            assert!(middle < 5_000.0, "{name} at {width}: {middle} ms");
        }
    }
    let version = version.split(' ').find(|word| word.contains("Chrome/")).unwrap_or_default().replace("Headless", "");
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    println!(
        "\n<!-- book: begin; written by `cargo test -p asfound-report --test large_book -- --ignored --nocapture` -->"
    );
    let tenths = page.len() / 100_000;
    println!("One file of {}.{} MB with {elements} elements.", tenths / 10, tenths % 10);
    println!(
        "Headless {version} without a graphics card, {RUNS} runs, on a machine with {cores} processors and a load of {before}"
    );
    println!("before and {} after.\n", load());
    println!("| window | milliseconds until | median | most |\n| ---: | --- | ---: | ---: |");
    rows.iter().for_each(|row| println!("{row}"));
    println!("<!-- book: end -->");
}
