//! Steps of the milk: into the jug, under the wand, into the cup.

use super::{Station, Work};
use crate::{
    book::{MilkPart, Part},
    engine::{
        phrase::{Gap, Phrase},
        solve::{Layer, LayerOf, Milk, SteamedMilk},
    },
    units::Volume,
};

impl<'b> Work<'_, 'b> {
    fn steamed(&self) -> Option<SteamedMilk<'b>> {
        match &self.solved.milk {
            Some(Milk::Steamed(milk)) => Some(*milk),
            Some(Milk::Cold(_)) | None => None,
        }
    }

    /// Fills the jug and steams; the numbers of both steps.
    pub(super) fn jug(&mut self) -> Vec<usize> {
        let filled = self.fill_jug();
        filled.into_iter().chain(self.steam()).collect()
    }

    /// Pours cold milk into the jug; the number of the step.
    pub(super) fn fill_jug(&mut self) -> Option<usize> {
        let milk = self.steamed()?;
        let mut gaps = vec![
            ("milk", Gap::Name(&milk.ingredient.names)),
            ("jug", Gap::Name(&milk.jug.jug.names)),
            ("ml", Gap::Number(milk.pour.ul(), 0)),
        ];
        let phrase = if milk.left_over > Volume::ZERO {
            gaps.push(("over", Gap::Number(milk.left_over.ul(), 0)));
            Phrase::JugMilkOver
        } else {
            Phrase::JugMilk
        };
        Some(self.push(Station::Cold, phrase, gaps))
    }

    /// Steams the jug; the number of the step.
    pub(super) fn steam(&mut self) -> Option<usize> {
        let milk = self.steamed()?;
        let mark = milk.stands_at(self.bar.site.pour_mark_ml);
        let gaps = vec![
            ("c", Gap::Number(milk.set_point.mc(), 0)),
            ("mm", Gap::Number(milk.foam_depth.um(), 0)),
            ("ml", Gap::Number(mark.ul(), 0)),
        ];
        let phrase = if milk.gas > Volume::ZERO { Phrase::SteamFoam } else { Phrase::Steam };
        Some(self.timed(Station::Wand, phrase, gaps, milk.time))
    }

    /// Brings the milk into the cup.
    pub(super) fn bring_milk(&mut self, part: &MilkPart) {
        if self.order.is_aside(&part.id, "milk") {
            self.milk_beside();
            return;
        }
        match &self.solved.milk {
            Some(Milk::Steamed(milk)) => self.pour_steamed(*milk, part.textured_ml.is_some()),
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
        if let Some(rest) = part.rest.filter(|_| self.solved.milk.is_some()) {
            let gaps = vec![("s", Gap::Number(rest.ms(), 0))];
            self.timed(Station::Pass, Phrase::MilkRests, gaps, rest);
        }
    }

    /// Serves the milk beside the cup.
    fn milk_beside(&mut self) {
        let Some(milk) = &self.solved.milk else { return };
        let mut gaps = vec![("ml", Gap::Number(milk.textured().ul(), 0))];
        let (station, phrase) = match milk {
            Milk::Steamed(milk) if milk.gas > Volume::ZERO => {
                gaps.push(("mm", Gap::Number(milk.foam_depth.um(), 0)));
                (Station::Pass, Phrase::MilkBesideFoam)
            }
            Milk::Steamed(_) => (Station::Pass, Phrase::MilkBeside),
            Milk::Cold(milk) => {
                gaps = vec![
                    ("milk", Gap::Name(&milk.ingredient.names)),
                    ("ml", Gap::Number(milk.pour.ul(), 0)),
                ];
                (Station::Cold, Phrase::ColdMilkBeside)
            }
        };
        self.push(station, phrase, gaps);
    }

    /// Up to where the cup is full once the milk is in: what comes after it is still to come.
    fn up_to_milk(&self) -> Volume {
        let layers = &self.solved.layers;
        let milk = |layer: &Layer<'_>| matches!(layer.of, LayerOf::Milk | LayerOf::FoamGas);
        let last = layers.iter().rposition(milk).map_or(layers.len(), |at| at + 1);
        layers[..last].iter().map(|layer| layer.volume).sum()
    }

    fn pour_steamed(&mut self, milk: SteamedMilk<'b>, spooned: bool) {
        let in_steep = self.order.parts().any(|part| {
            matches!(part, Part::Steep(steep) if steep.stages.iter().any(|stage| stage.with_milk))
        });
        if in_steep {
            // The milk went onto the leaf and comes into the cup strained.
            return;
        }
        if self.is_loose() && !self.is_stirred() {
            self.push(Station::Pass, Phrase::StirWithMilk, Vec::new());
        }
        let gaps = vec![
            self.cup(),
            ("ml", Gap::Number(milk.textured.ul(), 0)),
            ("fill", Gap::Number(self.up_to_milk().ul(), 0)),
            ("mm", Gap::Number(milk.foam_depth.um(), 0)),
        ];
        let phrase = match (spooned, milk.gas > Volume::ZERO) {
            (true, _) => Phrase::SpoonMilk,
            (false, true) => Phrase::PourMilkFoam,
            (false, false) => Phrase::PourMilk,
        };
        self.push(Station::Pass, phrase, gaps);
    }
}
