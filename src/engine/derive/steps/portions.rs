//! Steps of everything else: powders, pastes, syrups, leaves, water, ice, toppings, sides.

use super::{Station, Work};
use crate::{
    book::{BrewPart, Part, Stage, SteepPart},
    engine::{
        phrase::{Gap, Gaps, Phrase},
        solve::{Portion, PortionOf},
    },
    units::{Displacement, Span, Volume},
};

impl<'b> Work<'_, 'b> {
    /// What happens to the cup before anything is poured: warming, powders, pastes, syrups.
    pub(super) fn prepare(&mut self) {
        if let Some(c) = self.order.cup_c {
            let gaps = vec![self.cup(), ("c", Gap::Number(c.mc(), 0))];
            self.push(Station::Water, Phrase::WarmCup, gaps);
        }
        let solved = self.solved;
        let early = |one: &&Portion<'b>| one.stage == Stage::CupBefore;
        for one in solved.portions.iter().filter(early) {
            let mut gaps = vec![self.cup(), what(one), amount(one)];
            if let PortionOf::Paste(id) = one.of {
                let portions = &solved.portions;
                let water = portions.iter().find(|two| two.of == PortionOf::PasteWater(id));
                if let Some(water) = water {
                    gaps.push(("water_ml", Gap::Number(water.volume.ul(), 0)));
                    gaps.push(("c", Gap::Number(water.at.mc(), 0)));
                }
                let phrase = match one.by_volume {
                    _ if self.is_sifted(id) => Phrase::PasteSift,
                    true => Phrase::PasteMeasure,
                    false => Phrase::PasteWeigh,
                };
                self.push(Station::Bench, phrase, gaps);
            } else if !matches!(one.of, PortionOf::PasteWater(_)) && !self.dissolves_in_coffee() {
                // Only the first thing goes into a dry cup.
                let phrase = match (one.by_volume, self.steps.is_empty()) {
                    (true, _) => Phrase::DryMeasure,
                    (false, true) => Phrase::DryWeigh,
                    (false, false) => Phrase::PutWeigh,
                };
                self.push(Station::Bench, phrase, gaps);
            }
        }
    }

    fn is_sifted(&self, id: &str) -> bool {
        let sifted =
            |part: &Part| matches!(part, Part::Paste(paste) if *paste.id == *id && paste.sift);
        self.order.parts().any(sifted)
    }

    /// Sets the leaf to steep in water; the number of the step.
    pub(super) fn steep_in_water(&mut self, steep: &'b SteepPart) -> usize {
        let portions = &self.solved.portions;
        let leaf = portions.iter().find(|one| one.of == PortionOf::Leaf(&steep.id));
        let water = portions.iter().find(|one| one.of == PortionOf::LeafWater(&steep.id));
        let mut gaps: Gaps<'b> =
            leaf.into_iter().flat_map(|leaf| [what(leaf), amount(leaf)]).collect();
        if let Some(water) = water {
            gaps.push(("ml", Gap::Number(water.volume.ul(), 0)));
            gaps.push(("c", Gap::Number(water.at.mc(), 0)));
        }
        let stages = steep.stages.iter().filter(|stage| !stage.with_milk);
        let time: Span = stages.map(|stage| stage.time).sum();
        gaps.push(("s", Gap::Number(time.ms(), 0)));
        self.timed(Station::Steep, Phrase::SteepWater, gaps, time)
    }

    /// Goes on steeping in hot milk, if the leaf does; the number of the step.
    pub(super) fn steep_in_milk(&mut self, steep: &'b SteepPart) -> Option<usize> {
        let stages = steep.stages.iter().filter(|stage| stage.with_milk);
        let time: Span = stages.map(|stage| stage.time).sum();
        let gaps = vec![("s", Gap::Number(time.ms(), 0))];
        (time > Span::ZERO).then(|| self.timed(Station::Steep, Phrase::SteepMilk, gaps, time))
    }

    /// Starts a cup's own brew, which takes its time.
    pub(super) fn start_brew(&mut self) {
        let order = self.order;
        let brews = order.parts().filter_map(Part::as_brew);
        for brew in brews.filter(|brew| brew.batch_holds.is_none()).collect::<Vec<_>>() {
            let portions = &self.solved.portions;
            let grounds = portions.iter().find(|one| one.of == PortionOf::Grounds(&brew.id));
            let brewed = portions.iter().find(|one| one.of == PortionOf::Brew(&brew.id));
            let Some((grounds, brewed)) = grounds.zip(brewed) else { continue };
            // What the grounds keep was water too.
            let keeps = grounds.ingredient.keeps_ml_g.map_or(0, Displacement::ul_g);
            let water = brewed.volume + Volume::from_ul(grounds.mass.scaled(keeps, 1_000).mg());
            let gaps = vec![
                what(grounds),
                amount(grounds),
                ("ml", Gap::Number(water.ul(), 0)),
                ("c", Gap::Number(brew.water_c.mc(), 0)),
                ("s", Gap::Number(brew.time.ms(), 0)),
            ];
            self.timed(Station::Brew, Phrase::BrewCup, gaps, brew.time);
        }
    }

    /// Brings a brew into the cup: from its filter, or from a batch that is not too old.
    pub(super) fn bring_brew(&mut self, brew: &'b BrewPart) {
        let portions = &self.solved.portions;
        let Some(brewed) = portions.iter().find(|one| one.of == PortionOf::Brew(&brew.id)) else {
            return;
        };
        let mark: Volume = brewed.volume.to_nearest(self.bar.site.pour_mark_ml);
        let mut gaps = vec![self.cup(), ("ml", Gap::Number(mark.ul(), 0))];
        let phrase = match brew.batch_holds {
            None => Phrase::BrewInto,
            Some(holds) => {
                let grounds = self.bar.ingredient(&brew.ingredient);
                gaps.extend(grounds.map(|one| ("what", Gap::Name(&one.names))));
                // Whole hours from three hours on, so that nobody has to reckon.
                let hours = holds.ms() >= 3 * 3_600_000 && holds.ms() % 3_600_000 == 0;
                let (gap, of) = if hours { ("h", 3_600) } else { ("min", 60) };
                gaps.push((gap, Gap::Number(holds.ms() / of, 0)));
                if hours { Phrase::BatchIntoHours } else { Phrase::BatchInto }
            }
        };
        self.push(Station::Brew, phrase, gaps);
    }

    /// Puts one portion into, onto or beside the cup.
    pub(super) fn put(&mut self, one: &Portion<'b>) {
        let (cup, what) = (self.cup(), what(one));
        let by = |measure, weigh| if one.by_volume { measure } else { weigh };
        let (station, phrase, gaps) = match (one.of, one.stage) {
            (_, Stage::CupBefore) => return,
            (PortionOf::Ice(_), _) => (Station::Cold, Phrase::PutIce, vec![cup, amount(one)]),
            (PortionOf::Water(_), Stage::Side) => {
                let mark: Volume = one.volume.to_nearest(self.bar.site.pour_mark_ml);
                let gaps =
                    vec![("ml", Gap::Number(mark.ul(), 0)), ("c", Gap::Number(one.at.mc(), 0))];
                (Station::Water, Phrase::WaterBeside, gaps)
            }
            (PortionOf::Water(_), _) => {
                // Read off a scale of the same marks as the milk jugs.
                let mark: Volume = one.volume.to_nearest(self.bar.site.pour_mark_ml);
                let cold = one.at <= one.ingredient.stored_c;
                let phrase = if cold { Phrase::PourColdWater } else { Phrase::PourWater };
                let c = ("c", Gap::Number(one.at.mc(), 0));
                (Station::Water, phrase, vec![cup, ("ml", Gap::Number(mark.ul(), 0)), c])
            }
            (_, stage) => {
                let (station, phrase) = match stage {
                    Stage::Top => (Station::Pass, by(Phrase::TopMeasure, Phrase::TopWeigh)),
                    Stage::Side => (Station::Pass, by(Phrase::SideMeasure, Phrase::SideWeigh)),
                    Stage::Sealed => (Station::Pass, Phrase::SealedPack),
                    Stage::CupBefore | Stage::Pour => {
                        (Station::Bench, by(Phrase::PutMeasure, Phrase::PutWeigh))
                    }
                };
                (station, phrase, vec![cup, what, amount(one)])
            }
        };
        self.push(station, phrase, gaps);
    }
}

pub(super) fn what<'b>(one: &Portion<'b>) -> (&'static str, Gap<'b>) {
    ("what", Gap::Name(&one.ingredient.names))
}

pub(super) fn amount<'b>(one: &Portion<'_>) -> (&'static str, Gap<'b>) {
    if one.by_volume {
        ("ml", Gap::Number(one.volume.ul(), 1))
    } else {
        ("g", Gap::Number(one.mass.mg(), 1))
    }
}
