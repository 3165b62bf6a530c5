//! The content security policy of a page.

use base64ct::{Base64, Encoding};
use sha2::{Digest, Sha256};

/// A policy (Content Security Policy Level 3) by which the page may use its own style, its own script where it has one, and
/// pictures that stand in it, and nothing else.
pub(super) fn policy(style: &str, script: Option<&str>) -> String {
    let hash = |text: &str| format!("'sha256-{}'", Base64::encode_string(&Sha256::digest(text.as_bytes())));
    let script = script.map(|script| format!("; script-src {}", hash(script))).unwrap_or_default();
    format!("default-src 'none'; style-src {}{script}; img-src data:; base-uri 'none'; form-action 'none'", hash(style))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The hash of the empty string is published: FIPS 180-4 examples, in base 64.
    #[test]
    fn the_hash_is_over_the_text_alone() {
        assert!(policy("", None).contains("'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"));
        assert!(!policy("", None).contains("script-src") && policy("", Some("")).contains("script-src"));
    }
}
