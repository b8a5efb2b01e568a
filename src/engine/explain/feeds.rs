//! Strength, caffeine and nutrition.

use super::{
    Scene,
    coffee::{row, shares},
    figure::{Factor, Figure, amount, book, figure, law, number, of_hundred},
};
use crate::{
    book::{BeanCaffeine, ExtractionRow, Nutrient, NutritionRule, Part, Stage},
    engine::{
        derive::{Labelled, bean_caffeine, eaten, extracted_share, fed, fills_up, liquid, rule},
        order::{CoffeeOrder, Draw},
        solve::{Baskets, PortionOf},
    },
    units::Per100,
};

/// The step of the first row of a rule whose bound holds.
fn step(rule: &NutritionRule, name: &str, value: f64) -> f64 {
    let rows = rule.rounding.get(name).map(Vec::as_slice).unwrap_or_default();
    rows.iter().find(|row| row.holds(value)).map_or(0.1, |row| row.step.value())
}

/// Dissolved coffee of every basket and brew, each with a factor for the dose's tolerance.
fn with_solids(scene: Scene<'_, '_>, mut sum: Figure, off: Option<AtDose>) -> Figure {
    let order = scene.order();
    let coffee = order.coffee.as_ref().filter(|how| !order.is_aside(&how.part.id, "coffee"));
    if let Some(how) = coffee {
        for draw in how.draws() {
            for (one, share) in shares(&draw) {
                sum = sum.plus(solids_of(how, one, share, off.map(|off| off(one))));
            }
        }
    }
    for one in &scene.build.solved.portions {
        let PortionOf::Grounds(id) = one.of else { continue };
        let brew = order.parts().filter(|part| part.id() == id).find_map(Part::as_brew);
        let Some(yielded) = brew.and_then(|brew| brew.extraction_yield_percent) else { continue };
        let path = format!("{}/extraction_yield_percent", scene.part(id));
        let mass = amount("ground coffee", one.mass.g(), "g");
        sum = sum.plus([mass].into_iter().chain(of_hundred(path, yielded)));
    }
    sum
}

fn solids_of(
    how: &CoffeeOrder<'_>,
    one: &ExtractionRow,
    share: f64,
    off: Option<f64>,
) -> Vec<Factor> {
    let path = |field: &str| format!("{}/{field}", row(how, one));
    let mut factors = vec![
        number("baskets", share),
        book(path("yield_g"), one.yield_g.g(), "g"),
        number("share of it in the cup", how.share.share()),
    ];
    factors.extend(of_hundred(path("tds_percent"), one.tds_percent.unwrap_or_default()));
    factors.extend(off.map(|off| number("dose within its tolerance", off)));
    factors
}

/// The dose at an end of its tolerance, as times of itself.
type AtDose = fn(&ExtractionRow) -> f64;

fn least_dose(row: &ExtractionRow) -> f64 {
    1.0 - row.dose_tolerance_g.g() / row.dose_g.g()
}

fn most_dose(row: &ExtractionRow) -> f64 {
    1.0 + row.dose_tolerance_g.g() / row.dose_g.g()
}

fn strength(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let Some(strength) = scene.build.strength() else { return };
    let (order, solved) = (scene.order(), &scene.build.solved);
    let solids = with_solids(scene, Figure::new("/strength/solids_g", "g", 0.01), None);
    all.push(solids.by("dissolved coffee = coffee × its dissolved solids"));
    let mut dry =
        with_solids(scene, Figure::new("/strength/extraction_yield_percent", "%", 0.1), None);
    for term in &mut dry.terms {
        term.factors.push(number("per cent", 100.0));
    }
    if let Some(how) = order.coffee.as_ref().filter(|how| !order.is_aside(&how.part.id, "coffee")) {
        for draw in how.draws() {
            for (one, share) in shares(&draw) {
                let dose = book(format!("{}/dose_g", row(how, one)), one.dose_g.g(), "g");
                dry =
                    dry.over([number("baskets", share), dose, number("share", how.share.share())]);
            }
        }
    }
    for one in solved.portions.iter().filter(|one| matches!(one.of, PortionOf::Grounds(_))) {
        dry = dry.over([amount("ground coffee", one.mass.g(), "g")]);
    }
    all.push(dry.by("extraction yield = dissolved ÷ dry coffee"));
    let off = if fills_up(order) { 0.0 } else { yield_off(scene) };
    let ends: [(&str, f64, Option<AtDose>); 3] = [
        ("solids_g_per_100ml", 0.0, None),
        ("solids_g_per_100ml_min", off, Some(least_dose)),
        ("solids_g_per_100ml_max", -off, Some(most_dose)),
    ];
    for (field, off, dose) in ends {
        let mut sum =
            with_solids(scene, Figure::new(format!("/strength/{field}"), "g", 0.01), dose);
        for term in &mut sum.terms {
            term.factors.push(number("mL", 100.0));
        }
        sum = sum.over([figure("/serve/liquid_ml", strength.liquid.ml(), "mL")]);
        if off != 0.0 {
            sum = sum.over([number("yield within its tolerance, mL", off)]);
        }
        all.push(sum.by(
            "100 × dissolved coffee ÷ liquid; the dose's tolerance at the same extraction yield",
        ));
    }
}

/// How far the coffee in the cup may be off, mL.
fn yield_off(scene: Scene<'_, '_>) -> f64 {
    let Some(how) = &scene.order().coffee else { return 0.0 };
    let draws: Vec<Draw<'_>> = how.draws().collect();
    let rows = draws.iter().flat_map(shares);
    let grams: f64 = rows.map(|(one, share)| share * one.yield_tolerance_g.g()).sum();
    grams * how.share.share() / how.extraction.density_kg_m3.kg_m3() * 1_000.0
}

fn caffeine(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let Some(book_caffeine) = scene.bar.book.caffeine.as_ref() else { return };
    if scene.build.caffeine(scene.bar).is_none() {
        return;
    }
    let ends = ["low_mg", "typical_mg", "high_mg"];
    for (n, field) in ends.into_iter().enumerate() {
        let mut sum = Figure::new(format!("/caffeine/{field}"), "mg", 1.0);
        let coffee = scene.order().coffee.as_ref();
        for draw in coffee.iter().flat_map(|how| how.draws()) {
            let share = coffee.map_or(1.0, |how| how.share.share());
            let Some(bean) = bean_caffeine(scene.bar, draw.bean) else { continue };
            sum = sum.plus(of_draw(&draw, share, &bean, &book_caffeine.curve, n));
        }
        for one in scene.build.solved.portions.iter().filter(|one| one.stage != Stage::Sealed) {
            let Some(caffeine) = &one.ingredient.caffeine else { continue };
            let value = [caffeine.low_mg_g, caffeine.typical_mg_g, caffeine.high_mg_g][n];
            let path = format!("/ingredients/{}/caffeine/{field}_g", one.ingredient.id);
            let mass = amount(&format!("{} used", one.ingredient.id), one.mass.g(), "g");
            sum = sum.plus([mass, book(path, value.mg_g(), "mg/g")]);
        }
        let law = match n {
            0 => "the coffee in the cup × what tables of foods have in a gram of it",
            _ => "dose × what is in a gram of the bean × the share extracted at the brew ratio",
        };
        all.push(sum.by(law));
    }
}

fn of_draw(
    draw: &Draw<'_>,
    in_cup: f64,
    bean: &BeanCaffeine,
    curve: &[crate::book::CurvePoint],
    end: usize,
) -> Vec<Factor> {
    let baskets = Baskets::of(draw);
    let (dose, pulled) = (baskets.dose.g(), baskets.pulled.g());
    let path = |field: &str| format!("/beans/{}/caffeine/{field}", draw.bean.id);
    let in_cup = number("share of it in the cup", in_cup);
    let share = extracted_share(curve, pulled / dose);
    let by_dose = dose * share * bean.roasted_mg_g.mg_g();
    let by_beverage = pulled * bean.beverage_mg_g.mg_g();
    if end == 0 && by_beverage <= by_dose {
        let of = book(path("beverage_mg_g"), bean.beverage_mg_g.mg_g(), "mg/g");
        return vec![amount("coffee of this bean", pulled, "g"), in_cup, of];
    }
    let of = match end {
        2 => book(path("roasted_most_mg_g"), bean.roasted_most_mg_g.mg_g(), "mg/g"),
        _ => book(path("roasted_mg_g"), bean.roasted_mg_g.mg_g(), "mg/g"),
    };
    let share =
        law("share extracted at the brew ratio", share, "", "the book's curve, `/caffeine/curve`");
    vec![amount("dose of this bean", dose, "g"), in_cup, of, share]
}

fn nutrition(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    let Some(rule) = rule(scene.bar) else { return };
    let everything = eaten(scene.order(), &scene.build.solved);
    let in_cup: Vec<Labelled<'_>> = everything.iter().filter(|one| !one.beside).copied().collect();
    nutrients(scene, rule, ("/nutrition/per_cup", None), &everything, all);
    let liquid = liquid(&scene.build.solved).ml();
    if liquid > 0.0 {
        nutrients(scene, rule, ("/nutrition/per_100ml", Some(liquid)), &in_cup, all);
    }
}

/// The figures of a cup, or of 100 mL of its liquid.
fn nutrients(
    scene: Scene<'_, '_>,
    rule: &NutritionRule,
    (root, liquid): (&str, Option<f64>),
    eaten: &[Labelled<'_>],
    all: &mut Vec<Figure>,
) {
    let fed = fed(rule, eaten);
    let per = |mut sum: Figure| {
        for (term, liquid) in sum.terms.iter_mut().zip(liquid.into_iter().cycle()) {
            let of = figure("/serve/liquid_ml", liquid, "mL").under();
            term.factors.extend([number("mL", 100.0), of]);
        }
        sum
    };
    for (n, nutrient) in Nutrient::ALL.into_iter().take(Nutrient::NEEDED).enumerate() {
        if fed.grams[n].is_some() {
            let name = format!("{}_g", nutrient.as_str());
            let sum = grams(Figure::new(format!("{root}/{name}"), "g", 0.0), eaten, nutrient);
            all.push(rounded(rule, &name, per(sum)));
        }
    }
    let units = [("energy_kj", "kJ", true), ("energy_kcal", "kcal", false)];
    for (name, unit, kilojoules) in units.into_iter().filter(|_| fed.kj.is_some()) {
        let sum = Figure::new(format!("{root}/{name}"), unit, 0.0);
        all.push(rounded(rule, name, per(with_energy(scene, rule, sum, eaten, kilojoules))));
    }
}

fn rounded(rule: &NutritionRule, name: &str, mut sum: Figure) -> Figure {
    let step = step(rule, name, sum.value());
    if step == 0.0 {
        for term in &mut sum.terms {
            term.factors.push(number("too little to be counted", 0.0));
        }
    }
    sum.rounding = super::Rounding::Nearest(step);
    sum.by(rule.source.clone())
}

fn grams(mut sum: Figure, eaten: &[Labelled<'_>], nutrient: Nutrient) -> Figure {
    for one in eaten {
        // What has none of it adds nothing, whether its label says so or leaves it out.
        let per_100 = one.label.and_then(|label| label.per_100(nutrient));
        let Some(per_100) = per_100.filter(|per_100| *per_100 > Per100::ZERO) else { continue };
        let record = match one.brewed {
            Some(extraction) => format!("/extractions/{extraction}"),
            None => format!("/ingredients/{}", one.id),
        };
        let path = format!("{record}/nutrition/{}_g", nutrient.as_str());
        let mass = amount(&format!("{} eaten or drunk", one.id), one.mass.g(), "g");
        sum = sum.plus([mass, book(path, per_100.g(), "g"), number("g", 100.0).under()]);
    }
    sum
}

fn with_energy(
    scene: Scene<'_, '_>,
    rule: &NutritionRule,
    mut sum: Figure,
    eaten: &[Labelled<'_>],
    kilojoules: bool,
) -> Figure {
    let per_kcal = rule.kj_per_kcal.filter(|_| !kilojoules);
    for (nutrient, energy) in &rule.energy {
        let mut whole = grams(Figure::new("", "g", 0.0), eaten, *nutrient);
        if *nutrient == Nutrient::Carbohydrate && rule.energy.contains_key(&Nutrient::Polyols) {
            // Polyols are within it, and have a row of their own.
            let polyols = grams(Figure::new("", "g", 0.0), eaten, Nutrient::Polyols);
            whole.terms.extend(polyols.terms.into_iter().map(|mut term| {
                term.factors.insert(0, number("taken away", -1.0));
                term
            }));
        }
        let joules = kilojoules || per_kcal.is_some();
        let (field, value) = if joules { ("kj_g", energy.kj_g) } else { ("kcal_g", energy.kcal_g) };
        let region = &scene.bar.site.region;
        let name = nutrient.as_str();
        let path = format!("/regions/{region}/nutrition_rule/energy/{name}/{field}");
        for term in whole.terms {
            let of = book(path.clone(), value.value(), "per g");
            let per = per_kcal.map(|per| {
                let path = format!("/regions/{region}/nutrition_rule/kj_per_kcal");
                book(path, per.value(), "kJ").under()
            });
            sum = sum.plus(term.factors.into_iter().chain([of]).chain(per));
        }
    }
    sum
}

pub(super) fn figures(scene: Scene<'_, '_>, all: &mut Vec<Figure>) {
    strength(scene, all);
    caffeine(scene, all);
    nutrition(scene, all);
}
