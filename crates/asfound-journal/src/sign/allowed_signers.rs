//! The list of keys that are trusted, in OpenSSH's own form (ssh-keygen(1), ALLOWED SIGNERS).

use std::fmt;

use asfound_core::entry::Author;
use ssh_key::public::KeyData;
use time::OffsetDateTime;

use super::principal::list_takes;
use super::signer::NAMESPACE;
use super::{Principal, PublicKey, Stamp};

/// A key that is trusted, by which names, and for which time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AllowedSigner {
    /// The names, as patterns separated by commas.
    pub principals: String,
    /// The key.
    pub key: PublicKey,
    /// The moment from which on it is trusted; itself included.
    pub valid_after: Option<Stamp>,
    /// The moment up to which it is trusted; itself included.
    pub valid_before: Option<Stamp>,
    /// The uses for which it is trusted, as patterns; without them for all.
    pub namespaces: Option<String>,
    /// Whether it is trusted for what it certifies, and not for what it signs itself.
    pub certifies: bool,
}

impl AllowedSigner {
    /// A key that is trusted for entries, by one name.
    pub fn new(principal: &Principal, key: PublicKey) -> Self {
        let (principals, namespaces) = (principal.to_string(), Some(NAMESPACE.to_owned()));
        Self { principals, key, valid_after: None, valid_before: None, namespaces, certifies: false }
    }

    /// Whether it is trusted for what is signed at this moment.
    pub fn is_valid_at(&self, at: OffsetDateTime) -> bool {
        let offset = at.offset();
        self.valid_after.is_none_or(|from| from.at(offset) <= at)
            && self.valid_before.is_none_or(|until| at <= until.at(offset))
    }

    /// Whether it is trusted for entries at all.
    pub fn is_for_entries(&self) -> bool {
        !self.certifies && self.namespaces.as_deref().is_none_or(|uses| list_takes(uses, NAMESPACE))
    }

    /// Whether it is trusted by the name or the e-mail address of this author.
    pub fn is_of(&self, author: &Author) -> bool {
        let names = author.email().into_iter().chain([author.name()]);
        names.into_iter().any(|name| list_takes(&self.principals, name))
    }

    /// The name by which it is known: one of these where it is trusted by that, else its first pattern.
    pub(super) fn known_as<'a>(&'a self, names: &[&'a str]) -> &'a str {
        let first = self.principals.split(',').next().unwrap_or_default();
        names.iter().copied().find(|name| list_takes(&self.principals, name)).unwrap_or(first)
    }

    fn parse(line: &str) -> Result<Self, String> {
        let (principals, rest) = word(line)?;
        let mut signer = match PublicKey::parse(rest) {
            Ok(key) => return Ok(Self { namespaces: None, principals, ..Self::bare(key) }),
            Err(_) => {
                let end = end_of_options(rest)?;
                let (options, key) = rest.split_at(end);
                let mut signer = Self::bare(PublicKey::parse(key).map_err(|error| error.to_string())?);
                signer.take_options(options)?;
                signer
            }
        };
        signer.principals = principals;
        Ok(signer)
    }

    fn bare(key: PublicKey) -> Self {
        let principals = String::new();
        Self { principals, key, valid_after: None, valid_before: None, namespaces: None, certifies: false }
    }

    fn take_options(&mut self, mut options: &str) -> Result<(), String> {
        while !options.is_empty() {
            let end = options.find([',', '=']).unwrap_or(options.len());
            let (name, rest) = options.split_at(end);
            let name = name.to_ascii_lowercase();
            let mut value = None;
            options = rest;
            if let Some(quoted) = options.strip_prefix("=\"") {
                let end = closing_quote(quoted).ok_or_else(|| format!("the value of `{name}` does not end"))?;
                value = Some(quoted[..end].replace("\\\"", "\""));
                options = &quoted[end + 1..];
            }
            let stamp = |text: &str| text.parse().map_err(|()| format!("invalid time `{text}` for `{name}`"));
            let again = match (name.as_str(), value) {
                ("cert-authority", None) => std::mem::replace(&mut self.certifies, true),
                ("namespaces", Some(uses)) => self.namespaces.replace(uses).is_some(),
                ("valid-after", Some(text)) => self.valid_after.replace(stamp(&text)?).is_some(),
                ("valid-before", Some(text)) => self.valid_before.replace(stamp(&text)?).is_some(),
                _ => return Err(format!("the option `{name}` is unknown, or lacks its value in quotes")),
            };
            if again {
                return Err(format!("the option `{name}` stands there twice"));
            }
            options = match options.strip_prefix(',') {
                Some(rest) => rest,
                None if options.is_empty() => options,
                None => return Err("options are separated by commas".to_owned()),
            };
        }
        Ok(())
    }
}

/// The line of the file, without its end.
impl fmt::Display for AllowedSigner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let quote = if self.principals.contains(' ') { "\"" } else { "" };
        write!(f, "{quote}{}{quote}", self.principals)?;
        let mut options = Vec::new();
        if self.certifies {
            options.push("cert-authority".to_owned());
        }
        let valued = [
            ("namespaces", self.namespaces.clone()),
            ("valid-after", self.valid_after.map(|stamp| stamp.to_string())),
            ("valid-before", self.valid_before.map(|stamp| stamp.to_string())),
        ];
        options.extend(valued.into_iter().filter_map(|(name, value)| Some(format!("{name}=\"{}\"", value?))));
        if !options.is_empty() {
            write!(f, " {}", options.join(","))?;
        }
        write!(f, " {}", self.key.to_line())?;
        if self.key.comment().is_empty() { Ok(()) } else { write!(f, " {}", self.key.comment()) }
    }
}

/// The keys that are trusted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct AllowedSigners {
    signers: Vec<(usize, AllowedSigner)>,
    problems: Vec<(usize, String)>,
}

impl AllowedSigners {
    /// Reads the list. Lines that cannot be read trust nobody; [`AllowedSigners::problems`] has them.
    pub fn parse(text: &str) -> Self {
        let mut list = Self::default();
        for (number, line) in text.lines().enumerate().map(|(index, line)| (index + 1, line.trim())) {
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            match AllowedSigner::parse(line) {
                Ok(signer) => list.signers.push((number, signer)),
                Err(problem) => list.problems.push((number, problem)),
            }
        }
        list
    }

    /// The keys, in the order of the list.
    pub fn signers(&self) -> impl Iterator<Item = &AllowedSigner> {
        self.signers.iter().map(|(_, signer)| signer)
    }

    /// Lines that cannot be read: the number of the line, from 1, and what is wrong with it.
    pub fn problems(&self) -> &[(usize, String)] {
        &self.problems
    }

    pub(super) fn with_key<'a>(&'a self, key: &'a KeyData) -> impl Iterator<Item = &'a AllowedSigner> {
        self.signers().filter(move |signer| signer.key.data() == key)
    }

    /// The text of the list with this key in it: in place of its line for the same key and names, else at the end.
    /// All other lines stay as they are.
    pub fn with(text: &str, signer: &AllowedSigner) -> String {
        let list = Self::parse(text);
        let same = |old: &AllowedSigner| old.key == signer.key && old.principals == signer.principals;
        let place = list.signers.iter().find(|(_, old)| same(old)).map(|(number, _)| *number);
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        match place {
            Some(number) => lines[number - 1] = signer.to_string(),
            None => lines.push(signer.to_string()),
        }
        lines.join("\n") + "\n"
    }
}

/// The first word of a line, which may be in quotes, and what follows.
fn word(line: &str) -> Result<(String, &str), String> {
    let (word, rest) = match line.strip_prefix('"') {
        Some(quoted) => quoted.split_once('"').ok_or("the quotes around the names do not end")?,
        None => line.split_once([' ', '\t']).ok_or("the key is missing")?,
    };
    if word.is_empty() {
        return Err("there is no name".to_owned());
    }
    Ok((word.to_owned(), rest.trim_start()))
}

/// Where the options end: at the first space outside of quotes.
fn end_of_options(text: &str) -> Result<usize, String> {
    let mut quoted = false;
    let mut escaped = false;
    for (place, c) in text.char_indices() {
        match c {
            '"' if !escaped => quoted = !quoted,
            ' ' | '\t' if !quoted => return Ok(place),
            _ => {}
        }
        escaped = c == '\\';
    }
    Err("the key is missing".to_owned())
}

fn closing_quote(text: &str) -> Option<usize> {
    let mut escaped = false;
    for (place, c) in text.char_indices() {
        if c == '"' && !escaped {
            return Some(place);
        }
        escaped = c == '\\';
    }
    None
}
