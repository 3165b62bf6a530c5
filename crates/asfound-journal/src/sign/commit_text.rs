//! Puts a signature into the text of a commit, and takes it out again.
//!
//! git's own form: the signature stands in a header `gpgsig`, its further lines each behind one space, and is made
//! over the text without that header (git, `Documentation/gitformat-signature.txt`).

/// The header that holds a signature.
const HEADER: &[u8] = b"gpgsig ";

/// A commit's text, apart from its signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct CommitParts {
    /// What the signature is made over.
    pub(super) text: Vec<u8>,
    /// The signature as text, where there is one.
    pub(super) signature: Option<Vec<u8>>,
    /// Whether there is more than one header that holds a signature, or one of another kind.
    pub(super) others: bool,
}

/// The text with the signature in it, as the last header.
pub(super) fn join(text: &[u8], signature: &str) -> Vec<u8> {
    let headers = end_of_headers(text);
    let mut signed = text[..headers].to_vec();
    signed.extend_from_slice(HEADER);
    signed.extend_from_slice(signature.trim_end_matches('\n').replace('\n', "\n ").as_bytes());
    signed.push(b'\n');
    signed.extend_from_slice(&text[headers..]);
    signed
}

/// Takes the signature out of a commit's text.
pub(super) fn split(commit: &[u8]) -> CommitParts {
    let (headers, rest) = commit.split_at(end_of_headers(commit));
    let mut parts = CommitParts { text: Vec::with_capacity(commit.len()), signature: None, others: false };
    let mut within = Within::Text;
    for line in headers.split_inclusive(|&byte| byte == b'\n') {
        within = match (line.strip_prefix(HEADER), within) {
            _ if line.starts_with(b" ") => within,
            (Some(_), _) if parts.signature.is_none() => Within::Signature,
            // Also `gpgsig-sha256`, which git leaves out of what it verifies.
            _ if line.starts_with(b"gpgsig") => Within::Other,
            _ => Within::Text,
        };
        match within {
            Within::Text => parts.text.extend_from_slice(line),
            Within::Signature => {
                let line = line.strip_prefix(HEADER).or_else(|| line.strip_prefix(b" ")).unwrap_or(line);
                parts.signature.get_or_insert_default().extend_from_slice(line);
            }
            Within::Other => parts.others = true,
        }
    }
    parts.text.extend_from_slice(rest);
    parts
}

#[derive(Debug, Clone, Copy)]
enum Within {
    Text,
    Signature,
    Other,
}

/// Where the headers end: at the empty line before the message.
fn end_of_headers(text: &[u8]) -> usize {
    text.windows(2).position(|pair| pair == b"\n\n").map_or(text.len(), |place| place + 1)
}

/// When a commit was committed, in seconds since 1970, and the offset from UTC in seconds.
pub(super) fn committed(text: &[u8]) -> Option<(i64, i32)> {
    let headers = &text[..end_of_headers(text)];
    let line = headers.split(|&byte| byte == b'\n').find_map(|line| line.strip_prefix(b"committer "))?;
    let line = std::str::from_utf8(line.rsplit(|&byte| byte == b'>').next()?).ok()?;
    let (seconds, zone) = line.trim().split_once(' ')?;
    let (sign, digits) = match zone.split_at_checked(1)? {
        ("+", digits) => (1, digits),
        ("-", digits) => (-1, digits),
        _ => return None,
    };
    let digits: i32 = digits.parse().ok()?;
    Some((seconds.parse().ok()?, sign * (digits / 100 * 3600 + digits % 100 * 60)))
}

/// The name and the e-mail address of a commit's author.
pub(super) fn author(text: &[u8]) -> Option<(String, String)> {
    let headers = &text[..end_of_headers(text)];
    let line = headers.split(|&byte| byte == b'\n').find_map(|line| line.strip_prefix(b"author "))?;
    let (name, rest) = std::str::from_utf8(line).ok()?.split_once(" <")?;
    Some((name.to_owned(), rest.split_once('>')?.0.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &[u8] = b"tree 1\nparent 2\nauthor A B <a@b.example> 5 +0100\ncommitter A B <a@b.example> 1773476405 -0330\n\nsubject\n\ngpgsig in the message\n";
    const SIGNATURE: &str = "-----BEGIN SSH SIGNATURE-----\nAAAA\n-----END SSH SIGNATURE-----\n";

    #[test]
    fn what_is_joined_is_split_again() {
        let signed = join(TEXT, SIGNATURE);
        let shown = String::from_utf8(signed.clone()).unwrap();
        assert!(
            shown.contains(
                "-0330\ngpgsig -----BEGIN SSH SIGNATURE-----\n AAAA\n -----END SSH SIGNATURE-----\n\nsubject"
            )
        );
        let parts = split(&signed);
        assert_eq!(parts, CommitParts { text: TEXT.to_vec(), signature: Some(SIGNATURE.into()), others: false });
        assert_eq!(split(TEXT), CommitParts { text: TEXT.to_vec(), signature: None, others: false });
    }

    #[test]
    fn a_second_signature_is_noticed() {
        assert!(split(&join(&join(TEXT, SIGNATURE), SIGNATURE)).others);
        let other = join(TEXT, SIGNATURE);
        let other = String::from_utf8(other).unwrap().replace("gpgsig --", "gpgsig-sha256 --");
        let parts = split(other.as_bytes());
        assert_eq!((parts.text.as_slice(), parts.signature, parts.others), (TEXT, None, true));
    }

    #[test]
    fn time_and_author_are_read() {
        assert_eq!(committed(TEXT), Some((1_773_476_405, -12_600)));
        assert_eq!(author(TEXT), Some(("A B".to_owned(), "a@b.example".to_owned())));
        for text in ["", "\n\n", "committer", "committer A <b> x +0000\n", "committer A <b> 5 ä0000\n"] {
            assert_eq!(committed(text.as_bytes()), None, "{text:?}");
        }
    }
}
