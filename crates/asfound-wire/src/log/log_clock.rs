//! What the times of a log count from.

use super::candump::candump_line;
use super::together::tells_a_date;
use crate::frame::{CanFrame, Interfaces, Timestamp};

/// What the times of a log count from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LogClock {
    /// From 1970: they tell a date.
    Date,
    /// From a moment that the log does not tell, such as its own beginning.
    Beginning,
    /// Each from the line before. They are added up, so that the moments of frames count from the log's beginning.
    LineBefore,
    /// The log has no times.
    #[default]
    None,
}

/// Of so few altered times nothing is concluded.
const FEW: u32 = 4;

impl LogClock {
    /// The clock of a text log, by its first lines. Differences go back about as often as they rise, and seldom reach more than
    /// ever before. A clock that counts on goes back where logs were joined, or by a little where two buses were.
    pub(super) fn of_text(head: &[u8]) -> Self {
        let (mut interfaces, mut frame) = (Interfaces::default(), CanFrame::empty());
        let (mut before, mut highest) = (None::<Timestamp>, None::<Timestamp>);
        let (mut rises, mut back, mut peaks) = (0_u32, 0_u32, 0_u32);
        // The last line may have been cut.
        let whole = head.iter().rposition(|byte| *byte == b'\n').map_or(head, |end| &head[..end]);
        for line in whole.split(|byte| *byte == b'\n') {
            if candump_line(line, &mut interfaces, &mut frame) != Ok(true) {
                continue;
            }
            let Some(now) = frame.moment else { continue };
            if tells_a_date(now) {
                return Self::Date;
            }
            if let Some(before) = before.replace(now) {
                rises += u32::from(now > before);
                back += u32::from(now < before);
                peaks += u32::from(Some(now) > highest);
            }
            highest = highest.max(Some(now));
        }
        match before {
            None => Self::None,
            Some(_) if rises + back > FEW && rises <= 2 * back + 1 && peaks * 2 <= rises + 4 => Self::LineBefore,
            Some(_) => Self::Beginning,
        }
    }

    /// The clock of a capture, by its first moment.
    pub(super) fn of_moment(first: Option<Timestamp>) -> Self {
        first.map_or(Self::None, |first| if tells_a_date(first) { Self::Date } else { Self::Beginning })
    }
}
