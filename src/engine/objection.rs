//! Why a line is not made as asked: codes, the facts for their sentences, and ways out.

use super::phrase::Phrase;
use crate::{
    book::{Id, Words},
    units::Figure,
};

/// One row per code: variant, code, whether it is a matter of safety, whether an override can waive
/// it because the cup can be made all the same.
macro_rules! codes {
    ($($(#[$doc:meta])* $code:ident, $word:literal, $safety:literal, $waivable:literal;)*) => {
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

            /// Whether a cup can be made in spite of it, so that an override can accept the line.
            pub const fn is_waivable(self) -> bool {
                match self { $(Self::$code => $waivable,)* }
            }
        }
    };
}

codes! {
    /// The book has no such drink.
    UnknownDrink, "unknown-drink", false, false;
    /// The book has no such modifier.
    UnknownModifier, "unknown-modifier", false, false;
    /// The slot has no such value.
    UnknownValue, "unknown-value", false, false;
    /// The book has no such diet.
    UnknownDiet, "unknown-diet", false, false;
    /// A value where a count belongs, or the like.
    WrongForm, "wrong-form", false, false;
    /// Two different values for one slot.
    TwoValues, "two-values", false, false;
    /// The modifier has nothing to act on in this drink.
    NotApplicable, "not-applicable", false, false;
    /// There is no such part to replace in this drink.
    NothingToReplace, "nothing-to-replace", false, false;
    /// Two modifiers that cannot stand together.
    ModifiersConflict, "modifiers-conflict", false, true;
    /// A count, or the halves that result, out of bounds.
    CountOutOfRange, "count-out-of-range", false, true;
    /// A number out of a slot's bounds.
    ValueOutOfRange, "value-out-of-range", false, false;
    /// So many halves need a word from the customer.
    ConfirmNeeded, "confirm-needed", false, true;
    /// No half of coffee would be left.
    NoCoffeeLeft, "no-coffee-left", false, false;
    /// The drink has no such cup.
    NoSuchCup, "no-such-cup", false, false;
    /// The site does not have the cup.
    NoSuchCupHere, "no-such-cup-here", false, false;
    /// The site does not stock an ingredient.
    NotStocked, "not-stocked", false, true;
    /// An ingredient has run out.
    OutOfStock, "out-of-stock", false, true;
    /// An ingredient is recalled.
    Recalled, "recalled", true, false;
    /// No grinder of the site holds the bean.
    NoGrinder, "no-grinder", false, false;
    /// The book has no recipe for this bean at this pull.
    NoSuchPull, "no-such-pull", false, false;
    /// The milk takes no steam.
    MilkTakesNoSteam, "milk-takes-no-steam", false, false;
    /// The milk has no set-point of that name.
    NoSuchSetPoint, "no-such-set-point", false, false;
    /// Hotter than this milk is ever taken.
    AboveMilkCap, "above-milk-cap", false, false;
    /// The set-point is outside the drink's identity.
    SetPointOutsideIdentity, "set-point-outside-identity", false, true;
    /// The foam is outside the drink's identity.
    FoamOutsideIdentity, "foam-outside-identity", false, true;
    /// More gas than this milk holds.
    FoamAboveMilk, "foam-above-milk", false, false;
    /// The fill is outside the drink's identity.
    FillOutsideIdentity, "fill-outside-identity", false, true;
    /// The cup is outside the drink's identity.
    CupOutsideIdentity, "cup-outside-identity", false, true;
    /// A part that makes the drink was taken off.
    PartMissing, "part-missing", false, true;
    /// An ingredient that the drink must never have.
    PartForbidden, "part-forbidden", false, true;
    /// The parts leave no room for the remainder.
    DoesNotFit, "does-not-fit", false, false;
    /// The parts rise above the serving line.
    Overflows, "overflows", false, false;
    /// No jug of the site is right for the milk.
    NoJug, "no-jug", false, false;
    /// No wand of the site may touch this milk.
    NoWand, "no-wand", false, false;
    /// The drink is out of season.
    OutOfSeason, "out-of-season", false, true;
    /// An ingredient does not suit a declared diet.
    DietNotMet, "diet-not-met", false, false;
    /// What an allergy was declared to is on equipment that this cup would share.
    AllergyNotHandled, "allergy-not-handled", true, false;
    /// No button of the site's till has this code.
    UnknownCode, "unknown-code", false, false;
    /// Not exactly one of the till's codes names a drink.
    NotOneDrink, "not-one-drink", false, false;
    /// The book has no such allergen and no such ingredient.
    UnknownAllergy, "unknown-allergy", true, false;
    /// The drink has no such form.
    NoSuchForm, "no-such-form", false, false;
    /// Counters that come to too much together.
    TooManyTogether, "too-many-together", false, true;
    /// The customer's own cup needs its capacity.
    CapacityNeeded, "capacity-needed", false, false;
    /// The customer's own cup is too small.
    OwnCupTooSmall, "own-cup-too-small", false, false;
    /// A mixture of two beans needs an even number of halves.
    OddHalves, "odd-halves", false, false;
    /// Everything stands beside the cup.
    NothingInCup, "nothing-in-cup", false, false;
    /// A note holds a word for which there is a field.
    NoteNamesField, "note-names-field", false, false;
    /// An ingredient contains what an allergy was declared to.
    AllergenContained, "allergen-contained", true, false;
    /// A pack says that it may contain what an allergy was declared to.
    AllergenMayBeContained, "allergen-may-be-contained", true, false;
    /// A customer's own cup beside a declared allergy.
    OwnCupWithAllergy, "own-cup-with-allergy", true, false;
    /// The pull is outside the drink's identity.
    PullOutsideIdentity, "pull-outside-identity", false, true;
    /// An ingredient that the drink has only with a word in `confirmed`.
    PartNeedsWord, "part-needs-confirmation", false, true;
    /// An override needs a key with that right.
    OverrideNeedsRight, "override-needs-right", false, false;
    /// What is refused is a matter of safety, or cannot be made at all.
    OverrideCannot, "override-cannot", false, false;
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
    /// Several of them, in a list.
    Says(Vec<Phrase>),
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
    /// The slot at this number.
    SetNumber(Id, Figure),
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
    /// Declare this allergy.
    Allergy(Id),
    /// Declare this diet.
    Diet(Id),
    /// Another note, or none.
    Note(Option<String>),
    /// One more of a modifier: a flag, or a counter by this much.
    Add(Id, Option<i32>),
    /// All of these together.
    All(Vec<Fix>),
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
    /// Whether that position is one in the line's list of the till's codes.
    pub in_codes: bool,
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
            in_codes: false,
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
    /// An allergy was declared, and what is done about it.
    AllergyDeclared, "allergy-declared", "caution";
    /// An ingredient about which people with the declared allergy are asked.
    AskAboutIngredient, "ask-about-ingredient", "caution";
    /// Foam does not hold beside a cup.
    FoamBeside, "foam-beside", "info";
    /// A hot drink goes out without its lid.
    HotWithoutLid, "hot-without-lid", "caution";
    /// A refusal was overridden.
    Overridden, "overridden", "caution";
    /// More milk for each gram of coffee than the drink usually has.
    WeakerThanUsual, "weaker-than-usual", "info";
    /// Less milk for each gram of coffee than the drink usually has.
    StrongerThanUsual, "stronger-than-usual", "info";
    /// More caffeine than a published guide value.
    CaffeineAboveGuide, "caffeine-above-guide", "info";
}
