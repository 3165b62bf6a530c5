//! The names by which keys are trusted.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

/// A name that no list of principals can hold as it is.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{0}` cannot name a key: it must say something, and hold none of , * ? ! \" # \\ and no line ends")]
pub struct PrincipalError(String);

/// One name by which a key is trusted: an e-mail address, or a person's name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Principal(String);

impl Principal {
    /// The name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for Principal {
    type Err = PrincipalError;
    fn from_str(text: &str) -> Result<Self, PrincipalError> {
        let text = text.trim();
        // Those that mean something in a list of patterns, or in the line around it.
        let means_something = |c: char| c.is_control() || ",*?!\"#\\".contains(c);
        if text.is_empty() || text.contains(means_something) {
            return Err(PrincipalError(text.chars().take(80).collect()));
        }
        Ok(Self(text.to_owned()))
    }
}

impl fmt::Display for Principal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// Whether a list of patterns, separated by commas, takes a name (PATTERNS in `ssh_config(5)`): `*` stands for
/// anything, `?` for one character, and a name that a pattern behind `!` takes is refused whatever else does.
pub(super) fn list_takes(patterns: &str, name: &str) -> bool {
    let mut taken = false;
    for pattern in patterns.split(',') {
        match pattern.strip_prefix('!') {
            Some(pattern) if takes(pattern, name) => return false,
            Some(_) => {}
            None => taken |= takes(pattern, name),
        }
    }
    taken
}

fn takes(pattern: &str, name: &str) -> bool {
    let (pattern, name): (Vec<char>, Vec<char>) = (pattern.chars().collect(), name.chars().collect());
    let (mut p, mut n) = (0, 0);
    // Where the last `*` was, and how far its text reaches: it is made longer where the rest does not fit.
    let mut star: Option<(usize, usize)> = None;
    while n < name.len() {
        match pattern.get(p) {
            Some('*') => {
                star = Some((p, n));
                p += 1;
            }
            Some(&c) if c == '?' || c == name[n] => (p, n) = (p + 1, n + 1),
            _ => match star {
                Some((place, reach)) => {
                    star = Some((place, reach + 1));
                    (p, n) = (place + 1, reach + 1);
                }
                None => return false,
            },
        }
    }
    pattern[p..].iter().all(|&c| c == '*')
}

#[cfg(test)]
mod tests {
    use super::*;

    // By ssh_config(5), PATTERNS, of OpenSSH 9.2.
    #[test]
    fn patterns_take_what_the_manual_says() {
        assert!(list_takes("*.co.uk", "host.co.uk"));
        assert!(list_takes("192.168.0.?", "192.168.0.7") && !list_takes("192.168.0.?", "192.168.0.17"));
        assert!(!list_takes("!*.dialup.example.com,*.example.com", "a.dialup.example.com"));
        assert!(list_takes("!*.dialup.example.com,*.example.com", "a.example.com"));
        assert!(!list_takes("!a", "b"), "a negated pattern alone takes nothing");
        assert!(list_takes("*@*.example", "a@b.example") && !list_takes("*@*.example", "a@example"));
        assert!(list_takes("a*b*c", "aXbbYc") && !list_takes("a*b*c", "aXbbY"));
    }

    #[test]
    fn names_that_mean_something_are_refused() {
        assert_eq!(" Edda Brandt ".parse::<Principal>().unwrap().as_str(), "Edda Brandt");
        for name in ["", " ", "a,b", "*", "a?", "!a", "a\"b", "a\nb", "#a"] {
            assert!(name.parse::<Principal>().is_err(), "{name:?}");
        }
    }
}
