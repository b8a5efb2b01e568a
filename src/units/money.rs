//! Money: a decimal string beside an ISO 4217 code, held in thousandths of the currency's unit.

use std::{borrow::Cow, fmt, iter::Sum, ops};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{
        RefOr, Schema,
        schema::{ObjectBuilder, SchemaType, Type},
    },
};

use super::write_thousandths;

/// An amount of money in the currency named beside it; it may be negative (a reduction).
///
/// ```
/// use cupwright::units::Money;
///
/// let price: Money = "4.20".parse().expect("a decimal string");
/// assert_eq!(price.thousandths(), 4_200);
/// assert_eq!(price.with_places(2), "4.20");
/// assert!("4,20".parse::<Money>().is_err());
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Money(i64);

impl Money {
    /// No money.
    pub const ZERO: Self = Self(0);

    /// From thousandths of the currency's unit.
    pub const fn from_thousandths(thousandths: i64) -> Self {
        Self(thousandths)
    }

    /// In thousandths of the currency's unit.
    pub const fn thousandths(self) -> i64 {
        self.0
    }

    /// This amount `n` times.
    #[must_use]
    pub const fn times(self, n: i64) -> Self {
        Self(self.0 * n)
    }

    /// This amount so many times, rounded half away from zero to a thousandth.
    #[must_use]
    pub fn times_share(self, times: f64) -> Self {
        Self(super::decimal::thousandths(super::decimal::float(self.0) * times))
    }

    /// What it was before `share` of that was added to it, rounded half away from zero to a
    /// thousandth.
    ///
    /// ```
    /// use cupwright::units::{Money, Share};
    ///
    /// let gross: Money = "1.19".parse().expect("money");
    /// assert_eq!(gross.without(Share::from_share(0.19)).with_places(2), "1.00");
    /// ```
    #[must_use]
    pub fn without(self, share: super::Share) -> Self {
        Self(super::decimal::scaled(self.0, 1_000, 1_000 + share.thousandths()))
    }

    /// As a decimal string with at least `places` places (0 to 3), more only if needed.
    pub fn with_places(self, places: usize) -> String {
        let mut text = String::new();
        write_thousandths(&mut text, self.0, 3, '.');
        let shown = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        if shown == 0 && places > 0 {
            text.push('.');
        }
        (shown..places.min(3)).for_each(|_| text.push('0'));
        text
    }
}

/// Why a text is not an amount of money.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a decimal such as \"4.20\" (at most three places)")]
pub struct NotMoney(String);

impl std::str::FromStr for Money {
    type Err = NotMoney;

    fn from_str(text: &str) -> Result<Self, NotMoney> {
        let fault = || NotMoney(text.to_owned());
        let (negative, digits) = text.strip_prefix('-').map_or((false, text), |rest| (true, rest));
        let (whole, places) = digits.split_once('.').unwrap_or((digits, "0"));
        let plain = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        if !plain(whole) || !plain(places) || whole.len() > 9 || places.len() > 3 {
            return Err(fault());
        }
        let amount: i64 = format!("{whole}{places:0<3}").parse().map_err(|_| fault())?;
        Ok(Self(if negative { -amount } else { amount }))
    }
}

impl fmt::Display for Money {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.with_places(2))
    }
}

impl ops::Add for Money {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl ops::Sub for Money {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::ZERO, ops::Add::add)
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(&self.with_places(2))
    }
}

impl<'de> Deserialize<'de> for Money {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        Cow::<'de, str>::deserialize(input)?.parse().map_err(D::Error::custom)
    }
}

impl ToSchema for Money {}

impl PartialSchema for Money {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(SchemaType::new(Type::String))
            .pattern(Some("^-?[0-9]{1,9}(\\.[0-9]{1,3})?$"))
            .description(Some("Money as a decimal string, in the currency named beside it."))
            .into()
    }
}
