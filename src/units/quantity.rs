//! The macro that makes a quantity, and ranges of one.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The lowest and the highest allowed value, both included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Range<T> {
    /// Lowest allowed value.
    pub min: T,
    /// Highest allowed value; not under `min`.
    pub max: T,
}

impl<T: PartialOrd> Range<T> {
    /// Whether `value` lies within the range, its ends included.
    pub fn holds(&self, value: &T) -> bool {
        *value >= self.min && *value <= self.max
    }
}

/// Makes a quantity: `Name, unit, from_small, small, from_unit, unit_getter, range in units`.
///
/// The range binds what a document may say. Sums inside the engine stay far below what an `i64`
/// holds, and the release profile keeps overflow checks on.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal, $from_small:ident, $small:ident, $from:ident,
     $get:ident, $low:literal..=$high:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(i64);

        impl $name {
            #[doc = concat!("Lowest value a document may give, in ", $unit, ".")]
            pub const LOW: i64 = $low;
            #[doc = concat!("Highest value a document may give, in ", $unit, ".")]
            pub const HIGH: i64 = $high;
            #[doc = concat!("Nothing: 0 ", $unit, ".")]
            pub const ZERO: Self = Self(0);

            #[doc = concat!("From thousandths of 1 ", $unit, ".")]
            pub const fn $from_small(thousandths: i64) -> Self {
                Self(thousandths)
            }

            #[doc = concat!("In thousandths of 1 ", $unit, ".")]
            pub const fn $small(self) -> i64 {
                self.0
            }

            #[doc = concat!("From ", $unit, ", rounded to the nearest thousandth.")]
            pub fn $from(value: f64) -> Self {
                Self($crate::units::decimal::thousandths(value))
            }

            #[doc = concat!("In ", $unit, ", as a float for physics and display.")]
            pub fn $get(self) -> f64 {
                $crate::units::decimal::float(self.0)
            }

            /// Rounded half away from zero to a whole multiple of `step`; unchanged if `step` is 0.
            #[must_use]
            pub fn to_nearest(self, step: Self) -> Self {
                Self($crate::units::decimal::to_nearest(self.0, step.0))
            }

            /// This quantity `n` times.
            #[must_use]
            pub fn times(self, n: i64) -> Self {
                Self(self.0 * n)
            }

            /// The share `part ÷ whole` of it, rounded half away from zero; 0 if `whole` is 0.
            #[must_use]
            pub fn scaled(self, part: i64, whole: i64) -> Self {
                Self($crate::units::decimal::scaled(self.0, part, whole))
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl std::ops::AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
                all.fold(Self::ZERO, std::ops::Add::add)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                let mut text = String::new();
                $crate::units::write_thousandths(&mut text, self.0, 3, '.');
                write!(out, "{text} {}", $unit)
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
                $crate::units::decimal::serialize(self.0, out)
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
                $crate::units::decimal::deserialize(input, $low, $high).map(Self)
            }
        }

        impl utoipa::ToSchema for $name {}

        impl utoipa::PartialSchema for $name {
            fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::Schema> {
                $crate::units::decimal::schema($unit, $low, $high)
            }
        }
    };
}
pub(crate) use quantity;
