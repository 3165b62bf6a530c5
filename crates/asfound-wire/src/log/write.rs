//! Frames as candump text.

use crate::frame::{CanFrame, FrameKind};

/// A frame as a line of the compact form without its line end: `(1700000000.123456) can0 7E0#021003`. Bus and time are left out
/// where they are not known. Whether the data of a flexible frame went at a higher rate is not kept; its flags are 0.
pub fn candump_text(frame: &CanFrame, bus: &str) -> String {
    let moment = frame.moment.map_or_else(String::new, |moment| format!("({moment}) "));
    let bus = if bus.is_empty() { String::new() } else { format!("{bus} ") };
    let mark = match frame.kind {
        FrameKind::Flexible => "##0",
        FrameKind::Classic | FrameKind::Error => "#",
        FrameKind::Remote => "#R",
    };
    let mut line = format!("{moment}{bus}{}{mark}", frame.id);
    for byte in frame.data() {
        line.push_str(&format!("{byte:02X}"));
    }
    line
}

#[cfg(test)]
mod tests {
    use super::super::candump_line;
    use super::*;
    use crate::frame::Interfaces;

    #[test]
    fn what_is_written_is_read_as_it_was() {
        for line in [
            "(1700000000.123456) can0 7E0#021003",
            "(0.000001) vcan1 18DAF10E#1014620D014B8355",
            "can0 7E8##0620D01AABBCCDDEEFF001122",
            "7E8#R",
        ] {
            let (mut interfaces, mut frame) = (Interfaces::default(), CanFrame::empty());
            candump_line(line.as_bytes(), &mut interfaces, &mut frame).unwrap();
            assert_eq!(candump_text(&frame, &interfaces.name(frame.interface)), line);
        }
    }
}
