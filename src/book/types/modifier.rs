//! Modifiers: what a customer can ask for beyond the drink itself.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    effect::{AppliesTo, Effect, Exclusion},
    id::{Id, Words},
};
use crate::json::word;
use crate::units::{Money, Range, Temperature, Volume};

word! { /// The kind of a slot.
SlotWord = "slot" }
word! { /// The kind of a counter.
CounterWord = "counter" }
word! { /// The kind of a flag.
FlagWord = "flag" }

/// A modifier: a slot holds one value, a counter a signed number, a flag is there or not.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(untagged)]
#[schema(discriminator(property_name = "kind", mapping(
    ("slot" = "#/components/schemas/SlotModifier"),
    ("counter" = "#/components/schemas/CounterModifier"),
    ("flag" = "#/components/schemas/FlagModifier"),
)))]
pub enum Modifier {
    /// Holds one value.
    Slot(SlotModifier),
    /// Holds a signed number.
    Counter(CounterModifier),
    /// Is there or not.
    Flag(FlagModifier),
}

/// When a modifier is evaluated; the order is fixed and never that of the ticket.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Phase {
    /// Another form of the drink, such as iced.
    Form,
    /// Way of serving, size and the capacity of the customer's own cup: the row of the cup table.
    Cup,
    /// Halves of coffee.
    Count,
    /// Bean.
    Class,
    /// Pull.
    Pull,
    /// Share of the liquid coffee used.
    Strength,
    /// Milk.
    Milk,
    /// Ingredients on and off.
    Addition,
    /// Ice.
    Ice,
    /// Set-point of the milk, warmth of the cup.
    Temperature,
    /// Foam.
    Foam,
    /// Fill and room left.
    Fill,
    /// What stands beside the cup instead of in it.
    Placement,
    /// What comes with the cup and changes nothing in it.
    Handover,
}

/// A modifier that holds one value.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SlotModifier {
    /// Id.
    pub id: Id,
    /// Always `slot`.
    pub kind: SlotWord,
    /// Name in each language.
    pub names: Words,
    /// When it is evaluated.
    pub phase: Phase,
    /// Where the value comes from when none is asked for.
    pub default: Anchor,
    /// Which drinks it can act on.
    #[serde(default)]
    pub applies_to: AppliesTo,
    /// What to answer for a drink that it cannot act on; without it, a refusal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub otherwise: Option<Otherwise>,
    /// What cannot stand in the same line.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub excludes: Vec<Exclusion>,
    /// The values; `service`, `size` and `capacity` have none, since the cup tables hold theirs.
    #[serde(default)]
    pub values: Vec<SlotValue>,
    /// The counter whose price for each half is that of each half more or fewer than the cup has
    /// (phase `count`); without it, each value has its own price.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub priced_by: Option<Id>,
    /// Degrees Celsius that are values too (phase `temperature`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub celsius: Option<Range<Temperature>>,
    /// Millilitres that are values (phase `cup`, the slot `capacity`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub millilitres: Option<Range<Volume>>,
}

/// Where a slot's value comes from when none is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Anchor {
    /// From the drink's own record.
    OfDrink,
    /// No value: nothing is done.
    Nothing,
}

/// One value of a slot.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SlotValue {
    /// Id within the slot.
    pub id: Id,
    /// Name in each language; a milk has its ingredient's name without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub names: Option<Words>,
    /// The milk used (phase `milk`); short for `does.milk`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ingredient: Option<Id>,
    /// What it does.
    #[serde(default)]
    pub does: Effect,
    /// Which drinks it can act on, within those of the slot.
    #[serde(default)]
    pub applies_to: AppliesTo,
    /// What cannot stand in the same line.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub excludes: Vec<Exclusion>,
    /// Change of the price.
    #[serde(default)]
    pub price_delta: Money,
    /// What the sticker says, in each language.
    pub sticker: Words,
}

/// A modifier that holds a signed number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CounterModifier {
    /// Id.
    pub id: Id,
    /// Always `counter`.
    pub kind: CounterWord,
    /// Name in each language.
    pub names: Words,
    /// When it is evaluated.
    pub phase: Phase,
    /// What is counted, such as `half` or `pump`.
    pub unit: Id,
    /// Lowest count.
    #[schema(minimum = -12, maximum = 0)]
    pub min: i32,
    /// Highest count.
    #[schema(minimum = 0, maximum = 12)]
    pub max: i32,
    /// Bounds of what results, in halves (phase `count`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub result: Option<Range<i32>>,
    /// The most that it and others may come to together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub together: Option<CountLimit>,
    /// Above this result the line must carry this modifier's id in `confirmed`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub confirm_above: Option<i32>,
    /// Which drinks it can act on.
    #[serde(default)]
    pub applies_to: AppliesTo,
    /// What to answer for a drink that it cannot act on; without it, a refusal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub otherwise: Option<Otherwise>,
    /// What cannot stand in the same line.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub excludes: Vec<Exclusion>,
    /// What each unit does.
    pub does: Effect,
    /// Change of the price for each unit.
    #[serde(default)]
    pub price_delta_each: Money,
    /// What the sticker says in each language; `{n}` is the count, with its sign if it may be
    /// negative.
    pub sticker: Words,
}

/// A bound on the sum of several counters.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CountLimit {
    /// The other counters, by id.
    #[schema(min_items = 1)]
    pub with: Vec<Id>,
    /// Highest sum of all of them.
    #[schema(minimum = 1, maximum = 24)]
    pub max: i32,
}

/// A modifier that is there or not.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FlagModifier {
    /// Id.
    pub id: Id,
    /// Always `flag`.
    pub kind: FlagWord,
    /// Name in each language.
    pub names: Words,
    /// When it is evaluated.
    pub phase: Phase,
    /// Which drinks it can act on.
    #[serde(default)]
    pub applies_to: AppliesTo,
    /// What to answer for a drink that it cannot act on; without it, a refusal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub otherwise: Option<Otherwise>,
    /// What cannot stand in the same line.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub excludes: Vec<Exclusion>,
    /// What it does.
    #[serde(default)]
    pub does: Effect,
    /// What is to be done for it at the handing over, in each language.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<Words>,
    /// Change of the price.
    #[serde(default)]
    pub price_delta: Money,
    /// What the sticker says, in each language.
    pub sticker: Words,
}

/// What to answer when a modifier has nothing to act on.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Otherwise {
    /// Ask, or refuse.
    pub verdict: OtherwiseVerdict,
    /// The question or the reason, in each language.
    pub text: Words,
    /// Key of the drink's `neighbours` under which to look for the drink that was meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub neighbour: Option<Id>,
    /// Modifiers to offer in its place; each takes over the value or the count.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub instead: Vec<Id>,
}

/// Whether a line is asked about or refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OtherwiseVerdict {
    /// Offer choices.
    Ask,
    /// Refuse, with alternatives.
    Refuse,
}

impl Modifier {
    /// Id.
    pub fn id(&self) -> &Id {
        match self {
            Self::Slot(slot) => &slot.id,
            Self::Counter(counter) => &counter.id,
            Self::Flag(flag) => &flag.id,
        }
    }

    /// When it is evaluated.
    pub fn phase(&self) -> Phase {
        match self {
            Self::Slot(slot) => slot.phase,
            Self::Counter(counter) => counter.phase,
            Self::Flag(flag) => flag.phase,
        }
    }

    /// Name in each language.
    pub fn names(&self) -> &Words {
        match self {
            Self::Slot(slot) => &slot.names,
            Self::Counter(counter) => &counter.names,
            Self::Flag(flag) => &flag.names,
        }
    }

    /// What is to be done for it at the handing over.
    pub fn step(&self) -> Option<&Words> {
        if let Self::Flag(flag) = self { flag.step.as_ref() } else { None }
    }

    /// Which drinks it can act on.
    pub fn applies_to(&self) -> &AppliesTo {
        match self {
            Self::Slot(slot) => &slot.applies_to,
            Self::Counter(counter) => &counter.applies_to,
            Self::Flag(flag) => &flag.applies_to,
        }
    }

    /// What to answer for a drink that it cannot act on.
    pub fn otherwise(&self) -> Option<&Otherwise> {
        match self {
            Self::Slot(slot) => slot.otherwise.as_ref(),
            Self::Counter(counter) => counter.otherwise.as_ref(),
            Self::Flag(flag) => flag.otherwise.as_ref(),
        }
    }

    /// Everything that it can do: of each value, of each unit, or of the flag.
    pub fn effects(&self) -> Vec<&Effect> {
        match self {
            Self::Slot(slot) => slot.values.iter().map(|value| &value.does).collect(),
            Self::Counter(counter) => vec![&counter.does],
            Self::Flag(flag) => vec![&flag.does],
        }
    }

    /// What cannot stand in the same line, whatever the value.
    pub fn excludes(&self) -> &[Exclusion] {
        match self {
            Self::Slot(slot) => &slot.excludes,
            Self::Counter(counter) => &counter.excludes,
            Self::Flag(flag) => &flag.excludes,
        }
    }
}

impl SlotValue {
    /// The milk that this value stands for.
    pub fn milk(&self) -> Option<&Id> {
        self.ingredient.as_ref().or(self.does.milk.as_ref())
    }
}
