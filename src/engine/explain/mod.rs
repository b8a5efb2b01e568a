//! Explanations: for every figure of a build the terms that come to it. They are worked out apart
//! from the build and come to the same; a property holds the two together.

mod coffee;
mod cup;
mod feeds;
mod figure;
mod heat;
mod milk;
mod portions;

pub use figure::{Factor, Figure, Origin, Rounding, Term};

use super::{Build, order::Order};
use crate::book::{Bar, Effect};

/// What explanations are made from.
#[derive(Clone, Copy)]
struct Scene<'a, 'b> {
    bar: &'b Bar,
    build: &'a Build<'b>,
}

impl<'a, 'b> Scene<'a, 'b> {
    fn order(&self) -> &'a Order<'b> {
        &self.build.order
    }

    /// The modifier of the line that has such an effect.
    fn by(&self, wanted: fn(&Effect) -> bool) -> Option<&'b str> {
        let held = self.order().held.iter();
        let mut found = held.filter(|one| one.effect().is_some_and(|(effect, _)| wanted(effect)));
        found.next().map(|one| &**one.modifier.id())
    }

    /// The path of the cup table's row.
    fn row(&self) -> String {
        let Order { drink, service, size, .. } = self.order();
        format!("/drinks/{}/cups/{}/{size}", drink.id, service.as_str())
    }

    /// The path of a part of the drink.
    fn part(&self, id: &str) -> String {
        format!("/drinks/{}/parts/{id}", self.order().drink.id)
    }

    /// The path of the cup that stands here.
    fn vessel(&self) -> String {
        format!("/vessels/{}", self.order().vessel.of_book.id)
    }
}

/// Every figure of a build of one cup, in the order of the build's members; steps repeat figures
/// that stand elsewhere and are not explained again.
pub fn explain<'b>(bar: &'b Bar, build: &Build<'b>) -> Vec<Figure> {
    let scene = Scene { bar, build };
    let mut all = Vec::new();
    cup::figures(scene, &mut all);
    coffee::figures(scene, &mut all);
    milk::figures(scene, &mut all);
    portions::figures(scene, &mut all);
    heat::figures(scene, &mut all);
    feeds::figures(scene, &mut all);
    all
}
