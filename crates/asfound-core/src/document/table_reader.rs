//! Keys out of a table by name, with every problem gathered on the way.

use std::fmt::Display;
use std::str::FromStr;

use super::from_node::{choose, parse, wrong_kind};
use super::path::{item, join};
use super::{Collector, FromNode, Key, Node, Spanned, TextPosition, nearest_name, shown_text};

/// The most unknown keys of one table that are reported one by one.
const MOST_UNKNOWN: usize = 20;

/// Takes keys out of one table. A wrong kind, a missing key and an unknown key become problems in the collector, and
/// reading goes on, so that one pass finds everything.
#[derive(Debug, Clone)]
pub struct TableReader<'n, 'c> {
    entries: &'n [(Key, Node)],
    place: TextPosition,
    at: String,
    collector: &'c Collector,
}

impl<'n, 'c> TableReader<'n, 'c> {
    /// The table in `node`, whose keys must all be among `known`. `at` is its path, empty for the whole file. Nothing,
    /// and a problem, where the node is no table.
    pub fn open(node: &'n Node, at: &str, known: &[&str], collector: &'c Collector) -> Option<Self> {
        let reader = Self::open_free(node, at, collector)?;
        reader.report_unknown(known);
        Some(reader)
    }

    /// The same for a table whose keys are names that the file chooses, such as settings.
    pub fn open_free(node: &'n Node, at: &str, collector: &'c Collector) -> Option<Self> {
        let Some(entries) = node.entries() else {
            wrong_kind(node, at, "a table", collector);
            return None;
        };
        Some(Self { entries, place: node.place, at: at.to_owned(), collector })
    }

    fn report_unknown(&self, known: &[&str]) {
        let unknown: Vec<&Key> =
            self.entries.iter().map(|(key, _)| key).filter(|key| !known.contains(&key.name.as_str())).collect();
        for key in unknown.iter().take(MOST_UNKNOWN) {
            let message = format!("the key `{}` is not known", shown_text(&key.name));
            let hint = nearest_name(&key.name, known.iter().copied())
                .map_or_else(|| format!("known here: {}", known.join(", ")), |near| format!("did you mean `{near}`?"));
            self.collector.error_with_hint(key.place, &self.path(&key.name), message, hint);
        }
        if let Some(next) = unknown.get(MOST_UNKNOWN) {
            let message = format!("{} more keys are not known", unknown.len() - MOST_UNKNOWN);
            self.collector.error(next.place, &self.at, message);
        }
    }

    /// Where problems go.
    pub fn collector(&self) -> &'c Collector {
        self.collector
    }

    /// The path of the table.
    pub fn at(&self) -> &str {
        &self.at
    }

    /// The path of a key of it.
    pub fn path(&self, name: &str) -> String {
        join(&self.at, name)
    }

    /// The place of the table.
    pub fn place(&self) -> TextPosition {
        self.place
    }

    /// The place of a key's value; of the table, where the key is missing.
    pub fn place_of(&self, name: &str) -> TextPosition {
        self.get(name).map_or(self.place, |node| node.place)
    }

    /// Whether the key is there.
    pub fn has(&self, name: &str) -> bool {
        self.get(name).is_some()
    }

    /// What stands behind a key.
    pub fn get(&self, name: &str) -> Option<&'n Node> {
        self.entries.iter().find(|(key, _)| key.name == name).map(|(_, node)| node)
    }

    /// Every key with its value and path, in the order of the file.
    pub fn entries(&self) -> impl Iterator<Item = (&'n Key, &'n Node, String)> + '_ {
        self.entries.iter().map(|(key, node)| (key, node, self.path(&key.name)))
    }

    /// Reports an error about a key.
    pub fn error(&self, name: &str, message: impl Into<String>) {
        self.collector.error(self.place_of(name), &self.path(name), message);
    }

    /// The value of a key that may be missing.
    pub fn optional<T: FromNode<'n>>(&self, name: &str) -> Option<T> {
        T::from_node(self.get(name)?, &self.path(name), self.collector)
    }

    /// The value of a key that must be there.
    pub fn required<T: FromNode<'n>>(&self, name: &str) -> Option<T> {
        if !self.has(name) {
            self.missing(name);
        }
        self.optional(name)
    }

    /// The value of a key that means `default` where it is missing. Nothing where it is there but wrong.
    pub fn with_default<T: FromNode<'n>>(&self, name: &str, default: T) -> Option<T> {
        if self.has(name) { self.optional(name) } else { Some(default) }
    }

    /// A text of its own grammar that may be missing.
    pub fn optional_parsed<T: FromStr<Err: Display>>(&self, name: &str) -> Option<T> {
        let text: Spanned<&str> = self.optional(name)?;
        parse(text.value, text.place, &self.path(name), self.collector)
    }

    /// A text of its own grammar that must be there.
    pub fn required_parsed<T: FromStr<Err: Display>>(&self, name: &str) -> Option<T> {
        if !self.has(name) {
            self.missing(name);
        }
        self.optional_parsed(name)
    }

    /// The items of a list, each with its path. Empty where the key is missing or holds no list.
    pub fn items(&self, name: &str) -> Vec<(&'n Node, String)> {
        let at = self.path(name);
        let nodes: Vec<&Node> = self.optional(name).unwrap_or_default();
        nodes.into_iter().enumerate().map(|(index, node)| (node, item(&at, index))).collect()
    }

    /// A list of texts of their own grammar, each with its path; those that do not follow it are reported and left out.
    /// Empty where the key is missing.
    pub fn parsed_items<T: FromStr<Err: Display>>(&self, name: &str) -> Vec<(Spanned<T>, String)> {
        let read = |(node, at): (&'n Node, String)| {
            let text = <&str>::from_node(node, &at, self.collector)?;
            let value = parse(text, node.place, &at, self.collector)?;
            Some((Spanned { value, place: node.place }, at))
        };
        self.items(name).into_iter().filter_map(read).collect()
    }

    /// One of several words that may be missing; `what` says what they are, for the message.
    pub fn optional_choice<T: Copy>(&self, name: &str, what: &str, choices: &[(&str, T)]) -> Option<T> {
        let text: Spanned<&str> = self.optional(name)?;
        choose(text.value, choices, what, (text.place, &self.path(name)), self.collector)
    }

    /// One of several words that means `default` where it is missing. Nothing where it is there but wrong.
    pub fn with_choice<T: Copy>(&self, name: &str, what: &str, choices: &[(&str, T)], default: T) -> Option<T> {
        if self.has(name) { self.optional_choice(name, what, choices) } else { Some(default) }
    }

    /// One of several words that must be there.
    pub fn required_choice<T: Copy>(&self, name: &str, what: &str, choices: &[(&str, T)]) -> Option<T> {
        if !self.has(name) {
            self.missing(name);
        }
        self.optional_choice(name, what, choices)
    }

    /// A list of such words; those that are none are reported and left out. Empty where the key is missing.
    pub fn choices<T: Copy>(&self, name: &str, what: &str, choices: &[(&str, T)]) -> Vec<Spanned<T>> {
        let read = |(node, at): (&'n Node, String)| {
            let text = <&str>::from_node(node, &at, self.collector)?;
            let value = choose(text, choices, what, (node.place, &at), self.collector)?;
            Some(Spanned { value, place: node.place })
        };
        self.items(name).into_iter().filter_map(read).collect()
    }

    fn missing(&self, name: &str) {
        self.collector.error(self.place, &self.at, format!("the key `{name}` is missing"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{TimeText, parse_json, parse_toml};
    use crate::names::ModuleName;
    use crate::value::Decimal;

    #[test]
    fn takes_what_is_there() {
        let root =
            parse_toml("n = 3\nd = 1.50\nt = 'x'\nb = true\nl = ['a', 'b']\nm = 'body'\nw = 2026-03-14\n").unwrap();
        let collector = Collector::new();
        let table = TableReader::open(&root, "", &["n", "d", "t", "b", "l", "m", "w"], &collector).unwrap();
        assert_eq!(table.required::<u8>("n"), Some(3));
        assert_eq!(table.required::<Decimal>("d"), Some("1.5".parse().unwrap()));
        assert_eq!(table.optional::<&str>("t"), Some("x"));
        assert_eq!(table.optional::<bool>("b"), Some(true));
        assert_eq!(table.optional::<Vec<String>>("l"), Some(vec!["a".to_owned(), "b".to_owned()]));
        assert_eq!(table.required_parsed::<ModuleName>("m"), "body".parse().ok());
        assert_eq!(table.optional_choice("t", "letter", &[("x", 1), ("y", 2)]), Some(1));
        assert_eq!(table.required("w"), Some(TimeText("2026-03-14")));
        assert_eq!(table.optional::<bool>("none"), None);
        assert!(collector.into_problems().is_empty());
    }

    #[test]
    fn gathers_everything_that_is_wrong() {
        let text = "{\"a\": {\"n\": 300, \"t\": 5, \"l\": [\"x\", 7], \"m\": \"Body\", \"w\": \"z\", \"lable\": 1}}";
        let root = parse_json(text).unwrap();
        let collector = Collector::new();
        let known = ["n", "t", "l", "m", "w", "label", "absent"];
        let table = TableReader::open(root.get("a").unwrap(), "a", &known, &collector).unwrap();
        assert_eq!(table.required::<u8>("n"), None);
        assert_eq!(table.required::<&str>("t"), None);
        assert_eq!(table.required::<Vec<&str>>("l"), Some(vec!["x"]));
        assert_eq!(table.required_parsed::<ModuleName>("m"), None);
        assert_eq!(table.optional_choice("w", "letter", &[("x", 1), ("y", 2)]), None);
        assert_eq!(table.required::<bool>("absent"), None);
        assert_eq!(
            collector.into_problems().to_string(),
            "error: line 1, column 7: a: the key `absent` is missing\n\
             error: line 1, column 13: a.n: 300 is not in the range 0 to 255\n\
             error: line 1, column 23: a.t: expected a text, found a whole number\n  hint: put it in quotes\n\
             error: line 1, column 37: a.l[2]: expected a text, found a whole number\n  hint: put it in quotes\n\
             error: line 1, column 46: a.m: `Body` cannot be a module name: it must start with a letter from a to z\n\
             error: line 1, column 59: a.w: invalid letter `z`\n  hint: there are x, y\n\
             error: line 1, column 64: a.lable: the key `lable` is not known\n  hint: did you mean `label`?"
        );
    }

    #[test]
    fn many_unknown_keys_are_summed_up() {
        let text = (0..50).map(|n| format!("k{n} = 1")).collect::<Vec<_>>().join("\n");
        let root = parse_toml(&text).unwrap();
        let collector = Collector::new();
        TableReader::open(&root, "", &["label"], &collector).unwrap();
        let problems = collector.into_problems();
        assert_eq!(problems.len(), MOST_UNKNOWN + 1);
        assert_eq!(problems.as_slice()[20].to_string(), "line 21, column 1: 30 more keys are not known");
    }
}
