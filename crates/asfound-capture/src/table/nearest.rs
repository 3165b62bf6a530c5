//! The name that was probably meant.

/// The candidate nearest to `text`, ignoring case, where it is near enough to be worth suggesting: at most one
/// edit for each three characters, at least one.
pub(super) fn nearest<'a>(text: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = text.to_lowercase();
    let most = (wanted.chars().count() / 3).max(1);
    candidates
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(&wanted, &candidate.to_lowercase()), candidate))
        .filter(|(edits, candidate)| *edits <= most && *edits < candidate.chars().count())
        .min_by_key(|(edits, _)| *edits)
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn suggests_only_what_is_near() {
        assert_eq!(nearest("modul", ["setting", "module"]), Some("module"));
        assert_eq!(nearest("Vlaue", ["Name", "value"]), Some("value"));
        assert_eq!(nearest("colour", ["setting", "module"]), None);
        assert_eq!(nearest("x", ["y"]), None);
    }
}
