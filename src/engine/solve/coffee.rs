//! Coffee: halves to baskets, doses and yields.

use crate::{
    book::Seconds,
    engine::order::{CoffeeOrder, Draw},
    units::{Density, Mass, Volume},
};

/// The coffee of one cup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Coffee {
    /// Halves in the cup.
    pub halves: i32,
    /// Double baskets pulled.
    pub doubles: i32,
    /// Single baskets pulled.
    pub singles: i32,
    /// Halves pulled that are not in this cup.
    pub spare_halves: i32,
    /// Dry coffee for the halves in the cup.
    pub dose: Mass,
    /// Coffee from those halves, all of it.
    pub pulled: Mass,
    /// Coffee that goes into the cup.
    pub in_cup: Mass,
    /// Room it takes up.
    pub volume: Volume,
    /// Time window of the pull.
    pub time: Seconds,
}

impl Coffee {
    /// Coffee pulled for this cup that does not go into it.
    pub fn left_over(&self) -> Mass {
        self.pulled - self.in_cup
    }
}

/// The baskets that give the halves of one bean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Baskets {
    /// Double baskets pulled.
    pub doubles: i32,
    /// Single baskets pulled.
    pub singles: i32,
    /// Halves pulled that are not in this cup.
    pub spare_halves: i32,
    /// Dry coffee for the halves in the cup.
    pub dose: Mass,
    /// Coffee from those halves.
    pub pulled: Mass,
    /// Time window of the pull.
    pub time: Seconds,
}

impl Baskets {
    /// The baskets for a draw.
    ///
    /// An odd half comes from a single basket where the site has one and the book a recipe for it;
    /// else a double is pulled and half of it is spare.
    pub fn of(draw: &Draw<'_>) -> Self {
        let (double, halves) = (draw.double, draw.halves);
        let odd = halves % 2;
        let whole = i64::from(halves - odd);
        let (mut dose, mut pulled) =
            (double.dose_g.scaled(whole, 2), double.yield_g.scaled(whole, 2));
        let (doubles, singles) = match (odd, draw.single) {
            (0, _) => (halves / 2, 0),
            (_, Some(single)) => {
                dose += single.dose_g;
                pulled += single.yield_g;
                (halves / 2, 1)
            }
            (_, None) => {
                dose += double.dose_g.scaled(1, 2);
                pulled += double.yield_g.scaled(1, 2);
                (halves / 2 + 1, 0)
            }
        };
        let single = draw.single.filter(|_| doubles == 0);
        let time = single.map_or(double.time_s, |one| one.time_s);
        let spare_halves = doubles * 2 + singles - halves;
        Self { doubles, singles, spare_halves, dose, pulled, time }
    }
}

/// Doses and yields of the halves asked for, over all beans.
pub(super) fn coffee(order: &CoffeeOrder<'_>) -> Coffee {
    let all: Vec<Baskets> = order.draws().map(|draw| Baskets::of(&draw)).collect();
    let sum = |of: fn(&Baskets) -> i32| all.iter().map(of).sum::<i32>();
    let pulled: Mass = all.iter().map(|one| one.pulled).sum();
    let in_cup = pulled.scaled(order.share.thousandths(), 1_000);
    let first = Baskets::of(&order.draw).time;
    let time = all.iter().fold(first, |time, one| Seconds {
        min: time.min.min(one.time.min),
        max: time.max.max(one.time.max),
    });
    Coffee {
        halves: order.halves,
        doubles: sum(|one| one.doubles),
        singles: sum(|one| one.singles),
        spare_halves: sum(|one| one.spare_halves),
        dose: all.iter().map(|one| one.dose).sum(),
        pulled,
        in_cup,
        volume: volume_of(in_cup, order.extraction.density_kg_m3),
        time,
    }
}

/// The volume of a mass at a density.
pub(super) fn volume_of(mass: Mass, density: Density) -> Volume {
    // mg ÷ (mkg/m³ ÷ 10⁶ mg/µL) = µL
    Volume::from_ul(mass.scaled(1_000_000, density.mkg_m3()).mg())
}

/// The mass of a volume at a density.
pub fn mass_of(volume: Volume, density: Density) -> Mass {
    Mass::from_mg(volume.scaled(density.mkg_m3(), 1_000_000).ul())
}
