//! Keys of requests: `Authorization: Bearer …` (RFC 6750).

use actix_web::{HttpRequest, http::header};

use super::serve::State;
use crate::{
    keys::{Key, Role},
    wire::{Kind, Problem},
};

/// The key of a request, if it has one; a service without keys takes no notice of any.
///
/// * Errors: a key that the service does not know.
pub(super) fn key<'s>(state: &'s State, request: &HttpRequest) -> Result<Option<&'s Key>, Problem> {
    let Some(given) = request.headers().get(header::AUTHORIZATION) else { return Ok(None) };
    if state.keys.is_empty() {
        return Ok(None);
    }
    let secret = given.to_str().ok().and_then(|text| text.split_once(' '));
    let secret = secret.filter(|(scheme, _)| scheme.eq_ignore_ascii_case("bearer"));
    let known = secret.and_then(|(_, secret)| state.keys.key(secret.trim()));
    known.map(Some).ok_or_else(|| Kind::Unauthorized.with("The key is not known here."))
}

/// The key of a request that needs one.
///
/// * Errors: no key, one without the right, or one for other sites.
pub(super) fn keyed<'s>(
    state: &'s State,
    request: &HttpRequest,
    role: Role,
    site: &str,
) -> Result<&'s Key, Problem> {
    if state.keys.is_empty() {
        return Err(Kind::Forbidden.with("The service takes no keys. Start it with `--keys FILE`."));
    }
    let Some(key) = key(state, request)? else {
        return Err(Kind::Unauthorized.with("Send a key as `Authorization: Bearer …`."));
    };
    if key.role < role {
        let detail = format!(
            "The key `{}` is of role `{}`; this needs `{}`.",
            key.id,
            key.role.as_str(),
            role.as_str()
        );
        return Err(Kind::Forbidden.with(detail));
    }
    if !key.holds_at(site) {
        let detail = format!("The key `{}` does not hold at the site `{site}`.", key.id);
        return Err(Kind::Forbidden.with(detail));
    }
    Ok(key)
}

/// Whether the sender may override at the site.
///
/// * Errors: a key that the service does not know.
pub(super) fn may_override(
    state: &State,
    request: &HttpRequest,
    site: &str,
) -> Result<bool, Problem> {
    let key = key(state, request)?;
    Ok(key.is_some_and(|key| key.role >= Role::Trainer && key.holds_at(site)))
}
