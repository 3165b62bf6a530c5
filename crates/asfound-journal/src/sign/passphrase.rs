//! Passphrases, which nothing shows.

use std::fmt;

use zeroize::Zeroizing;

/// A passphrase: wiped from memory when it goes, and shown by nothing.
#[derive(Clone)]
pub struct Passphrase(Zeroizing<String>);

impl Passphrase {
    pub(super) fn as_bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }
}

impl From<String> for Passphrase {
    fn from(text: String) -> Self {
        Self(Zeroizing::new(text))
    }
}

impl fmt::Debug for Passphrase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Passphrase(not shown)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_passphrase_is_not_shown() {
        assert_eq!(format!("{:?}", Passphrase::from("open sesame".to_owned())), "Passphrase(not shown)");
    }
}
