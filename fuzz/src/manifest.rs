//! The manifest of an entry.

use asfound_journal::manifest::{MANIFEST_PATH, Manifest};

/// The text of a manifest: only the text that would be written is accepted.
pub fn manifest(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    match text.parse::<Manifest>() {
        Ok(manifest) => {
            assert_eq!(manifest.to_string(), text);
            assert_eq!(manifest.len(), text.lines().count());
            assert!(manifest.get(MANIFEST_PATH).is_none());
            assert!(manifest.iter().all(|(path, digest)| manifest.get(path.as_str()) == Some(digest)));
        }
        Err(error) => assert!(!error.to_string().is_empty()),
    }
}
