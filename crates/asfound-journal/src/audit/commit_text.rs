//! Reads a commit object to the letter.

/// The parts of a commit's text. What it says of people is left as it is: a name, an address in angle brackets, seconds since
/// 1970, and an offset.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct CommitText<'t> {
    /// The id of its tree.
    pub(super) tree: &'t str,
    /// The ids of its parents.
    pub(super) parents: Vec<&'t str>,
    /// Who made what is in it, and when.
    pub(super) author: &'t [u8],
    /// Who made the commit, and when.
    pub(super) committer: &'t [u8],
    /// The names of the other fields of its head, in order.
    pub(super) others: Vec<String>,
    /// The message.
    pub(super) message: &'t [u8],
}

impl<'t> CommitText<'t> {
    /// Splits the text of a commit (git's documentation, `gitformat-signature` and `git-commit-tree`: a field a line, a
    /// further line of a field behind a space, an empty line, the message). Nothing where it is not of that form.
    pub(super) fn parse(text: &'t [u8]) -> Option<Self> {
        let mut rest = text;
        let mut fields: Vec<(&[u8], &[u8])> = Vec::new();
        loop {
            let end = rest.iter().position(|&byte| byte == b'\n')?;
            let (line, after) = (&rest[..end], &rest[end + 1..]);
            rest = after;
            if line.is_empty() {
                break;
            }
            if line[0] != b' ' {
                let space = line.iter().position(|&byte| byte == b' ')?;
                fields.push((&line[..space], &line[space + 1..]));
            }
        }
        let mut fields = fields.into_iter().peekable();
        let (_, tree) = fields.next_if(|(name, _)| *name == b"tree")?;
        let tree = std::str::from_utf8(tree).ok()?;
        let mut parents = Vec::new();
        while let Some((_, id)) = fields.next_if(|(name, _)| *name == b"parent") {
            parents.push(std::str::from_utf8(id).ok()?);
        }
        let (_, author) = fields.next_if(|(name, _)| *name == b"author")?;
        let (_, committer) = fields.next_if(|(name, _)| *name == b"committer")?;
        let others = fields.map(|(name, _)| String::from_utf8_lossy(name).into_owned()).collect();
        Some(Self { tree, parents, author, committer, others, message: rest })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_is_told_apart() {
        let text = b"tree t\nparent a\nparent b\nauthor A <a@b> 1 +0100\ncommitter C <c@d> 2 +0000\ngpgsig x\n y\n\nhead\n\nrest\n";
        let parsed = CommitText::parse(text).unwrap();
        assert_eq!((parsed.tree, parsed.parents), ("t", vec!["a", "b"]));
        assert_eq!((parsed.author, parsed.committer), (&b"A <a@b> 1 +0100"[..], &b"C <c@d> 2 +0000"[..]));
        assert_eq!((parsed.others, parsed.message), (vec!["gpgsig".to_owned()], &b"head\n\nrest\n"[..]));
    }

    #[test]
    fn what_is_no_commit_is_refused() {
        for text in ["", "tree t\n", "parent a\n\n", "tree t\nauthor A\n\nm", "tree t\ncommitter C\nauthor A\n\nm"] {
            assert_eq!(CommitText::parse(text.as_bytes()), None, "{text:?}");
        }
    }
}
