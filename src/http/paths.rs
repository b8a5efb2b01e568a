//! The paths of the contract: which one a request goes to, and what it takes.

use std::{collections::HashMap, sync::LazyLock};

use actix_web::http::Method;
use serde_json::Value;

use super::{coded::BUILDS, openapi::document};

/// A path of the contract.
struct Route {
    template: String,
    /// Its methods, as `Allow` lists them.
    allow: String,
    /// Whether its `POST` takes a body.
    takes_body: bool,
}

/// The paths of the contract, from the document itself.
static ROUTES: LazyLock<Vec<Route>> = LazyLock::new(|| {
    let document = serde_json::to_value(document()).unwrap_or_default();
    let paths = document["paths"].as_object().cloned().unwrap_or_default();
    let route = |(template, item): (String, Value)| {
        let names = item.as_object().into_iter().flat_map(|item| item.keys());
        let mut names: Vec<String> = names.map(|name| name.to_uppercase()).collect();
        if names.iter().any(|name| name == "GET") {
            names.push("HEAD".to_owned());
        }
        names.push("OPTIONS".to_owned());
        let takes_body = item["post"]["requestBody"].is_object();
        Route { template, allow: names.join(", "), takes_body }
    };
    paths.into_iter().map(route).collect()
});

/// The paths without a part that varies, which are found at once.
static PLAIN: LazyLock<HashMap<&'static str, &'static Route>> = LazyLock::new(|| {
    let plain = ROUTES.iter().filter(|route| !route.template.contains('{'));
    plain.map(|route| (&*route.template, route)).collect()
});

/// Where the pages of the contract are, which the document itself does not list.
const PAGES: &str = "/docs/";

fn found(path: &str) -> Option<&'static Route> {
    let plain = PLAIN.get(path).copied();
    plain.or_else(|| ROUTES.iter().find(|route| matches(&route.template, path)))
}

/// The path of the contract to which a request goes, as metrics and logs name it.
pub(super) fn route_of(path: &str) -> &'static str {
    match found(path) {
        Some(route) => &route.template,
        None if path == "/docs" || path.starts_with(PAGES) => PAGES,
        None => "other",
    }
}

/// The path of a build's token as the contract has it, where `path` is that in other letters: the
/// codes on cups are in capitals, which take less room.
pub(super) fn in_small_letters(path: &str) -> Option<String> {
    let prefix = BUILDS.split('{').next()?;
    let given = path.get(..prefix.len()).filter(|given| *given != prefix)?;
    given.eq_ignore_ascii_case(prefix).then(|| format!("{prefix}{}", &path[prefix.len()..]))
}

/// Whether a request to the route brings a body.
pub(super) fn takes_body(route: &str, method: &Method) -> bool {
    *method == Method::POST && found(route).is_some_and(|one| one.takes_body)
}

/// The methods that a path takes, as `Allow` lists them; none if nothing is there.
pub(super) fn allowed_at(path: &str) -> Option<&'static str> {
    match found(path) {
        Some(route) => Some(&route.allow),
        None => (route_of(path) == PAGES).then_some("GET, HEAD, OPTIONS"),
    }
}

fn matches(template: &str, path: &str) -> bool {
    let (mut wanted, mut given) = (template.split('/'), path.split('/'));
    loop {
        match (wanted.next(), given.next()) {
            (None, None) => return true,
            (Some(want), Some(have))
                if want == have || (want.starts_with('{') && !have.is_empty()) => {}
            _ => return false,
        }
    }
}
