//! Moments, and the clock that puts entries in order.

use std::fmt;

use jiff::Timestamp;
use jiff::civil::DateTime;

/// A moment, milliseconds since 1970-01-01T00:00:00Z.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(pub i64);

/// Milliseconds in a day.
pub const DAY_MS: i64 = 86_400_000;

/// A text is not a moment.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a date; write 2026-05-30 or 2026-05-30T18:00:00Z")]
pub struct BadMoment(pub String);

impl Moment {
    /// Whole days from `earlier` to this moment; negative when it lies after.
    pub fn days_since(self, earlier: Moment) -> i64 {
        self.0.saturating_sub(earlier.0).div_euclid(DAY_MS)
    }

    /// The date in UTC, `2026-05-30`.
    pub fn date(self) -> String {
        self.timestamp().strftime("%Y-%m-%d").to_string()
    }

    /// The date and minute in UTC, `2026-05-30 18:04`.
    pub fn date_minute(self) -> String {
        self.timestamp().strftime("%Y-%m-%d %H:%M").to_string()
    }

    /// Reads a date (midnight UTC) or an RFC 3339 date and time.
    ///
    /// # Errors
    /// The text is neither.
    pub fn parse(text: &str) -> Result<Moment, BadMoment> {
        let text = text.trim();
        if let Ok(stamp) = text.parse::<Timestamp>() {
            return Ok(Moment(stamp.as_millisecond()));
        }
        text.parse::<DateTime>()
            .ok()
            .and_then(|civil| jiff::tz::TimeZone::UTC.to_timestamp(civil).ok())
            .map(|stamp| Moment(stamp.as_millisecond()))
            .ok_or_else(|| BadMoment(text.chars().take(40).collect()))
    }

    fn timestamp(self) -> Timestamp {
        // Moments outside jiff's years are pinned to its ends: they come from nonsense
        // input and are only shown.
        Timestamp::from_millisecond(self.0).unwrap_or(if self.0 < 0 {
            Timestamp::MIN
        } else {
            Timestamp::MAX
        })
    }
}

/// RFC 3339 in UTC, to the second.
impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.timestamp().strftime("%Y-%m-%dT%H:%M:%SZ"))
    }
}

/// A hybrid logical clock reading: 48 bits of milliseconds, 16 bits of counter.
///
/// Every entry's clock is greater than that of every entry its replica had seen, so
/// the order of clocks never contradicts cause and effect, even where wall clocks do.
/// Source: Kulkarni and others, "Logical Physical Clocks", 2014.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Clock(pub u64);

impl Clock {
    /// The clock before every entry.
    pub const ZERO: Clock = Clock(0);

    /// The clock for a new entry written at `now` by a replica whose greatest clock
    /// so far is `self`.
    #[must_use]
    pub fn next(self, now: Moment) -> Clock {
        let wall = u64::try_from(now.0).unwrap_or(0).min((1 << 47) - 1) << 16;
        Clock(wall.max(self.0.saturating_add(1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_read_and_show_alike() {
        let cases = [
            ("2026-05-30", "2026-05-30T00:00:00Z"),
            ("2026-05-30T18:00:00Z", "2026-05-30T18:00:00Z"),
            ("2026-05-30T18:00:00+02:00", "2026-05-30T16:00:00Z"),
            ("2026-05-30T18:00", "2026-05-30T18:00:00Z"),
        ];
        for (text, shown) in cases {
            assert_eq!(Moment::parse(text).unwrap().to_string(), shown, "{text}");
        }
        assert_eq!(
            Moment::parse("yesterday").unwrap_err().to_string(),
            "`yesterday` is not a date; write 2026-05-30 or 2026-05-30T18:00:00Z"
        );
    }

    #[test]
    fn the_clock_never_goes_back() {
        let early = Clock::ZERO.next(Moment(1000));
        let late = early.next(Moment(500));
        assert!(late > early);
        assert_eq!(Clock(u64::MAX).next(Moment(i64::MAX)), Clock(u64::MAX));
    }
}
