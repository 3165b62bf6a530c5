//! The bytes of records that differ, laid side by side.

use asfound_core::difference::{AlteredBits, ByteRun, ComparisonVerdict, ModuleComparison};
use asfound_core::value::HexBytes;

/// How wide a line may be, in characters: that of the narrowest page in use, without a listing's indent.
const WIDTH: usize = 76;
/// How many bytes that differ stand in one pair of brackets.
const TOGETHER: usize = 8;

/// For every record of a module that differs: its name, then its content on both sides, what differs in brackets.
pub fn record_lines(module: &ModuleComparison) -> Vec<String> {
    let mut lines = Vec::new();
    for record in module.records.iter().filter(|record| record.verdict == ComparisonVerdict::Changed) {
        let bytes = |side: &Option<HexBytes>| side.clone().unwrap_or_default();
        let (found, left) = (bytes(&record.found), bytes(&record.left));
        let undeclared = if record.undeclared.is_empty() {
            String::new()
        } else {
            let bits = AlteredBits::of(&record.undeclared, Some(found.as_slice()), Some(left.as_slice()));
            format!("; undeclared: {bits}")
        };
        let head = format!("{} record {}{undeclared}", module.module, record.record);
        let options = textwrap::Options::new(WIDTH).subsequent_indent("  ");
        lines.extend(textwrap::wrap(&head, options).into_iter().map(|line| line.into_owned()));
        lines.extend(pairs(&record.runs.iter().flat_map(cells).collect::<Vec<_>>()));
    }
    lines
}

/// What stands above each other.
type Cell = (String, String);

fn cells(run: &ByteRun) -> Vec<Cell> {
    match run {
        ByteRun::Same { bytes, .. } => {
            let text = format!(" {}", abridged(&bytes.to_string()));
            vec![(text.clone(), text)]
        }
        ByteRun::Different { found, left, .. } => {
            let (mut a, mut b) = (found.as_slice().chunks(TOGETHER), left.as_slice().chunks(TOGETHER));
            let mut cells = Vec::new();
            loop {
                let (found, left) = (a.next(), b.next());
                if found.is_none() && left.is_none() {
                    return cells;
                }
                let text = |bytes: Option<&[u8]>| HexBytes::from(bytes.unwrap_or_default().to_vec()).to_string();
                let (found, left) = (text(found), text(left));
                let width = found.len().max(left.len());
                cells.push((format!(" [{found:<width$}]"), format!(" [{left:<width$}]")));
            }
        }
    }
}

/// Sets cells in pairs of lines, as many as fit.
fn pairs(cells: &[Cell]) -> Vec<String> {
    let (above, below) = ("  as found ", "  as left  ");
    let mut lines = Vec::new();
    let (mut found, mut left) = (above.to_owned(), below.to_owned());
    for (a, b) in cells {
        if found.len() > above.len() && found.chars().count() + a.chars().count() > WIDTH {
            lines.extend([
                std::mem::replace(&mut found, above.to_owned()),
                std::mem::replace(&mut left, below.to_owned()),
            ]);
        }
        found.push_str(a);
        left.push_str(b);
    }
    lines.extend([found, left]);
    lines
}

/// A long run of bytes that are the same is shown by its ends.
fn abridged(bytes: &str) -> String {
    const ENDS: usize = 5;
    if bytes.len() <= 2 * ENDS + 8 {
        return bytes.to_owned();
    }
    format!("{} … {}", &bytes[..ENDS], &bytes[bytes.len() - ENDS..])
}
