//! Records by themselves: volumes that nest, bounds in order, ingredients that physics can use.

use std::collections::HashMap;

use super::Notes;
use crate::{
    book::types::{Book, Extraction, Id, Ingredient, IngredientKind, Jug, Vessel},
    json::child,
    units::{Mass, Per100, Ratio, Span, Temperature, Volume},
};

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    for (at, ingredient) in book.ingredients.iter().enumerate() {
        check_ingredient(notes, &format!("/ingredients/{at}"), ingredient);
    }
    made_of_cycles(notes, &book.ingredients);
    for (at, one) in book.vessels.iter().enumerate() {
        vessel(notes, &format!("/vessels/{at}"), one);
    }
    for (at, jug) in book.jugs.iter().enumerate() {
        jug_room(notes, &format!("/jugs/{at}"), jug);
    }
    for (at, texture) in book.textures.iter().enumerate() {
        if texture.steamed && texture.foam_gas_share.thousandths() == 0 {
            let here = format!("/textures/{at}/foam_gas_share");
            notes.note(&here, texture.foam_gas_share, "more than 0, since steam makes it");
        }
    }
    for (at, extraction) in book.extractions.iter().enumerate() {
        shots(notes, &format!("/extractions/{at}"), extraction);
        for (row_at, row) in extraction.rows.iter().enumerate() {
            let here = format!("/extractions/{at}/rows/{row_at}");
            notes.ordered(&format!("{here}/time_s/max"), &row.time_s.min, &row.time_s.max);
            let same = |other: &&crate::book::ExtractionRow| {
                (&other.bean, &other.pull, other.halves) == (&row.bean, &row.pull, row.halves)
            };
            if extraction.rows[..row_at].iter().any(|other| same(&other)) {
                let found = format!("bean `{}`, pull `{}` a second time", row.bean, row.pull);
                notes.note(&here, found, "one row for each bean, pull and basket");
            }
        }
    }
}

/// What shots of an extraction style are judged by: bounds in order, remedies that change something.
fn shots(notes: &mut Notes<'_>, here: &str, extraction: &Extraction) {
    if let Some(band) = &extraction.extraction_yield_percent {
        notes.ordered(&format!("{here}/extraction_yield_percent/max"), &band.min, &band.max);
    }
    let Some(check) = &extraction.shot_check else { return };
    for (field, steps) in [("choked_steps", check.choked_steps), ("most_steps", check.most_steps)] {
        if steps.thousandths() < 1_000 || steps.thousandths() % 1_000 != 0 {
            let pointer = format!("{here}/shot_check/{field}");
            notes.note(&pointer, steps, "a whole number of steps, at least 1");
        }
    }
    if check.time_per_step_s == Span::ZERO {
        let pointer = format!("{here}/shot_check/time_per_step_s");
        notes.note(&pointer, check.time_per_step_s, "more than nothing");
    }
    if check.yield_change_g == Mass::ZERO {
        let pointer = format!("{here}/shot_check/yield_change_g");
        notes.note(&pointer, check.yield_change_g, "more than nothing");
    }
    if check.ratio_change == Ratio::ZERO {
        let pointer = format!("{here}/shot_check/ratio_change");
        notes.note(&pointer, check.ratio_change, "more than nothing");
    }
}

/// A jug in which the least milk still has room to stretch; used for the site's own jugs too.
pub(super) fn jug_room(notes: &mut Notes<'_>, here: &str, jug: &Jug) {
    if jug.cold_min >= jug.stretched_max {
        let expected = format!("less than {}, to which milk may stretch", jug.stretched_max);
        notes.note(&child(here, "cold_min"), jug.cold_min, expected);
    }
}

/// A vessel whose volumes nest; used for the site's own vessels too.
pub(super) fn vessel(notes: &mut Notes<'_>, here: &str, vessel: &Vessel) {
    if vessel.fill_ml > vessel.brim_ml {
        let expected = format!("at most {}, its brim", vessel.brim_ml);
        notes.note(&child(here, "fill_ml"), vessel.fill_ml, expected);
    }
    if vessel.fill_ml == Volume::ZERO {
        notes.note(&child(here, "fill_ml"), vessel.fill_ml, "more than nothing");
    }
    if vessel.diameter_at_fill_mm.um() < 10_000 {
        let found = vessel.diameter_at_fill_mm;
        notes.note(&child(here, "diameter_at_fill_mm"), found, "at least 10 mm");
    }
    if let Some(floor) = vessel.diameter_at_floor_mm {
        let at_fill = vessel.diameter_at_fill_mm;
        let here = child(here, "diameter_at_floor_mm");
        if floor.um() < 10_000 {
            notes.note(&here, floor, "at least 10 mm");
        } else if at_fill.um() >= 10_000 && floor > at_fill {
            notes.note(&here, floor, format!("at most {at_fill}, as at the serving line"));
        }
    }
}

fn check_ingredient(notes: &mut Notes<'_>, here: &str, ingredient: &Ingredient) {
    let poured = matches!(
        ingredient.kind,
        IngredientKind::Milk | IngredientKind::Water | IngredientKind::Syrup
    );
    if poured && ingredient.density_kg_m3.is_none() {
        notes.note(here, "no density", "`density_kg_m3`, which what is poured needs");
    }
    if ingredient.density_kg_m3.is_none()
        && ingredient.displacement_ml_g.is_none()
        && !matches!(ingredient.kind, IngredientKind::Coffee | IngredientKind::Leaf)
    {
        let expected = "`density_kg_m3` or `displacement_ml_g`, for its room in the cup";
        notes.note(here, "neither a density nor a displacement", expected);
    }
    if ingredient.specific_heat_kj_kg_k.is_none() && ingredient.composition.is_none() {
        let expected = "`specific_heat_kj_kg_k` or `composition`";
        notes.note(here, "neither a specific heat nor a composition", expected);
    }
    if ingredient.kind == IngredientKind::Leaf && ingredient.keeps_ml_g.is_none() {
        notes.note(here, "no `keeps_ml_g`", "what each gram of the leaf keeps when strained");
    }
    if let Some(parts) = &ingredient.composition {
        let sum: Per100 =
            [parts.water, parts.protein, parts.fat, parts.carbohydrate, parts.fibre, parts.ash]
                .into_iter()
                .sum();
        if !(98_000..=102_000).contains(&sum.mg()) {
            notes.note(&child(here, "composition"), sum, "parts that sum to 98 to 102 g per 100 g");
        }
    }
    if let Some(hot) = &ingredient.density_hot
        && hot.at_c < Temperature::from_mc(30_000)
    {
        notes.note(&format!("{here}/density_hot/at_c"), hot.at_c, "at least 30 °C");
    }
    // Densities are read off a line through both; a steep one is not of a liquid.
    if let Some((hot, cold)) = ingredient.density_hot.zip(ingredient.density_kg_m3)
        && 100 * (hot.kg_m3.mkg_m3() - cold.mkg_m3()).abs() > 20 * cold.mkg_m3()
    {
        let expected = format!("within a fifth of {cold}, the density when cold");
        notes.note(&format!("{here}/density_hot/kg_m3"), hot.kg_m3, expected);
    }
    if let Some(steaming) = &ingredient.steaming {
        for (name, set_point) in &steaming.set_points_c {
            if *set_point > steaming.cap_c {
                let expected = format!("at most {}, its cap", steaming.cap_c);
                notes.note(&format!("{here}/steaming/set_points_c/{name}"), set_point, expected);
            }
            if *set_point <= ingredient.stored_c {
                let expected = format!("more than {}, as stored", ingredient.stored_c);
                notes.note(&format!("{here}/steaming/set_points_c/{name}"), set_point, expected);
            }
        }
        if !steaming.set_points_c.contains_key("standard") {
            let at = format!("{here}/steaming/set_points_c");
            notes.note(&at, "no `standard`", "a set-point named `standard`");
        }
    }
}

/// Complains about each ingredient that is, by way of others, made of itself.
fn made_of_cycles(notes: &mut Notes<'_>, ingredients: &[Ingredient]) {
    let parts: HashMap<&Id, &[Id]> =
        ingredients.iter().map(|one| (&one.id, one.made_of.as_slice())).collect();
    for (at, ingredient) in ingredients.iter().enumerate() {
        let (mut seen, mut open) = (Vec::new(), vec![&ingredient.id]);
        while let Some(id) = open.pop() {
            for part in parts.get(id).copied().unwrap_or_default() {
                if *part == ingredient.id {
                    let found = format!("`{}`, which is made of itself", ingredient.id);
                    let pointer = format!("/ingredients/{at}/made_of");
                    notes.note(&pointer, found, "ingredients that lead to no circle");
                    open.clear();
                    break;
                }
                if !seen.contains(&part) {
                    seen.push(part);
                    open.push(part);
                }
            }
        }
    }
}
