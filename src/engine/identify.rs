//! Which drinks of the book the amounts in a cup fit, the nearest first.
//!
//! Two distances stand apart. The first is of identity: how far the amounts leave what makes the
//! drink this drink, each bound in widths of its range, each part that it must have and has not, or
//! has and must not have, as one width. The second tells drinks apart whose identity both hold: how
//! far the amounts are from the drink as it comes, each as a share of the larger of the two.

use crate::{
    book::{Bar, Cup, Drink, Envelope, Id, Ingredient, Part, Service},
    engine::{
        line::{Line, Moment},
        order::order,
        solve::{Milk, PortionOf, Solved, solve},
    },
    units::{Length, Mass, Temperature, Volume},
};

/// Most drinks that are named.
pub const MOST: usize = 5;
/// One width of a range, one part, one whole amount: the unit of both distances, in thousandths.
const ONE: i64 = 1_000;

/// What is in a cup. What is not there is 0 or empty; a measure that is not known is `None` and is
/// not judged.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Amounts {
    /// Halves of coffee.
    pub halves: Option<i32>,
    /// Pull, by id.
    pub pull: Option<String>,
    /// Coffee.
    pub coffee: Option<Mass>,
    /// Cold milk for it.
    pub milk: Volume,
    /// Depth of foam.
    pub foam_depth: Option<Length>,
    /// Water of its own, without that of a paste, a leaf or a brew.
    pub water: Volume,
    /// Ice.
    pub ice: Mass,
    /// Fill.
    pub fill: Option<Volume>,
    /// Brim of the cup.
    pub brim: Option<Volume>,
    /// Set-point of the milk.
    pub set_point: Option<Temperature>,
    /// Everything else in, on or beside the cup, by ingredient id.
    pub ingredients: Vec<String>,
}

impl Amounts {
    /// Whether there is coffee.
    fn has_coffee(&self) -> bool {
        self.halves.unwrap_or(0) > 0 || self.coffee.unwrap_or_default() > Mass::ZERO
    }

    /// Whether there is nothing at all.
    pub fn is_nothing(&self) -> bool {
        !self.has_coffee()
            && self.milk == Volume::ZERO
            && self.water == Volume::ZERO
            && self.ice == Mass::ZERO
            && self.ingredients.is_empty()
    }
}

/// A measure of a cup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measure {
    /// Halves of coffee.
    Halves,
    /// Coffee.
    Coffee,
    /// Cold milk.
    Milk,
    /// Water.
    Water,
    /// Ice.
    Ice,
    /// Depth of foam.
    FoamDepth,
    /// Fill.
    Fill,
    /// Brim.
    Brim,
    /// Set-point.
    SetPoint,
}

impl Measure {
    /// As requests and answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Halves => "halves",
            Self::Coffee => "coffee_g",
            Self::Milk => "milk_ml",
            Self::Water => "water_ml",
            Self::Ice => "ice_g",
            Self::FoamDepth => "foam_depth_mm",
            Self::Fill => "fill_ml",
            Self::Brim => "brim_ml",
            Self::SetPoint => "set_point_c",
        }
    }
}

/// One measure of a cup beside the same of a drink, all in thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Compared {
    /// Which.
    pub measure: Measure,
    /// As given.
    pub given: i64,
    /// As the drink comes; 0 where it has none of it.
    pub standard: i64,
    /// The bounds of the drink's identity, if it has any for this.
    pub bounds: Option<(i64, i64)>,
}

impl Compared {
    /// How far outside the bounds, in their width; 0 within, and without bounds. Where both bounds are
    /// the same, one whole unit stands for the width.
    pub fn outside(&self) -> i64 {
        let Some((min, max)) = self.bounds else { return 0 };
        let gap = (self.given - self.given.clamp(min, max.max(min))).abs();
        let width = if max > min { max - min } else { ONE };
        Volume::from_ul(ONE).scaled(gap, width).ul()
    }

    /// How far from the drink as it comes: the difference by the larger of the two, at most 1.
    pub fn from_standard(&self) -> i64 {
        let larger = self.given.abs().max(self.standard.abs());
        let apart = (self.given - self.standard).abs();
        Volume::from_ul(ONE).scaled(apart, larger).ul().min(ONE)
    }
}

/// The pull of a cup beside that of a drink.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ComparedPull<'b> {
    /// As the drink comes.
    pub standard: &'b Id,
    /// Whether the drink's identity allows the pull that was given.
    pub is_allowed: bool,
    /// Whether it is the usual one.
    pub is_standard: bool,
}

/// What a cup lacks of a drink, or has beyond it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum What<'b> {
    /// Coffee.
    Coffee,
    /// Milk.
    Milk,
    /// Water.
    Water,
    /// Ice.
    Ice,
    /// An ingredient.
    Ingredient(&'b Ingredient),
}

/// One thing that is missing or too much.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference<'b> {
    /// What.
    pub what: What<'b>,
    /// Whether it is not this drink for it; else only not as it comes.
    pub of_identity: bool,
}

/// A drink with how near it is.
#[derive(Clone, Debug)]
pub struct Near<'b> {
    /// Place, from 1; drinks that are equally near share one.
    pub place: usize,
    /// The drink.
    pub drink: &'b Drink,
    /// Way of serving of its nearest cup.
    pub service: Service,
    /// Size of that cup.
    pub size: &'b Id,
    /// The book's vessel for it.
    pub vessel: &'b Id,
    /// Each measure that was given.
    pub measures: Vec<Compared>,
    /// The pull, if one was given and the drink has coffee.
    pub pull: Option<ComparedPull<'b>>,
    /// What the drink has and the cup has not.
    pub missing: Vec<Difference<'b>>,
    /// What the cup has and the drink has not.
    pub too_much: Vec<Difference<'b>>,
}

impl Near<'_> {
    fn differences(&self, of_identity: bool) -> i64 {
        let all = self.missing.iter().chain(&self.too_much);
        all.filter(|one| one.of_identity == of_identity).map(|_| ONE).sum()
    }

    /// How far the amounts leave the drink's identity, in thousandths; 0 if they fit.
    pub fn distance(&self) -> i64 {
        let pull = self.pull.as_ref().is_some_and(|pull| !pull.is_allowed);
        let outside: i64 = self.measures.iter().map(Compared::outside).sum();
        outside + self.differences(true) + if pull { ONE } else { 0 }
    }

    /// How far they are from the drink as it comes, in thousandths.
    pub fn from_standard(&self) -> i64 {
        let pull = self.pull.as_ref().is_some_and(|pull| !pull.is_standard);
        let apart: i64 = self.measures.iter().map(Compared::from_standard).sum();
        apart + self.differences(false) + if pull { ONE } else { 0 }
    }

    fn nearness(&self) -> (i64, i64) {
        (self.distance(), self.from_standard())
    }
}

/// Every cup of every drink as it comes at one bar, worked out once.
#[derive(Debug)]
pub struct Standards(Vec<Standard>);

impl Standards {
    /// Works them out. A cup that cannot be made at the bar is left out; seasons, and what has run
    /// out today, do not matter.
    pub fn of(bar: &Bar) -> Self {
        let drinks = bar.book.drinks.iter().enumerate();
        let all = drinks.flat_map(|(at, drink)| {
            cups(bar, drink).filter_map(move |(service, size, cup)| {
                Standard::of(bar, (at, drink), service, size, cup)
            })
        });
        Self(all.collect())
    }
}

/// The drinks that `amounts` are nearest to, at most [`MOST`]; of each its nearest cup.
///
/// Drinks that are equally near stand in the order of the book.
///
/// * `standards`: those of this bar.
pub fn identify<'b>(bar: &'b Bar, standards: &'b Standards, amounts: &Amounts) -> Vec<Near<'b>> {
    let of_drinks = standards.0.chunk_by(|one, next| one.drink == next.drink);
    let nearest = |cups: &'b [Standard]| {
        let all = cups.iter().filter_map(|standard| standard.near(bar, amounts));
        all.min_by_key(Near::nearness)
    };
    let mut all: Vec<Near<'b>> = of_drinks.filter_map(nearest).collect();
    all.sort_by_key(Near::nearness);
    let nearness: Vec<(i64, i64)> = all.iter().map(Near::nearness).collect();
    for one in &mut all {
        let own = one.nearness();
        one.place = 1 + nearness.partition_point(|other| *other < own);
    }
    all.truncate(MOST);
    all
}

/// The drink's cups, by way of serving and then by size.
fn cups<'b>(
    bar: &'b Bar,
    drink: &'b Drink,
) -> impl Iterator<Item = (Service, &'b Id, &'b Cup)> + use<'b> {
    drink.cups.iter().flat_map(|(service, row)| {
        let sizes = bar.book.sizes.iter().filter_map(|size| row.get_key_value(&size.id));
        sizes.map(|(size, cup)| (*service, size, cup))
    })
}

/// One cup of a drink as it comes, in the places to which builds are shown.
#[derive(Debug)]
struct Standard {
    /// Position of the drink in the book.
    drink: usize,
    service: Service,
    size: Id,
    vessel: Id,
    halves: i32,
    pull: Option<Id>,
    coffee: Mass,
    milk: Volume,
    foam_depth: Length,
    set_point: Temperature,
    water: Volume,
    ice: Mass,
    fill: Volume,
    brim: Volume,
    /// Everything else, with whether the drink must have it.
    ingredients: Vec<(Id, bool)>,
}

fn tenth_ml(volume: Volume) -> Volume {
    volume.to_nearest(Volume::from_ul(100))
}

fn tenth_g(mass: Mass) -> Mass {
    mass.to_nearest(Mass::from_mg(100))
}

impl Standard {
    /// The cup as it comes; none if it cannot be made at the bar.
    fn of(
        bar: &Bar,
        (at, drink): (usize, &Drink),
        service: Service,
        size: &Id,
        cup: &Cup,
    ) -> Option<Self> {
        let capacity = bar.usual_capacity(service, &cup.vessel);
        let line = Line::standard(&drink.id, service.as_str(), size, capacity);
        let order = order(bar, &line, &Moment::default()).ok()?;
        let solved = solve(bar, &order).ok()?;
        let coffee = solved.coffee.zip(order.coffee.as_ref());
        let (milk, foam_depth, set_point) = match &solved.milk {
            Some(Milk::Steamed(milk)) => (milk.cold, milk.foam_depth, milk.set_point),
            Some(Milk::Cold(milk)) => (milk.volume, Length::ZERO, Temperature::ZERO),
            None => (Volume::ZERO, Length::ZERO, Temperature::ZERO),
        };
        let of = |wanted: fn(&PortionOf<'_>) -> bool| {
            solved.portions.iter().filter(move |one| wanted(&one.of))
        };
        let water = of(|of| matches!(of, PortionOf::Water(_))).map(|one| one.volume).sum();
        let ice = of(|of| matches!(of, PortionOf::Ice(_))).map(|one| one.mass).sum();
        Some(Self {
            halves: coffee.map_or(0, |(coffee, _)| coffee.halves),
            pull: coffee.map(|(_, how)| how.pull.clone()),
            coffee: tenth_g(coffee.map_or(Mass::ZERO, |(coffee, _)| coffee.in_cup)),
            milk: tenth_ml(milk),
            foam_depth: foam_depth.to_nearest(Length::from_um(100)),
            set_point,
            water: tenth_ml(water),
            ice: tenth_g(ice),
            fill: tenth_ml(solved.fill),
            brim: order.capacity.unwrap_or(order.vessel.vessel.brim_ml),
            ingredients: others(drink, &solved),
            vessel: cup.vessel.clone(),
            size: size.clone(),
            drink: at,
            service,
        })
    }

    fn near<'b>(&'b self, bar: &'b Bar, amounts: &Amounts) -> Option<Near<'b>> {
        let drink = bar.book.drinks.get(self.drink)?;
        let (missing, too_much) = self.differences(bar, drink, amounts);
        Some(Near {
            place: 0,
            drink,
            service: self.service,
            size: &self.size,
            vessel: &self.vessel,
            measures: self.measures(&drink.envelope, amounts),
            pull: self.pull(&drink.envelope, amounts),
            missing,
            too_much,
        })
    }

    fn measures(&self, bounds: &Envelope, amounts: &Amounts) -> Vec<Compared> {
        let plain = |measure, given, standard| Compared { measure, given, standard, bounds: None };
        let halves = amounts.halves.map(|n| i64::from(n) * 1_000);
        let coffee = amounts.coffee.map(|coffee| tenth_g(coffee).mg());
        let mut all: Vec<Compared> = Vec::with_capacity(9);
        all.extend(halves.map(|n| plain(Measure::Halves, n, i64::from(self.halves) * 1_000)));
        all.extend(coffee.map(|mg| plain(Measure::Coffee, mg, self.coffee.mg())));
        all.extend([
            plain(Measure::Milk, tenth_ml(amounts.milk).ul(), self.milk.ul()),
            plain(Measure::Water, tenth_ml(amounts.water).ul(), self.water.ul()),
            plain(Measure::Ice, tenth_g(amounts.ice).mg(), self.ice.mg()),
        ]);
        all.extend(amounts.foam_depth.map(|depth| Compared {
            measure: Measure::FoamDepth,
            given: depth.to_nearest(Length::from_um(100)).um(),
            standard: self.foam_depth.um(),
            bounds: bounds.foam_depth_mm.map(|range| (range.min.um(), range.max.um())),
        }));
        all.extend(amounts.fill.map(|fill| Compared {
            measure: Measure::Fill,
            given: tenth_ml(fill).ul(),
            standard: self.fill.ul(),
            bounds: bounds.fill_ml.map(|range| (range.min.ul(), range.max.ul())),
        }));
        all.extend(amounts.brim.map(|brim| Compared {
            measure: Measure::Brim,
            given: brim.ul(),
            standard: self.brim.ul(),
            bounds: bounds.brim_ml.map(|range| (range.min.ul(), range.max.ul())),
        }));
        all.extend(amounts.set_point.map(|at| Compared {
            measure: Measure::SetPoint,
            given: at.mc(),
            standard: self.set_point.mc(),
            bounds: bounds.set_point_c.map(|range| (range.min.mc(), range.max.mc())),
        }));
        all
    }

    fn pull<'b>(&'b self, bounds: &Envelope, amounts: &Amounts) -> Option<ComparedPull<'b>> {
        let (standard, given) = self.pull.as_ref().zip(amounts.pull.as_deref())?;
        let pulls = &bounds.pulls;
        Some(ComparedPull {
            standard,
            is_allowed: pulls.is_empty() || pulls.iter().any(|pull| *pull == given),
            is_standard: *standard == given,
        })
    }

    /// What is missing, and what is too much.
    fn differences<'b>(
        &self,
        bar: &'b Bar,
        drink: &Drink,
        amounts: &Amounts,
    ) -> (Vec<Difference<'b>>, Vec<Difference<'b>>) {
        let lists_coffee = drink.parts.iter().any(|part| matches!(part, Part::Coffee(_)));
        let kinds = [
            (What::Coffee, amounts.has_coffee(), self.halves > 0, lists_coffee),
            (What::Milk, amounts.milk > Volume::ZERO, self.milk > Volume::ZERO, false),
            (What::Water, amounts.water > Volume::ZERO, self.water > Volume::ZERO, false),
            (What::Ice, amounts.ice > Mass::ZERO, self.ice > Mass::ZERO, false),
        ];
        let (mut missing, mut too_much) = (Vec::new(), Vec::new());
        for (what, given, standard, may_be_added) in kinds {
            if standard && !given {
                missing.push(Difference { what, of_identity: true });
            } else if given && !standard {
                too_much.push(Difference { what, of_identity: !may_be_added });
            }
        }
        let is_given = |own: &Id| amounts.ingredients.iter().any(|id| *own == **id);
        let absent = self.ingredients.iter().filter(|(own, _)| !is_given(own));
        missing.extend(absent.filter_map(|(own, of_identity)| {
            let what = What::Ingredient(bar.ingredient(own)?);
            Some(Difference { what, of_identity: *of_identity })
        }));
        let has = |one: &Ingredient| self.ingredients.iter().any(|(own, _)| *own == one.id);
        let mut ids: Vec<&str> = amounts.ingredients.iter().map(String::as_str).collect();
        ids.sort_unstable();
        ids.dedup();
        let given = ids.into_iter().filter_map(|id| bar.ingredient(id));
        for ingredient in given.filter(|one| !has(one)) {
            too_much.push(Difference { what: What::Ingredient(ingredient), of_identity: true });
        }
        (missing, too_much)
    }
}

/// Everything of a cup beside coffee, milk, and the water and ice that are measured.
fn others(drink: &Drink, solved: &Solved<'_>) -> Vec<(Id, bool)> {
    let mut all: Vec<(Id, bool)> = Vec::new();
    for portion in &solved.portions {
        let id = match portion.of {
            PortionOf::Part(id)
            | PortionOf::Added(id)
            | PortionOf::Paste(id)
            | PortionOf::Leaf(id)
            | PortionOf::Grounds(id) => id,
            PortionOf::PasteWater(_)
            | PortionOf::LeafWater(_)
            | PortionOf::Water(_)
            | PortionOf::Ice(_)
            | PortionOf::Brew(_) => continue,
        };
        let of_identity = drink.envelope.requires.contains(id);
        match all.iter_mut().find(|(own, _)| *own == portion.ingredient.id) {
            Some((_, known)) => *known |= of_identity,
            None => all.push((portion.ingredient.id.clone(), of_identity)),
        }
    }
    all
}
