//! What the commands that print have in common: the kind of file, the language, the workshop's own head.

use std::path::Path;

use asfound_journal::garage::Garage;
use asfound_journal::seal::Seal;
use asfound_report::sheet::{SealShown, Workshop};
use asfound_report::{Language, Logo, LogoKind, Paper, Printed, pdf, printed_page_for, text_for};

use crate::bounded_file::read_bounded;
use crate::failure::Failure;
use crate::new_file::{write_new_bytes, write_new_in_pieces};
use crate::setup::Session;

/// The most bytes that a logo may have: it stands in every sheet.
const LARGEST_LOGO: u64 = 2 * 1024 * 1024;

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PrintFormat {
    /// A page of one file.
    Html,
    /// For print.
    Pdf,
    /// Plain text.
    Text,
}

impl PrintFormat {
    /// The kind that the ending of a file's name asks for.
    ///
    /// # Errors
    /// When the ending says nothing.
    pub fn of(file: &Path) -> Result<Self, Failure> {
        let ending = file.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default();
        match ending.as_str() {
            "html" | "htm" => Ok(Self::Html),
            "pdf" => Ok(Self::Pdf),
            "txt" => Ok(Self::Text),
            _ => Err(Failure::usage(format!("{}: the ending does not say what to write", file.display()))
                .hint("end the name with .html, .pdf or .txt")),
        }
    }
}

/// The language to print in: the one asked for, else the garage's, else that of the surroundings, else English.
///
/// # Errors
/// When the garage names a language that is not printed.
pub fn language(asked: Option<Language>, garage: &Garage, session: &Session<'_>) -> Result<Language, Failure> {
    if let Some(language) = asked {
        return Ok(language);
    }
    if let Some(kept) = &garage.settings().workshop.language {
        return kept.parse().map_err(|error| {
            Failure::usage(format!("garage.toml: workshop.language: {error}")).hint("write `en` or `de` there")
        });
    }
    let locale = session.environment.locale.as_deref();
    Ok(locale.and_then(Language::of_locale).unwrap_or_default())
}

/// How the workshop names itself, with its logo.
///
/// # Errors
/// When the logo cannot be read, or is no picture that is printed.
pub fn letterhead(garage: &Garage) -> Result<(Workshop, Option<Logo>), Failure> {
    let own = garage.settings().workshop.clone();
    let logo = own.logo.as_ref().map(|file| logo(&garage.path().join(file))).transpose()?;
    Ok((Workshop { name: own.name, address: own.address, licence: own.licence, footer: own.footer }, logo))
}

fn logo(path: &Path) -> Result<Logo, Failure> {
    let named =
        |why: &str| Failure::usage(format!("{}: {why}", path.display())).hint("mend workshop.logo in garage.toml");
    let bytes = read_bounded(path, LARGEST_LOGO).map_err(|error| match error.kind() {
        std::io::ErrorKind::FileTooLarge => named("the logo has more than 2 MB, and it would stand in every sheet"),
        _ => named(&error.to_string()),
    })?;
    let kind = LogoKind::of(&bytes).ok_or_else(|| named("the logo is neither PNG nor JPEG"))?;
    Ok(Logo { bytes, kind })
}

/// The seal over a journal, as it is printed.
pub fn seal_shown(seal: &Seal) -> SealShown {
    SealShown { entries: seal.entries, full: seal.to_string(), short: seal.short().to_string() }
}

/// Writes something printed into a new file; how many bytes it has.
///
/// # Errors
/// When the file is there already or cannot be written, or the PDF cannot be put together.
pub fn write(file: &Path, format: PrintFormat, printed: &Printed<'_>, paper: Paper) -> Result<usize, Failure> {
    match format {
        PrintFormat::Html => write_new_in_pieces(file, &mut |reader| printed_page_for(printed, reader)),
        PrintFormat::Text => write_new_in_pieces(file, &mut |reader| text_for(printed, 80, reader)),
        PrintFormat::Pdf => {
            let bytes = pdf(printed, paper).map_err(Failure::usage)?;
            write_new_bytes(file, &bytes)?;
            Ok(bytes.len())
        }
    }
}
