//! Seasons: the days of the year on which a drink is offered.

use std::{fmt, str::FromStr};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        RefOr, Schema,
        schema::{ObjectBuilder, SchemaType, Type},
    },
};

/// A day of any year, written `MM-DD`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct MonthDay {
    /// Month, 1 to 12.
    pub month: i8,
    /// Day of the month, 1 to 31.
    pub day: i8,
}

/// The days on which a drink is offered, both ends included; it may run over the new year.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Season {
    /// First day.
    pub from: MonthDay,
    /// Last day.
    pub to: MonthDay,
}

impl Season {
    /// Whether `day` is in season.
    ///
    /// ```
    /// use cupwright::book::{MonthDay, Season};
    ///
    /// let day = |text: &str| text.parse::<MonthDay>().expect("a day");
    /// let winter = Season { from: day("11-15"), to: day("02-28") };
    /// assert!(winter.holds(day("12-31")) && winter.holds(day("01-01")));
    /// assert!(!winter.holds(day("03-01")));
    /// ```
    pub fn holds(&self, day: MonthDay) -> bool {
        if self.from <= self.to {
            (self.from..=self.to).contains(&day)
        } else {
            day >= self.from || day <= self.to
        }
    }
}

/// Why a text is not a day of the year.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a day of the year such as \"11-15\"")]
pub struct NotADay(String);

impl FromStr for MonthDay {
    type Err = NotADay;

    fn from_str(text: &str) -> Result<Self, NotADay> {
        const LENGTHS: [i8; 12] = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
        let fault = || NotADay(text.to_owned());
        let (month, day) = text.split_once('-').ok_or_else(fault)?;
        let number = |part: &str| part.parse::<i8>().ok().filter(|_| part.len() == 2);
        let (month, day) = number(month).zip(number(day)).ok_or_else(fault)?;
        let longest = usize::try_from(month - 1).ok().and_then(|at| LENGTHS.get(at));
        match longest {
            Some(longest) if (1..=*longest).contains(&day) => Ok(Self { month, day }),
            _ => Err(fault()),
        }
    }
}

impl fmt::Display for MonthDay {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:02}-{:02}", self.month, self.day)
    }
}

impl Serialize for MonthDay {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for MonthDay {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        String::deserialize(input)?.parse().map_err(D::Error::custom)
    }
}

impl ToSchema for MonthDay {}

impl PartialSchema for MonthDay {
    fn schema() -> RefOr<Schema> {
        let thirty = "(0[469]|11)-(0[1-9]|[12][0-9]|30)";
        let thirty_one = "(0[13578]|1[02])-(0[1-9]|[12][0-9]|3[01])";
        ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::String))
            .pattern(Some(format!("^({thirty}|{thirty_one}|02-(0[1-9]|[12][0-9]))$")))
            .description(Some("A day of any year, `MM-DD`."))
            .into()
    }
}
