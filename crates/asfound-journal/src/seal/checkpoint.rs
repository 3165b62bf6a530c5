//! A seal in the open format of transparency logs.

use asfound_core::names::Tag;
use base64ct::{Base64, Encoding};
use thiserror::Error;

use super::Seal;
use super::full::number_of_entries;
use crate::Digest;

/// Why a text is no checkpoint.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum CheckpointError {
    /// The origin is empty or holds what an origin must not.
    #[error("invalid checkpoint origin `{0}`: it is one line without spaces and `+`")]
    Origin(String),
    /// A line is missing, or not what it should be.
    #[error("line {line} of the checkpoint should be {wanted}")]
    Line {
        /// The line, from 1.
        line: usize,
        /// What belongs there.
        wanted: &'static str,
    },
}

/// A seal as the text of a signed note: the checkpoint of C2SP, <https://c2sp.org/tlog-checkpoint>.
///
/// Three lines, each ended by a line feed: the origin, which names the journal; the number of entries; the root in
/// Base64. Signatures stand behind an empty line (<https://c2sp.org/signed-note>) and are made and verified elsewhere: they
/// are over [`to_text`](Self::to_text).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checkpoint {
    origin: String,
    /// The seal.
    pub seal: Seal,
    extensions: Vec<String>,
}

/// A signature line of a note, not verified.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoteSignature {
    /// The name of the key.
    pub name: String,
    /// Four bytes of key id and the signature.
    pub bytes: Vec<u8>,
}

impl Checkpoint {
    /// A checkpoint of a journal.
    ///
    /// # Errors
    /// When `origin` is empty or has spaces, `+` or control characters (as the standard recommends; a checkpoint
    /// that is read may have them).
    pub fn new(origin: &str, seal: Seal) -> Result<Self, CheckpointError> {
        let unfit = |c: char| c.is_whitespace() || c.is_control() || c == '+';
        if origin.is_empty() || origin.contains(unfit) {
            return Err(CheckpointError::Origin(origin.chars().take(80).collect()));
        }
        Ok(Self { origin: origin.to_owned(), seal, extensions: Vec::new() })
    }

    /// The checkpoint of a journal with these leaf hashes, of which there is at least one.
    ///
    /// Its origin is `asfound/<tag>/<16 digits>`, the digits being the first of the leaf hash of entry 1: chance makes
    /// it another for every journal, of whichever garage, and it never changes.
    pub fn of_journal(tag: &Tag, leaves: &[Digest]) -> Option<Self> {
        let first = leaves.first()?.to_string();
        Self::new(&format!("asfound/{tag}/{}", &first[..16]), Seal::over(leaves)).ok()
    }

    /// What names the journal.
    pub fn origin(&self) -> &str {
        &self.origin
    }

    /// Further lines of a checkpoint that was read; their meaning is their writer's.
    pub fn extensions(&self) -> &[String] {
        &self.extensions
    }

    /// The text of the note, without signatures: what is signed.
    pub fn to_text(&self) -> String {
        let Seal { entries, root } = self.seal;
        let mut text = format!("{}\n{entries}\n{}\n", self.origin, Base64::encode_string(root.as_bytes()));
        self.extensions.iter().for_each(|line| text.push_str(&format!("{line}\n")));
        text
    }

    /// Reads the text of a note, with or without signatures, which are not verified.
    pub fn parse(text: &str) -> Result<Self, CheckpointError> {
        Ok(Self::parse_note(text)?.0)
    }

    /// Reads a note with its signatures, which are not verified.
    pub fn parse_note(text: &str) -> Result<(Self, Vec<NoteSignature>), CheckpointError> {
        // Line ends are those of a text file that went through other hands.
        let text = text.replace("\r\n", "\n");
        let text = text.trim_end_matches('\n');
        let (note, signatures) = text.split_once("\n\n").unwrap_or((text, ""));
        let lines: Vec<&str> = note.split('\n').collect();
        let line = |line: usize, wanted: &'static str| CheckpointError::Line { line, wanted };
        let origin = lines.first().copied().unwrap_or_default();
        if origin.is_empty() || origin.contains(char::is_control) {
            return Err(line(1, "the origin"));
        }
        let entries = lines.get(1).and_then(|text| number_of_entries(text).ok());
        let entries = entries.ok_or(line(2, "the number of entries, at least one, in digits"))?;
        let root = lines.get(2).and_then(|text| Base64::decode_vec(text).ok()?.try_into().ok());
        let root: [u8; 32] = root.ok_or(line(3, "the root, 32 bytes in Base64"))?;
        let seal = Seal { entries, root: Digest::from(root) };
        // A signed note has no control characters but line feeds; a carriage return kept here could not be told from
        // the line end of a text file when the note is read again.
        let extensions = &lines[3..];
        if let Some(at) = extensions.iter().position(|line| line.contains(char::is_control)) {
            return Err(line(4 + at, "text without control characters"));
        }
        let extensions: Vec<String> = extensions.iter().map(|&line| line.to_owned()).collect();
        let mut read = Vec::new();
        for (at, text) in signatures.split('\n').enumerate().filter(|_| !signatures.is_empty()) {
            let signature = signature(text).ok_or(line(lines.len() + 2 + at, "a signature: `— name Base64`"))?;
            read.push(signature);
        }
        Ok((Self { origin: origin.to_owned(), seal, extensions }, read))
    }
}

fn signature(line: &str) -> Option<NoteSignature> {
    let (name, bytes) = line.strip_prefix("— ")?.split_once(' ')?;
    let bytes = Base64::decode_vec(bytes).ok().filter(|bytes| bytes.len() >= 4 && !name.is_empty())?;
    Some(NoteSignature { name: name.to_owned(), bytes })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of the standard (<https://c2sp.org/tlog-checkpoint>), to the letter.
    const EXAMPLE: &str = "example.com/behind-the-sofa\n20852163\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n\n\
                           — example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5\
                           /Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n";

    #[test]
    fn the_example_of_the_standard_is_read_and_written_to_the_letter() {
        let (checkpoint, signatures) = Checkpoint::parse_note(EXAMPLE).unwrap();
        assert_eq!(checkpoint.origin(), "example.com/behind-the-sofa");
        assert_eq!(checkpoint.seal.entries, 20_852_163);
        // The root in hexadecimal, by `base64 -d | xxd -p`.
        let root = "0ac5186a91863e8e1d90c808014aa89bf5da8e3ee1d9f07630f0378f68f1ab62";
        assert_eq!(checkpoint.seal.root.to_string(), root);
        assert_eq!(signatures.len(), 1);
        assert_eq!((signatures[0].name.as_str(), signatures[0].bytes.len()), ("example.com/behind-the-sofa", 68));
        let note = EXAMPLE.split_once("\n\n").unwrap().0;
        assert_eq!(checkpoint.to_text(), format!("{note}\n"));
        assert_eq!(Checkpoint::parse(&checkpoint.to_text()), Ok(checkpoint.clone()));
        assert_eq!(Checkpoint::parse(&EXAMPLE.replace('\n', "\r\n")), Ok(checkpoint));
    }

    #[test]
    fn further_lines_are_kept() {
        let text = "example.com/a\n1\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\nmore\nand more\n";
        let checkpoint = Checkpoint::parse(text).unwrap();
        assert_eq!(checkpoint.extensions(), ["more", "and more"]);
        assert_eq!(checkpoint.to_text(), text);
    }

    #[test]
    fn what_is_no_checkpoint_is_refused_by_line() {
        let line = |text: &str| match Checkpoint::parse(text) {
            Err(CheckpointError::Line { line, .. }) => line,
            other => panic!("{text:?}: {other:?}"),
        };
        assert_eq!(line(""), 1);
        assert_eq!(line("\n12\nx\n"), 1);
        assert_eq!(line("a"), 2);
        for size in ["", "0", "012", "-1", "1 "] {
            assert_eq!(line(&EXAMPLE.replace("20852163", size)), 2, "{size}");
        }
        // Base64 has one spelling: unpadded, URL-safe and with bits left over it is not that of the standard.
        for root in
            ["CsUY", "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I", "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2J="]
        {
            assert_eq!(line(&EXAMPLE.replace("CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=", root)), 3, "{root}");
        }
        assert_eq!(line(&EXAMPLE.replace("— ", "- ")), 5);
        // <https://c2sp.org/signed-note>: no control characters but line feeds.
        assert_eq!(line(&EXAMPLE.replace("\n\n", "\nmore\nand \u{1b}more\n\n")), 5);
        assert_eq!(line(&EXAMPLE.replace("\n\n", "\nmore\r\r\n\n")), 4);
        assert_eq!(line(&EXAMPLE.replace("Az3g", "Az3g!")), 5);
    }

    #[test]
    fn an_origin_is_one_word() {
        let seal = Seal::over(&[crate::merkle::leaf(b"a")]);
        for origin in ["", "a b", "a+b", "a\nb", "a\u{2003}b"] {
            assert_eq!(Checkpoint::new(origin, seal), Err(CheckpointError::Origin(origin.to_owned())));
        }
    }
}
