//! Pairs of modifiers on every drink: that each comes to a verdict, and how the verdicts fall.

use std::collections::BTreeMap;

use crate::{
    book::{Bar, Modifier, Phase},
    engine::{
        Given, Line, Moment, What, build_line,
        objection::{Manner, Objection},
    },
    units::Figure,
};

/// How many lines came to which verdict.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mix {
    /// Lines that can be made as asked.
    pub accepted: usize,
    /// Lines that need an answer first.
    pub asked: usize,
    /// Lines that cannot be made.
    pub refused: usize,
    /// Lines for each code that stands first among the reasons.
    pub codes: BTreeMap<&'static str, usize>,
}

impl Mix {
    /// Lines in all.
    pub const fn lines(&self) -> usize {
        self.accepted + self.asked + self.refused
    }

    /// Counts another mix in.
    pub fn add(&mut self, other: Self) {
        self.accepted += other.accepted;
        self.asked += other.asked;
        self.refused += other.refused;
        for (code, n) in other.codes {
            *self.codes.entry(code).or_default() += n;
        }
    }

    fn count(&mut self, verdict: Result<(), Vec<Objection>>) {
        let Err(objections) = verdict else {
            self.accepted += 1;
            return;
        };
        let refuses = |one: &&Objection| one.manner == Manner::Refuse;
        let first = objections.iter().find(refuses);
        if first.is_some() {
            self.refused += 1;
        } else {
            self.asked += 1;
        }
        if let Some(one) = first.or(objections.first()) {
            *self.codes.entry(one.code.as_str()).or_default() += 1;
        }
    }
}

/// Every way to give each modifier of the bar's book, one list a modifier.
pub fn ways(bar: &Bar) -> Vec<Vec<Given>> {
    bar.book.modifiers.iter().map(|modifier| ways_of(bar, modifier)).collect()
}

fn ways_of(bar: &Bar, modifier: &Modifier) -> Vec<Given> {
    let given = |what| Given { id: modifier.id().to_string(), what };
    let number = |thousandths| given(What::Number(Figure::from_thousandths(thousandths)));
    match modifier {
        Modifier::Slot(slot) if slot.phase == Phase::Cup && slot.millilitres.is_none() => {
            let values: Vec<String> = if slot.id == "service" {
                bar.book.services.iter().map(|row| row.id.as_str().to_owned()).collect()
            } else {
                bar.book.sizes.iter().map(|size| size.id.to_string()).collect()
            };
            values.into_iter().map(|value| given(What::Value(value))).collect()
        }
        Modifier::Slot(slot) => {
            let values = slot.values.iter().map(|value| given(What::Value(value.id.to_string())));
            let degrees = slot.celsius.map(|range| (range.min.mc(), range.max.mc()));
            let volumes = slot.millilitres.map(|range| (range.min.ul(), range.max.ul()));
            let ends = degrees.or(volumes);
            let numbers = ends.map(|(min, max)| [min, i64::midpoint(min, max), max]);
            values.chain(numbers.into_iter().flatten().map(number)).collect()
        }
        Modifier::Counter(counter) => {
            let fewer = (counter.min < 0).then_some(-1);
            let counts = [1, 2, counter.max].into_iter().chain(fewer);
            counts.map(|n| given(What::Count(n))).collect()
        }
        Modifier::Flag(_) => vec![given(What::Flag)],
    }
}

/// Every pair of modifiers on one drink, each modifier in one of its ways: which, changes from pair to
/// pair in a fixed manner that has no pattern. Pairs are given in either order by turns.
///
/// * `ways`: those of [`ways`].
pub fn mix_of(bar: &Bar, drink: &str, ways: &[Vec<Given>]) -> Mix {
    let mut mix = Mix::default();
    let mut turn =
        drink.bytes().fold(0x9e37_79b9_7f4a_7c15_u64, |seed, byte| stir(seed ^ u64::from(byte)));
    let mut pick = |all: &[Given]| {
        turn = stir(turn);
        let n = usize::try_from(turn >> 33).unwrap_or(0);
        all.get(n % all.len().max(1)).cloned()
    };
    for (at, first) in ways.iter().enumerate() {
        for second in &ways[at + 1..] {
            let mut pair: Vec<Given> = pick(first).into_iter().chain(pick(second)).collect();
            if (at + pair.len()) % 2 == 1 {
                pair.reverse();
            }
            let line = Line {
                id: "1".to_owned(),
                drink: drink.to_owned(),
                quantity: 1,
                modifiers: pair,
                ..Line::default()
            };
            mix.count(build_line(bar, &line, &Moment::default()).map(|_| ()));
        }
    }
    mix
}

/// One step of a fixed sequence without a pattern (a linear congruence, constants by Knuth).
const fn stir(turn: u64) -> u64 {
    turn.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407)
}
