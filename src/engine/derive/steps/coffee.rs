//! Steps of the coffee: pulled straight into the cup, onto water, or aside.

use super::{Station, Work};
use crate::{
    book::{ExtractionRow, Part, Stage},
    engine::{
        order::{CoffeeOrder, Draw, Order},
        phrase::{Gap, Gaps, Phrase},
        solve::{Baskets, Coffee, Milk, Portion, Solved},
    },
    units::Mass,
};

/// How coffee gets into its cup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Goes {
    /// Pulled straight into it, before anything else is poured.
    First,
    /// Pulled straight onto water that is there already.
    Onto,
    /// Pulled aside, since only a share of it goes in, but poured first.
    Measured,
    /// Pulled aside, and poured in its place after something cold or milk.
    Later,
    /// Pulled aside, and served beside the cup.
    Beside,
}

/// How the coffee of this cup gets into it, if there is any.
pub(super) fn goes(order: &Order<'_>, solved: &Solved<'_>) -> Option<Goes> {
    let coffee = solved.coffee?;
    if order.coffee.as_ref().is_some_and(|how| order.is_aside(&how.part.id, "coffee")) {
        return Some(Goes::Beside);
    }
    let poured = |part: &&Part| match part {
        Part::Ingredient(one) => one.stage == Stage::Pour,
        Part::Paste(_) => false,
        Part::Coffee(_)
        | Part::Milk(_)
        | Part::Water(_)
        | Part::Ice(_)
        | Part::Steep(_)
        | Part::Brew(_) => true,
    };
    // What stands beside the cup is not in the way.
    let in_cup = |part: &&Part| !order.is_aside(part.id(), part.kind());
    Some(match order.parts().filter(in_cup).find(poured) {
        Some(Part::Coffee(_)) | None => {
            if coffee.left_over() > Mass::ZERO {
                Goes::Measured
            } else {
                Goes::First
            }
        }
        Some(Part::Water(_)) if coffee.left_over() == Mass::ZERO => Goes::Onto,
        Some(_) => Goes::Later,
    })
}

impl<'b> Work<'_, 'b> {
    /// Pulls what does not wait for its cup; the number of the step.
    pub(super) fn pull_early(&mut self) -> Option<usize> {
        self.goes.filter(|goes| *goes != Goes::Onto)?;
        let n = self.pull();
        if self.dissolves_in_coffee() {
            // What has to dissolve goes into the hot coffee, since the cup holds ice or cold milk.
            let solved = self.solved;
            if solved.portions.iter().any(Portion::is_loose) {
                self.keep_share();
            }
            for one in solved.portions.iter().filter(|one| one.is_loose()) {
                let phrase =
                    if one.by_volume { Phrase::InCoffeeMeasure } else { Phrase::InCoffeeWeigh };
                self.push(
                    Station::Bench,
                    phrase,
                    vec![super::portions::what(one), super::portions::amount(one)],
                );
            }
        }
        n
    }

    /// Takes out of the jug what does not go into the cup, before anything is stirred into it.
    fn keep_share(&mut self) {
        let Some(coffee) = self.solved.coffee else { return };
        if coffee.left_over() > Mass::ZERO {
            let gaps = vec![
                ("g", Gap::Number(coffee.in_cup.mg(), 1)),
                ("over", Gap::Number(coffee.left_over().mg(), 1)),
            ];
            self.push(Station::Bench, Phrase::KeepShare, gaps);
        }
    }

    /// Pulls the coffee; the number of the first step of it.
    fn pull(&mut self) -> Option<usize> {
        let coffee = self.solved.coffee?;
        let order = self.order;
        let how = order.coffee.as_ref()?;
        let mut first = None;
        for draw in how.draws() {
            let baskets = Baskets::of(&draw);
            if baskets.doubles > 0 {
                let phrase = phrase_of(&baskets, coffee.left_over() > Mass::ZERO, how);
                let n = self.pull_basket(how, (&draw, draw.double), &baskets, phrase);
                first = first.or(Some(n));
            }
            if let Some(single) = draw.single.filter(|_| baskets.singles > 0) {
                let n = self.pull_basket(how, (&draw, single), &baskets, Phrase::PullSingle);
                first = first.or(Some(n));
            }
        }
        first
    }

    fn pull_basket(
        &mut self,
        how: &CoffeeOrder<'b>,
        (draw, row): (&Draw<'b>, &'b ExtractionRow),
        baskets: &Baskets,
        phrase: Phrase,
    ) -> usize {
        let unusual = self.bar.book.pulls.iter().skip(1).find(|known| known.id == *how.pull);
        let aside = matches!(self.goes, Some(Goes::Measured | Goes::Later | Goes::Beside));
        let mut gaps: Gaps<'b> = vec![
            ("bean", Gap::Name(&draw.bean.names)),
            ("into", Gap::Say(if aside { Phrase::IntoJug } else { Phrase::IntoCup })),
            ("dose", Gap::Number(row.dose_g.mg(), 1)),
            ("yield", Gap::Number(row.yield_g.mg(), 1)),
            ("min", Gap::Number(row.time_s.min.ms(), 0)),
            ("max", Gap::Number(row.time_s.max.ms(), 0)),
            ("n", Gap::Number(i64::from(baskets.doubles) * 1_000, 0)),
        ];
        gaps.extend(unusual.map(|pull| ("pull", Gap::Also(&pull.names))));
        self.timed(Station::Group, phrase, gaps, row.time_s.max)
    }

    /// Brings the coffee into the cup in its place.
    pub(super) fn bring_coffee(&mut self) {
        let (Some(goes), Some(coffee)) = (self.goes, self.solved.coffee) else { return };
        if goes == Goes::Onto {
            if self.is_loose() {
                self.push(Station::Bench, Phrase::Stir, Vec::new());
            }
            self.pull();
            return;
        }
        if goes == Goes::Later {
            let poured = self.pour(&coffee);
            self.run_beside(poured);
        }
        if goes == Goes::Beside {
            let gaps = vec![("g", Gap::Number(coffee.in_cup.mg(), 1))];
            self.push(Station::Pass, Phrase::CoffeeBeside, gaps);
        }
    }

    /// Pours the share that goes into the cup, and stirs what lies there.
    pub(super) fn pour_measured(&mut self) {
        let Some(coffee) = self.solved.coffee else { return };
        self.pour(&coffee);
        if self.is_loose() {
            self.push(Station::Bench, Phrase::Stir, Vec::new());
        }
    }

    /// Pours coffee that was pulled aside; the number of the step.
    fn pour(&mut self, coffee: &Coffee) -> usize {
        let mut gaps = vec![self.cup(), ("g", Gap::Number(coffee.in_cup.mg(), 1))];
        let kept = self.steps.iter().any(|step| step.phrase == Phrase::KeepShare);
        let phrase = if coffee.left_over() > Mass::ZERO && !kept {
            gaps.push(("over", Gap::Number(coffee.left_over().mg(), 1)));
            Phrase::PourCoffeeShare
        } else {
            Phrase::PourCoffee
        };
        self.push(Station::Pass, phrase, gaps)
    }

    /// Everything between the pull and the pour of its coffee can run while the coffee runs.
    fn run_beside(&mut self, poured: usize) {
        let pull = self.steps.iter().position(|step| step.station == Station::Group);
        if let Some(pull) = pull {
            let stirred = |n: &usize| {
                matches!(self.steps[n - 1].phrase, Phrase::InCoffeeMeasure | Phrase::InCoffeeWeigh)
            };
            self.steps[pull].beside = (pull + 2..poured).filter(|n| !stirred(n)).collect();
        }
    }

    /// Whether what has to dissolve goes into the coffee: where that comes late, onto ice or
    /// something cold.
    pub(super) fn dissolves_in_coffee(&self) -> bool {
        self.goes == Some(Goes::Later) && !matches!(self.solved.milk, Some(Milk::Steamed(_)))
    }

    /// Whether something loose in the cup has to dissolve: all but what was made a paste.
    pub(super) fn is_loose(&self) -> bool {
        // What lies under a paste is stirred smooth with it.
        let paste = self.order.parts().any(|part| matches!(part, Part::Paste(_)));
        !paste && !self.dissolves_in_coffee() && self.solved.portions.iter().any(Portion::is_loose)
    }

    /// Whether it was stirred already.
    pub(super) fn is_stirred(&self) -> bool {
        let stirs = [Phrase::Stir, Phrase::StirWithMilk, Phrase::StirThrough];
        self.steps.iter().any(|step| stirs.contains(&step.phrase))
    }
}

/// The sentence for the doubles of one bean: how many, and how much of them is for this cup.
fn phrase_of(baskets: &Baskets, shared: bool, how: &CoffeeOrder<'_>) -> Phrase {
    let mixed = how.other.is_some();
    match (baskets.doubles, baskets.spare_halves) {
        (1, 0) if shared || mixed => Phrase::PullPlain,
        (1, _) if shared => Phrase::PullPlain,
        (1, 1..) => Phrase::PullHalf,
        (1, _) => Phrase::PullDouble,
        (_, 1..) => Phrase::PullSeveralHalf,
        _ => Phrase::PullSeveral,
    }
}

impl Portion<'_> {
    /// Whether it lies loose in the dry cup and has to dissolve.
    fn is_loose(&self) -> bool {
        use crate::engine::solve::PortionOf;
        let paste = matches!(self.of, PortionOf::Paste(_) | PortionOf::PasteWater(_));
        self.stage == Stage::CupBefore && !paste
    }
}
