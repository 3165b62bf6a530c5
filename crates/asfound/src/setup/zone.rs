//! The time zone of the place where the program runs.

use std::fmt;

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};
use thiserror::Error;
use time::{Date, OffsetDateTime, PrimitiveDateTime, Time, UtcOffset};

/// The time zone of the place where the program runs: which offset its clocks had when.
#[derive(Debug, Clone)]
pub enum Zone {
    /// One offset, at all times.
    Fixed(UtcOffset),
    /// The rules of a place.
    Place(TimeZone),
    /// `TZ` names none that is known, so that local times cannot be understood.
    Unusable(String),
}

/// Why a time on the clock of a place is no moment.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum LocalTimeError {
    /// The clocks were turned back, and showed it twice.
    #[error("{local} came twice in {zone}: the clocks were turned back")]
    Twice {
        /// The time.
        local: ClockTime,
        /// The zone.
        zone: String,
        /// When the clocks showed it first.
        first: OffsetDateTime,
        /// When they showed it again.
        second: OffsetDateTime,
    },
    /// The clocks were put forward, and never showed it.
    #[error("{local} never came in {zone}: the clocks went from {from} to {to}")]
    Skipped {
        /// The time.
        local: ClockTime,
        /// The zone.
        zone: String,
        /// What the clocks would have shown next.
        from: ClockTime,
        /// What they showed instead.
        to: ClockTime,
    },
    /// `TZ` names no zone that is known.
    #[error("the offset of {local} is not known: TZ is `{zone}`, which names no time zone")]
    NoZone {
        /// The time.
        local: ClockTime,
        /// What `TZ` says.
        zone: String,
    },
    /// It is too far from the present.
    #[error("date {0} is out of range")]
    Range(ClockTime),
}

impl LocalTimeError {
    /// What to write instead.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Twice { first, second, .. } => Some(format!("write {} or {}", written(*first), written(*second))),
            Self::NoZone { .. } => Some("write the offset too, as in 2026-03-14T09:20:00+01:00".to_owned()),
            Self::Skipped { .. } | Self::Range(_) => None,
        }
    }
}

/// A moment as RFC 3339 writes it, to the second.
fn written(at: OffsetDateTime) -> String {
    let local = PrimitiveDateTime::new(at.date(), at.time());
    let offset = at.offset();
    let sign = if offset.is_negative() { '-' } else { '+' };
    let (hours, minutes) = (offset.whole_hours().abs(), offset.minutes_past_hour().abs());
    let time = local.time();
    let (hour, minute, second) = (time.hour(), time.minute(), time.second());
    format!("{}T{hour:02}:{minute:02}:{second:02}{sign}{hours:02}:{minutes:02}", local.date())
}

/// What a clock on the wall shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockTime(PrimitiveDateTime);

impl fmt::Display for ClockTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let time = self.0.time();
        write!(f, "{} {:02}:{:02}", self.0.date(), time.hour(), time.minute())?;
        if time.second() > 0 { write!(f, ":{:02}", time.second()) } else { Ok(()) }
    }
}

impl Zone {
    /// The zone of the surroundings; `tz` is what `TZ` says. Where neither `TZ` nor the system names a zone, it is UTC.
    pub fn of_system(tz: Option<&str>) -> Self {
        match (TimeZone::try_system(), tz) {
            (Ok(zone), _) if !zone.is_unknown() => Self::Place(zone),
            (_, Some(named)) => Self::Unusable(named.to_owned()),
            (_, None) => Self::Fixed(UtcOffset::UTC),
        }
    }

    /// The moment at which the clocks of the place showed a time.
    ///
    /// # Errors
    /// When they showed it twice, or never.
    pub fn moment(&self, local: PrimitiveDateTime) -> Result<OffsetDateTime, LocalTimeError> {
        let zone = match self {
            Self::Fixed(offset) => return Ok(local.assume_offset(*offset)),
            Self::Place(zone) => zone,
            Self::Unusable(named) => {
                return Err(LocalTimeError::NoZone { local: ClockTime(local), zone: shown(named) });
            }
        };
        let range = || LocalTimeError::Range(ClockTime(local));
        let civil = civil_of(local).ok_or_else(range)?;
        let at = |offset: Offset| Some(to_minutes(local.assume_offset(offset_of(offset)?)));
        match zone.to_ambiguous_timestamp(civil).offset() {
            AmbiguousOffset::Unambiguous { offset } => at(offset).ok_or_else(range),
            AmbiguousOffset::Fold { before, after } => {
                let (first, second) = at(before).zip(at(after)).ok_or_else(range)?;
                Err(LocalTimeError::Twice { local: ClockTime(local), zone: name_of(zone), first, second })
            }
            AmbiguousOffset::Gap { before, after } => {
                let (from, to) = gap(zone, local, before, after).ok_or_else(range)?;
                Err(LocalTimeError::Skipped { local: ClockTime(local), zone: name_of(zone), from, to })
            }
        }
    }

    /// The first moment of a day.
    ///
    /// # Errors
    /// When the day never came.
    pub fn first_of(&self, day: Date) -> Result<OffsetDateTime, LocalTimeError> {
        match self.moment(PrimitiveDateTime::new(day, Time::MIDNIGHT)) {
            Err(LocalTimeError::Twice { first, .. }) => Ok(first),
            // In some places the clocks go forward at midnight.
            Err(LocalTimeError::Skipped { to, .. }) if to.0.date() == day => self.moment(to.0),
            other => other,
        }
    }

    /// The offset that the clocks of the place had at a moment.
    pub fn offset_at(&self, at: OffsetDateTime) -> UtcOffset {
        match self {
            Self::Fixed(offset) => *offset,
            Self::Unusable(_) => UtcOffset::UTC,
            Self::Place(zone) => {
                let offset = timestamp_of(at).and_then(|at| offset_of(zone.to_offset(at)));
                offset.map_or(UtcOffset::UTC, whole_minutes)
            }
        }
    }
}

/// What the clocks would have shown next when they were put forward over `local`, and what they showed.
fn gap(zone: &TimeZone, local: PrimitiveDateTime, before: Offset, after: Offset) -> Option<(ClockTime, ClockTime)> {
    // By the offset before it, the time lies behind the moment at which the clocks were put forward.
    let behind = timestamp_of(local.assume_offset(offset_of(before)?))?;
    let put_forward = zone.preceding(behind.checked_add(jiff::SignedDuration::from_secs(1)).ok()?).next()?.timestamp();
    let at = OffsetDateTime::from_unix_timestamp(put_forward.as_second()).ok()?;
    let showing = |offset: Offset| {
        let at = at.to_offset(offset_of(offset)?);
        Some(ClockTime(PrimitiveDateTime::new(at.date(), at.time())))
    };
    Some((showing(before)?, showing(after)?))
}

fn civil_of(local: PrimitiveDateTime) -> Option<DateTime> {
    let (date, time) = (local.date(), local.time());
    let year = i16::try_from(date.year()).ok()?;
    let [month, day] = [u8::from(date.month()), date.day()].map(i8::try_from);
    let [hour, minute, second] = [time.hour(), time.minute(), time.second()].map(i8::try_from);
    let nanosecond = i32::try_from(time.nanosecond()).ok()?;
    DateTime::new(year, month.ok()?, day.ok()?, hour.ok()?, minute.ok()?, second.ok()?, nanosecond).ok()
}

fn timestamp_of(at: OffsetDateTime) -> Option<Timestamp> {
    Timestamp::from_second(at.unix_timestamp()).ok()
}

/// Nothing for an offset of a day and more, which POSIX allows in `TZ` and RFC 3339 cannot write.
fn offset_of(offset: Offset) -> Option<UtcOffset> {
    const DAY: u32 = 24 * 60 * 60;
    UtcOffset::from_whole_seconds(offset.seconds()).ok().filter(|_| offset.seconds().unsigned_abs() < DAY)
}

/// The same moment at an offset of whole minutes, which is all that RFC 3339 can write: local mean times had seconds.
fn to_minutes(at: OffsetDateTime) -> OffsetDateTime {
    at.to_offset(whole_minutes(at.offset()))
}

fn whole_minutes(offset: UtcOffset) -> UtcOffset {
    let minutes = i32::from(offset.whole_minutes());
    UtcOffset::from_whole_seconds(minutes * 60).expect("fewer seconds of the same sign are an offset too")
}

fn name_of(zone: &TimeZone) -> String {
    zone.iana_name().map_or_else(|| "the time zone of this system".to_owned(), str::to_owned)
}

/// A text of the surroundings on one line.
fn shown(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '?' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use time::format_description::well_known::Iso8601;
    use time::macros::{date, datetime};

    use super::*;

    fn place(name: &str) -> Zone {
        Zone::Place(TimeZone::get(name).unwrap())
    }

    /// The reference is Python's `zoneinfo`; `tests/oracles/time_zones.py` recorded what it says.
    #[test]
    fn local_times_are_as_the_reference_has_them() {
        let recorded = include_str!("../../../../tests/data/time_zones.tsv");
        let (mut once, mut twice, mut never) = (0, 0, 0);
        for line in recorded.lines().filter(|line| !line.starts_with('#')) {
            let fields: Vec<&str> = line.split('\t').collect();
            let [zone, local, kind, first, second] = fields[..] else { panic!("{line}") };
            let at = PrimitiveDateTime::parse(local, &Iso8601::DEFAULT).unwrap();
            let parsed = |text: &str| OffsetDateTime::parse(text, &Iso8601::DEFAULT).unwrap();
            let clock = |text: &str| ClockTime(PrimitiveDateTime::parse(text, &Iso8601::DEFAULT).unwrap());
            match (kind, place(zone).moment(at)) {
                ("once", Ok(found)) => {
                    assert_eq!((found, found.offset()), (parsed(first), parsed(first).offset()), "{line}");
                    assert_eq!(place(zone).offset_at(found), found.offset(), "{line}");
                    once += 1;
                }
                ("twice", Err(LocalTimeError::Twice { first: a, second: b, .. })) => {
                    assert_eq!((a, b), (parsed(first), parsed(second)), "{line}");
                    assert_eq!((a.offset(), b.offset()), (parsed(first).offset(), parsed(second).offset()), "{line}");
                    twice += 1;
                }
                ("never", Err(LocalTimeError::Skipped { from, to, .. })) => {
                    assert_eq!((from, to), (clock(first), clock(second)), "{line}");
                    never += 1;
                }
                (_, found) => panic!("{line}: {found:?}"),
            }
        }
        assert!(once > 300 && twice > 20 && never > 20, "{once} {twice} {never}");
    }

    #[test]
    fn what_came_twice_or_never_is_said() {
        let berlin = place("Europe/Berlin");
        let error = berlin.moment(datetime!(2026-10-25 02:30)).unwrap_err();
        assert_eq!(error.to_string(), "2026-10-25 02:30 came twice in Europe/Berlin: the clocks were turned back");
        assert_eq!(error.hint().unwrap(), "write 2026-10-25T02:30:00+02:00 or 2026-10-25T02:30:00+01:00");
        assert_eq!(
            berlin.moment(datetime!(2026-03-29 02:00)).unwrap_err().to_string(),
            "2026-03-29 02:00 never came in Europe/Berlin: the clocks went from 2026-03-29 02:00 to 2026-03-29 03:00"
        );
        assert_eq!(berlin.moment(datetime!(2026-03-29 03:00)), Ok(datetime!(2026-03-29 03:00 +2)));
        assert_eq!(berlin.moment(datetime!(2026-03-29 01:59:59)), Ok(datetime!(2026-03-29 01:59:59 +1)));
        let unusable = Zone::Unusable("Europe/Berln".to_owned());
        assert!(unusable.moment(datetime!(2026-03-29 01:59)).unwrap_err().hint().is_some());
    }

    #[test]
    fn days_begin_where_their_place_lets_them() {
        // By the tz database the clocks of Beirut go forward at midnight, and Samoa left out 30 December 2011.
        assert_eq!(place("Asia/Beirut").first_of(date!(2026 - 03 - 29)), Ok(datetime!(2026-03-29 01:00 +3)));
        assert_eq!(place("Europe/Berlin").first_of(date!(2026 - 03 - 29)), Ok(datetime!(2026-03-29 00:00 +1)));
        assert!(place("Pacific/Apia").first_of(date!(2011 - 12 - 30)).is_err());
        assert!(place("Pacific/Apia").moment(datetime!(2011-12-30 12:00)).is_err());
    }

    #[test]
    fn rules_may_be_written_out() {
        // The form of POSIX.1, section 8.3 of its base definitions, with the rules of central Europe.
        let zone = Zone::Place(TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap());
        assert_eq!(zone.moment(datetime!(2026-07-01 12:00)), Ok(datetime!(2026-07-01 12:00 +2)));
        assert_eq!(zone.moment(datetime!(2026-12-01 12:00)), Ok(datetime!(2026-12-01 12:00 +1)));
    }
}
