//! Steps: the order of work for one cup, with timers and what can run beside them.
//!
//! Parts go in as the drink lists them. What takes time of its own, a steep, a pull or a jug of
//! milk, is started before it is needed, and the steps that can run beside it are named.

mod coffee;
mod milk;
mod portions;

use super::notices::hottest;
use crate::{
    book::{Bar, Part, Stage},
    engine::{
        order::Order,
        phrase::{Gap, Gaps, Phrase},
        solve::{Milk, Portion, PortionOf, Solved},
    },
    units::{Span, Volume},
};

/// Where a step is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Station {
    /// Powders, syrups, toppings.
    Bench,
    /// The group of the machine.
    Group,
    /// The steam wand.
    Wand,
    /// Hot or cold water.
    Water,
    /// Ice and the fridge.
    Cold,
    /// Steeping.
    Steep,
    /// Filter coffee and cold brew.
    Brew,
    /// Where the cup is finished and handed over.
    Pass,
}

impl Station {
    /// As answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Bench => "bench",
            Self::Group => "group",
            Self::Wand => "wand",
            Self::Water => "water",
            Self::Cold => "cold",
            Self::Steep => "steep",
            Self::Brew => "brew",
            Self::Pass => "pass",
        }
    }
}

/// One step of the work.
#[derive(Clone, Debug, PartialEq)]
pub struct Step<'b> {
    /// Where.
    pub station: Station,
    /// Its sentence.
    pub phrase: Phrase,
    /// What fills the sentence's gaps.
    pub gaps: Gaps<'b>,
    /// Timer, where it has one.
    pub time: Option<Span>,
    /// Numbers, from 1, of the later steps that can run while this one does.
    pub beside: Vec<usize>,
}

/// The steps of one cup.
pub fn steps<'b>(bar: &'b Bar, order: &Order<'b>, solved: &Solved<'b>) -> Vec<Step<'b>> {
    let goes = coffee::goes(order, solved);
    let mut work = Work { bar, order, solved, goes, brought: 0, steps: Vec::with_capacity(12) };
    work.prepare();
    work.start_brew();
    work.start();
    for part in order.parts().skip(work.brought) {
        work.bring(part);
    }
    work.finish();
    work.steps
}

struct Work<'a, 'b> {
    bar: &'b Bar,
    order: &'a Order<'b>,
    solved: &'a Solved<'b>,
    goes: Option<coffee::Goes>,
    /// How many parts were brought before the milk was steamed.
    brought: usize,
    steps: Vec<Step<'b>>,
}

impl<'b> Work<'_, 'b> {
    fn push(&mut self, station: Station, phrase: Phrase, gaps: Gaps<'b>) -> usize {
        self.steps.push(Step { station, phrase, gaps, time: None, beside: Vec::new() });
        self.steps.len()
    }

    fn timed(&mut self, station: Station, phrase: Phrase, gaps: Gaps<'b>, time: Span) -> usize {
        let n = self.push(station, phrase, gaps);
        self.steps[n - 1].time = Some(time);
        n
    }

    fn cup(&self) -> (&'static str, Gap<'b>) {
        ("cup", Gap::Name(&self.order.vessel.vessel.names))
    }

    /// Starts what takes time of its own, the longest first: steep, pull, jug of milk.
    fn start(&mut self) {
        let steep = self.order.parts().find_map(Part::as_steep);
        if let Some(steep) = steep {
            let steeping = self.steep_in_water(steep);
            let jug = self.jug();
            self.steps[steeping - 1].beside.extend(jug);
            // The coffee is pulled as late as it can be, so that it does not stand.
            let in_milk = self.steep_in_milk(steep).unwrap_or(steeping);
            let pulled = self.pull_early();
            self.steps[in_milk - 1].beside.extend(pulled);
            return;
        }
        let pulled = self.pull_early();
        let filled = self.fill_jug();
        let mut beside: Vec<usize> = filled.into_iter().collect();
        // Textured milk must not stand, so the cup is made ready before the steam.
        if pulled.is_some() && self.goes == Some(coffee::Goes::First) && self.is_loose() {
            self.push(Station::Bench, Phrase::Stir, Vec::new());
        } else if self.goes == Some(coffee::Goes::Measured) {
            self.pour_measured();
        } else if filled.is_some() && self.poured_before_milk() == 0 {
            beside.push(self.steps.len() + 1);
        }
        self.bring_before_milk();
        self.steam();
        if let Some(n) = pulled {
            self.steps[n - 1].beside = beside;
        }
    }

    /// How many pours come before steamed milk and wait for nothing.
    fn poured_before_milk(&self) -> usize {
        if !matches!(self.solved.milk, Some(Milk::Steamed(_)))
            || self.goes == Some(coffee::Goes::Later)
        {
            return 0;
        }
        let before = self.order.parts().take_while(|part| !matches!(part, Part::Milk(_)));
        before.filter(|part| matches!(part, Part::Water(_) | Part::Brew(_))).count()
    }

    /// Brings what comes before steamed milk, so that the milk is poured as soon as it is ready.
    fn bring_before_milk(&mut self) {
        if self.poured_before_milk() == 0 {
            return;
        }
        let order = self.order;
        for part in order.parts().take_while(|part| !matches!(part, Part::Milk(_))) {
            self.bring(part);
            self.brought += 1;
        }
    }

    /// Brings one part into the cup.
    fn bring(&mut self, part: &'b Part) {
        match part {
            Part::Coffee(_) => self.bring_coffee(),
            Part::Milk(milk) => self.bring_milk(milk),
            Part::Brew(brew) => self.bring_brew(brew),
            Part::Steep(steep) => {
                let in_milk = steep.stages.iter().any(|stage| stage.with_milk);
                let gaps = vec![self.cup()];
                // A leaf that was in milk holds a good deal of it; tea turns bitter when pressed.
                let phrase = if in_milk { Phrase::SteepStrain } else { Phrase::SteepLift };
                self.push(Station::Steep, phrase, gaps);
                if self.is_loose() && !self.is_stirred() {
                    self.push(Station::Pass, Phrase::Stir, Vec::new());
                }
            }
            Part::Water(_) | Part::Ice(_) | Part::Ingredient(_) | Part::Paste(_) => {
                let own = |one: &&Portion<'b>| one.of.id() == part.id() && one.stage != Stage::Top;
                let solved = self.solved;
                for one in solved.portions.iter().filter(own) {
                    self.put(one);
                }
            }
        }
    }

    /// Additions that come last, what comes with the cup, and the handing over.
    fn finish(&mut self) {
        let solved = self.solved;
        let added = |one: &&Portion<'b>| matches!(one.of, PortionOf::Added(_));
        let later = |one: &&Portion<'b>| one.stage != Stage::Top;
        for one in solved.portions.iter().filter(added).filter(|one| one.stage == Stage::Pour) {
            self.put(one);
        }
        if self.is_loose() && !self.is_stirred() {
            self.push(Station::Pass, Phrase::Stir, Vec::new());
        } else if self.lies_under_cold() {
            self.push(Station::Pass, Phrase::StirThrough, Vec::new());
        }
        // What takes up room, such as cream, goes on before what is dusted over it.
        let top = solved.portions.iter().filter(|one| one.stage == Stage::Top);
        let (roomy, dusted): (Vec<_>, Vec<_>) = top.partition(|one| one.volume > Volume::ZERO);
        for one in roomy.into_iter().chain(dusted) {
            self.put(one);
        }
        for one in solved.portions.iter().filter(added).filter(later) {
            if one.stage != Stage::Pour {
                self.put(one);
            }
        }
        self.come_with();
        let hot = hottest(self.order, self.solved) > self.bar.book.caution_hot_above_c;
        // What is made for small children has its temperature checked.
        let checked = self.order.drink.envelope.safety;
        let phrase = match (hot, checked) {
            (true, _) => Phrase::HandOverHot,
            (false, true) => Phrase::HandOverLukewarm,
            (false, false) => Phrase::HandOver,
        };
        let gaps = vec![("c", Gap::Number(self.solved.serve.mc(), 0))];
        self.push(Station::Pass, phrase, gaps);
    }

    /// Whether a paste lies under something cold, with which it only mixes when it is stirred.
    fn lies_under_cold(&self) -> bool {
        let paste = self.order.parts().any(|part| matches!(part, Part::Paste(_)));
        paste && matches!(self.solved.milk, Some(Milk::Cold(_)))
    }

    /// The lid, and what flags say of the handing over.
    fn come_with(&mut self) {
        if self.order.takes_lid(self.bar) {
            self.push(Station::Pass, Phrase::LidOn, Vec::new());
        }
        let flags = self.order.held.iter().filter_map(|held| held.modifier.step());
        for words in flags.collect::<Vec<_>>() {
            self.push(Station::Pass, Phrase::OfBook, vec![("what", Gap::Name(words))]);
        }
    }
}
