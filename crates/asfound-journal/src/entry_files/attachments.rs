//! Where an attached file lies in an entry.

use asfound_core::names::EntryNumber;

use crate::{FilePath, FilePathError};

/// The path of an attached file: `evidence/<entry>/<name>`, with every character that paths do
/// not hold replaced by `_`, and a leading dot likewise.
pub fn evidence_path(entry: EntryNumber, name: &str) -> Result<FilePath, FilePathError> {
    let mut safe = String::new();
    for c in name.chars() {
        let joins_dots = c == '.' && (safe.is_empty() || safe.ends_with('.'));
        let kept = c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
        safe.push(if kept && !joins_dots { c } else { '_' });
    }
    if safe.is_empty() {
        safe.push('_');
    }
    safe.truncate(200);
    format!("evidence/{entry}/{safe}").parse()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_name_becomes_a_path() {
        let path = |name: &str| evidence_path(EntryNumber::FIRST, name).unwrap().to_string();
        assert_eq!(path("Photo 1.jpg"), "evidence/1/Photo_1.jpg");
        assert_eq!(path("../../etc"), "evidence/1/_._.__etc");
        assert_eq!(path(".hidden"), "evidence/1/_hidden");
        assert_eq!(path(""), "evidence/1/_");
        assert_eq!(path("größe.txt"), "evidence/1/gr__e.txt");
    }
}
