//! Why a line is not made as asked: codes, the facts for their sentences, and ways out.

use super::phrase::Phrase;
use crate::{
    book::{Id, Words},
    units::Temperature,
};

/// One row per code: variant, code, whether it is a matter of safety.
macro_rules! codes {
    ($($(#[$doc:meta])* $code:ident, $word:literal, $safety:literal;)*) => {
        /// Why a line is asked about or refused. Rows may be added, never changed or dropped.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code { $($(#[$doc])* $code,)* }

        impl Code {
            /// All codes, in the order in which they are documented.
            pub const ALL: &[Self] = &[$(Self::$code,)*];

            /// As answers write it; the same in every language.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$code => $word,)* }
            }

            /// Whether it is a matter of safety, which nothing overrides.
            pub const fn is_safety(self) -> bool {
                match self { $(Self::$code => $safety,)* }
            }
        }
    };
}

codes! {
    /// The book has no such drink.
    UnknownDrink, "unknown-drink", false;
    /// The book has no such modifier.
    UnknownModifier, "unknown-modifier", false;
    /// The slot has no such value.
    UnknownValue, "unknown-value", false;
    /// The book has no such diet.
    UnknownDiet, "unknown-diet", false;
    /// A value where a count belongs, or the like.
    WrongForm, "wrong-form", false;
    /// Two different values for one slot.
    TwoValues, "two-values", false;
    /// The modifier has nothing to act on in this drink.
    NotApplicable, "not-applicable", false;
    /// There is no such part to replace in this drink.
    NothingToReplace, "nothing-to-replace", false;
    /// Two modifiers that cannot stand together.
    ModifiersConflict, "modifiers-conflict", false;
    /// A count, or the halves that result, out of bounds.
    CountOutOfRange, "count-out-of-range", false;
    /// A number out of a slot's bounds.
    ValueOutOfRange, "value-out-of-range", false;
    /// So many halves need a word from the customer.
    ConfirmNeeded, "confirm-needed", false;
    /// No half of coffee would be left.
    NoCoffeeLeft, "no-coffee-left", false;
    /// The drink has no such cup.
    NoSuchCup, "no-such-cup", false;
    /// The site does not have the cup.
    NoSuchCupHere, "no-such-cup-here", false;
    /// The site does not stock an ingredient.
    NotStocked, "not-stocked", false;
    /// An ingredient has run out.
    OutOfStock, "out-of-stock", false;
    /// An ingredient is recalled.
    Recalled, "recalled", true;
    /// No grinder of the site holds the bean.
    NoGrinder, "no-grinder", false;
    /// The book has no recipe for this bean at this pull.
    NoSuchPull, "no-such-pull", false;
    /// The milk takes no steam.
    MilkTakesNoSteam, "milk-takes-no-steam", false;
    /// The milk has no set-point of that name.
    NoSuchSetPoint, "no-such-set-point", false;
    /// Hotter than this milk is ever taken.
    AboveMilkCap, "above-milk-cap", false;
    /// The set-point is outside the drink's identity.
    SetPointOutsideIdentity, "set-point-outside-identity", false;
    /// The foam is outside the drink's identity.
    FoamOutsideIdentity, "foam-outside-identity", false;
    /// More gas than this milk holds.
    FoamAboveMilk, "foam-above-milk", false;
    /// The fill is outside the drink's identity.
    FillOutsideIdentity, "fill-outside-identity", false;
    /// The cup is outside the drink's identity.
    CupOutsideIdentity, "cup-outside-identity", false;
    /// A part that makes the drink was taken off.
    PartMissing, "part-missing", false;
    /// An ingredient that the drink must never have.
    PartForbidden, "part-forbidden", false;
    /// The parts leave no room for the remainder.
    DoesNotFit, "does-not-fit", false;
    /// The parts rise above the serving line.
    Overflows, "overflows", false;
    /// No jug of the site is right for the milk.
    NoJug, "no-jug", false;
    /// No wand of the site may touch this milk.
    NoWand, "no-wand", false;
    /// The drink is out of season.
    OutOfSeason, "out-of-season", false;
    /// An ingredient does not suit a declared diet.
    DietNotMet, "diet-not-met", false;
    /// An allergy was declared, for which this service has no route.
    AllergyNotHandled, "allergy-not-handled", true;
}

/// Whether an objection asks or refuses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// The choices are offered, and the line can go on with one of them.
    Ask,
    /// The line is not made.
    Refuse,
}

/// A fact for a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fact {
    /// As it is, such as an id.
    Text(String),
    /// A name of the book, in each language.
    Name(Words),
    /// A number in thousandths.
    Number(i64),
    /// Another sentence, without gaps of its own.
    Say(Phrase),
}

/// A measured quantity that is out of bounds, in thousandths of its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    /// Field name, its unit last, such as `foam_depth_mm`.
    pub field: &'static str,
    /// What was measured.
    pub value: i64,
    /// Lowest allowed, if there is one.
    pub min: Option<i64>,
    /// Highest allowed, if there is one.
    pub max: Option<i64>,
}

/// A way out: one change of the line that may make it acceptable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fix {
    /// Another drink, everything else as asked.
    Drink(Id),
    /// Leave the modifier out, so that the usual takes its place.
    Drop(Id),
    /// Take the wish back; offered only where nothing else is left.
    Withdraw(Id),
    /// The slot at this value.
    Set(Id, Id),
    /// The slot at these degrees.
    SetCelsius(Id, Temperature),
    /// The counter at this number.
    Count(Id, i32),
    /// This modifier in place of another, with its value or count.
    Instead {
        /// The modifier given.
        of: Id,
        /// The modifier to use.
        by: Id,
    },
    /// Confirm this modifier.
    Confirm(Id),
}

/// Why a line is not made as asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Objection {
    /// Which rule.
    pub code: Code,
    /// Whether it is a matter of safety, by the rule or by the drink's own record.
    pub safety: bool,
    /// Ask or refuse.
    pub manner: Manner,
    /// The slot, counter or flag that it is about.
    pub slot: Option<Id>,
    /// The modifiers involved, as given.
    pub modifiers: Vec<String>,
    /// Position in the line's list of the modifier at fault.
    pub given: Option<usize>,
    /// Facts for the sentence, by the names of its gaps.
    pub facts: Vec<(&'static str, Fact)>,
    /// The book's own sentence, where it has one.
    pub words: Option<Words>,
    /// What was measured and what is allowed.
    pub measured: Option<Measured>,
    /// Key of the drink's neighbours that leads out.
    pub toward: Option<String>,
    /// Ways out, the nearest first.
    pub fixes: Vec<Fix>,
}

impl Objection {
    /// A refusal by the rule `code`.
    pub fn refuse(code: Code) -> Self {
        Self {
            code,
            safety: code.is_safety(),
            manner: Manner::Refuse,
            slot: None,
            modifiers: Vec::new(),
            given: None,
            facts: Vec::new(),
            words: None,
            measured: None,
            toward: None,
            fixes: Vec::new(),
        }
    }

    /// Names the slot, counter or flag, which is also a modifier involved.
    #[must_use]
    pub fn about(mut self, modifier: &Id) -> Self {
        self.slot = Some(modifier.clone());
        self.involving(modifier)
    }

    /// Names one more modifier involved.
    #[must_use]
    pub fn involving(mut self, modifier: &str) -> Self {
        self.modifiers.push(modifier.to_owned());
        self
    }

    /// Names the position of the modifier at fault.
    #[must_use]
    pub fn at(mut self, given: usize) -> Self {
        self.given = Some(given);
        self
    }

    /// Fills a gap of the sentence with a text.
    #[must_use]
    pub fn text(mut self, gap: &'static str, text: &str) -> Self {
        self.facts.push((gap, Fact::Text(text.to_owned())));
        self
    }

    /// Fills a gap of the sentence with a name of the book.
    #[must_use]
    pub fn name(mut self, gap: &'static str, name: &Words) -> Self {
        self.facts.push((gap, Fact::Name(name.clone())));
        self
    }

    /// Fills a gap of the sentence with a number in thousandths.
    #[must_use]
    pub fn number(mut self, gap: &'static str, thousandths: i64) -> Self {
        self.facts.push((gap, Fact::Number(thousandths)));
        self
    }

    /// Fills a gap of the sentence with another sentence.
    #[must_use]
    pub fn say(mut self, gap: &'static str, phrase: Phrase) -> Self {
        self.facts.push((gap, Fact::Say(phrase)));
        self
    }

    /// Says what was measured and what is allowed; also fills the gaps `measured`, `min`, `max`.
    #[must_use]
    pub fn measure(mut self, measured: Measured) -> Self {
        self.facts.push(("measured", Fact::Number(measured.value)));
        self.facts.extend(measured.min.map(|min| ("min", Fact::Number(min))));
        self.facts.extend(measured.max.map(|max| ("max", Fact::Number(max))));
        self.measured = Some(measured);
        self
    }

    /// Names the key of the drink's neighbours that leads out.
    #[must_use]
    pub fn toward(mut self, key: &str) -> Self {
        self.toward = Some(key.to_owned());
        self
    }

    /// Adds ways out.
    #[must_use]
    pub fn fixes(mut self, fixes: impl IntoIterator<Item = Fix>) -> Self {
        self.fixes.extend(fixes);
        self
    }
}

/// One row per code: variant, code, severity.
macro_rules! notices {
    ($($(#[$doc:meta])* $code:ident, $word:literal, $severity:literal;)*) => {
        /// Something true that the reader of an accepted line must know.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Notice { $($(#[$doc])* $code,)* }

        impl Notice {
            /// All notices, in the order in which they are documented.
            pub const ALL: &[Self] = &[$(Self::$code,)*];

            /// As answers write it; the same in every language.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$code => $word,)* }
            }

            /// `info` or `caution`.
            pub const fn severity(self) -> &'static str {
                match self { $(Self::$code => $severity,)* }
            }
        }
    };
}

notices! {
    /// The note is printed as it is; nobody checked it.
    NoteNotChecked, "note-not-checked", "caution";
    /// An override was given, but none is taken here.
    OverrideNotTaken, "override-not-taken", "info";
    /// Some of the coffee pulled is not in this cup.
    SpareHalf, "spare-half", "info";
    /// The smallest jug needs more milk than the cup.
    MilkLeftOver, "milk-left-over", "info";
    /// Some of the coffee pulled for this cup is not used.
    CoffeeLeftOver, "coffee-left-over", "info";
}
