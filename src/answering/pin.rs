//! Which of the editions that are held a ticket is answered from.

use std::sync::Arc;

use super::respond::unknown_site;
use crate::{
    book::Bar,
    in_force::{Edition, Editions},
    wire::{Kind, Pin, Problem},
};

/// The newest edition that has the site and everything that the ticket is pinned to.
///
/// * Errors: no edition has the site, or something that it is pinned to is not held; then what is.
pub(super) fn pinned<'e>(
    editions: &'e Editions,
    site: &str,
    pin: Option<&Pin>,
) -> Result<(&'e Edition, &'e Arc<Bar>), Problem> {
    let now = editions.now();
    let Some(pin) = pin else {
        let bar = now.held.bar(site).ok_or_else(|| unknown_site(&now.held, site))?;
        return Ok((now, bar));
    };
    let there: Vec<(&Edition, &Arc<Bar>)> =
        editions.all().filter_map(|edition| Some((&**edition, edition.held.bar(site)?))).collect();
    if there.is_empty() {
        return Err(unknown_site(&now.held, site));
    }
    let of_book = |(edition, _): &(&Edition, &Arc<Bar>), wanted: &str| {
        edition.held.digest().to_string() == wanted || edition.held.book().version == wanted
    };
    let left = narrowed(there, "book", pin.book.as_deref(), of_book, |(edition, _)| {
        edition.held.digest().to_string()
    })?;
    let overlay = |(_, bar): &(&Edition, &Arc<Bar>)| {
        bar.overlay_digest.map_or_else(|| "none".to_owned(), |digest| digest.to_string())
    };
    let of_overlay = |one: &_, wanted: &str| overlay(one) == wanted;
    let left = narrowed(left, "overlay", pin.overlay.as_deref(), of_overlay, overlay)?;
    let sheet = |(_, bar): &(&Edition, &Arc<Bar>)| bar.site_digest.to_string();
    let of_sheet = |one: &_, wanted: &str| sheet(one) == wanted;
    let left = narrowed(left, "site sheet", pin.site.as_deref(), of_sheet, sheet)?;
    left.first().copied().ok_or_else(|| unknown_site(&now.held, site))
}

/// Those of `all` that are what is wanted.
///
/// * Errors: none is; the problem names every digest that is held.
fn narrowed<T>(
    all: Vec<T>,
    what: &str,
    wanted: Option<&str>,
    fits: impl Fn(&T, &str) -> bool,
    digest: impl Fn(&T) -> String,
) -> Result<Vec<T>, Problem> {
    let Some(wanted) = wanted else { return Ok(all) };
    if !all.iter().any(|one| fits(one, wanted)) {
        let mut held: Vec<String> = Vec::new();
        for one in all.iter().map(digest) {
            if !held.contains(&one) {
                held.push(one);
            }
        }
        let detail = format!("The ticket is pinned to {what} {wanted}, which is not held.");
        return Err(Kind::NotHeld.with(detail).holding(held));
    }
    Ok(all.into_iter().filter(|one| fits(one, wanted)).collect())
}
