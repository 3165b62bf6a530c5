//! A column mapping on one line: `module=ECU,setting="Name, long",value=#3`.

use super::column::{ColumnKey, ColumnPlace, ColumnPlaceError};
use super::mapping::MappingError;

/// The keys and columns in the order in which they stand.
pub(super) fn read(text: &str) -> Result<Vec<(ColumnKey, ColumnPlace)>, MappingError> {
    let mut pairs = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let (key, after) = match (rest.find('='), rest.find(',')) {
            (Some(equals), comma) if comma.is_none_or(|comma| equals < comma) => rest.split_at(equals),
            (_, comma) => return Err(MappingError::NoEquals(rest[..comma.unwrap_or(rest.len())].trim().to_owned())),
        };
        let key: ColumnKey = key.trim().parse()?;
        let (place, after) = read_place(key, after[1..].trim_start())?;
        pairs.push((key, place));
        rest = match after.strip_prefix(',') {
            // A comma at the very end promises one more.
            Some(more) if more.trim().is_empty() => return Err(MappingError::NoEquals(String::new())),
            Some(more) => more.trim_start(),
            None => after,
        };
    }
    Ok(pairs)
}

/// The column at the start of `text`, and what follows it: nothing, or a comma and more.
fn read_place(key: ColumnKey, text: &str) -> Result<(ColumnPlace, &str), MappingError> {
    let refused = |fault: ColumnPlaceError| MappingError::Place { key, fault };
    let Some(quoted) = text.strip_prefix('"') else {
        let (place, rest) = text.split_at(text.find(',').unwrap_or(text.len()));
        return Ok((place.parse().map_err(refused)?, rest));
    };
    let mut header = String::new();
    let mut rest = quoted;
    loop {
        let (before, after) = rest.split_once('"').ok_or(MappingError::Quote(key))?;
        header.push_str(before);
        if let Some(more) = after.strip_prefix('"') {
            header.push('"');
            rest = more;
            continue;
        }
        let after = after.trim_start();
        if !after.is_empty() && !after.starts_with(',') {
            return Err(MappingError::Quote(key));
        }
        return Ok((ColumnPlace::header(&header).map_err(refused)?, after));
    }
}

/// The mapping on one line, so that it reads back as the same.
pub(super) fn write<'a>(pairs: impl Iterator<Item = (ColumnKey, &'a ColumnPlace)>) -> String {
    let pieces: Vec<String> = pairs
        .map(|(key, place)| match place {
            ColumnPlace::Header(header) if header.contains(',') => {
                format!("{key}=\"{}\"", header.replace('"', "\"\""))
            }
            place => format!("{key}={place}"),
        })
        .collect();
    pieces.join(",")
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn reads_headers_numbers_and_quoted_headers() {
        let pairs = read(" module = Control unit , setting=\"Name, \"\"long\"\"\" ,value=#3").unwrap();
        let header = |text: &str| ColumnPlace::Header(text.to_owned());
        assert_eq!(
            pairs,
            [
                (ColumnKey::Module, header("Control unit")),
                (ColumnKey::Setting, header("Name, \"long\"")),
                (ColumnKey::Value, ColumnPlace::Number(3)),
            ]
        );
        assert_eq!(read("value=a=b").unwrap(), [(ColumnKey::Value, header("a=b"))]);
        assert_eq!(read("value=\"#3\"").unwrap(), [(ColumnKey::Value, header("#3"))]);
    }

    #[test]
    fn says_what_is_wrong() {
        let no_equals = |text: &str| Err(MappingError::NoEquals(text.to_owned()));
        assert_eq!(read("ECU"), no_equals("ECU"));
        assert_eq!(read("ECU,value=A"), no_equals("ECU"));
        assert_eq!(read("value=A,"), no_equals(""));
        for text in ["value=\"A", "value=\"A\"B", "value=\"A\"\""] {
            assert_eq!(read(text), Err(MappingError::Quote(ColumnKey::Value)), "{text}");
        }
        let empty = MappingError::Place { key: ColumnKey::Value, fault: ColumnPlaceError::Empty };
        for text in ["value=", "value=,setting=A", "value=\" \""] {
            assert_eq!(read(text), Err(empty.clone()), "{text}");
        }
    }

    fn header() -> impl Strategy<Value = String> {
        "[a\",=# 1]{1,6}|\\PC{1,12}".prop_filter("a header is not blank", |text| !text.trim().is_empty())
    }

    proptest! {
        #[test]
        fn any_header_reads_back(header in header(), number in 1usize..) {
            let pairs = [
                (ColumnKey::Setting, ColumnPlace::Header(header.trim().to_owned())),
                (ColumnKey::Value, ColumnPlace::Number(number)),
            ];
            let text = write(pairs.iter().map(|(key, place)| (*key, place)));
            prop_assert_eq!(read(&text).unwrap(), pairs);
        }

        #[test]
        fn never_panics(text in "[a-z\",=#1 ]{0,24}|\\PC*") {
            let _ = read(&text);
        }
    }
}
