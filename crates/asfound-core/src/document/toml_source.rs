//! TOML, as a tree with places.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};
use toml_parser::Source;

use super::place::PositionIndex;
use super::{Collector, Key, MOST_DEPTH, Node, NodeValue, Problem, Problems, TextPosition, toml_depth};

/// The most syntax errors that are reported; a file that is no TOML at all has one in every line.
const MOST_ERRORS: usize = 20;

/// Reads a TOML document. The problems are all its syntax errors, as far as the parser finds its way again behind one.
///
/// Takes time in proportion to the text and limited stack, whatever the text is.
pub fn parse_toml(text: &str) -> Result<Node, Problems> {
    let places = PositionIndex::new(text);
    toml_depth::check(Source::new(text), &places)?;
    let (root, errors) = DeTable::parse_recoverable(text);
    let collector = Collector::new();
    if !errors.is_empty() {
        report(errors, &places, &collector);
        return Err(collector.into_problems());
    }
    let reader = Reader { text, places, collector };
    let root = Node { value: NodeValue::Table(reader.entries(root.into_inner(), 1)), place: TextPosition::START };
    let problems = reader.collector.into_problems();
    if problems.is_empty() { Ok(root) } else { Err(problems) }
}

fn report(mut errors: Vec<toml::de::Error>, places: &PositionIndex<'_>, collector: &Collector) {
    errors.sort_by_key(|error| error.span().map(|span| span.start));
    errors.dedup_by(|a, b| a.span() == b.span() && a.message() == b.message());
    let more = errors.len().saturating_sub(MOST_ERRORS);
    errors.truncate(MOST_ERRORS);
    for error in errors {
        let place = error.span().map(|span| places.place(span.start));
        collector.add(Problem::error(place, "", format!("not well-formed TOML: {}", error.message())));
    }
    if more > 0 {
        collector.add(Problem::error(None, "", format!("{more} more places are not well-formed TOML")));
    }
}

struct Reader<'t> {
    text: &'t str,
    places: PositionIndex<'t>,
    collector: Collector,
}

impl Reader<'_> {
    fn entries(&self, table: DeTable<'_>, depth: usize) -> Vec<(Key, Node)> {
        let mut entries: Vec<(usize, (Key, Node))> = table
            .into_iter()
            .map(|(key, value)| {
                let start = key.span().start;
                let key = Key { name: key.into_inner().into_owned(), place: self.places.place(start) };
                (start, (key, self.node(value, depth)))
            })
            .collect();
        // The parser sorts keys by name; the order of the file is the one that people know.
        entries.sort_by_key(|(start, _)| *start);
        entries.into_iter().map(|(_, entry)| entry).collect()
    }

    /// The value; `depth` is how many tables and lists it is in.
    fn node(&self, value: Spanned<DeValue<'_>>, depth: usize) -> Node {
        let span = value.span();
        let place = self.places.place(span.start);
        if depth > MOST_DEPTH {
            self.collector.error(place, "", format!("tables and lists nest more than {MOST_DEPTH} deep"));
            return Node { value: NodeValue::Bool(false), place };
        }
        let value = match value.into_inner() {
            DeValue::String(text) => NodeValue::Text(text.into_owned()),
            DeValue::Integer(number) => self.integer(number.as_str(), number.radix(), place),
            DeValue::Float(number) => NodeValue::Decimal(number.as_str().to_owned()),
            DeValue::Boolean(bool) => NodeValue::Bool(bool),
            DeValue::Datetime(time) => {
                NodeValue::Time(self.slice(&span).map_or_else(|| time.to_string(), str::to_owned))
            }
            DeValue::Array(items) => {
                NodeValue::List(items.into_iter().map(|item| self.node(item, depth + 1)).collect())
            }
            DeValue::Table(table) => NodeValue::Table(self.entries(table, depth + 1)),
        };
        Node { value, place }
    }

    fn integer(&self, digits: &str, radix: u32, place: TextPosition) -> NodeValue {
        NodeValue::Integer(i128::from_str_radix(digits, radix).unwrap_or_else(|_| {
            self.collector.error(place, "", "the number has more digits than are accepted");
            0
        }))
    }

    fn slice(&self, span: &Range<usize>) -> Option<&str> {
        self.text.get(span.clone())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(line: usize, column: usize) -> TextPosition {
        TextPosition { line, column }
    }

    #[test]
    fn keeps_order_places_and_exact_numbers() {
        let root = parse_toml(
            "z = 1.50\na = 0x0E # ä\n\"ö\" = [true, 2026-03-14T09:20:00+01:00, 'x']\n\n[t.u]\nk = { n = 10_000 }\n[[r]]\n[[r]]\n",
        )
        .unwrap();
        let names: Vec<_> = root.entries().unwrap().iter().map(|(key, _)| (key.name.as_str(), key.place)).collect();
        assert_eq!(
            names,
            [("z", place(1, 1)), ("a", place(2, 1)), ("ö", place(3, 1)), ("t", place(5, 2)), ("r", place(7, 3))]
        );
        assert_eq!(root.get("z").unwrap().value, NodeValue::Decimal("1.50".into()));
        assert_eq!(root.get("a").unwrap().value, NodeValue::Integer(14));
        let items = root.get("ö").unwrap().items().unwrap();
        assert_eq!(items[0], Node { value: NodeValue::Bool(true), place: place(3, 8) });
        assert_eq!(items[1].value, NodeValue::Time("2026-03-14T09:20:00+01:00".into()));
        assert_eq!(items[2].place, place(3, 41));
        let table = root.get("t").unwrap().get("u").unwrap();
        assert_eq!(table.place, place(5, 1));
        assert_eq!(table.get("k").unwrap().get("n").unwrap().value, NodeValue::Integer(10_000));
        let rows = root.get("r").unwrap().items().unwrap();
        assert_eq!((rows.len(), rows[1].place), (2, place(8, 1)));
    }

    #[test]
    fn names_every_syntax_error() {
        let problems = parse_toml("a = \nb = [1, 2\nc = 1\nc = 2\n[x\n").unwrap_err();
        let lines: Vec<_> = problems.iter().filter_map(|problem| problem.place).map(|place| place.line).collect();
        assert!(lines.contains(&1), "{problems}");
        assert!(problems.len() > 1, "{problems}");
        let problems = parse_toml("c = 1\nc = 2\n").unwrap_err();
        assert_eq!(problems.to_string(), "error: line 2, column 1: not well-formed TOML: duplicate key");
        let problems = parse_toml("n = 999999999999999999999999999999999999999999").unwrap_err();
        assert_eq!(problems.to_string(), "error: line 1, column 5: the number has more digits than are accepted");
    }

    #[test]
    fn a_file_without_any_toml_is_not_reported_line_by_line() {
        let problems = parse_toml(&"this is no TOML\n".repeat(1000)).unwrap_err();
        assert!(problems.len() <= MOST_ERRORS + 1);
    }

    #[test]
    fn deep_nesting_is_refused_and_needs_no_stack() {
        for text in [
            format!("{} = 1", vec!["a"; 100_000].join(".")),
            format!("[{}]", vec!["a"; 100_000].join(" . ")),
            format!("[[{}]]", vec!["'a'"; 100_000].join(".")),
            format!("a = {}", "[".repeat(100_000)),
            format!("a = {}{}", "[".repeat(100_000), "]".repeat(100_000)),
            format!("a = {}1{}", "{ a = ".repeat(100_000), "}".repeat(100_000)),
            format!("a = {}1{}", "{ a.a.a.a.a.a.a.a = ".repeat(1000), "}".repeat(1000)),
        ] {
            assert!(parse_toml(&text).is_err());
        }
        // As deep as the parser goes by itself.
        let deepest = format!("a = {}1{}", "{ a.a.a.a.a.a.a.a = ".repeat(79), "}".repeat(79));
        assert!(parse_toml(&deepest).unwrap_err().to_string().contains("nest more than 64 deep"));
        let deep = format!("a = {}1{}", "[".repeat(MOST_DEPTH - 1), "]".repeat(MOST_DEPTH - 1));
        assert!(parse_toml(&deep).is_ok());
    }
}
