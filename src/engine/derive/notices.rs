//! Notices: what the reader of an accepted line must know.

use super::allergy::{Declaration, phrase_of};
use crate::{
    book::{AllergyRoute, Bar, Part},
    engine::{
        line::Line,
        objection::Notice,
        order::Order,
        phrase::{Gap, Gaps, Phrase},
        solve::{Milk, Solved},
    },
    units::{Mass, Volume},
};

/// What is said of a declared allergy: by which route the cup is made, where a route is needed.
fn handled(route: AllergyRoute, one: &Declaration<'_>) -> Phrase {
    match route {
        _ if one.equipment.is_empty() => Phrase::NoticeAllergyNotShared,
        AllergyRoute::Dedicated => Phrase::NoticeAllergyDedicated,
        AllergyRoute::AfterFullClean | AllergyRoute::None => Phrase::NoticeAllergyClean,
    }
}

fn gaps_of<'b>(one: &Declaration<'b>) -> Gaps<'b> {
    let mut said = [None; 5];
    for (place, via) in said.iter_mut().zip(&one.equipment) {
        *place = Some(phrase_of(*via));
    }
    vec![("what", Gap::Name(one.names)), ("equipment", Gap::Says(said))]
}

/// A notice with its sentence.
#[derive(Clone, Debug, PartialEq)]
pub struct Noticed<'b> {
    /// Which notice.
    pub notice: Notice,
    /// Its sentence.
    pub phrase: Phrase,
    /// What fills the sentence's gaps.
    pub gaps: Gaps<'b>,
}

/// The notices of a line that is made.
pub fn notices<'b>(
    bar: &Bar,
    line: &Line,
    order: &Order<'b>,
    solved: &Solved<'b>,
    declared: &[Declaration<'b>],
) -> Vec<Noticed<'b>> {
    let mut all = Vec::new();
    let mut push = |notice, phrase, gaps| all.push(Noticed { notice, phrase, gaps });
    if line.note.is_some() {
        push(Notice::NoteNotChecked, Phrase::NoticeNote, Vec::new());
    }
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
    let beside = |part: &Part| matches!(part, Part::Milk(milk) if order.is_aside(&milk.id, "milk"));
    if let Some(Milk::Steamed(milk)) = &solved.milk
        && milk.gas > Volume::ZERO
        && order.parts().any(beside)
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
    all
}
