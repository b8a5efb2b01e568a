//! Which of its forms a reader would rather have an answer in: `Accept` (RFC 9110, section 12.5.1).

use actix_web::{HttpRequest, http::header};

use super::reply::Failure;
use crate::wire::Kind;

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

/// Which of the forms that an answer comes in the reader would rather have: by weight; of equal
/// weights the one that is named more closely, then the one that is named first, then the one that
/// is usual, which is the first of `forms`. Without `Accept` it is that one.
///
/// * Errors: the reader accepts none of them.
pub(super) fn first_of(
    request: &HttpRequest,
    forms: &[&'static str],
) -> Result<&'static str, Failure> {
    let mut values = request.headers().get_all(header::ACCEPT).peekable();
    if values.peek().is_none() {
        return Ok(forms.first().copied().unwrap_or_default());
    }
    let ranges: Vec<&str> =
        values.filter_map(|value| value.to_str().ok()).flat_map(|value| value.split(',')).collect();
    best(&ranges, forms).ok_or_else(|| {
        let detail = format!("The answer comes as {}.", forms.join(" or "));
        Kind::NotAcceptable.with(detail).into()
    })
}

fn best(ranges: &[&str], forms: &[&'static str]) -> Option<&'static str> {
    // An empty list of ranges accepts anything, as no list at all does.
    if ranges.iter().all(|range| range.trim().is_empty()) {
        return forms.first().copied();
    }
    let wishes = forms.iter().map(|form| (wish(ranges, form), *form));
    let mut best: Option<(Wish, &'static str)> = None;
    for (wish, form) in wishes.filter(|(wish, _)| wish.weight > 0) {
        let better = best.is_none_or(|(other, _)| {
            // Which is named first counts only between two that are named.
            (wish.weight, wish.closeness) > (other.weight, other.closeness)
                || ((wish.weight, wish.closeness) == (other.weight, other.closeness)
                    && wish.at < other.at)
        });
        if better {
            best = Some((wish, form));
        }
    }
    best.map(|(_, form)| form)
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
    use super::best;

    const JSON: &str = "application/json";
    const TEXT: &str = "text/plain";

    #[test]
    fn the_weight_decides_then_how_closely_a_form_is_named_then_which_is_named_first() {
        for (accept, form) in [
            ("", Some(JSON)),
            ("*/*", Some(JSON)),
            ("text/plain", Some(TEXT)),
            ("TEXT/Plain", Some(TEXT)),
            ("text/*", Some(TEXT)),
            ("text/plain, */*", Some(TEXT)),
            ("application/json, text/plain, */*", Some(JSON)),
            ("text/plain, application/json", Some(TEXT)),
            ("text/plain;q=0.5, application/json", Some(JSON)),
            ("application/json;q=0.5, text/plain; q=0.9", Some(TEXT)),
            ("text/plain;q=0, */*", Some(JSON)),
            ("text/*, text/plain;q=0.1, application/json;q=0.2", Some(JSON)),
            ("application/xml", None),
            ("application/json;q=0", None),
            ("*/*;q=0", None),
            ("image/*, application/*", Some(JSON)),
            ("application/json;q=0, text/plain;q=0.001", Some(TEXT)),
        ] {
            let ranges: Vec<&str> = accept.split(',').collect();
            assert_eq!(best(&ranges, &[JSON, TEXT]), form, "`{accept}`");
        }
    }
}
