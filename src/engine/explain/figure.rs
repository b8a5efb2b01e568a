//! A figure taken apart: a sum of products over a sum of products, each factor with where it came
//! from.

use crate::units::Percent;

/// A figure of a build with the terms that come to it.
///
/// Σ terms ÷ Σ over, rounded as said, is the figure; no terms are 0 and no `over` is 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// JSON Pointer into the build.
    pub at: String,
    /// Its unit.
    pub unit: &'static str,
    /// What is added up.
    pub terms: Vec<Term>,
    /// What the sum is divided by.
    pub over: Vec<Term>,
    /// How the quotient is rounded.
    pub rounding: Rounding,
    /// The law or rule by which it is worked out, with its source.
    pub law: String,
}

/// How a figure is rounded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Rounding {
    /// To the nearest multiple of the step, halves away from zero; a step of 0 leaves it as it is.
    Nearest(f64),
    /// Up to a multiple of the step, unless it lies on one.
    Up(f64),
}

impl Rounding {
    /// The step.
    pub const fn step(self) -> f64 {
        match self {
            Self::Nearest(step) | Self::Up(step) => step,
        }
    }
}

/// Factors that are multiplied, or divided by.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Term {
    /// The factors.
    pub factors: Vec<Factor>,
}

/// One factor.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// What it is, by the name of its field or a plain one.
    pub what: String,
    /// Its value.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Whether the term is divided by it.
    pub divides: bool,
    /// Where it came from.
    pub from: Origin,
}

/// Where a value came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A field of the book, by a path of ids; a region or a site may replace it.
    Book(String),
    /// A field of the site's sheet.
    Site(String),
    /// Another figure of the same build, by pointer.
    Figure(String),
    /// An amount that the build was worked with and does not show by itself.
    Amount,
    /// A law of physics or a fit to a published table, by its source.
    Law(&'static str),
    /// The line that was asked for, by the id of the modifier.
    Line(String),
    /// A change of unit or a count.
    Number,
}

impl Figure {
    /// A figure without terms.
    pub fn new(at: impl Into<String>, unit: &'static str, step: f64) -> Self {
        Self {
            at: at.into(),
            unit,
            terms: Vec::new(),
            over: Vec::new(),
            rounding: Rounding::Nearest(step),
            law: String::new(),
        }
    }

    /// Adds a term.
    #[must_use]
    pub fn plus(mut self, factors: impl IntoIterator<Item = Factor>) -> Self {
        self.terms.push(Term { factors: factors.into_iter().collect() });
        self
    }

    /// Takes a term away.
    #[must_use]
    pub fn less(self, factors: impl IntoIterator<Item = Factor>) -> Self {
        let minus = number("taken away", -1.0);
        self.plus([minus].into_iter().chain(factors))
    }

    /// Adds a term to what the sum is divided by.
    #[must_use]
    pub fn over(mut self, factors: impl IntoIterator<Item = Factor>) -> Self {
        self.over.push(Term { factors: factors.into_iter().collect() });
        self
    }

    /// By which law or rule.
    #[must_use]
    pub fn by(mut self, law: impl Into<String>) -> Self {
        self.law = law.into();
        self
    }

    /// Rounded up.
    #[must_use]
    pub fn up_to(mut self, step: f64) -> Self {
        self.rounding = Rounding::Up(step);
        self
    }

    /// The figure: what the terms come to, rounded as said.
    pub fn rounded(&self) -> f64 {
        let value = self.value();
        match self.rounding {
            Rounding::Nearest(step) | Rounding::Up(step) if step <= 0.0 => value,
            Rounding::Nearest(step) => (value / step).round() * step,
            // What lies on a mark but for the last digits of a float lies on it.
            Rounding::Up(step) => (value / step - 1e-6).ceil() * step,
        }
    }

    /// What the terms come to, not rounded.
    pub fn value(&self) -> f64 {
        let sum = |terms: &[Term]| terms.iter().map(Term::value).sum::<f64>();
        if self.over.is_empty() { sum(&self.terms) } else { sum(&self.terms) / sum(&self.over) }
    }
}

impl Term {
    /// The product.
    pub fn value(&self) -> f64 {
        let times = |product: f64, factor: &Factor| {
            if factor.divides { product / factor.value } else { product * factor.value }
        };
        self.factors.iter().fold(1.0, times)
    }
}

impl Factor {
    /// The term is divided by it.
    #[must_use]
    pub fn under(mut self) -> Self {
        self.divides = true;
        self
    }
}

fn factor(what: &str, value: f64, unit: &'static str, from: Origin) -> Factor {
    Factor { what: what.to_owned(), value, unit, divides: false, from }
}

/// A value of the book.
pub(super) fn book(path: String, value: f64, unit: &'static str) -> Factor {
    let what = path.rsplit('/').next().unwrap_or_default().to_owned();
    factor(&what, value, unit, Origin::Book(path))
}

/// A value of the site's sheet.
pub(super) fn site(path: &str, value: f64, unit: &'static str) -> Factor {
    let what = path.rsplit('/').next().unwrap_or_default();
    factor(what, value, unit, Origin::Site(path.to_owned()))
}

/// Another figure of the build.
pub(super) fn figure(at: &str, value: f64, unit: &'static str) -> Factor {
    let what = at.rsplit('/').next().unwrap_or_default();
    factor(what, value, unit, Origin::Figure(at.to_owned()))
}

/// An amount that the build does not show by itself.
pub(super) fn amount(what: &str, value: f64, unit: &'static str) -> Factor {
    factor(what, value, unit, Origin::Amount)
}

/// A value by a law of physics.
pub(super) fn law(what: &str, value: f64, unit: &'static str, source: &'static str) -> Factor {
    factor(what, value, unit, Origin::Law(source))
}

/// A value that was asked for.
pub(super) fn asked(modifier: &str, value: f64, unit: &'static str) -> Factor {
    factor(modifier, value, unit, Origin::Line(modifier.to_owned()))
}

/// A plain number.
pub(super) fn number(what: &str, value: f64) -> Factor {
    factor(what, value, "", Origin::Number)
}

/// Per cent of a whole, as a plain share.
pub(super) fn of_hundred(path: String, percent: Percent) -> [Factor; 2] {
    [book(path, percent.percent(), "%"), number("per cent", 100.0).under()]
}
