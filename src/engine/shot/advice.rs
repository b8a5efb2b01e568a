//! The one change to make to a shot: dose and yield are held, and one thing is changed at a time.
//!
//! Source of the order and of which remedy goes with which sign: common practice, no source. How
//! large the limits and remedies are stands in the book.

use super::{Bounds, Pulled, Shot, Step, Taste};
use crate::{
    book::{ExtractionRow, ShotCheck},
    engine::phrase::{Gap, Gaps, Phrase},
    units::{Mass, Span, Steps},
};

/// Where it is shown that a finer grind does not always extract more.
pub const VERY_FINE_SOURCE: &str = "Cameron et al. 2020, Matter, doi 10.1016/j.matt.2019.12.019";

/// What to change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// Nothing.
    None,
    /// The dose, by so much; below 0 for less.
    Dose(Mass),
    /// How the puck is distributed and tamped.
    Preparation,
    /// The yield, by so much; below 0 for less.
    Yield(Mass),
    /// The grinder's setting, by so much; above 0 for finer.
    Grind(Steps),
}

impl Change {
    /// As answers write it; the same in every language.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Dose(_) => "dose",
            Self::Preparation => "preparation",
            Self::Yield(_) => "yield",
            Self::Grind(_) => "grind",
        }
    }
}

/// One row per reason: variant, word, phrase.
macro_rules! reasons {
    ($($(#[$doc:meta])* $reason:ident, $word:literal, $phrase:ident;)*) => {
        /// Why a change is advised, or none.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Reason { $($(#[$doc])* $reason,)* }

        impl Reason {
            /// All reasons, in the order in which they are documented.
            pub const ALL: &[Self] = &[$(Self::$reason,)*];

            /// As answers write it; the same in every language.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$reason => $word,)* }
            }

            const fn phrase(self) -> Phrase {
                match self { $(Self::$reason => Phrase::$phrase,)* }
            }
        }
    };
}

reasons! {
    /// Everything that is judged is within the recipe.
    Within, "within-recipe", ShotWithin;
    /// The book lays no remedies down for this style.
    NoRemedies, "no-remedies", ShotNoRemedies;
    /// The dose is under the recipe.
    DoseUnder, "dose-under", ShotDoseUnder;
    /// The dose is over the recipe.
    DoseOver, "dose-over", ShotDoseOver;
    /// No coffee came.
    NothingCame, "nothing-came", ShotNothingCame;
    /// It took far too long.
    Choked, "choked", ShotChoked;
    /// It was over far too soon.
    Gushing, "gushing", ShotGushing;
    /// It is sour and bitter at once.
    Uneven, "uneven", ShotUneven;
    /// The yield is under the recipe.
    YieldUnder, "yield-under", ShotYieldUnder;
    /// The yield is over the recipe.
    YieldOver, "yield-over", ShotYieldOver;
    /// The time is under the recipe.
    TooFast, "too-fast", ShotTooFast;
    /// The time is over the recipe.
    TooSlow, "too-slow", ShotTooSlow;
    /// One step of the grinder would lead farther from the recipe than the shot is.
    StepTooLarge, "step-too-large", ShotStepTooLarge;
    /// On time, and sour.
    Sour, "sour", ShotSour;
    /// On time, and bitter.
    Bitter, "bitter", ShotBitter;
    /// On time, balanced and weak.
    Weak, "weak", ShotWeak;
    /// On time, with less extracted than the book's band.
    ExtractionLow, "extraction-low", ShotExtractionLow;
    /// On time, with more extracted than the book's band.
    ExtractionHigh, "extraction-high", ShotExtractionHigh;
    /// The extraction is outside the band, and the taste is as it should be.
    TasteIsFine, "taste-is-fine", ShotTasteFine;
    /// The taste says one thing and the measured extraction the other.
    Differ, "taste-and-measure-differ", ShotDisagree;
    /// The remedy would lead out of the recipe.
    AtLimit, "recipe-at-limit", ShotAtLimit;
}

/// Exactly one change, or none, with its reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// What to change.
    pub change: Change,
    /// Why.
    pub reason: Reason,
    /// What more there is to say: that it is the most at once, or leads where no shot was pulled.
    pub remarks: Vec<Phrase>,
    gaps: Gaps<'static>,
}

impl Advice {
    /// No change.
    pub(super) fn none(reason: Reason) -> Self {
        Self { change: Change::None, reason, remarks: Vec::new(), gaps: Vec::new() }
    }

    fn of(change: Change, reason: Reason, gaps: Gaps<'static>) -> Self {
        Self { change, reason, remarks: Vec::new(), gaps }
    }

    /// The sentence that says what to do and why.
    pub fn said(&self) -> (Phrase, &Gaps<'static>) {
        (self.reason.phrase(), &self.gaps)
    }

    /// Whether it leads to a finer grind.
    pub fn is_finer(&self) -> bool {
        matches!(self.change, Change::Grind(steps) if steps > Steps::ZERO)
    }
}

/// Everything that advice depends on.
pub(super) struct Case<'a> {
    pub(super) check: &'a ShotCheck,
    pub(super) row: &'a ExtractionRow,
    pub(super) shot: &'a Shot,
    pub(super) dose: Bounds,
    pub(super) yielded: Bounds,
    pub(super) time: Bounds,
    /// Extraction against its band, where both are known.
    pub(super) band: Option<Bounds>,
    pub(super) step: &'a Step,
    /// The shot before it, if one was sent.
    pub(super) before: Option<&'a Pulled>,
}

impl Case<'_> {
    /// The first that applies: dose, gross faults, yield, time, then taste and extraction.
    pub(super) fn advice(&self) -> Advice {
        self.of_dose()
            .or_else(|| self.of_gross_fault())
            .or_else(|| self.of_yield())
            .or_else(|| self.of_time())
            .unwrap_or_else(|| self.of_taste())
    }

    fn of_dose(&self) -> Option<Advice> {
        let by = self.row.dose_g - self.shot.pulled.dose;
        let reason = match self.dose.off_by() {
            0 => return None,
            ..0 => Reason::DoseUnder,
            1.. => Reason::DoseOver,
        };
        let gaps = vec![("g", Gap::Number(by.mg().abs(), 2))];
        Some(Advice::of(Change::Dose(by), reason, gaps))
    }

    /// How much longer the shot ran than the middle of its window; below 0 for shorter.
    fn past_middle(&self) -> Span {
        Span::from_ms(self.time.measured) - self.middle()
    }

    fn middle(&self) -> Span {
        Span::from_ms(self.time.min + self.time.max).scaled(1, 2)
    }

    /// Whether a shot of so long gushed.
    fn has_gushed(&self, time: Span) -> bool {
        time.ms() < self.time.min && self.middle() - time > self.check.gushing_under_s
    }

    /// Whether the shot before it gushed too, at the same dose and grind: then it is the grind, and
    /// not the puck.
    fn gushed_before(&self) -> bool {
        self.before.is_some_and(|before| {
            let off = (before.dose.mg() - self.row.dose_g.mg()).abs();
            let same = off <= self.row.dose_tolerance_g.mg();
            same && self.shot.pulled.grind == Steps::ZERO && self.has_gushed(before.time)
        })
    }

    fn of_gross_fault(&self) -> Option<Advice> {
        let past = self.past_middle();
        let off = ("s", Gap::Number(past.ms().abs(), 1));
        let outside = self.time.off_by();
        if self.shot.pulled.yielded == Mass::ZERO {
            return Some(self.coarser(Reason::NothingCame, Vec::new()));
        }
        if outside > 0 && past > self.check.choked_over_s {
            return Some(self.coarser(Reason::Choked, vec![off]));
        }
        if self.has_gushed(self.shot.pulled.time) && !self.gushed_before() {
            return Some(Advice::of(Change::Preparation, Reason::Gushing, vec![off]));
        }
        let is_uneven = self.shot.taste == Some(Taste::Both);
        is_uneven.then(|| Advice::of(Change::Preparation, Reason::Uneven, Vec::new()))
    }

    fn coarser(&self, reason: Reason, mut gaps: Gaps<'static>) -> Advice {
        let steps = self.check.choked_steps;
        gaps.push(("n", Gap::Number(steps.thousandths(), 0)));
        Advice::of(Change::Grind(Steps::ZERO - steps), reason, gaps)
    }

    fn of_yield(&self) -> Option<Advice> {
        let by = self.row.yield_g - self.shot.pulled.yielded;
        let reason = match self.yielded.off_by() {
            0 => return None,
            ..0 => Reason::YieldUnder,
            1.. => Reason::YieldOver,
        };
        let gaps = vec![("g", Gap::Number(by.mg().abs(), 1))];
        Some(Advice::of(Change::Yield(by), reason, gaps))
    }

    fn of_time(&self) -> Option<Advice> {
        let reason = match self.time.off_by() {
            0 => return None,
            ..0 => Reason::TooFast,
            1.. => Reason::TooSlow,
        };
        let past = self.past_middle();
        let (steps, more) = self.step.steps_for(Span::ZERO - past, self.check.most_steps);
        if steps == Steps::ZERO {
            return Some(Advice::none(Reason::StepTooLarge));
        }
        let gaps = vec![
            ("n", Gap::Number(steps.thousandths().abs(), 0)),
            ("s", Gap::Number(past.ms().abs(), 1)),
        ];
        let mut advice = Advice::of(Change::Grind(steps), reason, gaps);
        advice.remarks.extend(more.then_some(Phrase::ShotMostAtOnce));
        advice.remarks.extend(self.step.leaves_reach(steps).then_some(Phrase::ShotBeyond));
        Some(advice)
    }

    /// On time, with the right dose and yield: what taste says goes before what was measured.
    fn of_taste(&self) -> Advice {
        let side = self.band.map_or(0, |band| band.off_by().signum());
        let more = self.check.yield_change_g;
        let less = Mass::ZERO - more;
        match (self.shot.taste, side) {
            (Some(Taste::Sour), 1) | (Some(Taste::Bitter), -1) => Advice::none(Reason::Differ),
            (Some(Taste::Fine), -1 | 1) => Advice::none(Reason::TasteIsFine),
            (Some(Taste::Sour), _) => self.run(more, Reason::Sour),
            (Some(Taste::Bitter), _) => self.run(less, Reason::Bitter),
            (Some(Taste::Weak), _) => {
                let ratio = self.check.ratio_change.thousandths();
                self.run(Mass::ZERO - self.shot.pulled.dose.scaled(ratio, 1_000), Reason::Weak)
            }
            (None | Some(Taste::Both), -1) => self.run(more, Reason::ExtractionLow),
            (None | Some(Taste::Both), 1) => self.run(less, Reason::ExtractionHigh),
            (None | Some(Taste::Fine | Taste::Both), _) => Advice::none(Reason::Within),
        }
    }

    /// So much more yield, or less, but never so much that the next shot would be off for it.
    fn run(&self, by: Mass, reason: Reason) -> Advice {
        let Bounds { measured, min, max } = self.yielded;
        let by = Mass::from_mg((measured + by.mg()).clamp(min, max.max(min)) - measured);
        if by == Mass::ZERO {
            return Advice::none(Reason::AtLimit);
        }
        let gaps = vec![("g", Gap::Number(by.mg().abs(), 1))];
        Advice::of(Change::Yield(by), reason, gaps)
    }
}
