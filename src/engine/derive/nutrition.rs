//! Nutrition: what the ingredients of a cup feed, by the region's rule.

use crate::{
    book::{Bar, Id, Ingredient, IngredientKind, Nutrient, Nutrition, NutritionRule, Stage},
    engine::{
        order::Order,
        solve::{Milk, Solved, mass_of},
    },
    units::{Mass, Quotient},
};

/// Nutrients and energy of a cup and what stands beside it, unrounded.
#[derive(Clone, Debug, PartialEq)]
pub struct Fed<'b> {
    /// Grams of each nutrient, in the order of [`Nutrient::ALL`]; `None` where one is not known.
    pub grams: [Option<f64>; Nutrient::ALL.len()],
    /// Energy, kJ; `None` where a nutrient that gives energy is not known.
    pub kj: Option<f64>,
    /// Energy, kcal; likewise.
    pub kcal: Option<f64>,
    /// Which ingredient does not say how much of what.
    pub missing: Vec<(&'b Id, Nutrient)>,
}

/// So many grams with a label.
#[derive(Clone, Copy, Debug)]
pub struct Labelled<'b> {
    /// What it is, by ingredient id; the coffee in the cup goes by its bean's.
    pub id: &'b Id,
    /// Its mass.
    pub mass: Mass,
    /// The extraction style whose record has its label, by id; its own ingredient's if not given.
    pub brewed: Option<&'b Id>,
    /// Whether it stands beside the cup.
    pub beside: bool,
    /// Nutrients of 100 g; `None` where nothing is known.
    pub label: Option<&'b Nutrition>,
}

/// Everything that is drunk or eaten: coffee, milk without its condensate and without what stays in
/// the jug, and every portion but a pack that nobody has opened. Water and ice feed nobody.
pub fn eaten<'b>(order: &Order<'b>, solved: &Solved<'b>) -> Vec<Labelled<'b>> {
    let mut all = Vec::with_capacity(solved.portions.len() + 2);
    if let Some((coffee, how)) = solved.coffee.zip(order.coffee.as_ref()) {
        let label = how.extraction.nutrition.as_ref();
        let (id, brewed) = (&how.bean.ingredient, Some(&how.extraction.id));
        let beside = order.is_aside(&how.part.id, "coffee");
        all.push(Labelled { id, mass: coffee.in_cup, brewed, beside, label });
    }
    match &solved.milk {
        Some(Milk::Steamed(milk)) => {
            // Condensate is water: of what is in the cup, milk has the share that it has in the jug.
            let density = milk.ingredient.density_kg_m3;
            let cold = density.map_or(0, |density| mass_of(milk.cold, density).mg());
            let mass = milk.in_cup.scaled(cold, cold + milk.condensate.mg());
            all.push(of(milk.ingredient, mass, order.has_milk_aside()));
        }
        Some(Milk::Cold(milk)) => {
            all.push(of(milk.ingredient, milk.mass, order.has_milk_aside()));
        }
        None => {}
    }
    let portions = solved.portions.iter().filter(|one| one.stage != Stage::Sealed);
    let feeding = portions
        .filter(|one| !matches!(one.ingredient.kind, IngredientKind::Water | IngredientKind::Ice));
    all.extend(feeding.map(|one| of(one.ingredient, one.mass, one.is_beside())));
    all
}

fn of(ingredient: &Ingredient, mass: Mass, beside: bool) -> Labelled<'_> {
    Labelled {
        id: &ingredient.id,
        mass,
        brewed: None,
        beside,
        label: ingredient.nutrition.as_ref(),
    }
}

/// The rule of the site's region.
pub fn rule(bar: &Bar) -> Option<&NutritionRule> {
    let region = bar.book.regions.iter().find(|region| region.id == bar.site.region)?;
    region.nutrition_rule.as_ref()
}

/// Adds up what is eaten.
///
/// * Source: Σ mass × nutrient of 100 g ÷ 100; energy by the rule's factors, kilojoules and
///   kilocalories each by its own unless the rule says to divide one by the other.
pub fn fed<'b>(rule: &NutritionRule, eaten: &[Labelled<'b>]) -> Fed<'b> {
    let mut missing = Vec::new();
    let grams = Nutrient::ALL.map(|nutrient| {
        let mut sum = Some(0.0);
        for one in eaten.iter().filter(|one| one.mass > Mass::ZERO) {
            let known = one.label.and_then(|label| label.per_100(nutrient));
            if known.is_none() {
                missing.push((one.id, nutrient));
            }
            sum = sum.zip(known).map(|(sum, per_100)| sum + one.mass.g() * per_100.g() / 100.0);
        }
        sum
    });
    // What a label may leave out is missing only where there is no label at all.
    missing.retain(|(_, nutrient)| Nutrient::ALL[..Nutrient::NEEDED].contains(nutrient));
    let energy = |of: fn(&crate::book::Energy) -> f64| {
        rule.energy.iter().try_fold(0.0, |sum, (nutrient, energy)| {
            Some(sum + giving_energy(rule, *nutrient, &grams)? * of(energy))
        })
    };
    let kj = energy(|energy| energy.kj_g.value());
    let kcal = match rule.kj_per_kcal.map(Quotient::value) {
        Some(kj_per_kcal) if kj_per_kcal > 0.0 => kj.map(|kj| kj / kj_per_kcal),
        _ => energy(|energy| energy.kcal_g.value()),
    };
    Fed { grams, kj, kcal, missing }
}

/// Grams of a nutrient that give energy by its row of the rule: polyols are within the carbohydrate, and
/// where they have a row of their own they count by that alone.
fn giving_energy(
    rule: &NutritionRule,
    nutrient: Nutrient,
    grams: &[Option<f64>; Nutrient::ALL.len()],
) -> Option<f64> {
    let of = |nutrient: Nutrient| grams[Nutrient::ALL.iter().position(|one| *one == nutrient)?];
    let polyols_apart = rule.energy.contains_key(&Nutrient::Polyols);
    if nutrient == Nutrient::Carbohydrate && polyols_apart {
        return Some(of(Nutrient::Carbohydrate)? - of(Nutrient::Polyols)?);
    }
    of(nutrient)
}

/// What a label says: figures rounded by the rule; one that is not known is `None`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Label {
    /// Energy, kJ.
    pub kj: Option<Quotient>,
    /// Energy, kcal.
    pub kcal: Option<Quotient>,
    /// Grams of each nutrient that a label needs, in the order of [`Nutrient::ALL`].
    pub grams: [Option<Quotient>; Nutrient::NEEDED],
}

/// The label of so much of what is fed.
///
/// * `share`: 1 for all of it; 100 ÷ mL for 100 mL.
pub fn label(rule: &NutritionRule, fed: &Fed<'_>, share: f64) -> Label {
    let figure = |name: &str, value: Option<f64>| Some(rounded(rule, name, value? * share));
    Label {
        kj: figure("energy_kj", fed.kj),
        kcal: figure("energy_kcal", fed.kcal),
        grams: std::array::from_fn(|at| {
            figure(&format!("{}_g", Nutrient::ALL[at].as_str()), fed.grams[at])
        }),
    }
}

/// Rounds a figure by the rule: the last step, and never one of a sum.
///
/// * `figure`: its name, such as `energy_kj` or `fat_g`.
///
/// ```
/// use cupwright::{book::{NutritionRule, RoundingRow}, engine::derive::rounded, units::Quotient};
///
/// let step = |thousandths| Quotient::from_thousandths(thousandths);
/// let rows = vec![
///     RoundingRow { up_to: Some(step(500)), under: None, step: step(0) },
///     RoundingRow { up_to: None, under: Some(step(10_000)), step: step(100) },
///     RoundingRow { up_to: None, under: None, step: step(1_000) },
/// ];
/// let rule = NutritionRule {
///     source: "a rule".to_owned(),
///     energy: Default::default(),
///     kj_per_kcal: None,
///     rounding: [("fat_g".to_owned(), rows)].into(),
/// };
/// let fat = |grams| rounded(&rule, "fat_g", grams).value();
/// assert_eq!([fat(0.5), fat(0.51), fat(9.96), fat(10.4)], [0.0, 0.5, 10.0, 10.0]);
/// ```
pub fn rounded(rule: &NutritionRule, figure: &str, value: f64) -> Quotient {
    let rows = rule.rounding.get(figure).map(Vec::as_slice).unwrap_or_default();
    let step = rows.iter().find(|row| row.holds(value)).map(|row| row.step);
    // Straight from the sum to its step: rounded on the way it could end a step off.
    match step.unwrap_or(Quotient::from_thousandths(100)) {
        Quotient::ZERO => Quotient::ZERO,
        step => Quotient::from_thousandths(1)
            .times(whole(value / step.value()))
            .times(step.thousandths()),
    }
}

/// The nearest whole number, halves away from zero.
fn whole(value: f64) -> i64 {
    Quotient::from_value(value.round() / 1_000.0).thousandths()
}
