//! Decimals with at most three places, held as whole thousandths.

use serde::{Deserialize, Deserializer, Serializer, de::Error as _};
use utoipa::openapi::{
    RefOr, Schema,
    schema::{ObjectBuilder, SchemaType, Type},
};

/// `value` in thousandths, rounded half away from zero.
///
/// Whole numbers beyond ±9·10¹⁵ cannot arise from bounded documents; a non-finite value would be a
/// fault in the physics and is caught by the debug assertion.
#[expect(clippy::cast_possible_truncation, reason = "bounded by the assertion above the cast")]
pub(super) fn thousandths(value: f64) -> i64 {
    let scaled = (value * 1_000.0).round();
    debug_assert!(scaled.is_finite() && scaled.abs() < 9.0e15, "{value} is not a quantity");
    scaled as i64
}

/// Thousandths as a float of whole units; exact up to 2⁵³ thousandths.
#[expect(clippy::cast_precision_loss, reason = "quantities stay far below 2^53 thousandths")]
pub(super) fn float(thousandths: i64) -> f64 {
    thousandths as f64 / 1_000.0
}

/// `value` rounded half away from zero to a multiple of `step`; unchanged if `step` is not positive.
pub(super) fn to_nearest(value: i64, step: i64) -> i64 {
    if step <= 0 { value } else { scaled(value, 1, step) * step }
}

/// `value · part ÷ whole`, rounded half away from zero; 0 if `whole` is 0.
pub(super) fn scaled(value: i64, part: i64, whole: i64) -> i64 {
    if whole == 0 {
        return 0;
    }
    let (product, whole) = (i128::from(value) * i128::from(part), i128::from(whole));
    let magnitude = (2 * product.abs() + whole.abs()) / (2 * whole.abs());
    let signed = if (product < 0) == (whole < 0) { magnitude } else { -magnitude };
    i64::try_from(signed).unwrap_or(i64::MAX)
}

/// How many decimal places the JSON number `text` states, its exponent counted in.
///
/// ```
/// use cupwright::units::decimal_places;
///
/// assert_eq!(decimal_places("1032.5"), 1);
/// assert_eq!(decimal_places("18"), 0);
/// assert_eq!(decimal_places("1.5e-3"), 4);
/// assert_eq!(decimal_places("1.250"), 2);
/// ```
pub fn decimal_places(text: &str) -> i64 {
    let (digits, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let places = digits.split_once('.').map_or("", |(_, places)| places).trim_end_matches('0');
    let stated = i64::try_from(places.len()).unwrap_or(i64::MAX);
    // An exponent too long for an i64 is no decimal of ours in either direction.
    stated.saturating_sub(exponent.parse::<i64>().unwrap_or(i64::MIN)).max(0)
}

/// Appends thousandths as a decimal with at most `places` places (0 to 3) and no trailing zeros.
pub fn write_thousandths(out: &mut String, thousandths: i64, places: u32, mark: char) {
    let dropped = 3_u32.saturating_sub(places);
    let rounded = to_nearest(thousandths, 10_i64.pow(dropped));
    let (whole, mut rest) = (rounded.unsigned_abs() / 1_000, rounded.unsigned_abs() % 1_000);
    if rounded < 0 {
        out.push('-');
    }
    push_whole(out, whole);
    if rest == 0 {
        return;
    }
    out.push(mark);
    for unit in [100, 10, 1] {
        if rest == 0 {
            break;
        }
        push_whole(out, rest / unit);
        rest %= unit;
    }
}

/// Appends a whole number without going through the formatter, which costs several times as much.
fn push_whole(out: &mut String, value: u64) {
    if value >= 10 {
        push_whole(out, value / 10);
    }
    out.push(char::from(b"0123456789"[usize::try_from(value % 10).unwrap_or_default()]));
}

/// Writes whole units as an integer and the rest as a decimal.
pub(super) fn serialize<S: Serializer>(thousandths: i64, out: S) -> Result<S::Ok, S::Error> {
    if thousandths % 1_000 == 0 {
        out.serialize_i64(thousandths / 1_000)
    } else {
        out.serialize_f64(float(thousandths))
    }
}

/// Reads a number of whole units between `low` and `high` with at most three places.
pub(super) fn deserialize<'de, D: Deserializer<'de>>(
    input: D,
    low: i64,
    high: i64,
) -> Result<i64, D::Error> {
    let value = f64::deserialize(input)?;
    if !(float(low * 1_000)..=float(high * 1_000)).contains(&value) {
        return Err(D::Error::custom(format_args!("{value} is not between {low} and {high}")));
    }
    let held = thousandths(value);
    // A decimal of three places is the float nearest to its thousandths; any other float is not.
    if float(held).to_bits() != value.to_bits() && value != 0.0 {
        return Err(D::Error::custom(format_args!("{value} has more than three decimal places")));
    }
    Ok(held)
}

/// The schema of a quantity: a number in `unit` between its bounds.
pub(super) fn schema(unit: &str, low: i64, high: i64) -> RefOr<Schema> {
    ObjectBuilder::new()
        .schema_type(SchemaType::new(Type::Number))
        .minimum(Some(float(low * 1_000)))
        .maximum(Some(float(high * 1_000)))
        .description(Some(format!("A number in {unit}, with at most three decimal places.")))
        .into()
}

#[cfg(test)]
mod tests {
    use super::{scaled, to_nearest, write_thousandths};

    #[test]
    fn rounding_goes_to_the_nearest_and_ties_go_away_from_zero() {
        assert_eq!(to_nearest(147_100, 5_000), 145_000);
        assert_eq!(to_nearest(147_500, 5_000), 150_000);
        assert_eq!(to_nearest(-2_500, 5_000), -5_000);
        assert_eq!(scaled(9, 1, 2), 5);
        assert_eq!(scaled(-9, 1, 2), -5);
        assert_eq!(scaled(7, 1, 0), 0);
    }

    #[test]
    fn decimals_are_written_with_the_places_asked_for_and_no_trailing_zeros() {
        let written = |value, places, mark| {
            let mut text = String::new();
            write_thousandths(&mut text, value, places, mark);
            text
        };
        assert_eq!(written(147_083, 1, '.'), "147.1");
        assert_eq!(written(18_000, 3, '.'), "18");
        assert_eq!(written(18_050, 3, ','), "18,05");
        assert_eq!(written(-450, 1, '.'), "-0.5");
        assert_eq!(written(999_960, 1, '.'), "1000");
    }
}
