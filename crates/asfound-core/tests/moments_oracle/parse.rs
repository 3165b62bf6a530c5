//! The recorded histories in their short form, which `tests/oracles/moments_histories.py` describes in `line`.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, BufReader};
use std::path::Path;

use asfound_core::moment::Precision;
use flate2::read::GzDecoder;

pub const FIELDS: [&str; 5] = ["body.fade", "body.flashes", "body.fold", "cluster.chime", "seat.heat"];
pub const CHIMES: [&str; 4] = ["10", "30", "50", "70"];

/// One history with the answer of the model and the truth behind it.
#[derive(Debug)]
pub struct Recorded {
    pub seed: u64,
    /// In minutes.
    pub offset: i64,
    /// In minutes since 1970.
    pub begin: i64,
    pub facts: Vec<Fact>,
    pub state: Vec<Said>,
    /// For each field: entry and origin.
    pub steps: Vec<Vec<(u32, String)>>,
    /// For each field: entry and proof.
    pub proofs: Vec<BTreeMap<u32, String>>,
    pub truth: Truth,
}

/// What one entry tells, and when.
#[derive(Debug)]
pub struct Fact {
    /// Minutes after the entry before.
    pub since: i64,
    /// Minutes from when it happened to when it was filed.
    pub lag: i64,
    pub precision: Precision,
    pub told: Told,
}

#[derive(Debug)]
pub enum Told {
    Reading(Vec<Said>),
    Work(Vec<Alteration>),
    NeverMade(u32, Vec<Alteration>),
}

/// What one module said: its unit, its records, its settings by value.
#[derive(Debug, PartialEq, Eq)]
pub struct Said {
    pub module: &'static str,
    pub serial: Option<String>,
    pub records: BTreeMap<&'static str, Vec<u8>>,
    pub values: BTreeMap<&'static str, String>,
}

/// A record or a setting by value that became another.
#[derive(Debug)]
pub struct Alteration {
    pub module: &'static str,
    pub what: What,
    pub late: bool,
}

#[derive(Debug)]
pub enum What {
    Record { name: &'static str, found: Vec<u8>, left: Vec<u8> },
    Value { name: &'static str, found: String, left: String },
}

/// What truly happened. Times are counted happenings, units the digit of their serial number.
#[derive(Debug)]
pub struct Truth {
    /// When what each entry tells of happened; entry 1 first.
    pub order: Vec<i64>,
    /// Alterations without an entry: when, place of the field, unit.
    pub unrecorded: Vec<(i64, usize, char)>,
    /// Work that was never made.
    pub lies: BTreeSet<u32>,
    /// Units exchanged: when, in which module.
    pub swaps: Vec<(i64, &'static str)>,
    /// The unit that each work was truly done on.
    pub units: BTreeMap<u32, char>,
}

struct Shape {
    module: &'static str,
    letter: char,
    records: &'static [&'static str],
    values: &'static [&'static str],
}

const SHAPES: [Shape; 3] = [
    Shape { module: "body", letter: 'b', records: &["0D01", "0D02"], values: &[] },
    Shape { module: "seat", letter: 's', records: &["2A01"], values: &[] },
    Shape { module: "cluster", letter: 'c', records: &["3B01"], values: &["chime"] },
];

pub fn all() -> Vec<Recorded> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/moments/histories.txt.gz");
    let file = std::fs::File::open(&path).unwrap_or_else(|why| panic!("{}: {why}", path.display()));
    BufReader::new(GzDecoder::new(file)).lines().map(|line| recorded(&line.unwrap())).collect()
}

fn recorded(line: &str) -> Recorded {
    let parts: Vec<&str> = line.split('|').collect();
    let [head, facts, state, steps, proofs, order, truth] = parts[..] else { panic!("seven parts: {line}") };
    let head: Vec<i64> = head.split(' ').map(|number| number.parse().unwrap()).collect();
    let facts: Vec<Fact> = facts.split(';').map(fact).collect();
    let works = facts.iter().enumerate().filter(|(_, fact)| matches!(fact.told, Told::Work(_)));
    let works: Vec<u32> = works.map(|(place, _)| u32::try_from(place).unwrap() + 2).collect();
    Recorded {
        seed: u64::try_from(head[0]).unwrap(),
        offset: head[1],
        begin: head[2],
        state: words(state).map(said).collect(),
        steps: steps.split(',').map(|of| words(of).map(numbered).collect()).collect(),
        proofs: proofs.split(',').map(|of| words(of).map(numbered).collect()).collect(),
        truth: read_truth(truth, order, &works),
        facts,
    }
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(' ').filter(|word| !word.is_empty())
}

/// `12k5` is entry 12 and `k5`.
fn numbered(word: &str) -> (u32, String) {
    let (number, rest) = split_number(word);
    (u32::try_from(number).unwrap(), rest.to_owned())
}

fn split_number(text: &str) -> (i64, &str) {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    (text[..end].parse().unwrap_or_else(|_| panic!("a number: {text}")), &text[end..])
}

fn fact(text: &str) -> Fact {
    let mut words = words(text);
    let head = words.next().unwrap();
    let (kind, head) = head.split_at(1);
    let (since, rest) = split_number(head);
    let (lag, rest) = rest.strip_prefix('-').map_or((0, rest), split_number);
    let precision = match rest {
        "" => Precision::Second,
        "d" => Precision::Day,
        "m" => Precision::Month,
        _ => panic!("a precision: {text}"),
    };
    let told = match kind {
        "r" => Told::Reading(words.map(said).collect()),
        "w" => Told::Work(words.map(alteration).collect()),
        "c" => Told::NeverMade(words.next().unwrap().parse().unwrap(), words.map(alteration).collect()),
        _ => panic!("a kind: {text}"),
    };
    Fact { since, lag, precision, told }
}

fn shape(letter: char) -> &'static Shape {
    SHAPES.iter().find(|shape| shape.letter == letter).unwrap_or_else(|| panic!("a module: {letter}"))
}

fn said(word: &str) -> Said {
    let shape = shape(word.chars().next().unwrap());
    let (unit, parts) = word[1..].split_once(':').unwrap();
    let mut parts = parts.split('/');
    let mut given = |name: &&'static str| {
        let part = parts.next().unwrap();
        (part != "-").then_some((*name, part))
    };
    let records = shape.records.iter().filter_map(&mut given).map(|(name, part)| (name, digits(part))).collect();
    let values = shape.values.iter().filter_map(&mut given).map(|(name, part)| (name, chime(part))).collect();
    let serial = (unit != "0").then(|| format!("{}{unit}", shape.letter.to_ascii_uppercase()));
    Said { module: shape.module, serial, records, values }
}

fn digits(text: &str) -> Vec<u8> {
    text.chars().map(|digit| u8::try_from(digit.to_digit(16).unwrap()).unwrap()).collect()
}

fn chime(text: &str) -> String {
    CHIMES[text.parse::<usize>().unwrap()].to_owned()
}

fn alteration(word: &str) -> Alteration {
    let shape = shape(word.chars().next().unwrap());
    let (place, rest) = split_number(&word[1..]);
    let (late, rest) = rest.strip_suffix('~').map_or((false, rest), |rest| (true, rest));
    let (found, left) = rest[1..].split_once('>').unwrap();
    let place = usize::try_from(place).unwrap();
    let what = match shape.records.get(place) {
        Some(name) => What::Record { name, found: digits(found), left: digits(left) },
        None => What::Value { name: shape.values[place - shape.records.len()], found: chime(found), left: chime(left) },
    };
    Alteration { module: shape.module, what, late }
}

fn read_truth(text: &str, order: &str, works: &[u32]) -> Truth {
    let parts: Vec<&str> = text.split(',').collect();
    let [unrecorded, lies, swaps, units] = parts[..] else { panic!("four parts: {text}") };
    let placed = |text: &str| {
        let of = |word: &str| {
            let parts: Vec<&str> = word.split('.').collect();
            (parts[0].parse().unwrap(), parts[1].parse().unwrap(), parts[2].chars().next().unwrap())
        };
        words(text).map(of).collect()
    };
    let mut at = 0;
    let later = words(order).map(|step| {
        at += step.parse::<i64>().unwrap();
        at
    });
    let swap = |word: &str| {
        let (at, module) = split_number(word);
        (at, shape(module.chars().next().unwrap()).module)
    };
    Truth {
        order: std::iter::once(0).chain(later).collect(),
        unrecorded: placed(unrecorded),
        lies: words(lies).map(|entry| entry.parse().unwrap()).collect(),
        swaps: words(swaps).map(swap).collect(),
        units: works.iter().copied().zip(units.chars()).collect(),
    }
}
