//! Seals in every form, and proofs that a journal was only added to.

use asfound_journal::seal::{Checkpoint, Extension, KeptSeal, Seal, ShortSeal};

/// A text, read as a seal in full, a short seal, a kept seal, a checkpoint and a proof of an extension.
pub fn seals(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    if let Ok(seal) = text.parse::<Seal>() {
        assert_eq!(seal.to_string().parse(), Ok(seal));
        assert_eq!(seal.short().to_string().parse(), Ok(seal.short()));
        assert!(KeptSeal::from(seal).fits(&seal) && KeptSeal::from(seal.short()).fits(&seal));
    }
    if let Ok(seal) = text.parse::<ShortSeal>() {
        short(&seal);
    }
    if let Ok(kept) = text.parse::<KeptSeal>() {
        assert_eq!(kept.to_string().parse(), Ok(kept));
        assert!(kept.entries() > 0);
    }
    if let Ok((checkpoint, _)) = Checkpoint::parse_note(text) {
        let written = checkpoint.to_text();
        assert_eq!(Checkpoint::parse(&written).as_ref(), Ok(&checkpoint));
        assert_eq!(written.parse(), Ok(KeptSeal::Full(checkpoint.seal)));
    }
    if let Ok(extension) = Extension::parse(text) {
        assert_eq!(Extension::parse(&extension.to_text()).as_ref(), Ok(&extension));
        let (earlier, later) = (extension.earlier(), extension.later());
        assert_eq!(extension.check(Some(&(*earlier).into()), Some(&(*later).into())).is_empty(), extension.holds());
        assert!(!extension.holds() || earlier.entries <= later.entries);
    }
}

/// A short seal is read back, and a slip in any place is noticed: another character, or two neighbours swapped.
fn short(seal: &ShortSeal) {
    let written = seal.to_string();
    assert_eq!(written.parse(), Ok(*seal));
    let symbols: Vec<u8> = written.bytes().filter(|byte| *byte != b'-').collect();
    let read = |symbols: &[u8]| String::from_utf8_lossy(symbols).parse::<ShortSeal>();
    for at in 0..symbols.len() {
        let mut slip = symbols.clone();
        slip[at] = if slip[at] == b'7' { b'K' } else { b'7' };
        read(&slip).expect_err("a wrong character goes unseen");
        let mut slip = symbols.clone();
        slip.swap(at, (at + 1).min(symbols.len() - 1));
        assert!(slip == symbols || read(&slip).is_err(), "a swap goes unseen");
    }
}
