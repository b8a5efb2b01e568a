//! Notices: what the reader of an accepted line must know.

use crate::{
    engine::{
        line::Line,
        objection::Notice,
        phrase::{Gap, Gaps, Phrase},
        solve::{Milk, Solved},
    },
    units::Mass,
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
}

/// The notices of a line that is made.
pub fn notices<'b>(line: &Line, solved: &Solved<'b>) -> Vec<Noticed<'b>> {
    let mut all = Vec::new();
    let mut push = |notice, phrase, gaps| all.push(Noticed { notice, phrase, gaps });
    if line.note.is_some() {
        push(Notice::NoteNotChecked, Phrase::NoticeNote, Vec::new());
    }
    if line.override_reason.is_some() {
        push(Notice::OverrideNotTaken, Phrase::NoticeOverride, Vec::new());
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
