//! One line of a candump log, in either form.
//!
//! The forms are those that can-utils' `candump` writes (its manual page and the notation in its `lib.h`): compact,
//! `(1700000000.123456) can0 7E0#021003`, with `##` and a digit of flags for flexible data rate, and in columns,
//! `(1700000000.123456)  can0  7E0   [3]  02 10 03`. Time, interface and direction may be missing.

use super::LineProblem;

use super::{clock, columns, hex};
use crate::frame::{CanFrame, CanId, Direction, FrameKind, Interfaces};

/// Error frames carry this bit in the identifier that candump prints.
const ERROR_BIT: u32 = 0x2000_0000;

/// Reads one line, without its end, into `frame`. `false` for an empty line or a comment (`#`, `;`, `//`).
pub fn candump_line(line: &[u8], interfaces: &mut Interfaces, frame: &mut CanFrame) -> Result<bool, LineProblem> {
    let mut rest = trim_end(line);
    rest = skip_spaces(rest);
    match rest.first() {
        None | Some(b'#' | b';') => return Ok(false),
        Some(b'/') if rest.starts_with(b"//") => return Ok(false),
        _ => {}
    }
    frame.moment = None;
    frame.direction = None;
    frame.interface = crate::frame::Interface::UNNAMED;
    if rest[0] == b'(' {
        // The usual seventeen characters need no search for the closing bracket.
        let end = if rest.get(18) == Some(&b')') { 18 } else { memchr::memchr(b')', rest).ok_or(LineProblem::Time)? };
        frame.moment = Some(clock::moment(rest[1..end].trim_ascii()).ok_or(LineProblem::Time)?);
        rest = skip_spaces(&rest[end + 1..]);
    }
    let (first, after) = token(rest);
    if after.first() == Some(&b'#') {
        return compact(first, &after[1..], frame);
    }
    let after = skip_spaces(after);
    if after.first() == Some(&b'[') {
        return columns::columns(first, after, frame);
    }
    frame.interface = interfaces.number(first);
    let (second, after) = token(after);
    if after.first() == Some(&b'#') {
        return compact(second, &after[1..], frame);
    }
    columns::after_interface(second, skip_spaces(after), frame)
}

/// A word up to a space or `#`.
#[inline]
pub(super) fn token(text: &[u8]) -> (&[u8], &[u8]) {
    let end = text.iter().position(|c| matches!(c, b' ' | b'\t' | b'#')).unwrap_or(text.len());
    text.split_at(end)
}

#[inline]
pub(super) fn skip_spaces(text: &[u8]) -> &[u8] {
    let start = text.iter().position(|c| !matches!(c, b' ' | b'\t')).unwrap_or(text.len());
    &text[start..]
}

#[inline]
fn trim_end(text: &[u8]) -> &[u8] {
    match text.last() {
        Some(b' ' | b'\t' | b'\r') => text.trim_ascii_end(),
        _ => text,
    }
}

/// Sets the identifier and, for an error frame, the kind.
#[inline]
pub(super) fn identifier(digits: &[u8], frame: &mut CanFrame) -> Result<(), LineProblem> {
    frame.kind = FrameKind::Classic;
    let number = hex::number(digits).ok_or(LineProblem::Id)?;
    frame.id = if digits.len() <= 3 {
        CanId::standard(number).map_err(|_| LineProblem::Id)?
    } else if number & !0x1FFF_FFFF == ERROR_BIT {
        frame.kind = FrameKind::Error;
        CanId::of_29_bits(number)
    } else {
        CanId::extended(number).map_err(|_| LineProblem::Id)?
    };
    Ok(())
}

/// What follows `ID#`.
#[inline]
fn compact(id: &[u8], rest: &[u8], frame: &mut CanFrame) -> Result<bool, LineProblem> {
    identifier(id, frame)?;
    match rest.first() {
        Some(b'#') => return flexible(&rest[1..], frame),
        Some(b'R' | b'r') => {
            // A digit may tell the length that is asked for; an `R` after a space is a direction.
            let asked = rest.get(1).filter(|c| **c != b' ').map(|c| hex::digit(*c).ok_or(LineProblem::Data));
            frame.length = 0;
            frame.kind = FrameKind::Remote;
            let used = 1 + usize::from(asked.transpose()?.is_some());
            return ending(&rest[used..], frame);
        }
        _ => {}
    }
    data(rest, 8, frame)
}

/// What follows `ID##`: one digit of flags, then data.
fn flexible(rest: &[u8], frame: &mut CanFrame) -> Result<bool, LineProblem> {
    let flags = *rest.first().ok_or(LineProblem::Data)?;
    if flags == b'#' {
        return Err(LineProblem::Kind);
    }
    hex::digit(flags).ok_or(LineProblem::Data)?;
    if frame.kind == FrameKind::Classic {
        frame.kind = FrameKind::Flexible;
    }
    data(&rest[1..], 64, frame)
}

/// Data bytes, with dots between them allowed, then the end of the line.
#[inline]
fn data(rest: &[u8], most: usize, frame: &mut CanFrame) -> Result<bool, LineProblem> {
    let end = rest.iter().position(|c| matches!(c, b' ' | b'\t' | b'.' | b'_')).unwrap_or(rest.len());
    let (digits, after) = rest.split_at(end);
    if after.first() == Some(&b'.') {
        return dotted(rest, most, frame);
    }
    if digits.len() % 2 != 0 {
        return Err(LineProblem::Data);
    }
    let length = digits.len() / 2;
    if length > most {
        return Err(LineProblem::TooLong);
    }
    if !hex::fill(&mut frame.bytes[..length], digits) {
        return Err(LineProblem::Data);
    }
    frame.length = u8::try_from(length).map_err(|_| LineProblem::TooLong)?;
    if after.is_empty() { Ok(true) } else { ending(after, frame) }
}

/// Data with dots between bytes, as can-utils' `cansend` accepts it.
fn dotted(rest: &[u8], most: usize, frame: &mut CanFrame) -> Result<bool, LineProblem> {
    let (text, after) = token(rest);
    let mut length = 0;
    for pair in text.split(|c| *c == b'.') {
        if !pair.len().is_multiple_of(2) {
            return Err(LineProblem::Data);
        }
        for pair in pair.as_chunks::<2>().0 {
            if length == most {
                return Err(LineProblem::TooLong);
            }
            frame.bytes[length] = hex::byte(pair[0], pair[1]).ok_or(LineProblem::Data)?;
            length += 1;
        }
    }
    frame.length = u8::try_from(length).map_err(|_| LineProblem::TooLong)?;
    ending(after, frame)
}

/// What may follow the data: a raw length code, and a direction.
fn ending(mut rest: &[u8], frame: &mut CanFrame) -> Result<bool, LineProblem> {
    if let [b'_', code, after @ ..] = rest {
        hex::digit(*code).ok_or(LineProblem::Data)?;
        rest = after;
    }
    frame.direction = match rest.trim_ascii() {
        b"" => None,
        b"R" => Some(Direction::Received),
        b"T" => Some(Direction::Sent),
        _ => return Err(LineProblem::Data),
    };
    Ok(true)
}
