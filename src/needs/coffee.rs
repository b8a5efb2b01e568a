//! Halves to baskets over a whole mix: as they pair within their class, and cup by cup.

use super::{Counted, cup::Drawn};
use crate::{
    book::{Bar, Bean, ExtractionRow, Id},
    units::Mass,
};

/// Baskets pulled.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pulls {
    /// Double baskets.
    pub doubles: i64,
    /// Single baskets.
    pub singles: i64,
    /// Halves that are in no cup.
    pub spare_halves: i64,
    /// Dry coffee in all of these baskets.
    pub dry: Mass,
}

impl Pulls {
    /// How many times coffee is ground for them.
    pub const fn grinds(&self) -> i64 {
        self.doubles + self.singles
    }

    fn add(&mut self, other: Self) {
        self.doubles += other.doubles;
        self.singles += other.singles;
        self.spare_halves += other.spare_halves;
        self.dry += other.dry;
    }
}

/// Coffee whose halves can stand for each other: one bean, one style, one pull.
#[derive(Clone, Copy, Debug)]
pub struct ClassNeed<'b> {
    /// Extraction style, by id.
    pub extraction: &'b Id,
    /// Bean.
    pub bean: &'b Bean,
    /// Pull, by id.
    pub pull: &'b Id,
    /// Halves in cups.
    pub halves: i64,
    /// Dry coffee for those halves, as the builds have it.
    pub in_cups: Mass,
    /// Baskets if every half is paired that can be; of an odd number the last comes from a single
    /// basket where the site has one and the book a recipe for it.
    pub paired: Pulls,
    /// Baskets if each cup is made by itself and its spare half is thrown away.
    pub alone: Pulls,
    double: &'b ExtractionRow,
    single: Option<&'b ExtractionRow>,
}

/// Ground coffee of one bean.
#[derive(Clone, Copy, Debug)]
pub struct BeanNeed<'b> {
    /// The bean.
    pub bean: &'b Bean,
    /// Dry coffee for the halves in cups, as the builds have it.
    pub in_cups: Mass,
    /// Dry coffee in baskets, halves paired.
    pub paired: Mass,
    /// Dry coffee in baskets, each cup by itself.
    pub alone: Mass,
    /// Ground away before baskets, halves paired.
    pub purge: Mass,
    /// Ground away before baskets, each cup by itself.
    pub purge_alone: Mass,
    /// Ground away until the grind is right, on all days.
    pub dial_in: Mass,
    /// The same on one day.
    pub dial_in_per_day: Mass,
    /// Ground away before one basket: nothing for what is at hand in measured doses.
    pub purge_per_grind: Mass,
}

impl BeanNeed<'_> {
    /// All of it, halves paired.
    pub fn used(&self) -> Mass {
        self.paired + self.purge + self.dial_in
    }

    /// All of it, each cup by itself.
    pub fn used_alone(&self) -> Mass {
        self.alone + self.purge_alone + self.dial_in
    }
}

/// Coffee by class, in the order in which the mix first asks for it.
pub(super) fn classes<'b>(bar: &'b Bar, counted: &[Counted<'_, 'b>]) -> Vec<ClassNeed<'b>> {
    let mut all: Vec<ClassNeed<'b>> = Vec::new();
    for sale in counted {
        for one in &sale.cup.draws {
            let same = |class: &ClassNeed<'_>| {
                (class.extraction, &class.bean.id, class.pull)
                    == (one.extraction, &one.draw.bean.id, one.pull)
            };
            let at = all.iter().position(same).unwrap_or_else(|| {
                all.push(empty(bar, one));
                all.len() - 1
            });
            count(&mut all[at], one, sale.count);
        }
    }
    for class in &mut all {
        class.paired = paired(class);
    }
    all
}

fn empty<'b>(bar: &'b Bar, one: &Drawn<'b>) -> ClassNeed<'b> {
    let single_here = bar.site.baskets.iter().any(|basket| basket.halves == 1);
    let rows = bar.extraction(one.extraction).map_or(&[][..], |style| &style.rows);
    let single = rows
        .iter()
        .find(|row| row.bean == one.draw.bean.id && row.pull == *one.pull && row.halves == 1);
    ClassNeed {
        extraction: one.extraction,
        bean: one.draw.bean,
        pull: one.pull,
        halves: 0,
        in_cups: Mass::ZERO,
        paired: Pulls::default(),
        alone: Pulls::default(),
        double: one.draw.double,
        single: single.filter(|_| single_here),
    }
}

fn count(class: &mut ClassNeed<'_>, one: &Drawn<'_>, n: i64) {
    let (doubles, singles) = (i64::from(one.baskets.doubles), i64::from(one.baskets.singles));
    class.halves += i64::from(one.draw.halves) * n;
    class.in_cups += one.baskets.dose.times(n);
    class.alone.add(Pulls {
        doubles: doubles * n,
        singles: singles * n,
        spare_halves: i64::from(one.baskets.spare_halves) * n,
        dry: dry(class, doubles * n, singles * n),
    });
}

fn dry(class: &ClassNeed<'_>, doubles: i64, singles: i64) -> Mass {
    let single = class.single.map_or(Mass::ZERO, |row| row.dose_g);
    class.double.dose_g.times(doubles) + single.times(singles)
}

/// The fewest baskets for the halves of the class: as many as half of them, rounded up.
fn paired(class: &ClassNeed<'_>) -> Pulls {
    let odd = class.halves % 2;
    let singles = if class.single.is_some() { odd } else { 0 };
    let doubles = (class.halves - singles + 1) / 2;
    let spare_halves = doubles * 2 + singles - class.halves;
    Pulls { doubles, singles, spare_halves, dry: dry(class, doubles, singles) }
}

/// Ground coffee by bean, in the order of the book.
pub(super) fn beans<'b>(bar: &'b Bar, classes: &[ClassNeed<'b>], days: u32) -> Vec<BeanNeed<'b>> {
    let asked = |bean: &&Bean| classes.iter().any(|class| class.bean.id == bean.id);
    let of = |bean: &'b Bean| {
        let own = || classes.iter().filter(|class| class.bean.id == bean.id);
        let sum = |amount: fn(&ClassNeed<'_>) -> Mass| own().map(amount).sum::<Mass>();
        let grinders = bar.site.grinders.iter().filter(|one| one.beans.contains(&bean.id)).count();
        let grinders = i64::try_from(grinders).unwrap_or(i64::MAX);
        let usage = bar.site.usage.as_ref().filter(|_| grinders > 0);
        let purge = usage.map_or(Mass::ZERO, |usage| usage.purge_g_per_grind);
        let dial_in = usage.map_or(Mass::ZERO, |usage| usage.dial_in_g_per_day).times(grinders);
        BeanNeed {
            bean,
            in_cups: sum(|class| class.in_cups),
            paired: sum(|class| class.paired.dry),
            alone: sum(|class| class.alone.dry),
            purge: purge.times(own().map(|class| class.paired.grinds()).sum()),
            purge_alone: purge.times(own().map(|class| class.alone.grinds()).sum()),
            dial_in: dial_in.times(i64::from(days)),
            dial_in_per_day: dial_in,
            purge_per_grind: purge,
        }
    };
    bar.book.beans.iter().filter(asked).map(of).collect()
}
