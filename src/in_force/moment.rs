//! The moment of an order: what has run out, and what is out of season by the site's calendar.

use jiff::{Timestamp, tz::TimeZone};

use crate::{
    book::{Bar, MonthDay},
    engine::Moment,
};

/// Why a text is not a time.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a time such as \"2026-11-25T14:05:00+01:00\" (RFC 3339)")]
pub struct NotATime(String);

/// The moment at which a line is judged.
///
/// * `ordered`: when the order was taken (RFC 3339); `now` if it does not say.
/// * `now`: the clock's time, read by the caller.
pub fn moment(
    bar: &Bar,
    out_of_stock: &[String],
    ordered: Option<&str>,
    now: Timestamp,
) -> Result<Moment, NotATime> {
    let at = match ordered {
        Some(text) => text.parse().map_err(|_| NotATime(text.to_owned()))?,
        None => now,
    };
    // The sheet's zone was checked when it was read.
    let zone = TimeZone::get(&bar.site.time_zone).unwrap_or(TimeZone::UTC);
    let local = at.to_zoned(zone);
    let day = MonthDay { month: local.month(), day: local.day() };
    let gone = bar.seasonal().filter(|(_, season)| !season.holds(day));
    Ok(Moment {
        may_override: false,
        out_of_stock: out_of_stock.to_vec(),
        out_of_season: gone.map(|(drink, _)| drink.id.to_string()).collect(),
    })
}
