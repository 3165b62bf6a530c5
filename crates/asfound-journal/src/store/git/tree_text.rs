//! The content of a git tree, and what one has otherwise than another.

use std::cmp::Ordering;

use git2::Oid;

/// What a line of a tree is about. Git has other kinds, none of which a journal holds.
const FILE: &[u8] = b"100644";
const FOLDER: &[u8] = b"40000";

/// One line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct RawTreeEntry {
    pub(super) name: String,
    pub(super) is_folder: bool,
    id: [u8; 20],
}

impl RawTreeEntry {
    pub(super) fn id(&self) -> Oid {
        Oid::from_bytes(&self.id).expect("an id has 20 bytes")
    }

    /// Git sorts a folder as if its name ended in a slash.
    fn order(&self, other: &Self) -> Ordering {
        let bytes = |line: &Self| line.name.bytes().chain(line.is_folder.then_some(b'/')).collect::<Vec<u8>>();
        let common = self.name.len().min(other.name.len());
        // The ends only count where one name begins with the other.
        self.name.as_bytes()[..common]
            .cmp(&other.name.as_bytes()[..common])
            .then_with(|| bytes(self).cmp(&bytes(other)))
    }
}

/// Takes the content of a tree apart. Each line is the mode in octal, a space, the name, a NUL, and the id in 20 bytes.
///
/// # Errors
/// What is wrong with it: it is cut short, or not in git's order without repeats, or holds something that is neither a plain
/// file nor a folder.
pub(super) fn parse(mut content: &[u8]) -> Result<Vec<RawTreeEntry>, String> {
    let mut lines: Vec<RawTreeEntry> = Vec::with_capacity(content.len() / 36 + 1);
    while !content.is_empty() {
        let cut = || "it is cut short".to_owned();
        let space = content.iter().position(|&byte| byte == b' ').ok_or_else(cut)?;
        let (mode, rest) = (&content[..space], &content[space + 1..]);
        let nul = rest.iter().position(|&byte| byte == 0).ok_or_else(cut)?;
        let (id, after) = rest[nul + 1..].split_first_chunk::<20>().ok_or_else(cut)?;
        let name = std::str::from_utf8(&rest[..nul]).map_err(|_| "it holds a name that is not UTF-8".to_owned())?;
        if mode != FILE && mode != FOLDER {
            let mode = String::from_utf8_lossy(mode);
            return Err(format!("`{name}` is neither a plain file nor a folder (mode {mode})"));
        }
        if name.is_empty() || name.contains('/') {
            return Err(format!("invalid file name `{name}`"));
        }
        let line = RawTreeEntry { name: name.to_owned(), is_folder: mode == FOLDER, id: *id };
        if lines.last().is_some_and(|before| before.order(&line) != Ordering::Less) {
            return Err(format!("`{name}` is out of order or there twice"));
        }
        lines.push(line);
        content = after;
    }
    Ok(lines)
}

/// The lines that two trees do not share, in pairs where both have the name: as it was, as it is.
pub(super) fn differ<'l>(
    before: &'l [RawTreeEntry],
    after: &'l [RawTreeEntry],
) -> Vec<(Option<&'l RawTreeEntry>, Option<&'l RawTreeEntry>)> {
    let mut pairs = Vec::new();
    let (mut old, mut new) = (before.iter().peekable(), after.iter().peekable());
    loop {
        let order = match (old.peek(), new.peek()) {
            (Some(was), Some(is)) if was == is => {
                old.next();
                new.next();
                continue;
            }
            (Some(was), Some(is)) => was.order(is),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => return pairs,
        };
        pairs.push(match order {
            Ordering::Less => (old.next(), None),
            Ordering::Greater => (None, new.next()),
            Ordering::Equal => (old.next(), new.next()),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn content(lines: &[(&str, &str, u8)]) -> Vec<u8> {
        let line = |(mode, name, id): &(&str, &str, u8)| [format!("{mode} {name}\0").as_bytes(), &[*id; 20]].concat();
        lines.iter().flat_map(line).collect()
    }

    #[test]
    fn lines_are_in_gits_order() {
        // `a.b` comes before the folder `a`, and `a-` before both.
        let sound = content(&[("100644", "a-", 1), ("100644", "a.b", 2), ("40000", "a", 3), ("100644", "a0", 4)]);
        let lines = parse(&sound).unwrap();
        let names: Vec<(&str, bool)> = lines.iter().map(|line| (line.name.as_str(), line.is_folder)).collect();
        assert_eq!(names, [("a-", false), ("a.b", false), ("a", true), ("a0", false)]);
        for (lines, says) in [
            (content(&[("100644", "b", 1), ("100644", "a", 1)]), "`a` is out of order or there twice"),
            (content(&[("100644", "a", 1), ("100644", "a", 2)]), "`a` is out of order or there twice"),
            (content(&[("40000", "a", 3), ("100644", "a.b", 2)]), "`a.b` is out of order or there twice"),
            (content(&[("100755", "a", 1)]), "`a` is neither a plain file nor a folder (mode 100755)"),
            (content(&[("100644", "a/b", 1)]), "invalid file name `a/b`"),
            (content(&[("100644", "", 1)]), "invalid file name ``"),
            (content(&[("100644", "a", 1)])[..20].to_vec(), "it is cut short"),
        ] {
            assert_eq!(parse(&lines), Err(says.to_owned()));
        }
    }

    #[test]
    fn what_differs_is_paired_by_name() {
        let before =
            parse(&content(&[("100644", "a", 1), ("100644", "b", 1), ("40000", "c", 1), ("100644", "d", 1)])).unwrap();
        let after =
            parse(&content(&[("100644", "a", 1), ("100644", "b", 2), ("100644", "c", 1), ("100644", "e", 1)])).unwrap();
        let shown =
            |line: Option<&RawTreeEntry>| line.map_or(String::new(), |line| format!("{}{}", line.name, line.id[0]));
        let pairs: Vec<_> = differ(&before, &after).into_iter().map(|(was, is)| (shown(was), shown(is))).collect();
        let pair = |was: &str, is: &str| (was.to_owned(), is.to_owned());
        assert_eq!(pairs, [pair("b1", "b2"), pair("", "c1"), pair("c1", ""), pair("d1", ""), pair("", "e1")]);
        assert_eq!(differ(&before, &before), []);
    }
}
