//! Notices: what the reader of an accepted line must know.

use super::{
    allergy::{Declaration, phrase_of},
    caffeine::caffeine,
    strength::milk_ratio,
};
use crate::{
    book::{AllergyRoute, Bar, Part},
    engine::{
        line::Line,
        objection::Notice,
        order::{Held, Order},
        phrase::{Gap, Gaps, Phrase},
        solve::{Milk, Solved},
    },
    units::{Mass, Quotient, Temperature, Volume},
};

/// A notice with its sentence.
#[derive(Clone, Debug, PartialEq)]
pub struct Noticed<'b> {
    /// Which notice.
    pub notice: Notice,
    /// Its sentence.
    pub phrase: Phrase,
    /// What fills the sentence's gaps.
    pub gaps: Gaps<'b>,
    /// Published source, where there is one.
    pub source: Option<&'b str>,
}

/// Whether a cup that goes out with a lid goes out without one.
pub(super) fn is_open(bar: &Bar, order: &Order<'_>) -> bool {
    let row = bar.book.services.iter().find(|row| row.id == order.service);
    let effects = order.held.iter().filter_map(Held::effect);
    row.is_some_and(|row| row.lid) && effects.into_iter().any(|(effect, _)| effect.without_lid)
}

/// The hottest that is handed over: the cup, or what stands beside it.
pub(in crate::engine) fn hottest(order: &Order<'_>, solved: &Solved<'_>) -> Temperature {
    let beside = order.parts().filter(|part| order.is_aside(part.id(), part.kind()));
    let of_part = |part: &Part| match (part, &solved.milk) {
        (Part::Coffee(_), _) => order.coffee.map(|coffee| coffee.extraction.poured_c),
        (Part::Milk(_), Some(Milk::Steamed(milk))) => Some(milk.set_point),
        (Part::Water(water), _) => Some(water.temperature_c),
        _ => None,
    };
    beside.filter_map(of_part).fold(solved.serve, Temperature::max)
}

/// What is said of a declared allergy: by which route the cup is made, where a route is needed.
fn handled(route: AllergyRoute, one: &Declaration<'_>) -> Phrase {
    match route {
        _ if one.equipment.is_empty() => Phrase::NoticeAllergyNotShared,
        AllergyRoute::Dedicated => Phrase::NoticeAllergyDedicated,
        AllergyRoute::AfterFullClean | AllergyRoute::None => Phrase::NoticeAllergyClean,
    }
}

fn gaps_of<'b>(one: &Declaration<'b>) -> Gaps<'b> {
    let mut said = [None; 6];
    for (place, via) in said.iter_mut().zip(&one.equipment) {
        *place = Some(phrase_of(*via));
    }
    vec![("what", Gap::Name(one.names)), ("equipment", Gap::Says(said))]
}

/// The notices of a line that is made.
pub fn notices<'b>(
    bar: &'b Bar,
    line: &Line,
    order: &Order<'b>,
    solved: &Solved<'b>,
    declared: &[Declaration<'b>],
) -> Vec<Noticed<'b>> {
    let mut all = Vec::new();
    let mut push = |notice, phrase, gaps| all.push(Noticed { notice, phrase, gaps, source: None });
    if !order.waived.is_empty() {
        push(Notice::Overridden, Phrase::NoticeOverridden, Vec::new());
    } else if line.override_reason.is_some() {
        push(Notice::OverrideNotTaken, Phrase::NoticeOverride, Vec::new());
    }
    for one in declared {
        push(Notice::AllergyDeclared, handled(bar.site.allergy_route, one), gaps_of(one));
        for ingredient in &one.ask_about {
            let gaps =
                vec![("ingredient", Gap::Name(&ingredient.names)), ("what", Gap::Name(one.names))];
            push(Notice::AskAboutIngredient, Phrase::NoticeAskAbout, gaps);
        }
    }
    if is_open(bar, order) && hottest(order, solved) > bar.book.caution_hot_above_c {
        push(Notice::HotWithoutLid, Phrase::NoticeWithoutLid, Vec::new());
    }
    if line.note.is_some() {
        push(Notice::NoteNotChecked, Phrase::NoticeNote, Vec::new());
    }
    if let Some(Milk::Steamed(milk)) = &solved.milk
        && milk.gas > Volume::ZERO
        && order.has_milk_aside()
    {
        push(Notice::FoamBeside, Phrase::NoticeFoamBeside, Vec::new());
    }
    if let Some(coffee) = solved.coffee.filter(|coffee| coffee.spare_halves > 0) {
        let n = Gap::Number(i64::from(coffee.spare_halves) * 1_000, 0);
        push(Notice::SpareHalf, Phrase::NoticeSpareHalf, vec![("n", n)]);
    }
    if let Some(coffee) = solved.coffee.filter(|coffee| coffee.left_over() > Mass::ZERO) {
        let over = Gap::Number(coffee.left_over().mg(), 1);
        push(Notice::CoffeeLeftOver, Phrase::NoticeCoffeeLeftOver, vec![("g", over)]);
    }
    if let Some(Milk::Steamed(milk)) = &solved.milk
        && milk.left_over.ul() > 0
    {
        let over = Gap::Number(milk.left_over.ul(), 0);
        push(Notice::MilkLeftOver, Phrase::NoticeLeftOver, vec![("ml", over)]);
    }
    all.extend(unusual(order, solved));
    all.extend(above_guide(bar, order, solved));
    all
}

/// What is said of a cup with more or less milk for its coffee than the drink usually has.
fn unusual<'b>(order: &Order<'b>, solved: &Solved<'b>) -> Option<Noticed<'b>> {
    let usual = order.drink.usual_milk_ratio?;
    let ratio = milk_ratio(order, solved)?;
    let (notice, phrase) = if ratio > usual.max {
        (Notice::WeakerThanUsual, Phrase::NoticeWeaker)
    } else if ratio < usual.min {
        (Notice::StrongerThanUsual, Phrase::NoticeStronger)
    } else {
        return None;
    };
    let gap = |value: Quotient| Gap::Number(value.thousandths(), 1);
    let gaps = vec![("ratio", gap(ratio)), ("min", gap(usual.min)), ("max", gap(usual.max))];
    Some(Noticed { notice, phrase, gaps, source: None })
}

/// What is said of a cup with more caffeine than a guide value; the nearest one below it.
fn above_guide<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Option<Noticed<'b>> {
    let guides = &bar.book.caffeine.as_ref()?.guides;
    let typical = caffeine(bar, order, solved)?.typical;
    let passed = guides.iter().filter(|guide| typical > guide.mg.mass());
    let guide = passed.max_by_key(|guide| guide.mg)?;
    // To the nearest ten: an estimate has no more digits. Milligrams are thousandths of a gram.
    let about = typical.to_nearest(Mass::from_mg(10)).mg() * 1_000;
    let gaps = vec![
        ("mg", Gap::Number(about, 0)),
        ("about", Gap::Name(&guide.about)),
        ("guide", Gap::Number(guide.mg.mass().mg() * 1_000, 0)),
    ];
    let (notice, phrase) = (Notice::CaffeineAboveGuide, Phrase::NoticeCaffeine);
    Some(Noticed { notice, phrase, gaps, source: Some(&guide.source) })
}
