//! What happens on a walk, and how it is written in a line.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::names::EntryNumber;
use crate::plan::StatedContent;

/// What happened. Steps are counted from 1, as people count them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// This was read before the write.
    Found(usize, StatedContent),
    /// It could not be read before the write.
    NotRead(usize),
    /// Somebody is asked to write: from here on it may have been written.
    Asked(usize),
    /// The module accepted the write.
    Written(usize),
    /// The module refused the write, in these words.
    Refused(usize, String),
    /// Nobody knows whether the write was accepted, for this reason.
    NoAnswer(usize, String),
    /// This was read after the write, or to find out whether it was made.
    ReadBack(usize, StatedContent),
    /// It could not be read back.
    NotReadBack(usize),
    /// No more steps are made.
    Stopped,
    /// What was made was filed.
    Filed(EntryNumber),
    /// There was nothing to file.
    Ended,
}

/// A line that tells of no event.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{0}` tells of nothing that happens on a walk")]
pub struct EventError(String);

impl Event {
    /// The step that it is about.
    pub fn step(&self) -> Option<usize> {
        match self {
            Self::Found(step, _)
            | Self::NotRead(step)
            | Self::Asked(step)
            | Self::Written(step)
            | Self::Refused(step, _)
            | Self::NoAnswer(step, _)
            | Self::ReadBack(step, _)
            | Self::NotReadBack(step) => Some(*step),
            Self::Stopped | Self::Filed(_) | Self::Ended => None,
        }
    }

    /// Its word, which its line begins with.
    pub fn word(&self) -> &'static str {
        match self {
            Self::Found(..) => "found",
            Self::NotRead(_) => "not-read",
            Self::Asked(_) => "asked",
            Self::Written(_) => "written",
            Self::Refused(..) => "refused",
            Self::NoAnswer(..) => "no-answer",
            Self::ReadBack(..) => "read-back",
            Self::NotReadBack(_) => "not-read-back",
            Self::Stopped => "stopped",
            Self::Filed(_) => "filed",
            Self::Ended => "ended",
        }
    }
}

/// One line without its end: `found 2 bytes 13 03 40 56`.
impl fmt::Display for Event {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())?;
        match self {
            Self::Found(step, said) | Self::ReadBack(step, said) => match said {
                StatedContent::Bytes(bytes) => write!(f, " {step} bytes {bytes}"),
                StatedContent::Value(text) => write!(f, " {step} value {text}"),
            },
            Self::Refused(step, what) | Self::NoAnswer(step, what) => write!(f, " {step} {}", one_line(what)),
            Self::NotRead(step) | Self::Asked(step) | Self::Written(step) | Self::NotReadBack(step) => {
                write!(f, " {step}")
            }
            Self::Filed(entry) => write!(f, " {entry}"),
            Self::Stopped | Self::Ended => Ok(()),
        }
    }
}

/// Words on one line: white space of any kind becomes one space, other control characters are left out.
fn one_line(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.join(" ").chars().filter(|c| !c.is_control()).collect()
}

impl FromStr for Event {
    type Err = EventError;
    fn from_str(line: &str) -> Result<Self, EventError> {
        let refused = || EventError(line.chars().take(60).collect());
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        let number = |text: &str| text.parse::<usize>().ok().filter(|step| *step > 0).ok_or_else(refused);
        let told = || {
            let (step, text) = rest.split_once(' ').unwrap_or((rest, ""));
            Ok((number(step)?, text))
        };
        let said = || {
            let (step, text) = told()?;
            let said = match text.split_once(' ').ok_or_else(refused)? {
                ("bytes", bytes) => StatedContent::Bytes(bytes.parse().map_err(|_| refused())?),
                ("value", text) if !text.is_empty() => StatedContent::Value(text.to_owned()),
                _ => return Err(refused()),
            };
            Ok((step, said))
        };
        let event = match word {
            "found" => said().map(|(step, said)| Self::Found(step, said))?,
            "read-back" => said().map(|(step, said)| Self::ReadBack(step, said))?,
            "refused" => told().map(|(step, what)| Self::Refused(step, what.to_owned()))?,
            "no-answer" => told().map(|(step, what)| Self::NoAnswer(step, what.to_owned()))?,
            "not-read" => Self::NotRead(number(rest)?),
            "asked" => Self::Asked(number(rest)?),
            "written" => Self::Written(number(rest)?),
            "not-read-back" => Self::NotReadBack(number(rest)?),
            "stopped" if rest.is_empty() => Self::Stopped,
            "ended" if rest.is_empty() => Self::Ended,
            "filed" => Self::Filed(rest.parse().map_err(|_| refused())?),
            _ => return Err(refused()),
        };
        // There is one way to write each event, so that a line is as good as what it tells.
        if event.to_string() == line { Ok(event) } else { Err(refused()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_gives_its_event_again() {
        let bytes = StatedContent::Bytes("13 03 40".parse().unwrap());
        for (event, line) in [
            (Event::Found(2, bytes.clone()), "found 2 bytes 13 03 40"),
            (Event::ReadBack(1, StatedContent::Value("15 km/h".into())), "read-back 1 value 15 km/h"),
            (Event::NotRead(3), "not-read 3"),
            (Event::Asked(3), "asked 3"),
            (Event::Refused(3, "conditions not correct".into()), "refused 3 conditions not correct"),
            (Event::NoAnswer(3, "lamp went\n\tout".into()), "no-answer 3 lamp went out"),
            (Event::Stopped, "stopped"),
            (Event::Filed("8".parse().unwrap()), "filed 8"),
        ] {
            assert_eq!(event.to_string(), line);
            assert_eq!(line.parse::<Event>().unwrap().to_string(), line);
        }
        for line in ["", "asked", "asked 0", "asked 1 2", "found 1", "found 1 bytes 1", "found 1 text 5", "Stopped"] {
            assert!(line.parse::<Event>().is_err(), "{line:?}");
        }
    }
}
