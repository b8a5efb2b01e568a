//! The sheet of a site's till, checked and put into words.

use crate::{
    book::Bar,
    engine::{Moment, objection::Objection, phrase::Phrase},
    till::{Button, CheckedButton, Finding, TillMap, check},
    wire::{ButtonView, SiteStamp, TillMapView},
    words::{self, Catalogue},
};

/// What the sheet of a till comes to at its site, on any day: seasons and what has run out are not
/// the sheet's fault.
pub fn checked_till(bar: &Bar, map: &TillMap, catalogue: &Catalogue) -> TillMapView {
    let found = check(bar, map, &Moment::default());
    let buttons: Vec<ButtonView> =
        found.buttons.into_iter().map(|one| button(catalogue, one)).collect();
    let right = buttons.iter().all(|one| one.finding == "right");
    TillMapView {
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        complete: right && found.unreached.is_empty(),
        buttons,
        unreached: found.unreached,
    }
}

fn button(catalogue: &Catalogue, checked: CheckedButton) -> ButtonView {
    let say = |phrase| words::gaps(catalogue, phrase, &[]);
    let of = |one: &Objection| words::objection(catalogue, one);
    let (finding, text) = match &checked.finding {
        Finding::Right => ("right", String::new()),
        Finding::Nothing => ("nothing", say(Phrase::TillNothing)),
        Finding::Refused(Some(objection)) => ("refused", of(objection)),
        Finding::Refused(None) => ("refused", say(Phrase::TillNoDrink)),
        Finding::Twice(code) => ("twice", format!("{} {code}", say(Phrase::TillTwice))),
    };
    let Button { code, label, drink, modifiers } = checked.row;
    ButtonView { code, label, drink, modifiers, finding, text }
}
