//! Bytes as people and programs write them in hexadecimal.

/// Bytes written in hexadecimal beyond doubt.
#[derive(Debug, Clone)]
pub(super) struct Bytes {
    pub(super) bytes: Vec<u8>,
    /// What they would be if the groups were decimal numbers: where no group has a prefix or a letter.
    decimal: Option<Vec<u8>>,
}

impl Bytes {
    /// The bytes that a clean text writes, where it cannot mean anything else:
    /// groups with a prefix (`0x1F`, `$1F`), two groups or more of two digits each, or one group with letters and digits
    /// that makes whole bytes.
    pub(super) fn of(text: &str) -> Option<Self> {
        let groups: Vec<&str> = text.split([' ', ',', ';', ':', '-']).filter(|group| !group.is_empty()).collect();
        let digits: Vec<&str> = groups.iter().map(|group| prefixed(group).unwrap_or(group)).collect();
        if groups.is_empty() || digits.iter().any(|digits| !is_hexadecimal(digits)) {
            return None;
        }
        let marked = groups.iter().any(|group| prefixed(group).is_some());
        let letters = digits.iter().any(|digits| digits.bytes().any(|byte| byte.is_ascii_alphabetic()));
        let plain = text.bytes().all(|byte| byte.is_ascii_hexdigit() || byte == b' ');
        let pairs = groups.iter().all(|group| prefixed(group).is_some() || group.len() == 2);
        let certain = match groups.as_slice() {
            [_] if marked => text.len() == groups[0].len(),
            [one] => {
                // `0b01` may be a binary number.
                let binary =
                    text.len() > 2 && one.starts_with("0b") && one[2..].bytes().all(|b| matches!(b, b'0' | b'1'));
                text.len() == one.len()
                    && one.len() % 2 == 0
                    && letters
                    && one.bytes().any(|b| b.is_ascii_digit())
                    && !binary
            }
            // `12:30` may be a time, `10-15` a range.
            _ => pairs && (marked || letters || plain),
        };
        if !certain {
            return None;
        }
        let bytes = digits.iter().flat_map(|digits| bytes_of(digits)).collect();
        let decimal = if marked || letters { None } else { groups.iter().map(|group| group.parse().ok()).collect() };
        Some(Self { bytes, decimal })
    }

    /// Whether one may be the other shortened, or with zeros before it.
    pub(super) fn may_be_shortened(&self, other: &Self) -> bool {
        let significant = |bytes: &[u8]| bytes.iter().skip_while(|byte| **byte == 0).copied().collect::<Vec<_>>();
        significant(&self.bytes) == significant(&other.bytes)
            || self.bytes.starts_with(&other.bytes)
            || other.bytes.starts_with(&self.bytes)
    }

    /// Whether one may be the other in decimal, or in the other byte order.
    pub(super) fn may_be_other_notation(&self, other: &Self) -> bool {
        self.bytes.iter().eq(other.bytes.iter().rev())
            || self.decimal.as_ref() == Some(&other.bytes)
            || other.decimal.as_ref() == Some(&self.bytes)
    }
}

fn prefixed(group: &str) -> Option<&str> {
    ["0x", "0X", "$"].into_iter().find_map(|prefix| group.strip_prefix(prefix)).filter(|digits| !digits.is_empty())
}

fn is_hexadecimal(digits: &str) -> bool {
    !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_hexdigit())
}

/// The bytes of hexadecimal digits; an odd number of them has a zero before it.
fn bytes_of(digits: &str) -> Vec<u8> {
    let nibble = |digit: u8| char::from(digit).to_digit(16).and_then(|digit| u8::try_from(digit).ok()).unwrap_or(0);
    let (first, rest) = digits.as_bytes().split_at(digits.len() % 2);
    let pairs = rest.chunks(2).map(|pair| nibble(pair[0]) << 4 | nibble(pair[1]));
    first.iter().map(|digit| nibble(*digit)).chain(pairs).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_row_of_bytes_in_many_ways() {
        for text in [
            "0x00 0x1F",
            "00 1F",
            "00 1f",
            "001F",
            "0x001F",
            "00-1F",
            "00:1F",
            "$00 $1F",
            "0x00, 0x1F",
            "0x00,0x1f",
            "0x0 0x1F",
        ] {
            assert_eq!(Bytes::of(text).map(|it| it.bytes), Some(vec![0, 0x1F]), "{text}");
        }
    }

    #[test]
    fn what_may_be_something_else_is_no_bytes() {
        for text in
            ["", "31", "0031", "fade", "12:30", "10-15", "1F0", "0b01", "0x", "5 x", "0x1G", "-1F", "10, 15", "1F-"]
        {
            assert!(Bytes::of(text).is_none(), "{text}");
        }
    }
}
