//! Par levels: how much must be at hand, on the way counted in, when an order is placed.

use super::{Counted, Forecast, PerDay};
use crate::units::{Days, Mass};

/// A par level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Par {
    /// How much must be at hand.
    pub level: Mass,
    /// Mean use on a day.
    pub mean_per_day: Mass,
    /// Standard deviation of the use on a day.
    pub deviation_per_day: Mass,
    /// Whether it is held down to what is used while it keeps.
    pub capped: bool,
}

/// The par level of one ingredient: mean·L + z·σ·√L, and no more than the mean use of its shelf life.
///
/// L is the lead time and z the service factor. Lines sell independently of each other, and days of
/// each other, so that variances add: σ² is the sum of the squares of each line's own deviation times
/// the amount in one of its cups. Source: the base-stock level of inventory theory for demand that
/// is about normal; common practice, no single source.
///
/// * `each`: per line, cups on a day, and what a cup takes.
/// * `steady`: what a day takes whatever is sold.
///
/// ```
/// use cupwright::{needs::{Forecast, PerDay, par}, units::{Cups, Days, Mass, Ratio}};
///
/// let per_day = |mean, deviation| PerDay {
///     mean: Cups::from_cups(mean),
///     deviation: Cups::from_cups(deviation),
/// };
/// // 100 cups a day of 10 g, give or take 15, and 50 of 20 g, give or take 10: mean 2,000 g, and
/// // σ = √(150² + 200²) = 250 g. For 4 days at z = 2: 8,000 + 2 · 250 · 2 = 9,000 g.
/// let each = [
///     (per_day(100.0, 15.0), Mass::from_g(10.0)),
///     (per_day(50.0, 10.0), Mass::from_g(20.0)),
/// ];
/// let forecast =
///     Forecast { lead_time: Days::from_days(4.0), service_factor: Ratio::from_times(2.0) };
/// let found = par(&each, Mass::ZERO, forecast, None);
/// assert_eq!(found.level, Mass::from_g(9_000.0));
/// assert_eq!(found.deviation_per_day, Mass::from_g(250.0));
/// let kept = par(&each, Mass::ZERO, forecast, Some(Days::from_days(3.0)));
/// assert_eq!((kept.level, kept.capped), (Mass::from_g(6_000.0), true));
/// ```
pub fn par(
    each: &[(PerDay, Mass)],
    steady: Mass,
    forecast: Forecast,
    shelf_life: Option<Days>,
) -> Par {
    let (mut mean, mut variance) = (steady.g(), 0.0);
    for (cups, amount) in each {
        mean += cups.mean.cups() * amount.g();
        let own = cups.deviation.cups() * amount.g();
        variance += own * own;
    }
    // A square root is rounded alike on every machine (IEEE 754).
    let deviation = variance.sqrt();
    let days = forecast.lead_time.days();
    let wanted = mean * days + forecast.service_factor.times_of() * deviation * days.sqrt();
    let most = shelf_life.map(|life| mean * life.days()).filter(|most| *most < wanted);
    Par {
        level: Mass::from_g(most.unwrap_or(wanted)),
        mean_per_day: Mass::from_g(mean),
        deviation_per_day: Mass::from_g(deviation),
        capped: most.is_some(),
    }
}

/// What each counted line sells on a day, with what `amount` says that a cup of it takes.
pub(super) fn each(
    counted: &[Counted<'_, '_>],
    amount: impl Fn(&Counted<'_, '_>) -> Mass,
) -> Option<Vec<(PerDay, Mass)>> {
    counted.iter().map(|one| Some((one.per_day?, amount(one)))).collect()
}
