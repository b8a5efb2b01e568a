//! How long food that is to be kept cold may stand out of the cold.

use crate::units::Span;

/// Hours below which food may go back into the cold.
const BACK_BELOW_H: i64 = 2;
/// Hours from which it is thrown away.
const AWAY_FROM_H: i64 = 4;

const MS_PER_HOUR: i64 = 3_600_000;

/// What may be done with food after its time out of the cold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeOut {
    /// Put it back into the cold, or use it.
    BackOrUse,
    /// Use it now; it does not go back.
    UseNow,
    /// Throw it away.
    Away,
}

/// What may be done with milk, or other food that is to be kept cold, that has stood between 5 and
/// 60 °C for `out` in all: every time that it stood out counts.
///
/// * Result: below 2 h back or used; from 2 h and below 4 h used; from 4 h thrown away.
/// * Source: the 2-hour/4-hour guide to Standard 3.2.2 of the Food Standards Code of Australia and
///   New Zealand, from memory. Local codes and licensed practice may be stricter.
///
/// ```
/// use cupwright::{engine::law::{TimeOut, time_out}, units::Span};
///
/// assert_eq!(time_out(Span::from_s(7_199.0)), TimeOut::BackOrUse);
/// assert_eq!(time_out(Span::from_s(7_200.0)), TimeOut::UseNow);
/// assert_eq!(time_out(Span::from_s(14_400.0)), TimeOut::Away);
/// ```
pub fn time_out(out: Span) -> TimeOut {
    if out < Span::from_ms(BACK_BELOW_H * MS_PER_HOUR) {
        TimeOut::BackOrUse
    } else if out < Span::from_ms(AWAY_FROM_H * MS_PER_HOUR) {
        TimeOut::UseNow
    } else {
        TimeOut::Away
    }
}
