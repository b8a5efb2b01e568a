//! What a build says of itself in figures: strength, caffeine, nutrition.

use serde::Serialize;
use utoipa::ToSchema;

use crate::{
    book::{Bar, NutritionRule},
    engine::{
        Verdict,
        derive::{Caffeine, Fed, Label, Strength, label},
    },
    units::{Mass, Percent, Quotient, Volume},
};

/// How strong the coffee in a cup is.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct StrengthView {
    /// Dissolved coffee in the cup.
    pub solids_g: Mass,
    /// Share of the dry coffee that has dissolved: dissolved ÷ dry × 100.
    pub extraction_yield_percent: Percent,
    /// Grams of dissolved coffee in 100 mL of the liquid in the cup, as the recipe says.
    pub solids_g_per_100ml: Quotient,
    /// The same with the least coffee within the recipe's tolerances.
    pub solids_g_per_100ml_min: Quotient,
    /// The same with the most.
    pub solids_g_per_100ml_max: Quotient,
}

/// Caffeine of a cup, or of an order: an estimate, and cups differ by more than its ends do. It
/// informs and advises nobody.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct CaffeineView {
    /// The low end, whole milligrams: by what tables of foods say of the coffee in the cup.
    pub low_mg: i64,
    /// Typical, whole milligrams: by the dose, what usually is in the bean, and the share of it that
    /// is extracted at the brew ratio.
    pub typical_mg: i64,
    /// The high end, whole milligrams: the same with the most that is in the bean.
    pub high_mg: i64,
}

/// What a cup feeds, by the rule of the site's region; rounded by that rule, as the very last step.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct NutritionView<'a> {
    /// The rule, by its published name.
    pub rule: &'a str,
    /// Of the cup and what stands beside it.
    pub per_cup: NutrientsView,
    /// Of 100 mL of the liquid in the cup, by what is in the cup alone; null where nothing liquid is in it.
    pub per_100ml: Option<NutrientsView>,
    /// What no label says; every figure that depends on it is null.
    pub missing: Vec<MissingView<'a>>,
}

/// Energy and nutrients; one that is not known is null.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct NutrientsView {
    /// Energy in kilojoules.
    pub energy_kj: Option<Quotient>,
    /// Energy in kilocalories, worked out by its own factors where the rule has them.
    pub energy_kcal: Option<Quotient>,
    /// Fat.
    pub fat_g: Option<Quotient>,
    /// Of it, saturates.
    pub saturates_g: Option<Quotient>,
    /// Carbohydrate without fibre.
    pub carbohydrate_g: Option<Quotient>,
    /// Of it, sugars.
    pub sugars_g: Option<Quotient>,
    /// Fibre.
    pub fibre_g: Option<Quotient>,
    /// Protein.
    pub protein_g: Option<Quotient>,
    /// Salt.
    pub salt_g: Option<Quotient>,
}

/// A nutrient that an ingredient's label does not give.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct MissingView<'a> {
    /// The ingredient, by id.
    pub ingredient: &'a str,
    /// The nutrient, such as `fibre`.
    pub nutrient: &'static str,
}

impl From<Strength> for StrengthView {
    fn from(strength: Strength) -> Self {
        let Strength { solids, extraction_yield, liquid: _, per_100_ml } = strength;
        // Straight to hundredths: rounded on the way it could end one off.
        let places = |value: f64| Quotient::from_value((value * 100.0).round() / 100.0);
        Self {
            solids_g: solids.to_nearest(Mass::from_mg(10)),
            extraction_yield_percent: extraction_yield.to_nearest(Percent::from_thousandths(100)),
            solids_g_per_100ml: places(per_100_ml.usual),
            solids_g_per_100ml_min: places(per_100_ml.min),
            solids_g_per_100ml_max: places(per_100_ml.max),
        }
    }
}

impl From<Caffeine> for CaffeineView {
    fn from(caffeine: Caffeine) -> Self {
        let Caffeine { low, typical, high } = caffeine;
        Self { low_mg: low.mg(), typical_mg: typical.mg(), high_mg: high.mg() }
    }
}

impl CaffeineView {
    /// Caffeine of one cup of a line; a line that is not made has none.
    ///
    /// * Result: `None` where the book does not say enough.
    pub fn of_verdict(bar: &Bar, verdict: &Verdict<'_>) -> Option<Self> {
        match verdict {
            Verdict::Accept { build, .. } => build.caffeine(bar).map(Self::from),
            Verdict::Ask { .. } | Verdict::Refuse { .. } => Some(Self::default()),
        }
    }

    /// So many of one cup beside all of another order.
    #[must_use]
    pub fn and(self, cup: Self, quantity: u32) -> Self {
        let times = |mg: i64| mg * i64::from(quantity);
        Self {
            low_mg: self.low_mg + times(cup.low_mg),
            typical_mg: self.typical_mg + times(cup.typical_mg),
            high_mg: self.high_mg + times(cup.high_mg),
        }
    }
}

/// The view of what a cup feeds.
///
/// * `liquid`: what a hundred millilitres are taken of.
pub(super) fn nutrition_view<'a>(
    rule: &'a NutritionRule,
    fed: &Fed<'a>,
    in_cup: &Fed<'a>,
    liquid: Volume,
) -> NutritionView<'a> {
    let per_100 = (liquid > Volume::ZERO).then(|| 100.0 / liquid.ml());
    let missing = fed
        .missing
        .iter()
        .map(|(ingredient, nutrient)| MissingView { ingredient, nutrient: nutrient.as_str() });
    NutritionView {
        rule: &rule.source,
        per_cup: label(rule, fed, 1.0).into(),
        per_100ml: per_100.map(|share| label(rule, in_cup, share).into()),
        missing: missing.collect(),
    }
}

impl From<Label> for NutrientsView {
    fn from(label: Label) -> Self {
        let Label { kj, kcal, grams } = label;
        let [fat_g, saturates_g, carbohydrate_g, sugars_g, fibre_g, protein_g, salt_g] = grams;
        Self {
            energy_kj: kj,
            energy_kcal: kcal,
            fat_g,
            saturates_g,
            carbohydrate_g,
            sugars_g,
            fibre_g,
            protein_g,
            salt_g,
        }
    }
}
