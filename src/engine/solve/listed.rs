//! Everything that goes in, on or beside a cup, in the order in which builds list it.

use super::{Portion, PortionOf, Solved};
use crate::{
    book::{Part, Stage},
    engine::order::Order,
};

/// One thing of the list.
#[derive(Clone, Copy, Debug)]
pub enum Listed<'a, 'b> {
    /// The coffee.
    Coffee,
    /// The milk.
    Milk,
    /// A portion.
    Portion(&'a Portion<'b>),
}

/// The list, in pour order: what is dissolved in the dry cup, then part by part, then what is added.
pub fn listed<'a, 'b>(order: &Order<'b>, solved: &'a Solved<'b>) -> Vec<Listed<'a, 'b>> {
    let early = |one: &&'a Portion<'b>| one.stage == Stage::CupBefore;
    let mut all: Vec<Listed<'a, 'b>> =
        solved.portions.iter().filter(early).map(Listed::Portion).collect();
    for part in order.parts() {
        match part {
            Part::Coffee(_) => {
                let here = solved.coffee.is_some() && order.coffee.is_some();
                all.extend(here.then_some(Listed::Coffee));
            }
            Part::Milk(_) => all.extend(solved.milk.is_some().then_some(Listed::Milk)),
            Part::Water(_)
            | Part::Ice(_)
            | Part::Ingredient(_)
            | Part::Paste(_)
            | Part::Steep(_)
            | Part::Brew(_) => {
                let own = |one: &&'a Portion<'b>| one.of.id() == part.id() && !early(one);
                all.extend(solved.portions.iter().filter(own).map(Listed::Portion));
            }
        }
    }
    let late = |one: &&'a Portion<'b>| matches!(one.of, PortionOf::Added(_)) && !early(one);
    all.extend(solved.portions.iter().filter(late).map(Listed::Portion));
    all
}
