//! Caffeine, nutrients, solids and usual ratios: bounds in order, curves that rise, labels that add up.

use super::Notes;
use crate::{
    book::types::{Book, Nutrient, Nutrition},
    json::child,
    units::Per100,
};

pub(super) fn check(notes: &mut Notes<'_>, book: &Book) {
    caffeine(notes, book);
    for (at, one) in book.ingredients.iter().enumerate() {
        if let Some(label) = &one.nutrition {
            adds_up(notes, &format!("/ingredients/{at}/nutrition"), label);
        }
        if let Some(caffeine) = &one.caffeine {
            let here = format!("/ingredients/{at}/caffeine");
            let (low, typical, high) =
                (&caffeine.low_mg_g, &caffeine.typical_mg_g, &caffeine.high_mg_g);
            notes.ordered(&child(&here, "typical_mg_g"), low, typical);
            notes.ordered(&child(&here, "high_mg_g"), typical, high);
        }
    }
    for (at, bean) in book.beans.iter().enumerate() {
        if let Some(caffeine) = &bean.caffeine {
            let here = format!("/beans/{at}/caffeine/roasted_most_mg_g");
            notes.ordered(&here, &caffeine.roasted_mg_g, &caffeine.roasted_most_mg_g);
        }
    }
    for (at, extraction) in book.extractions.iter().enumerate() {
        if let Some(label) = &extraction.nutrition {
            adds_up(notes, &format!("/extractions/{at}/nutrition"), label);
        }
        for (row_at, row) in extraction.rows.iter().enumerate() {
            // No more can dissolve than was put in.
            let dissolved = row.tds_percent.map(|tds| tds.percent() / 100.0 * row.yield_g.g());
            if let Some(tds) = row.tds_percent.filter(|_| dissolved > Some(row.dose_g.g())) {
                let here = format!("/extractions/{at}/rows/{row_at}/tds_percent");
                notes.note(&here, tds, "no more than is dissolved when all of the dose is");
            }
        }
    }
    for (at, drink) in book.drinks.iter().enumerate() {
        if let Some(usual) = &drink.usual_milk_ratio {
            let here = format!("/drinks/{at}/usual_milk_ratio/max");
            notes.ordered(&here, &usual.min, &usual.max);
        }
    }
}

fn caffeine(notes: &mut Notes<'_>, book: &Book) {
    let Some(caffeine) = &book.caffeine else { return };
    for (at, pair) in caffeine.curve.windows(2).enumerate() {
        let here = format!("/caffeine/curve/{}", at + 1);
        if pair[1].ratio <= pair[0].ratio {
            let expected = format!("more than {}, of the point before", pair[0].ratio);
            notes.note(&child(&here, "ratio"), pair[1].ratio, expected);
        }
        if pair[1].share < pair[0].share {
            let expected = format!("at least {}: more water takes no less out", pair[0].share);
            notes.note(&child(&here, "share"), pair[1].share, expected);
        }
    }
}

/// Complains about a label with more of a part than of its whole, or of everything than there is.
/// Sugars above the carbohydrate are let be: tables that take carbohydrate as what is left have them.
fn adds_up(notes: &mut Notes<'_>, here: &str, label: &Nutrition) {
    if let (Some(saturates), Some(fat)) = (label.saturates, label.fat)
        && saturates > fat
    {
        let expected = format!("at most {fat}, all of the fat");
        notes.note(&child(here, "saturates_g"), saturates, expected);
    }
    let whole = [
        Nutrient::Fat,
        Nutrient::Carbohydrate,
        Nutrient::Fibre,
        Nutrient::Protein,
        Nutrient::Salt,
        Nutrient::Alcohol,
    ];
    let sum: Per100 = whole.iter().filter_map(|nutrient| label.per_100(*nutrient)).sum();
    if sum > Per100::from_g(102.0) {
        notes.note(here, sum, "nutrients that come to no more than 100 g");
    }
}
