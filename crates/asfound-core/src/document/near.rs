//! "Did you mean": the name that is spelt most like another.

/// The longest name for which a neighbour is looked for, in bytes; comparing takes time by length squared.
const LONGEST: usize = 64;

/// The one of `names` that is spelt most like `found`, if one is near enough to be meant.
///
/// Near enough: at most one change for every three characters of the shorter name, and not all of them; letter case
/// does not count.
pub fn nearest_name<'n>(found: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    if found.len() > LONGEST {
        return None;
    }
    let lower = found.to_lowercase();
    names
        .into_iter()
        .filter(|name| name.len() <= LONGEST)
        .map(|name| (strsim::damerau_levenshtein(&lower, &name.to_lowercase()), name))
        .filter(|(changes, name)| {
            let shorter = lower.chars().count().min(name.chars().count());
            *changes < shorter && *changes <= shorter.div_ceil(3)
        })
        .min_by_key(|(changes, _)| *changes)
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_what_was_meant_and_nothing_far() {
        let names = ["label", "record", "byte", "bit", "bits", "order"];
        assert_eq!(nearest_name("lable", names), Some("label"));
        assert_eq!(nearest_name("Record", names), Some("record"));
        assert_eq!(nearest_name("ordre", names), Some("order"));
        assert_eq!(nearest_name("colour", names), None);
        assert_eq!(nearest_name("x", ["y"]), None);
        assert_eq!(nearest_name(&"x".repeat(100_000), names), None);
    }
}
