//! Keys of requests: `Authorization: Bearer …` (RFC 6750).

use actix_web::{
    HttpRequest,
    http::header::{self, HeaderMap},
};

use super::{reply::Failure, state::State};
use crate::{
    keys::{Key, KeyRing, Role},
    wire::Kind,
};

/// Challenges (RFC 6750, section 3): to a request without a key, with one that is not known, and with
/// one that does not have the right. The scheme is never alone.
const NO_KEY: &str = "Bearer realm=\"cupwright\"";
const UNKNOWN: &str = "Bearer realm=\"cupwright\", error=\"invalid_token\"";
const NO_RIGHT: &str = "Bearer realm=\"cupwright\", error=\"insufficient_scope\"";

/// The key of a request, if it has one; a service without keys takes no notice of any.
///
/// * Errors: a key that the service does not know.
pub(super) fn key<'k>(keys: &'k KeyRing, headers: &HeaderMap) -> Result<Option<&'k Key>, Failure> {
    let Some(given) = headers.get(header::AUTHORIZATION) else { return Ok(None) };
    if keys.is_empty() {
        return Ok(None);
    }
    let secret = given.to_str().ok().and_then(|text| text.split_once(' '));
    let secret = secret.filter(|(scheme, _)| scheme.eq_ignore_ascii_case("bearer"));
    let known = secret.and_then(|(_, secret)| keys.key(secret.trim()));
    let unknown = || Kind::Unauthorized.with("The key is not known here.");
    known.map(Some).ok_or_else(|| Failure::challenged(unknown(), UNKNOWN))
}

/// The problem of a request that needs a key and has none.
pub(super) fn missing() -> Failure {
    let missing = Kind::Unauthorized.with("Send a key as `Authorization: Bearer …`.");
    Failure::challenged(missing, NO_KEY)
}

/// Holds a request to a key of the role.
///
/// * `site`: the site for which it must hold; any will do for what is of no site.
/// * Errors: no key, one without the right, or one for other sites.
pub(super) fn keyed(
    state: &State,
    request: &HttpRequest,
    role: Role,
    site: Option<&str>,
) -> Result<(), Failure> {
    let keys = state.keys();
    if keys.is_empty() {
        let detail = "The service takes no keys. Start it with `--keys FILE`.";
        return Err(Kind::Forbidden.with(detail).into());
    }
    let Some(key) = key(&keys, request.headers())? else { return Err(missing()) };
    if key.role < role {
        let detail = format!(
            "The key `{}` is of role `{}`; this needs `{}`.",
            key.id,
            key.role.as_str(),
            role.as_str()
        );
        return Err(Failure::challenged(Kind::Forbidden.with(detail), NO_RIGHT));
    }
    if let Some(site) = site.filter(|site| !key.holds_at(site)) {
        let detail = format!("The key `{}` does not hold at the site `{site}`.", key.id);
        return Err(Failure::challenged(Kind::Forbidden.with(detail), NO_RIGHT));
    }
    Ok(())
}

/// Whether the sender may override at the site.
///
/// * Errors: a key that the service does not know.
pub(super) fn may_override(
    state: &State,
    request: &HttpRequest,
    site: &str,
) -> Result<bool, Failure> {
    let keys = state.keys();
    let key = key(&keys, request.headers())?;
    Ok(key.is_some_and(|key| key.role >= Role::Trainer && key.holds_at(site)))
}
