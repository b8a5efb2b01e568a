//! Shots: one that was pulled, held to its recipe, and the one change to make.

mod advice;
mod fit;
mod grinder;

pub use advice::{Advice, Change, Reason, VERY_FINE_SOURCE};
pub use fit::{Slope, slope};
pub use grinder::{Step, StepFrom};

use crate::{
    book::{Bar, Extraction, ExtractionRow},
    units::{Mass, Percent, Ratio, Span, Steps},
};

/// A shot as it was pulled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pulled {
    /// Dry coffee in the basket; above 0.
    pub dose: Mass,
    /// Coffee in the cup; 0 if nothing came.
    pub yielded: Mass,
    /// Time from the first to the last moment of flow.
    pub time: Span,
    /// Change of the grinder's setting before this shot, finer counted up.
    pub grind: Steps,
}

/// How a shot tastes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taste {
    /// Sour, salty or thin.
    Sour,
    /// Bitter or dry.
    Bitter,
    /// Balanced, but weak.
    Weak,
    /// Sour and bitter at once.
    Both,
    /// As it should.
    Fine,
}

/// A shot with what was found out about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shot {
    /// How it was pulled.
    pub pulled: Pulled,
    /// Dissolved solids in the cup, if they were measured.
    pub tds: Option<Percent>,
    /// Taste, if it was tasted.
    pub taste: Option<Taste>,
}

/// The recipe of one basket, with its style.
#[derive(Clone, Copy, Debug)]
pub struct Recipe<'b> {
    /// The style.
    pub extraction: &'b Extraction,
    /// The row.
    pub row: &'b ExtractionRow,
    /// Whether the bean is ground here; of one in measured doses nothing can be set.
    pub is_ground: bool,
}

/// Why there is no recipe.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoRecipe {
    /// The book has no such style.
    Extraction,
    /// The book has no such bean.
    Bean,
    /// The book has no such pull.
    Pull,
    /// It has no row for this basket; those for which it has one, by halves.
    Basket(Vec<u8>),
    /// The bean is neither in a grinder here nor at hand in measured doses.
    BeanNotHere,
    /// There is no such basket here.
    BasketNotHere,
}

/// The recipe that holds at the bar: of the style that is named, or else of the first that has one.
///
/// * Errors: what it fails by; the first of style, bean, pull and basket.
pub fn recipe<'b>(
    bar: &'b Bar,
    extraction: Option<&str>,
    (bean, pull): (&str, &str),
    halves: u8,
) -> Result<Recipe<'b>, NoRecipe> {
    if extraction.is_some_and(|id| bar.extraction(id).is_none()) {
        return Err(NoRecipe::Extraction);
    }
    if bar.bean(bean).is_none() {
        return Err(NoRecipe::Bean);
    }
    if !bar.book.pulls.iter().any(|one| one.id == pull) {
        return Err(NoRecipe::Pull);
    }
    let wanted = |one: &&Extraction| extraction.is_none_or(|id| one.id == id);
    let is_ground = bar.site.grinders.iter().any(|one| one.beans.iter().any(|one| *one == *bean));
    let of_coffee = bar.book.extractions.iter().filter(wanted).flat_map(|extraction| {
        let rows = extraction.rows.iter().filter(|row| row.bean == bean && row.pull == pull);
        rows.map(move |row| Recipe { extraction, row, is_ground })
    });
    let rows: Vec<Recipe<'b>> = of_coffee.collect();
    let found = rows.iter().find(|recipe| recipe.row.halves == halves).copied();
    let here = bar.site.pre_dosed.iter().chain(bar.site.grinders.iter().flat_map(|one| &one.beans));
    if found.is_some() && !here.into_iter().any(|one| one == bean) {
        return Err(NoRecipe::BeanNotHere);
    }
    if found.is_some() && !bar.site.baskets.iter().any(|basket| basket.halves == halves) {
        return Err(NoRecipe::BasketNotHere);
    }
    found.ok_or_else(|| {
        let mut baskets: Vec<u8> = rows.iter().map(|recipe| recipe.row.halves).collect();
        baskets.sort_unstable();
        baskets.dedup();
        NoRecipe::Basket(baskets)
    })
}

/// A measure held to its bounds, all in thousandths of one unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bounds {
    /// As measured.
    pub measured: i64,
    /// Least allowed.
    pub min: i64,
    /// Most allowed.
    pub max: i64,
}

impl Bounds {
    fn about(measured: i64, target: i64, tolerance: i64) -> Self {
        Self { measured, min: (target - tolerance).max(0), max: target + tolerance }
    }

    /// How far it is outside: below 0 for too little, above 0 for too much, 0 within.
    pub fn off_by(&self) -> i64 {
        self.measured - self.measured.clamp(self.min, self.max.max(self.min))
    }
}

/// A shot held to its recipe.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// Dose.
    pub dose: Bounds,
    /// Yield.
    pub yielded: Bounds,
    /// Time.
    pub time: Bounds,
    /// Yield over dose.
    pub ratio: Ratio,
    /// Share of the dry coffee that is dissolved in the cup, if solids were measured.
    pub extraction_yield: Option<Percent>,
    /// The same held to the book's band, if it has one.
    pub extraction: Option<Bounds>,
    /// What a step of the grinder does; only where the book lays remedies down.
    pub step: Option<Step>,
    /// The one change to make, or why there is none.
    pub advice: Advice,
}

impl Judgement {
    /// Whether dose, yield and time, and the extraction where it is judged, are all within bounds.
    pub fn is_within(&self) -> bool {
        let measures = [self.dose, self.yielded, self.time];
        measures.iter().chain(&self.extraction).all(|one| one.off_by() == 0)
    }
}

/// Extraction yield: dissolved solids in the cup as a share of the dry coffee.
///
/// EY % = TDS % · yield ÷ dose, rounded to a thousandth of one percent; arithmetic.
///
/// * `dose`: above 0.
///
/// ```
/// use cupwright::{engine::shot::extraction_yield, units::{Mass, Percent}};
///
/// let (dose, yielded) = (Mass::from_g(18.0), Mass::from_g(36.0));
/// let ey = extraction_yield(Percent::from_percent(9.0), yielded, dose);
/// assert_eq!(ey, Percent::from_percent(18.0));
/// ```
pub fn extraction_yield(tds: Percent, yielded: Mass, dose: Mass) -> Percent {
    tds.scaled(yielded.mg(), dose.mg())
}

/// Holds a shot to its recipe and finds the one change to make.
///
/// * `recent`: shots before it on the same grinder, the oldest first.
pub fn judge(recipe: Recipe<'_>, shot: &Shot, recent: &[Pulled]) -> Judgement {
    let Recipe { extraction, row, is_ground } = recipe;
    let Shot { pulled, tds, .. } = shot;
    let dose = Bounds::about(pulled.dose.mg(), row.dose_g.mg(), row.dose_tolerance_g.mg());
    let yielded = Bounds::about(pulled.yielded.mg(), row.yield_g.mg(), row.yield_tolerance_g.mg());
    let (min, max) = (row.time_s.min.ms(), row.time_s.max.ms());
    let time = Bounds { measured: pulled.time.ms(), min, max };
    let extracted = tds.map(|tds| extraction_yield(tds, pulled.yielded, pulled.dose));
    let band = extracted.zip(extraction.extraction_yield_percent);
    let band = band.map(|(measured, range)| Bounds {
        measured: measured.thousandths(),
        min: range.min.thousandths(),
        max: range.max.thousandths(),
    });
    let check = extraction.shot_check.as_ref().filter(|_| is_ground);
    let step = check.map(|check| Step::of(check, row, recent, pulled));
    let advice = match check.zip(step.as_ref()) {
        Some((check, step)) => {
            let before = recent.last();
            let case = advice::Case { check, row, shot, dose, yielded, time, band, step, before };
            case.advice()
        }
        None => Advice::none(Reason::NoRemedies),
    };
    Judgement {
        dose,
        yielded,
        time,
        ratio: Ratio::from_thousandths(pulled.yielded.scaled(1_000, pulled.dose.mg()).mg()),
        extraction_yield: extracted,
        extraction: band,
        step,
        advice,
    }
}
