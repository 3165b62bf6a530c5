//! Two states side by side, in words.

use asfound_core::difference::{
    AlteredBits, CodeComparison, Comparison, ComparisonVerdict, ModuleComparison, RecordComparison,
};
use asfound_core::names::EntryNumber;
use asfound_core::sameness::Incomparable;
use asfound_core::trouble_code::ReportedCode;
use asfound_core::value::HexBytes;
use time::OffsetDateTime;

use super::{Block, Cell, ColumnHead, Grid, Printed, PrintedPart};
use crate::language::{Language, Numbers};
use crate::page::NOTHING;
use crate::shown::shown;

/// One side of a comparison.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ComparedSide {
    /// The vehicle at this entry.
    Entry(EntryNumber),
    /// A vehicle as it is, by its tag.
    Vehicle(String),
}

impl ComparedSide {
    fn name(&self, language: Language) -> String {
        match self {
            Self::Entry(number) => format!("{} {number}", language.words().entry),
            Self::Vehicle(tag) => shown(tag),
        }
    }
}

/// The two sides of a comparison.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ComparedSides {
    /// What stands on the left.
    pub found: ComparedSide,
    /// What stands on the right.
    pub left: ComparedSide,
    /// The vehicle, or both.
    pub about: String,
    /// When it was printed.
    pub printed: OffsetDateTime,
}

/// Puts a comparison into words.
pub fn compared(comparison: &Comparison, sides: &ComparedSides, language: Language) -> Printed<'static> {
    let words = language.words();
    let (found, left) = (sides.found.name(language), sides.left.name(language));
    let part = PrintedPart::new;
    Printed {
        language,
        at: sides.printed,
        title: words.comparison.to_owned(),
        about: format!("{} · {}", shown(&sides.about), language.moment(sides.printed)),
        span: None,
        letterhead: Vec::new(),
        logo: None,
        number: format!("{found} → {left}"),
        parts: vec![
            part(words.differences, settings(comparison, (&found, &left), language)),
            part(words.bytes_that_differ, records(comparison, (&found, &left), language)),
            part(words.trouble_codes, codes(comparison, language)),
            part(words.records, verdicts(comparison, language)),
        ],
        footer: None,
        end: words.end.to_owned(),
    }
}

fn grid(caption: &str, heads: Vec<ColumnHead>, rows: Vec<Vec<Cell>>) -> Vec<Block<'static>> {
    if rows.is_empty() {
        return vec![Block::Line(NOTHING.to_owned())];
    }
    vec![Block::Grid(Grid { caption: caption.to_owned(), heads, rows: rows.into() })]
}

fn settings(comparison: &Comparison, (found, left): (&str, &str), language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let mut rows = Vec::new();
    for module in &comparison.modules {
        let told = |name: String, doubt: Option<Incomparable>| match doubt {
            None => Cell::of(name),
            Some(_) => Cell::of(name).and(words.cannot_tell.to_owned()),
        };
        for part in &module.identity {
            let what = match part.what {
                "part number" => words.part_number,
                "hardware" => words.hardware,
                "software" => words.software,
                _ => words.serial,
            };
            rows.push(vec![
                told(format!("{}: {what}", module.module), part.doubt),
                Cell::of(shown(&part.found)),
                Cell::of(shown(&part.left)),
            ]);
        }
        for setting in &module.settings {
            let side = |content: Option<&asfound_core::difference::Content>| {
                Cell::of(content.map_or(NOTHING.to_owned(), |content| language.content(content)))
            };
            rows.push(vec![
                Cell::of(format!("{}.{}", module.module, setting.setting)),
                side(setting.found.as_ref()),
                side(setting.left.as_ref()),
            ]);
        }
        for setting in &module.settings_undecided {
            rows.push(vec![
                told(format!("{}.{}", module.module, setting.setting), Some(setting.why)),
                Cell::of(language.content(&setting.found)),
                Cell::of(language.content(&setting.left)),
            ]);
        }
    }
    if rows.is_empty() {
        return vec![Block::Line(words.no_difference.to_owned())];
    }
    let heads = vec![ColumnHead::text(words.setting, 3), ColumnHead::text(found, 2), ColumnHead::text(left, 2)];
    grid(words.differences, heads, rows)
}

fn records(comparison: &Comparison, (found, left): (&str, &str), language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let changed = comparison
        .modules
        .iter()
        .flat_map(|module| module.records.iter().map(move |record| (module, record)))
        .filter(|(_, record)| record.verdict == ComparisonVerdict::Changed);
    let side = |bytes: Option<&HexBytes>| Cell::of(bytes.map_or(NOTHING.to_owned(), ToString::to_string));
    let rows = changed.map(|(module, record)| {
        let name = Cell::of(format!("{}:{}", module.module, record.record));
        let name = match record.undeclared.count() {
            0 => name,
            _ => name.and(format!("{}: {}", words.undeclared, altered_bits(record, language))),
        };
        vec![name, side(record.found.as_ref()), side(record.left.as_ref())]
    });
    let heads = vec![ColumnHead::text(words.record, 3), ColumnHead::text(found, 5), ColumnHead::text(left, 5)];
    grid(words.bytes_that_differ, heads, rows.collect())
}

/// Bits that no definition names, with what they hold on both sides.
fn altered_bits(record: &RecordComparison, language: Language) -> String {
    let side = |bytes: &Option<HexBytes>| bytes.clone().unwrap_or_default();
    let (found, left) = (side(&record.found), side(&record.left));
    let bits = AlteredBits::of(&record.undeclared, Some(found.as_slice()), Some(left.as_slice()));
    language.place(&bits.to_string())
}

/// The codes of modules that have any, then the modules that have none.
fn codes(comparison: &Comparison, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let list = |codes: &[ReportedCode]| {
        if codes.is_empty() {
            return NOTHING.to_owned();
        }
        codes.iter().map(|reported| shown(&reported.code.to_string())).collect::<Vec<_>>().join(", ")
    };
    let (mut rows, mut none, mut not_read) = (Vec::new(), Vec::new(), Vec::new());
    for module in &comparison.modules {
        match &module.codes {
            CodeComparison::NotExamined => not_read.push(module.module.to_string()),
            CodeComparison::Examined(groups) if groups.is_empty() => none.push(module.module.to_string()),
            CodeComparison::Examined(groups) => rows.push(vec![
                Cell::of(module.module.to_string()),
                Cell::of(list(&groups.there_before)),
                Cell::of(list(&groups.new)),
                Cell::of(list(&groups.gone)),
            ]),
        }
    }
    let heads = vec![
        ColumnHead::text(words.module, 3),
        ColumnHead::text(words.head_there_before, 5),
        ColumnHead::text(words.head_new, 4),
        ColumnHead::text(words.head_gone, 4),
    ];
    let mut blocks = if rows.is_empty() { Vec::new() } else { grid(words.trouble_codes, heads, rows) };
    let listed = |modules: Vec<String>| if modules.is_empty() { NOTHING.to_owned() } else { modules.join(", ") };
    blocks.push(Block::Pairs(vec![
        (words.no_codes.to_owned(), listed(none)),
        (words.not_scanned.to_owned(), listed(not_read)),
    ]));
    blocks
}

fn verdicts(comparison: &Comparison, language: Language) -> Vec<Block<'static>> {
    let words = language.words();
    let rows = comparison.modules.iter().map(|module: &ModuleComparison| {
        let count = |verdict| module.records.iter().filter(|record| record.verdict == verdict).count().to_string();
        let compared: usize = module.records.iter().map(|record| record.compared).sum();
        vec![
            Cell::of(module.module.to_string()),
            Cell::of(count(ComparisonVerdict::Same)),
            Cell::of(count(ComparisonVerdict::Changed)),
            Cell::of(count(ComparisonVerdict::NotRead)),
            Cell::of(count(ComparisonVerdict::Refused)),
            Cell::of(language.whole(compared as u64)),
        ]
    });
    let heads = vec![
        ColumnHead::text(words.module, 3),
        ColumnHead::figures(words.same, 2),
        ColumnHead::figures(words.changed, 2),
        ColumnHead::figures(words.not_read, 2),
        ColumnHead::figures(words.refused, 2),
        ColumnHead::figures(words.bytes, 3),
    ];
    grid(words.records, heads, rows.collect())
}
