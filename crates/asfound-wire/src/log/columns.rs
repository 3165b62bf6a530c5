//! The column form of a candump line.

use super::LineProblem;
use super::candump::{identifier, skip_spaces, token};
use super::hex;
use crate::frame::{CanFrame, Direction, FrameKind};

/// What stands after the interface: with the direction and flags that `candump -x` prints, or the identifier at once.
pub(super) fn after_interface(second: &[u8], rest: &[u8], frame: &mut CanFrame) -> Result<bool, LineProblem> {
    let direction = match second {
        b"RX" => Some(Direction::Received),
        b"TX" => Some(Direction::Sent),
        _ => None,
    };
    if direction.is_none() {
        return columns(second, rest, frame);
    }
    frame.direction = direction;
    // Two columns of flags: bit rate switch and error state, a dash for no.
    let (_, rest) = token(rest);
    let (_, rest) = token(skip_spaces(rest));
    let (id, rest) = token(skip_spaces(rest));
    columns(id, skip_spaces(rest), frame)
}

/// Identifier, `[length]`, bytes; then whatever candump adds for people (characters, names of errors).
pub(super) fn columns(id: &[u8], rest: &[u8], frame: &mut CanFrame) -> Result<bool, LineProblem> {
    if rest.first() != Some(&b'[') {
        return Err(LineProblem::Form);
    }
    identifier(id, frame)?;
    let end = rest.iter().take(6).position(|c| *c == b']').ok_or(LineProblem::Form)?;
    let digits = &rest[1..end];
    let length = std::str::from_utf8(digits).ok().and_then(|text| text.parse::<usize>().ok());
    let length = length.ok_or(LineProblem::Form)?;
    // Frames of flexible data rate have two digits, also below ten.
    if digits.len() == 2 && frame.kind == FrameKind::Classic {
        frame.kind = FrameKind::Flexible;
    }
    let most = if frame.kind == FrameKind::Flexible { 64 } else { 8 };
    if length > most {
        return Err(LineProblem::TooLong);
    }
    let mut rest = skip_spaces(&rest[end + 1..]);
    if rest.starts_with(b"remote request") {
        frame.kind = FrameKind::Remote;
        frame.length = 0;
        return Ok(true);
    }
    for byte in &mut frame.bytes[..length] {
        let (pair, after) = token(rest);
        let [high, low] = pair else {
            return Err(if pair.is_empty() { LineProblem::Length } else { LineProblem::Data });
        };
        *byte = hex::byte(*high, *low).ok_or(LineProblem::Data)?;
        rest = skip_spaces(after);
    }
    // One more byte would be a length that is not true; anything else is a comment for people.
    let (more, _) = token(rest);
    if let [high, low] = more
        && hex::byte(*high, *low).is_some()
    {
        return Err(LineProblem::Length);
    }
    frame.length = u8::try_from(length).map_err(|_| LineProblem::TooLong)?;
    Ok(true)
}
