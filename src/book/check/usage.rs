//! A site's record of what it uses beside its cups, read beside the book.

use super::Notes;
use crate::{
    book::types::Usage,
    json::child,
    units::{Days, Share},
};

/// * `here`: where the record stands.
pub(super) fn check(notes: &mut Notes<'_>, usage: &Usage, here: &str) {
    let whole = Share::from_share(1.0);
    for (id, share) in &usage.waste {
        let place = child(&child(here, "waste"), id);
        notes.refer(&place, id, |n| &n.ingredients);
        if *share >= whole {
            notes.note(&place, share, "under 1, since some of it reaches a cup");
        }
    }
    for (id, days) in &usage.shelf_life_days {
        let place = child(&child(here, "shelf_life_days"), id);
        notes.refer(&place, id, |n| &n.ingredients);
        if *days == Days::ZERO {
            notes.note(&place, days, "more than none, or no shelf life at all");
        }
    }
}
