//! Steps: the order of work for one cup, with timers and what can run beside them.
//!
//! Parts go in as the drink lists them. What takes time of its own, a steep, a pull or a jug of
//! milk, is started before it is needed, and the steps that can run beside it are named.

use crate::{
    book::{Bar, Part, Stage, SteepPart},
    engine::{
        order::Order,
        phrase::{Gap, Gaps, Phrase},
        solve::{Coffee, Milk, Portion, PortionOf, Solved, SteamedMilk},
    },
    units::Span,
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
    let mut work = Work { bar, order, solved, steps: Vec::with_capacity(12) };
    work.prepare();
    work.start();
    for part in order.parts() {
        work.pour(part);
    }
    work.finish();
    work.steps
}

/// How coffee gets into its cup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Goes {
    /// Pulled straight into it, before anything else is poured.
    First,
    /// Pulled straight onto water that is there already.
    Onto,
    /// Pulled aside, and poured in its place.
    Poured,
}

struct Work<'a, 'b> {
    bar: &'b Bar,
    order: &'a Order<'b>,
    solved: &'a Solved<'b>,
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

    /// What happens to the cup before anything is poured: warming, powders, pastes, syrups.
    fn prepare(&mut self) {
        if let Some(c) = self.order.cup_c {
            let gaps = vec![self.cup(), ("c", Gap::Number(c.mc(), 0))];
            self.push(Station::Water, Phrase::WarmCup, gaps);
        }
        let before = |one: &&Portion<'b>| one.stage == Stage::CupBefore;
        let portions = &self.solved.portions;
        for one in portions.iter().filter(before) {
            let mut gaps = vec![self.cup(), what(one), amount(one)];
            if let PortionOf::Paste(id) = one.of {
                let water = portions.iter().find(|two| two.of == PortionOf::PasteWater(id));
                if let Some(water) = water {
                    gaps.push(("water_ml", Gap::Number(water.volume.ul(), 0)));
                    gaps.push(("c", Gap::Number(water.at.mc(), 0)));
                }
                let phrase = if one.by_volume { Phrase::PasteMeasure } else { Phrase::PasteWeigh };
                self.push(Station::Bench, phrase, gaps);
            } else if !matches!(one.of, PortionOf::PasteWater(_)) {
                let phrase = if one.by_volume { Phrase::DryMeasure } else { Phrase::DryWeigh };
                self.push(Station::Bench, phrase, gaps);
            }
        }
    }

    /// How the coffee gets into the cup.
    fn coffee_goes(&self) -> Goes {
        let poured = |part: &&Part| !matches!(part, Part::Ingredient(_) | Part::Paste(_));
        match self.order.parts().find(poured) {
            Some(Part::Coffee(_)) | None => Goes::First,
            Some(Part::Water(_)) => Goes::Onto,
            Some(_) => Goes::Poured,
        }
    }

    /// Starts what takes time of its own, the longest first: steep, pull, jug of milk.
    fn start(&mut self) {
        let steep = self.order.parts().find_map(Part::as_steep);
        let steeping = steep.map(|steep| self.steep_in_water(steep));
        let solved = self.solved;
        // Coffee that goes in last is pulled when its cup is ready for it.
        let pulling = solved
            .coffee
            .filter(|_| self.coffee_goes() != Goes::Onto)
            .map(|coffee| self.pull(&coffee));
        let jugging = match &solved.milk {
            Some(Milk::Steamed(milk)) => Some(self.jug(milk)),
            Some(Milk::Cold(_)) | None => None,
        };
        if let Some((first, last)) = jugging {
            for n in steeping.into_iter().chain(pulling) {
                self.steps[n - 1].beside.extend(first..=last);
            }
        }
        if let (Some(steep), Some(pull)) = (steeping, pulling) {
            self.steps[steep - 1].beside.insert(0, pull);
        }
        if let Some(steep) = steep {
            self.steep_in_milk(steep);
        }
    }

    fn steep_in_water(&mut self, steep: &'b SteepPart) -> usize {
        let portions = &self.solved.portions;
        let leaf = portions.iter().find(|one| one.of == PortionOf::Leaf(&steep.id));
        let water = portions.iter().find(|one| one.of == PortionOf::LeafWater(&steep.id));
        let mut gaps: Gaps<'b> =
            leaf.into_iter().flat_map(|leaf| [what(leaf), amount(leaf)]).collect();
        if let Some(water) = water {
            gaps.push(("ml", Gap::Number(water.volume.ul(), 0)));
            gaps.push(("c", Gap::Number(water.at.mc(), 0)));
        }
        let time =
            steep.stages.iter().filter(|stage| !stage.with_milk).map(|stage| stage.time).sum();
        gaps.push(("s", Gap::Number(Span::ms(time), 0)));
        self.timed(Station::Steep, Phrase::SteepWater, gaps, time)
    }

    fn steep_in_milk(&mut self, steep: &'b SteepPart) {
        let time: Span =
            steep.stages.iter().filter(|stage| stage.with_milk).map(|stage| stage.time).sum();
        if time > Span::ZERO {
            let gaps = vec![("s", Gap::Number(time.ms(), 0))];
            self.timed(Station::Steep, Phrase::SteepMilk, gaps, time);
        }
    }

    /// Pulls the coffee; the number of the step.
    fn pull(&mut self, coffee: &Coffee) -> usize {
        let Some(how) = &self.order.coffee else { return self.steps.len() };
        let double = how.double;
        let unusual = self.bar.book.pulls.iter().skip(1).find(|known| known.id == *how.pull);
        let basket = if coffee.doubles == 0 { how.single.unwrap_or(double) } else { double };
        let mut gaps = vec![
            ("bean", Gap::Name(&how.bean.names)),
            ("dose", Gap::Number(basket.dose_g.mg(), 1)),
            ("yield", Gap::Number(basket.yield_g.mg(), 1)),
            ("min", Gap::Number(coffee.time.min.ms(), 0)),
            ("max", Gap::Number(coffee.time.max.ms(), 0)),
            ("n", Gap::Number(i64::from(coffee.doubles) * 1_000, 0)),
            ("halves", Gap::Number(i64::from(coffee.halves) * 1_000, 0)),
        ];
        gaps.extend(unusual.map(|pull| ("pull", Gap::Also(&pull.names))));
        let aside = self.coffee_goes() == Goes::Poured || coffee.in_cup < coffee.pulled;
        gaps.push(("into", Gap::Say(if aside { Phrase::IntoJug } else { Phrase::IntoCup })));
        let phrase = match (coffee.doubles, coffee.singles, coffee.spare_halves) {
            (0, _, _) => Phrase::PullSingle,
            (_, 1.., _) => Phrase::PullMixed,
            (1, _, 1..) => Phrase::PullHalf,
            (1, _, _) => Phrase::PullDouble,
            _ => Phrase::PullSeveral,
        };
        self.timed(Station::Group, phrase, gaps, coffee.time.max)
    }

    /// Fills the jug and steams; the numbers of the first and the last step.
    fn jug(&mut self, milk: &SteamedMilk<'b>) -> (usize, usize) {
        let mut gaps = vec![
            ("milk", Gap::Name(&milk.ingredient.names)),
            ("jug", Gap::Name(&milk.jug.jug.names)),
            ("ml", Gap::Number(milk.pour.ul(), 0)),
        ];
        let over = milk.left_over.ul() > 0;
        if over {
            gaps.push(("over", Gap::Number(milk.left_over.ul(), 0)));
        }
        let phrase = if over { Phrase::JugMilkOver } else { Phrase::JugMilk };
        let first = self.push(Station::Cold, phrase, gaps);
        let stretched = milk.in_jug.scaled(1_000_000, milk.cold.ul()).ul() / 1_000;
        let gaps = vec![
            ("c", Gap::Number(milk.set_point.mc(), 0)),
            ("mm", Gap::Number(milk.foam_depth.um(), 0)),
            ("times", Gap::Number(stretched, 2)),
        ];
        let foam = milk.gas.ul() > 0;
        let phrase = if foam { Phrase::SteamFoam } else { Phrase::Steam };
        (first, self.timed(Station::Wand, phrase, gaps, milk.time))
    }

    /// Brings one part into the cup.
    fn pour(&mut self, part: &'b Part) {
        match part {
            Part::Coffee(_) => self.pour_coffee(),
            Part::Milk(milk) => self.pour_milk(milk.textured_ml.is_some()),
            Part::Steep(_) => {
                let gaps = vec![self.cup()];
                self.push(Station::Steep, Phrase::SteepStrain, gaps);
            }
            Part::Water(_) | Part::Ice(_) | Part::Ingredient(_) | Part::Paste(_) => {
                let own = |one: &&Portion<'b>| one.of.id() == part.id();
                let portions = &self.solved.portions;
                for one in portions.iter().filter(own) {
                    self.put(one);
                }
            }
        }
    }

    fn pour_coffee(&mut self) {
        let Some(coffee) = self.solved.coffee else { return };
        let goes = self.coffee_goes();
        if goes == Goes::Onto {
            self.pull(&coffee);
        }
        if goes != Goes::Poured && self.to_dissolve() {
            self.push(Station::Bench, Phrase::Stir, Vec::new());
        }
        if goes == Goes::Poured || coffee.in_cup < coffee.pulled {
            let gaps = vec![self.cup(), ("g", Gap::Number(coffee.in_cup.mg(), 1))];
            self.push(Station::Pass, Phrase::PourCoffee, gaps);
        }
    }

    /// Whether something in the cup is still to be dissolved: all but what was made a paste.
    fn to_dissolve(&self) -> bool {
        let stirred = self
            .steps
            .iter()
            .any(|step| matches!(step.phrase, Phrase::Stir | Phrase::StirWithMilk));
        let loose = |one: &Portion<'_>| {
            let paste = matches!(one.of, PortionOf::Paste(_) | PortionOf::PasteWater(_));
            one.stage == Stage::CupBefore && !paste
        };
        !stirred && self.solved.portions.iter().any(loose)
    }

    fn pour_milk(&mut self, spooned: bool) {
        let steeped = self.order.parts().any(|part| matches!(part, Part::Steep(_)));
        match &self.solved.milk {
            Some(Milk::Steamed(milk)) => {
                if steeped && milk.gas.ul() == 0 {
                    return;
                }
                if self.to_dissolve() {
                    self.push(Station::Pass, Phrase::StirWithMilk, Vec::new());
                }
                let gaps = vec![
                    self.cup(),
                    ("ml", Gap::Number(milk.textured.ul(), 0)),
                    ("fill", Gap::Number(self.solved.fill.ul(), 0)),
                    ("mm", Gap::Number(milk.foam_depth.um(), 0)),
                ];
                let phrase = match (spooned, milk.gas.ul() > 0) {
                    (true, _) => Phrase::SpoonMilk,
                    (false, true) => Phrase::PourMilkFoam,
                    (false, false) => Phrase::PourMilk,
                };
                self.push(Station::Pass, phrase, gaps);
            }
            Some(Milk::Cold(milk)) => {
                let gaps = vec![
                    self.cup(),
                    ("milk", Gap::Name(&milk.ingredient.names)),
                    ("ml", Gap::Number(milk.pour.ul(), 0)),
                ];
                self.push(Station::Cold, Phrase::ColdMilk, gaps);
            }
            None => {}
        }
    }

    fn put(&mut self, one: &Portion<'b>) {
        let mut gaps = vec![self.cup(), what(one), amount(one)];
        let by = |measure, weigh| if one.by_volume { measure } else { weigh };
        let (station, phrase) = match (one.of, one.stage) {
            (_, Stage::CupBefore) => return,
            (PortionOf::Ice(_), _) => (Station::Cold, Phrase::PutIce),
            (PortionOf::Water(_), _) => {
                // Read off a scale of the same marks as the milk jugs.
                let mark = one.volume.to_nearest(self.bar.site.pour_mark_ml);
                gaps[2] = ("ml", Gap::Number(mark.ul(), 0));
                gaps.push(("c", Gap::Number(one.at.mc(), 0)));
                let cold = one.at <= one.ingredient.stored_c;
                (Station::Water, if cold { Phrase::PourColdWater } else { Phrase::PourWater })
            }
            (_, Stage::Pour) => (Station::Bench, by(Phrase::PutMeasure, Phrase::PutWeigh)),
            (_, Stage::Top) => (Station::Pass, by(Phrase::TopMeasure, Phrase::TopWeigh)),
            (_, Stage::Side) => (Station::Pass, by(Phrase::SideMeasure, Phrase::SideWeigh)),
        };
        self.push(station, phrase, gaps);
    }

    /// Additions that come last, and the handing over.
    fn finish(&mut self) {
        let added = |one: &&Portion<'b>| matches!(one.of, PortionOf::Added(_));
        let portions = &self.solved.portions;
        for one in portions.iter().filter(added) {
            self.put(one);
        }
        if self.to_dissolve() {
            self.push(Station::Pass, Phrase::Stir, Vec::new());
        }
        let iced = self.order.parts().any(|part| matches!(part, Part::Ice(_)));
        let phrase = if iced { Phrase::HandOver } else { Phrase::HandOverHot };
        let gaps = vec![("c", Gap::Number(self.solved.serve.mc(), 0))];
        self.push(Station::Pass, phrase, gaps);
    }
}

fn what<'b>(one: &Portion<'b>) -> (&'static str, Gap<'b>) {
    ("what", Gap::Name(&one.ingredient.names))
}

fn amount<'b>(one: &Portion<'_>) -> (&'static str, Gap<'b>) {
    if one.by_volume {
        ("ml", Gap::Number(one.volume.ul(), 1))
    } else {
        ("g", Gap::Number(one.mass.mg(), 1))
    }
}
