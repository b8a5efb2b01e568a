//! What a sales mix takes at one site: each line is built once and counted, nothing is estimated.
//!
//! Totals are sums of builds. What comes on top of cups, and how long things keep, is the site's own
//! record of usage; no number of the trade stands here.

mod coffee;
mod cup;
mod par;
mod totals;

pub use coffee::{BeanNeed, ClassNeed, Pulls};
pub use cup::{CupUse, Taken, use_of};
pub use par::{Par, par};
pub use totals::{IngredientNeed, MilkNeed, VesselNeed};

use crate::{
    book::{Bar, IngredientKind},
    engine::{
        Line, Moment, build_line,
        objection::{Code, Manner, Objection},
    },
    units::{Cups, Days, Mass, Ratio, Volume},
};

/// One line of a sales mix.
#[derive(Clone, Debug)]
pub struct Sale {
    /// The drink with its modifiers.
    pub line: Line,
    /// How many cups of it in the whole period.
    pub count: u32,
    /// How many are expected on a day, where a forecast is asked for.
    pub per_day: Option<PerDay>,
}

/// Cups expected on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PerDay {
    /// Mean.
    pub mean: Cups,
    /// Standard deviation about it.
    pub deviation: Cups,
}

/// How far stock must reach.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Forecast {
    /// Days from one delivery until the next order has come.
    pub lead_time: Days,
    /// Standard deviations of the demand in that time that are kept beyond its mean.
    pub service_factor: Ratio,
}

/// What a sales mix takes.
#[derive(Debug)]
pub struct Needs<'b> {
    /// For each sale in turn, why it is not counted, if it is not.
    pub not_counted: Vec<Option<Objection>>,
    /// Cups counted.
    pub cups: i64,
    /// Coffee by class, in the order of the mix.
    pub coffee: Vec<ClassNeed<'b>>,
    /// Ground coffee by bean, in the order of the book.
    pub beans: Vec<BeanNeed<'b>>,
    /// Milk by kind, in the order of the book.
    pub milk: Vec<MilkNeed<'b>>,
    /// Every ingredient, in the order of the book.
    pub ingredients: Vec<IngredientNeed<'b>>,
    /// Cups and lids, by vessel and way of serving.
    pub vessels: Vec<VesselNeed<'b>>,
    /// Water, all of it.
    pub water: Volume,
    /// Ice.
    pub ice: Mass,
}

/// A sale that is counted, with what one cup of it takes.
pub(crate) struct Counted<'a, 'b> {
    pub(crate) count: i64,
    pub(crate) per_day: Option<PerDay>,
    pub(crate) cup: &'a CupUse<'b>,
}

/// What `sales` take at the bar in `days` days.
///
/// Milk and coffee are those of each cup made by itself; halves are told both so and as they pair
/// within their class. A line that is asked about or refused is left out, and its reason told.
///
/// * `forecast`: par levels are worked out where it is given and every sale has its `per_day`.
pub fn needs<'b>(
    bar: &'b Bar,
    sales: &[Sale],
    moment: &Moment,
    days: u32,
    forecast: Option<Forecast>,
) -> Needs<'b> {
    let judged: Vec<Result<CupUse<'b>, Objection>> =
        sales.iter().map(|sale| judged(bar, &sale.line, moment)).collect();
    let counted: Vec<Counted<'_, 'b>> = judged
        .iter()
        .zip(sales)
        .filter_map(|(cup, sale)| {
            let cup = cup.as_ref().ok()?;
            Some(Counted { count: i64::from(sale.count), per_day: sale.per_day, cup })
        })
        .collect();
    let coffee = coffee::classes(bar, &counted);
    let beans = coffee::beans(bar, &coffee, days);
    let ingredients = totals::ingredients(bar, &counted, &beans, forecast);
    let of_kind = |kind| totals::of_kind(&ingredients, kind);
    Needs {
        cups: counted.iter().map(|one| one.count).sum(),
        milk: totals::milk(bar, &counted),
        vessels: totals::vessels(&counted),
        water: of_kind(IngredientKind::Water).1,
        ice: of_kind(IngredientKind::Ice).0,
        coffee,
        beans,
        ingredients,
        not_counted: judged.into_iter().map(Result::err).collect(),
    }
}

/// What one cup of the line takes, or the first reason why it is not made as it stands.
fn judged<'b>(bar: &'b Bar, line: &Line, moment: &Moment) -> Result<CupUse<'b>, Objection> {
    match build_line(bar, line, moment) {
        Ok(build) => Ok(use_of(bar, &build)),
        Err(all) => {
            let refuses = |one: &Objection| one.manner == Manner::Refuse;
            let first = all.iter().position(refuses).unwrap_or_default();
            let found = all.into_iter().nth(first);
            Err(found.unwrap_or_else(|| Objection::refuse(Code::UnknownDrink)))
        }
    }
}
