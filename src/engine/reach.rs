//! The set-point of the milk with which a drink is served at a wanted temperature.

use super::{
    build_line::{Build, build_line},
    line::{Given, Line, Moment, What},
    objection::Objection,
    solve::Milk,
};
use crate::{
    book::{Bar, Modifier, Phase, SlotModifier},
    units::{Figure, Temperature},
};

/// What comes of looking for a set-point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reach {
    /// This set-point, to a tenth of a degree, serves the drink at this temperature.
    At {
        /// Set-point.
        set_point: Temperature,
        /// The drink as served.
        serve: Temperature,
    },
    /// The hottest that this milk, or this drink, may be taken to is not enough.
    TooHot {
        /// The highest set-point.
        most: Temperature,
        /// The drink as served with it.
        serve: Temperature,
    },
    /// The coolest set-point is hotter than what was wanted.
    TooCool {
        /// The lowest set-point.
        least: Temperature,
        /// The drink as served with it.
        serve: Temperature,
    },
    /// There is no steamed milk in the cup whose set-point could be chosen.
    NoSteamedMilk,
}

impl Reach {
    /// The set-point with the temperature of the drink as served with it.
    pub const fn at(&self) -> Option<(Temperature, Temperature)> {
        match self {
            Self::At { set_point, serve } => Some((*set_point, *serve)),
            Self::TooHot { most, serve } => Some((*most, *serve)),
            Self::TooCool { least, serve } => Some((*least, *serve)),
            Self::NoSteamedMilk => None,
        }
    }
}

/// A tenth of a degree, in thousandths.
const STEP: i64 = 100;

/// Looks for the set-point with which the line's drink is served at `wanted`.
///
/// The temperature of the drink rises with the set-point, so the two ends are halved between until a
/// tenth of a degree is left. No set-point above the milk's cap or outside the drink's own bounds is
/// ever tried.
///
/// * Errors: what is objected to about the line itself.
pub fn reach(
    bar: &Bar,
    line: &Line,
    moment: &Moment,
    wanted: Temperature,
) -> Result<Reach, Vec<Objection>> {
    let build = build_line(bar, line, moment)?;
    let Some((slot, low, high)) = bounds(bar, &build) else { return Ok(Reach::NoSteamedMilk) };
    let at = |tenths: i64| {
        let set_point = Temperature::from_mc(tenths * STEP);
        let with = set_to(line, slot, set_point);
        build_line(bar, &with, moment).map(|build| (set_point, build.solved.serve))
    };
    let (mut low, mut high) = (low, high);
    let (least, coolest) = at(low)?;
    let (most, hottest) = at(high)?;
    if hottest < wanted {
        return Ok(Reach::TooHot { most, serve: hottest });
    }
    if coolest > wanted {
        return Ok(Reach::TooCool { least, serve: coolest });
    }
    while high - low > 1 {
        let middle = i64::midpoint(low, high);
        if at(middle)?.1 < wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    let (under, over) = (at(low)?, at(high)?);
    let off = |serve: Temperature| (serve.mc() - wanted.mc()).abs();
    let (set_point, serve) = if off(under.1) < off(over.1) { under } else { over };
    Ok(Reach::At { set_point, serve })
}

/// The build of a line with its milk at a set-point; nothing where no slot takes degrees.
pub fn at_set_point<'b>(
    bar: &'b Bar,
    line: &Line,
    moment: &Moment,
    set_point: Temperature,
) -> Option<Build<'b>> {
    let slot = slot_of_degrees(bar)?;
    build_line(bar, &set_to(line, slot, set_point), moment).ok()
}

fn slot_of_degrees(bar: &Bar) -> Option<&SlotModifier> {
    bar.book.modifiers.iter().find_map(|one| match one {
        Modifier::Slot(slot) if slot.phase == Phase::Temperature => Some(slot),
        Modifier::Slot(_) | Modifier::Counter(_) | Modifier::Flag(_) => None,
    })
}

/// The slot that takes degrees, and the set-points that may be tried, in tenths of a degree.
fn bounds<'b>(bar: &'b Bar, build: &Build<'b>) -> Option<(&'b SlotModifier, i64, i64)> {
    let Some(Milk::Steamed(milk)) = &build.solved.milk else { return None };
    if build.order.has_milk_aside() {
        return None;
    }
    let slot = slot_of_degrees(bar)?;
    let degrees = slot.celsius?;
    let cap = milk.ingredient.steaming.as_ref()?.cap_c;
    let (mut low, mut high) = (degrees.min, degrees.max.min(cap));
    if let Some(own) = build.order.drink.envelope.set_point_c {
        (low, high) = (low.max(own.min), high.min(own.max));
    }
    let (low, high) = ((low.mc() + STEP - 1) / STEP, high.mc() / STEP);
    (low <= high).then_some((slot, low, high))
}

/// The line with its milk at a set-point.
fn set_to(line: &Line, slot: &SlotModifier, set_point: Temperature) -> Line {
    let mut with = line.clone();
    with.modifiers.retain(|one| one.id != *slot.id);
    let what = What::Number(Figure::from_thousandths(set_point.mc()));
    with.modifiers.push(Given { id: slot.id.to_string(), what });
    with
}
