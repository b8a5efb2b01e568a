//! Which of two forms a reader would rather have: `Accept` (RFC 9110, section 12.5.1).

use actix_web::{HttpRequest, http::header};

/// How much a reader wants a media type.
#[derive(Clone, Copy, Debug, Default)]
struct Wish {
    /// How closely the range names the type: itself, its kind, or anything.
    closeness: u8,
    /// Weight in thousandths; 0 is not acceptable.
    weight: u16,
    /// Position among the ranges.
    at: usize,
}

/// Whether the reader would rather have `wanted` than JSON: by weight; of equal weights the one that
/// is named more closely, then the one that is named first. Without `Accept` it is JSON.
pub(super) fn wants(request: &HttpRequest, wanted: &str) -> bool {
    let values = request.headers().get_all(header::ACCEPT);
    let ranges: Vec<&str> =
        values.filter_map(|value| value.to_str().ok()).flat_map(|value| value.split(',')).collect();
    rather(&ranges, wanted, "application/json")
}

fn rather(ranges: &[&str], wanted: &str, usual: &str) -> bool {
    let (one, other) = (wish(ranges, wanted), wish(ranges, usual));
    if one.weight == 0 || one.weight != other.weight {
        return one.weight > other.weight;
    }
    // A range that names neither says nothing against what is usual.
    one.closeness > other.closeness || (one.closeness == other.closeness && one.at < other.at)
}

/// What the ranges say of `kind`: the closest of them counts.
fn wish(ranges: &[&str], kind: &str) -> Wish {
    let family = kind.split('/').next().unwrap_or_default();
    let mut best = Wish::default();
    for (at, range) in ranges.iter().enumerate() {
        let mut parts = range.split(';').map(str::trim);
        let name = parts.next().unwrap_or_default().to_ascii_lowercase();
        let closeness = match name.strip_suffix("/*") {
            _ if name == kind => 3,
            Some(of) if of == family => 2,
            Some("*") => 1,
            Some(_) | None => 0,
        };
        if closeness > best.closeness {
            let weight = parts.find_map(weight).unwrap_or(1_000);
            best = Wish { closeness, weight, at };
        }
    }
    best
}

/// The weight that a parameter gives, in thousandths (RFC 9110, section 12.4.2); one that cannot be
/// read is none.
fn weight(parameter: &str) -> Option<u16> {
    let (name, value) = parameter.split_once('=')?;
    let value = name.trim().eq_ignore_ascii_case("q").then(|| value.trim())?;
    let (whole, places) = value.split_once('.').unwrap_or((value, ""));
    let digits = places.len() <= 3 && places.bytes().all(|byte| byte.is_ascii_digit());
    let whole: u16 = whole.parse().ok().filter(|whole| digits && *whole <= 1)?;
    let places: u16 = format!("{places:0<3}").parse().ok()?;
    Some((whole * 1_000 + places).min(1_000))
}

#[cfg(test)]
mod tests {
    use super::rather;

    #[test]
    fn the_weight_decides_then_how_closely_a_form_is_named_then_which_is_named_first() {
        for (accept, text) in [
            ("", false),
            ("*/*", false),
            ("text/plain", true),
            ("TEXT/Plain", true),
            ("text/*", true),
            ("text/plain, */*", true),
            ("application/json, text/plain, */*", false),
            ("text/plain, application/json", true),
            ("text/plain;q=0.5, application/json", false),
            ("application/json;q=0.5, text/plain; q=0.9", true),
            ("text/plain;q=0, */*", false),
            ("text/*, text/plain;q=0.1, application/json;q=0.2", false),
            ("application/xml", false),
            ("application/json;q=0, text/plain;q=0.001", true),
        ] {
            let ranges: Vec<&str> = accept.split(',').collect();
            assert_eq!(rather(&ranges, "text/plain", "application/json"), text, "`{accept}`");
        }
    }
}
