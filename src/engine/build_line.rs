//! One line, all phases in one fixed order: order, solve, derive.

use super::{
    derive::{self, Allergens, Change, Noticed, Step},
    line::{Given, Line, Moment, What},
    objection::{Code, Objection},
    order::{Held, Holding, Order, order},
    solve::{Solved, solve},
};
use crate::book::Bar;

/// The exact, complete recipe of one cup.
#[derive(Debug)]
pub struct Build<'b> {
    /// What was asked for, decided.
    pub order: Order<'b>,
    /// Amounts.
    pub solved: Solved<'b>,
    /// Differences from the book, for sticker and ticket.
    pub changes: Vec<Change<'b>>,
    /// Allergens.
    pub allergens: Allergens<'b>,
    /// Steps of the work.
    pub steps: Vec<Step<'b>>,
}

/// Builds one cup of `line`.
///
/// Guarantees, each held by a property test: the order of the modifiers does not matter; the layers
/// sum to the fill within 1 mL; nothing is negative; nothing is silently clamped.
///
/// * Errors: every objection of the phase that stopped; never empty.
pub fn build_line<'b>(
    bar: &'b Bar,
    line: &Line,
    moment: &Moment,
) -> Result<Build<'b>, Vec<Objection>> {
    if !line.allergies.is_empty() {
        return Err(vec![Objection::refuse(Code::AllergyNotHandled)]);
    }
    let order = order(bar, line, moment)?;
    let solved = solve(bar, &order)?;
    let changes = derive::changes(bar, &order);
    let allergens = derive::allergens(bar, &order, &solved);
    let steps = derive::steps(bar, &order, &solved);
    Ok(Build { order, solved, changes, allergens, steps })
}

impl<'b> Build<'b> {
    /// What the reader of the line must know.
    pub fn notices(&self, line: &Line) -> Vec<Noticed<'b>> {
        derive::notices(line, &self.solved)
    }

    /// The modifiers in normal form: no defaults, one a slot, sums, in the order of the book.
    pub fn modifiers(&self) -> Vec<Given> {
        self.order.held.iter().map(given).collect()
    }

    /// `line` in normal form; building it again gives the same build.
    pub fn canonical(&self, line: &Line) -> Line {
        let sorted = |list: &[String]| {
            let mut list = list.to_vec();
            list.sort();
            list.dedup();
            list
        };
        Line {
            modifiers: self.modifiers(),
            diets: sorted(&line.diets),
            confirmed: sorted(&line.confirmed),
            ..line.clone()
        }
    }
}

/// A held modifier as a line gives it.
fn given(held: &Held<'_>) -> Given {
    let what = match &held.holding {
        Holding::Value(value) => What::Value(value.id.to_string()),
        Holding::Cup(value) => What::Value(value.to_string()),
        Holding::Celsius(c) => What::Celsius(*c),
        Holding::Count(_, n) => What::Count(*n),
        Holding::Flag => What::Flag,
    };
    Given { id: held.modifier.id().to_string(), what }
}
