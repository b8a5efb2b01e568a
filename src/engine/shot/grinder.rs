//! What a step of the grinder does, learned from the shots that were sent.

use std::collections::BTreeSet;

use super::{Pulled, fit::slope};
use crate::{
    book::{ExtractionRow, ShotCheck},
    engine::phrase::{Gap, Gaps, Phrase},
    units::{Mass, Span, Steps},
};

/// Where the size of a step comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StepFrom {
    /// The shots that were sent.
    Recent,
    /// The book: too few shots alike, or all at one setting.
    TooFew,
    /// The book: the shots differ more among themselves than by their settings.
    Unclear,
    /// The book: the shots ran no longer for a finer grind, which may happen when it is very fine.
    Contrary,
}

/// What one step of the grinder does to the time of a shot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Step {
    /// Where it comes from.
    pub from: StepFrom,
    /// Seconds more for one step finer; above 0.
    pub time: Span,
    /// Standard error of it; unknown from the book, and with two shots.
    pub error: Option<Span>,
    /// Shots of the recipe's dose and yield, the one under judgement included.
    pub shots: usize,
    /// Different settings among them.
    pub settings: usize,
    /// Lowest and highest setting among them, seen from the one now.
    reach: Option<(Steps, Steps)>,
}

impl StepFrom {
    /// As answers write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Recent => "recent-shots",
            Self::TooFew | Self::Unclear | Self::Contrary => "book",
        }
    }
}

/// Whether `shot` has the dose and yield of the recipe, so that its time tells of the grind.
fn is_alike(row: &ExtractionRow, shot: &Pulled) -> bool {
    let near = |a: Mass, b: Mass, by: Mass| (a.mg() - b.mg()).abs() <= by.mg();
    near(shot.dose, row.dose_g, row.dose_tolerance_g)
        && near(shot.yielded, row.yield_g, row.yield_tolerance_g)
}

impl Step {
    /// The step that the shots show, or the book's usual one.
    ///
    /// A slope counts only where it is above 0 and, if its error is known, above twice that: less
    /// could be chance.
    ///
    /// * `recent`: the shots before, the oldest first.
    pub(super) fn of(
        check: &ShotCheck,
        row: &ExtractionRow,
        recent: &[Pulled],
        now: &Pulled,
    ) -> Self {
        let (mut setting, mut points) = (0, Vec::new());
        for shot in recent.iter().chain([now]) {
            setting += shot.grind.thousandths();
            if is_alike(row, shot) {
                points.push((setting, shot.time.ms()));
            }
        }
        let settings: BTreeSet<i64> = points.iter().map(|(setting, _)| *setting).collect();
        let seen_from_now = |one: &i64| Steps::from_thousandths(one - setting);
        let reach = settings.first().zip(settings.last());
        let usual = Self {
            from: StepFrom::TooFew,
            time: check.time_per_step_s,
            error: None,
            shots: points.len(),
            settings: settings.len(),
            reach: reach.map(|(low, high)| (seen_from_now(low), seen_from_now(high))),
        };
        let Some(line) = slope(&points) else { return usual };
        if line.error.is_some_and(|error| line.slope.abs() <= 2 * error) {
            return Self { from: StepFrom::Unclear, ..usual };
        }
        if line.slope <= 0 {
            return Self { from: StepFrom::Contrary, ..usual };
        }
        let (time, error) = (Span::from_ms(line.slope), line.error.map(Span::from_ms));
        Self { from: StepFrom::Recent, time, error, ..usual }
    }

    /// Whole steps that bring the time nearest to `wanted` more, finer counted up; at most `most`. The
    /// flag says that more were needed.
    ///
    /// * Result: 0 steps if a single one would lead farther away than the shot is.
    pub(super) fn steps_for(&self, wanted: Span, most: Steps) -> (Steps, bool) {
        let whole = Steps::from_thousandths(1_000);
        let exact = whole.scaled(wanted.ms(), self.time.ms());
        let steps = exact.to_nearest(whole).thousandths().abs();
        let held = steps.min(most.thousandths());
        let signed = if wanted.ms() < 0 { -held } else { held };
        (Steps::from_thousandths(signed), steps > held)
    }

    /// Whether so many steps lead to a setting that no shot alike was pulled at or beyond.
    pub(super) fn leaves_reach(&self, by: Steps) -> bool {
        let outside = |(low, high)| by < low || by > high;
        self.from == StepFrom::Recent && self.reach.is_some_and(outside)
    }

    /// What it is and where it comes from, as a sentence.
    pub fn said(&self) -> (Phrase, Gaps<'static>) {
        let count = |n: usize| Gap::Number(i64::try_from(n).unwrap_or(i64::MAX / 1_000) * 1_000, 0);
        let seconds = ("s", Gap::Number(self.time.ms(), 1));
        match self.from {
            StepFrom::Recent => {
                let Some(error) = self.error else { return (Phrase::ShotStepTwo, vec![seconds]) };
                let error = ("e", Gap::Number(error.ms(), 1));
                let counts = [("n", count(self.shots)), ("k", count(self.settings))];
                let all = [seconds, error].into_iter().chain(counts);
                (Phrase::ShotStepRecent, all.collect())
            }
            StepFrom::TooFew => (Phrase::ShotStepTooFew, vec![seconds]),
            StepFrom::Unclear => (Phrase::ShotStepUnclear, vec![seconds]),
            StepFrom::Contrary => (Phrase::ShotStepContrary, vec![seconds]),
        }
    }
}
