//! Modifiers that cannot stand together.

use super::collect::Held;
use crate::{
    book::{Exclusion, Modifier},
    engine::objection::{Code, Fix, Objection},
};

/// Complains once about each pair of held modifiers of which one excludes the other.
pub(super) fn check(held: &[Held<'_>], objections: &mut Vec<Objection>) {
    for (at, one) in held.iter().enumerate() {
        for other in &held[at + 1..] {
            let reason = excluded(one, other).or_else(|| excluded(other, one));
            let Some(exclusion) = reason else { continue };
            let (first, second) = (one.modifier, other.modifier);
            let mut objection = Objection::refuse(Code::ModifiersConflict)
                .about(first.id())
                .involving(second.id())
                .at(other.given)
                .name("first", first.names())
                .name("second", second.names())
                .fixes([first, second].map(Modifier::id).map(|id| Fix::Drop(id.clone())));
            objection.words = Some(exclusion.because.clone());
            objections.push(objection);
        }
    }
}

/// The exclusion by which `one` does not stand beside `other`.
fn excluded<'b>(one: &Held<'b>, other: &Held<'_>) -> Option<&'b Exclusion> {
    let of_value = one.holding.value().map_or(&[][..], |value| &value.excludes);
    one.modifier.excludes().iter().chain(of_value).find(|exclusion| {
        let value = other.holding.value().map(|value| &value.id).or(other.holding.cup());
        exclusion.id == **other.modifier.id()
            && exclusion.value.as_ref().is_none_or(|wanted| Some(wanted) == value)
    })
}
