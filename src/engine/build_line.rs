//! One line, all phases in one fixed order: order, solve, derive.

use super::{
    derive::{self, Allergens, Caffeine, Change, Cost, Declaration, Fed, Noticed, Step, Strength},
    line::{Given, Line, Moment, What},
    objection::{Code, Manner, Objection},
    order::{Held, Holding, Order, note, order, settle},
    solve::{Solved, judge, solve},
};
use crate::{
    book::{Bar, Caution, NutritionRule},
    units::{Figure, Quotient},
};

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
    /// How each declared allergy is handled.
    pub declared: Vec<Declaration<'b>>,
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
    let asked = note(bar, line);
    let mut objections = match made(bar, line, moment) {
        Ok(build) if asked.is_none() => return Ok(build),
        Ok(_) => Vec::new(),
        Err(objections) => objections,
    };
    let is_refused = |all: &[Objection]| all.iter().any(|one| one.manner == Manner::Refuse);
    if !is_refused(&objections) && !objections.is_empty() {
        // A question about a drink that cannot be made anyway would lead nowhere.
        objections.extend(of_drink_alone(bar, line, moment));
    }
    let refused = is_refused(&objections);
    if line.override_reason.is_some() && refused {
        // Said in so many words, or the sender would think that the key was not seen.
        let why = if moment.may_override { Code::OverrideCannot } else { Code::OverrideNeedsRight };
        objections.push(Objection::refuse(why));
    }
    objections.extend(asked);
    Err(objections)
}

/// What is refused of the line's drink whatever is asked of it.
fn of_drink_alone(bar: &Bar, line: &Line, moment: &Moment) -> Vec<Objection> {
    let modifiers = line.modifiers.iter().filter(|one| one.is_of_cup()).cloned().collect();
    let alone = Line { modifiers, diets: Vec::new(), note: None, ..line.clone() };
    let found = order(bar, &alone, moment).err().unwrap_or_default();
    found.into_iter().filter(|one| one.manner == Manner::Refuse).collect()
}

/// The build of the line, its note left unread.
fn made<'b>(bar: &'b Bar, line: &Line, moment: &Moment) -> Result<Build<'b>, Vec<Objection>> {
    let mut order = order(bar, line, moment)?;
    let solved = solve(bar, &order)?;
    let mut outside = judge(bar, &order, &solved);
    let may_waive = line.override_reason.is_some() && moment.may_override;
    settle(&mut outside, &mut order.waived, may_waive)?;
    let changes = derive::changes(bar, &order);
    let allergens = derive::allergens(bar, &order, &solved);
    let declared = derive::allergies(bar, line, &order, &solved)?;
    let steps = derive::steps(bar, &order, &solved);
    Ok(Build { order, solved, changes, allergens, steps, declared })
}

impl<'b> Build<'b> {
    /// How strong it is, where there is coffee in it and the book says enough.
    pub fn strength(&self) -> Option<Strength> {
        derive::strength(&self.order, &self.solved)
    }

    /// Grams of milk for each gram of coffee, where it has both.
    pub fn milk_ratio(&self) -> Option<Quotient> {
        derive::milk_ratio(&self.order, &self.solved)
    }

    /// Its caffeine, where the book says enough.
    pub fn caffeine(&self, bar: &Bar) -> Option<Caffeine> {
        derive::caffeine(bar, &self.order, &self.solved)
    }

    /// Whether it, or what stands beside it, is handed over hotter than what is called hot.
    pub fn is_hot(&self, bar: &Bar) -> bool {
        derive::hottest(&self.order, &self.solved) > bar.book.caution_hot_above_c
    }

    /// What it costs, where the site's sheet says what is paid.
    pub fn cost(&self, bar: &'b Bar) -> Option<Cost<'b>> {
        derive::cost(bar, &self.order, &self.solved)
    }

    /// What it feeds by a region's rule, with what stands beside it.
    pub fn fed(&self, rule: &NutritionRule) -> Fed<'b> {
        derive::fed(rule, &derive::eaten(&self.order, &self.solved))
    }

    /// What is in the cup alone feeds.
    pub fn fed_in_cup(&self, rule: &NutritionRule) -> Fed<'b> {
        let mut eaten = derive::eaten(&self.order, &self.solved);
        eaten.retain(|one| !one.beside);
        derive::fed(rule, &eaten)
    }

    /// What the reader of the line must know.
    pub fn notices(&self, bar: &'b Bar, line: &Line) -> Vec<Noticed<'b>> {
        derive::notices(bar, line, &self.order, &self.solved, &self.declared)
    }

    /// The cautions that concern the cup, in the order of the book.
    pub fn cautions(&self, bar: &'b Bar) -> Vec<&'b Caution> {
        derive::cautions(bar, &self.order, &self.solved)
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
            codes: Vec::new(),
            allergies: sorted(&line.allergies),
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
        Holding::Celsius(c) => What::Number(Figure::from_thousandths(c.mc())),
        Holding::Capacity(ml) => What::Number(Figure::from_thousandths(ml.ul())),
        Holding::Count(_, n) => What::Count(*n),
        Holding::Flag => What::Flag,
    };
    Given { id: held.modifier.id().to_string(), what }
}
