//! The settings file `garage.toml`.

use std::path::PathBuf;

use serde::Deserialize;
use toml::Spanned;

use crate::sign::Fingerprint;
use crate::store::{Author, AuthorError};

/// The format that is written and read.
pub(super) const FORMAT: &str = "asfound-garage/1";
const FORMAT_NAME: &str = "asfound-garage/";
const FORMAT_NUMBER: u64 = 1;

/// What a new garage's settings file says.
pub(super) const NEW_FILE: &str = "\
format = \"asfound-garage/1\"

# Whoever files entries here, where nobody else is named:
# [author]
# name = \"\"
# email = \"\"

# Whose name stands on printed sheets:
# [workshop]
# name = \"\"
# address = [\"\", \"\"]
# licence = \"\"
# logo = \"logo.png\"
# footer = \"\"
# language = \"en\"
";

/// The settings of a garage.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct GarageSettings {
    /// Who files entries where nobody else is named.
    pub author: AuthorSettings,
    /// The key that new entries are signed with, where there is one.
    pub signing: Option<SigningKey>,
    /// The people who file entries here; where there are none, anybody may.
    pub people: Vec<Person>,
    /// How the workshop names itself on what it prints.
    pub workshop: WorkshopSettings,
}

/// The table `workshop`: how the workshop names itself on what it prints. Everything may be missing.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkshopSettings {
    /// Its name.
    pub name: Option<String>,
    /// Its address, line by line.
    #[serde(default)]
    pub address: Vec<String>,
    /// Its licence, registration or approval.
    pub licence: Option<String>,
    /// The file of its logo; a path that is not absolute is taken from the garage.
    pub logo: Option<PathBuf>,
    /// What stands at the foot of what it prints.
    pub footer: Option<String>,
    /// The language that it prints in, `en` or `de`.
    pub language: Option<String>,
}

/// The table `signing`: the key that new entries are signed with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SigningKey {
    /// The key.
    pub key: Fingerprint,
    /// The file of its private half; without it, the key is in an ssh-agent.
    pub file: Option<PathBuf>,
}

/// One of the tables `people`: somebody who files entries here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    /// Who.
    pub author: asfound_core::entry::Author,
    /// The key that their entries are signed with; without one, the garage's.
    pub signing: Option<SigningKey>,
}

/// The table `author`: both parts may be missing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct AuthorSettings {
    /// The name, in the form that [`Author`] keeps.
    pub name: Option<String>,
    /// The e-mail address, in the form that [`Author`] keeps.
    pub email: Option<String>,
}

/// Why a settings file was refused.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum SettingsRefusal {
    /// It is of a later format.
    Newer(String),
    /// It cannot be understood; the byte where, and why.
    At(usize, String),
}

/// Only what is needed to tell the format: a later one may have keys that are unknown here.
#[derive(Deserialize)]
struct Head {
    format: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SettingsFile {
    #[allow(dead_code, reason = "the key is known; its value was looked at before")]
    format: String,
    #[serde(default)]
    author: AuthorTable,
    signing: Option<SigningTable>,
    #[serde(default)]
    people: Vec<PersonTable>,
    #[serde(default)]
    workshop: WorkshopSettings,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SigningTable {
    key: Fingerprint,
    file: Option<PathBuf>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PersonTable {
    name: Spanned<String>,
    email: Option<String>,
    key: Option<Spanned<Fingerprint>>,
    file: Option<PathBuf>,
}

impl PersonTable {
    fn person(self) -> Result<Person, SettingsRefusal> {
        let at = self.name.span().start;
        let author = asfound_core::entry::Author::new(self.name.get_ref(), self.email.as_deref())
            .map_err(|error| SettingsRefusal::At(at, error.to_string()))?;
        let signing = match (self.key, self.file) {
            (Some(key), file) => Some(SigningKey { key: key.into_inner(), file }),
            (None, None) => None,
            (None, Some(_)) => {
                return Err(SettingsRefusal::At(at, "`file` needs the key's fingerprint, `key`".to_owned()));
            }
        };
        Ok(Person { author, signing })
    }
}

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct AuthorTable {
    name: Option<Spanned<String>>,
    email: Option<Spanned<String>>,
}

pub(super) fn parse(bytes: &[u8]) -> Result<GarageSettings, SettingsRefusal> {
    let text = std::str::from_utf8(bytes)
        .map_err(|error| SettingsRefusal::At(error.valid_up_to(), "it is not UTF-8 text".to_owned()))?;
    let head: Head = toml::from_str(text).map_err(|error| refused(&error))?;
    check_format(&head.format)?;
    let file: SettingsFile = toml::from_str(text).map_err(|error| refused(&error))?;
    Ok(GarageSettings {
        author: AuthorSettings {
            name: checked(file.author.name, Author::checked_name)?,
            email: checked(file.author.email, Author::checked_email)?,
        },
        signing: file.signing.map(|SigningTable { key, file }| SigningKey { key, file }),
        people: file.people.into_iter().map(PersonTable::person).collect::<Result<_, _>>()?,
        workshop: file.workshop,
    })
}

fn check_format(format: &Spanned<String>) -> Result<(), SettingsRefusal> {
    let found = format.get_ref();
    match found.strip_prefix(FORMAT_NAME).and_then(|number| number.parse::<u64>().ok()) {
        Some(FORMAT_NUMBER) => Ok(()),
        Some(number) if number > FORMAT_NUMBER => Err(SettingsRefusal::Newer(found.clone())),
        _ => Err(SettingsRefusal::At(format.span().start, format!("the format is `{found}`, not `{FORMAT}`"))),
    }
}

fn checked(
    given: Option<Spanned<String>>,
    check: fn(&str) -> Result<String, AuthorError>,
) -> Result<Option<String>, SettingsRefusal> {
    let Some(given) = given else { return Ok(None) };
    match check(given.get_ref()) {
        Ok(kept) => Ok(Some(kept)),
        Err(error) => Err(SettingsRefusal::At(given.span().start, error.to_string())),
    }
}

fn refused(error: &toml::de::Error) -> SettingsRefusal {
    let place = error.span().map_or(0, |span| span.start);
    // One line, whatever the parser says: it goes into a message that names the place already.
    SettingsRefusal::At(place, error.message().replace('\n', ", "))
}

/// The line and the character in it, both from 1, of a byte of a text.
pub(super) fn line_and_column(bytes: &[u8], place: usize) -> (usize, usize) {
    let before = &bytes[..place.min(bytes.len())];
    let lines: Vec<&[u8]> = before.split(|&b| b == b'\n').collect();
    let last = lines.last().copied().unwrap_or_default();
    (lines.len(), String::from_utf8_lossy(last).chars().count() + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(text: &str) -> (usize, usize) {
        match parse(text.as_bytes()) {
            Err(SettingsRefusal::At(place, _)) => line_and_column(text.as_bytes(), place),
            other => panic!("{text:?} gave {other:?}"),
        }
    }

    #[test]
    fn a_new_file_is_read_and_sets_nothing() {
        assert_eq!(parse(NEW_FILE.as_bytes()), Ok(GarageSettings::default()));
        assert!(NEW_FILE.contains(FORMAT));
    }

    #[test]
    fn the_author_is_taken_as_it_will_be_kept() {
        let settings = parse(
            b"format = \"asfound-garage/1\"\n[author]\nname = \" Edda Brandt \"\nemail = \"edda@workshop.example\"\n",
        );
        let author =
            AuthorSettings { name: Some("Edda Brandt".to_owned()), email: Some("edda@workshop.example".to_owned()) };
        assert_eq!(settings, Ok(GarageSettings { author, ..GarageSettings::default() }));
        let settings = parse(b"format = \"asfound-garage/1\"\nauthor.name = \"Edda\"").unwrap();
        assert_eq!(settings.author.email, None);
    }

    #[test]
    fn a_workshop_names_itself() {
        let text = b"format = \"asfound-garage/1\"\n[workshop]\nname = \"Bench 2\"\naddress = [\"1 Mill Lane\"]\nlogo = \"l.png\"\n";
        let workshop = parse(text).unwrap().workshop;
        assert_eq!((workshop.name.as_deref(), workshop.address.len()), (Some("Bench 2"), 1));
        assert_eq!((workshop.logo, workshop.language), (Some(PathBuf::from("l.png")), None));
        assert_eq!(place("format = \"asfound-garage/1\"\n[workshop]\ncolour = \"red\"\n"), (3, 1));
    }

    #[test]
    fn a_later_format_is_recognised_whatever_else_it_says() {
        let text = b"format = \"asfound-garage/2\"\nunheard_of = true\n";
        assert_eq!(parse(text), Err(SettingsRefusal::Newer("asfound-garage/2".to_owned())));
    }

    #[test]
    fn what_is_wrong_is_placed() {
        assert_eq!(place("format = \"asfound-garage/1\"\nauthr = 1\n"), (2, 1));
        assert_eq!(place("format = \"asfound-garage/1\"\n[author]\nphone = 1\n"), (3, 1));
        assert_eq!(place("format = \"asfound-garage/1\"\n[author]\nname = \"a<b\"\n"), (3, 8));
        assert_eq!(place("format = \"asfound-garage/1\"\n[author]\nname = \"\"\n"), (3, 8));
        assert_eq!(place("format = \"asfound-garage/1\"\n[signing]\nkey = \"MD5:00\"\n"), (3, 7));
        assert_eq!(place("format = \"asfound-garage/1\"\n[author]\nname = \"ä\" x\n"), (3, 12));
        assert_eq!(place("format = \"asfound-garage/0\"\n"), (1, 10));
        assert_eq!(place("format = \"something/1\"\n"), (1, 10));
        assert_eq!(place("format = 1\n"), (1, 10));
        assert_eq!(place("= 3"), (1, 1));
        assert_eq!(place("# nothing\n"), (1, 1));
        let binary = b"format = \"asfound-garage/1\"\n\xFF\xFE";
        assert_eq!(parse(binary), Err(SettingsRefusal::At(28, "it is not UTF-8 text".to_owned())));
        assert_eq!(line_and_column(binary, 28), (2, 1));
    }
}
