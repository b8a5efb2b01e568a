//! Caffeine as an interval: by what tables of foods say of the coffee, and by what the bean holds.

use crate::{
    book::{Bar, Bean, BeanCaffeine, CurvePoint, IngredientCaffeine, Stage},
    engine::{
        order::{Draw, Order},
        solve::{Baskets, Solved},
    },
    units::{Mass, PerGram},
};

/// Caffeine in a cup and what stands beside it, in whole milligrams: an estimate. Cups differ more
/// than its ends do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Caffeine {
    /// By the coffee in the cup, as tables of foods have it.
    pub low: Mass,
    /// By the dose and what usually is in the bean.
    pub typical: Mass,
    /// By the dose and the most that is in the bean.
    pub high: Mass,
}

/// Milligrams, not rounded.
#[derive(Clone, Copy, Debug, Default)]
struct Estimate {
    low: f64,
    typical: f64,
    high: f64,
}

impl Estimate {
    fn and(self, other: Self) -> Self {
        Self {
            low: self.low + other.low,
            typical: self.typical + other.typical,
            high: self.high + other.high,
        }
    }
}

/// The share of a dose's caffeine that is in the coffee, between the curve's points on a line.
///
/// * `ratio`: yield over dose; beyond the ends the curve stays as it ends.
///
/// ```
/// use cupwright::{book::CurvePoint, engine::derive::extracted_share, units::{Ratio, Share}};
///
/// let point = |ratio, share| CurvePoint {
///     ratio: Ratio::from_times(ratio),
///     share: Share::from_share(share),
/// };
/// let curve = [point(1.0, 0.57), point(2.0, 0.80)];
/// assert!((extracted_share(&curve, 1.5) - 0.685).abs() < 1e-12);
/// assert!((extracted_share(&curve, 3.0) - 0.80).abs() < 1e-12);
/// ```
pub fn extracted_share(curve: &[CurvePoint], ratio: f64) -> f64 {
    let Some(first) = curve.first() else { return 0.0 };
    let mut before = first;
    for point in curve {
        let (from, to) = (before.ratio.times_of(), point.ratio.times_of());
        if ratio <= to {
            if to <= from {
                return point.share.share();
            }
            let along = ((ratio - from) / (to - from)).clamp(0.0, 1.0);
            return before.share.share() + along * (point.share.share() - before.share.share());
        }
        before = point;
    }
    before.share.share()
}

/// A bean's caffeine: its own, or half of each of the two that it is mixed of.
pub fn bean_caffeine(bar: &Bar, bean: &Bean) -> Option<BeanCaffeine> {
    if bean.caffeine.is_some() {
        return bean.caffeine;
    }
    let [first, second] = bean.half_of.as_slice() else { return None };
    let (first, second) = (bar.bean(first)?.caffeine?, bar.bean(second)?.caffeine?);
    let mean = |of: fn(&BeanCaffeine) -> PerGram| {
        PerGram::from_ug_g(i64::midpoint(of(&first).ug_g(), of(&second).ug_g()))
    };
    Some(BeanCaffeine {
        beverage_mg_g: mean(|one| one.beverage_mg_g),
        roasted_mg_g: mean(|one| one.roasted_mg_g),
        roasted_most_mg_g: mean(|one| one.roasted_most_mg_g),
    })
}

fn of_draw(bar: &Bar, curve: &[CurvePoint], draw: &Draw<'_>, share: f64) -> Option<Estimate> {
    let BeanCaffeine { beverage_mg_g, roasted_mg_g, roasted_most_mg_g } =
        bean_caffeine(bar, draw.bean)?;
    let baskets = Baskets::of(draw);
    let (dose, pulled) = (baskets.dose.g(), baskets.pulled.g());
    let reaches = dose * share * extracted_share(curve, pulled / dose);
    let beverage = pulled * share * beverage_mg_g.mg_g();
    let typical = reaches * roasted_mg_g.mg_g();
    Some(Estimate {
        // The two methods differ; whichever says less is the low end.
        low: beverage.min(typical),
        typical,
        high: reaches * roasted_most_mg_g.mg_g(),
    })
}

fn of_grams(grams: f64, caffeine: &IngredientCaffeine) -> Estimate {
    let IngredientCaffeine { low_mg_g, typical_mg_g, high_mg_g } = caffeine;
    Estimate {
        low: grams * low_mg_g.mg_g(),
        typical: grams * typical_mg_g.mg_g(),
        high: grams * high_mg_g.mg_g(),
    }
}

/// The caffeine of a cup; `None` where the book does not say what its coffee holds.
///
/// What stands beside the cup counts, but for a pack that nobody has opened.
///
/// * Source: low, the coffee in the cup × the table's mg per gram (USDA SR26 14210 gives 2.12);
///   typical and high, dose × mg per gram of the bean × the share extracted at the brew ratio.
pub fn caffeine(bar: &Bar, order: &Order<'_>, solved: &Solved<'_>) -> Option<Caffeine> {
    let curve = &bar.book.caffeine.as_ref()?.curve;
    let mut sum = Estimate::default();
    if let Some(coffee) = &order.coffee {
        for draw in coffee.draws() {
            sum = sum.and(of_draw(bar, curve, &draw, coffee.share.share())?);
        }
    }
    for one in solved.portions.iter().filter(|one| one.stage != Stage::Sealed) {
        if let Some(caffeine) = &one.ingredient.caffeine {
            sum = sum.and(of_grams(one.mass.g(), caffeine));
        }
    }
    let whole = |mg: f64| Mass::from_g(mg / 1_000.0);
    Some(Caffeine { low: whole(sum.low), typical: whole(sum.typical), high: whole(sum.high) })
}
