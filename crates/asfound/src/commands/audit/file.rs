//! Checks a file that somebody handed over; needs no garage.

use std::io::ErrorKind;
use std::path::Path;

use asfound_journal::disclosure::{DISCLOSURE_FORMAT, Disclosure};
use asfound_journal::seal::{EXTENSION_FORMAT, Extension, KeptSeal};
use serde::Deserialize;

use crate::bounded_file::read_bounded_text;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::filing::unreadable;
use crate::screens::disclosure::DisclosureChecked;
use crate::screens::extension::ExtensionChecked;
use crate::setup::Session;

/// The key that both kinds of file begin with.
#[derive(Deserialize)]
struct Head {
    format: String,
}

/// Checks a disclosure, or a proof that a journal was only added to, against the seals that were kept.
pub(super) fn check(
    path: &Path,
    kept: &[KeptSeal],
    until: Option<&KeptSeal>,
    session: &mut Session<'_>,
) -> Result<Exit, Failure> {
    let text = read_bounded_text(path).map_err(|error| {
        let tag = "a vehicle is named by its tag, a file by its path: `./NAME` where it looks like a tag";
        unreadable(path, &error).maybe_hint((error.kind() == ErrorKind::NotFound).then_some(tag))
    })?;
    let wrong = |error: &dyn std::fmt::Display| Failure::usage(format!("{}: {error}", path.display()));
    if kept.len() > 1 {
        return Err(Failure::usage("a file is checked against one seal").hint("give --seal once"));
    }
    let head: Option<Head> = toml::from_str(&text).ok();
    match head.map(|head| head.format).unwrap_or_default() {
        format if is(&format, DISCLOSURE_FORMAT) => {
            if until.is_some() {
                return Err(Failure::usage(
                    "--until is for a proof that a journal was only added to; this is a disclosure",
                ));
            }
            let disclosure = Disclosure::parse(&text).map_err(|error| wrong(&error))?;
            let findings = disclosure.check(kept.first());
            let exit = if findings.is_empty() { Exit::Done } else { Exit::No };
            session.show(&DisclosureChecked {
                file: path.to_owned(),
                disclosure,
                kept: kept.first().copied(),
                findings,
            })?;
            Ok(exit)
        }
        format if is(&format, EXTENSION_FORMAT) => {
            let proof = Extension::parse(&text).map_err(|error| wrong(&error))?;
            let findings = proof.check(kept.first(), until);
            let exit = if findings.is_empty() { Exit::Done } else { Exit::No };
            let compared = [!kept.is_empty(), until.is_some()];
            session.show(&ExtensionChecked { file: path.to_owned(), proof, findings, kept: compared })?;
            Ok(exit)
        }
        _ => Err(wrong(&"not a file that `disclose` or `audit --out` writes").hint(format!(
            "such a file begins with `format = \"{DISCLOSURE_FORMAT}\"` or `format = \"{EXTENSION_FORMAT}\"`"
        ))),
    }
}

/// Whether this is a version of the format, whichever.
fn is(format: &str, known: &str) -> bool {
    let name = |text: &str| text.split_once('/').map(|(name, _)| name.to_owned());
    name(format).is_some() && name(format) == name(known)
}
