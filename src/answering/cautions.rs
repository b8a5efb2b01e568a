//! The cautions of a site.

use super::respond::unknown_lang;
use crate::{
    book::Bar,
    in_force::InForce,
    wire::{CautionsList, Problem},
};

/// The cautions of the site's region.
///
/// * Errors: a language that the book lacks.
pub fn cautions<'a>(
    held: &'a InForce,
    bar: &'a Bar,
    lang: Option<&str>,
) -> Result<CautionsList<'a>, Problem> {
    let catalogue = held.catalogue(bar, lang).map_err(|known| unknown_lang(&known, "lang"))?;
    Ok(CautionsList::of(bar, catalogue))
}
