//! What whoever makes a cup must know of the order that it is of.

use crate::{
    book::Bar,
    engine::{Build, Line, derive::Noticed, objection::Notice, phrase::Phrase},
    label::{card::Asked, cleaned},
    words::{self, Catalogue},
};

/// What a line of a ticket says to whoever makes it, beside its build.
pub(super) fn asked(
    bar: &Bar,
    catalogue: &Catalogue,
    line: &Line,
    build: &Build<'_>,
    notices: &[Noticed<'_>],
) -> Asked {
    let say = |phrase| words::gaps(catalogue, phrase, &[]);
    let waived = &build.order.waived;
    let name = |id: &String| words::declared(bar, &catalogue.lang, id).to_uppercase();
    let names: Vec<String> = line.allergies.iter().map(name).collect();
    let allergy = format!("{}: {}", say(Phrase::LabelAllergy), names.join(", "));
    // The note itself says that nobody has checked it.
    let cautions = notices.iter().filter(|one| one.notice != Notice::NoteNotChecked);
    let cautions = cautions.filter(|one| one.notice.severity() == "caution");
    let cautions = cautions.map(|one| words::gaps(catalogue, one.phrase, &one.gaps));
    let waived_texts = waived.iter().map(|one| words::objection(catalogue, one));
    let note = line.note.as_deref().map(|note| cleaned(note).text);
    Asked {
        stamps: (!waived.is_empty()).then(|| say(Phrase::StickerOverride)).into_iter().collect(),
        allergy: (!names.is_empty()).then_some(allergy),
        notices: waived_texts.chain(cautions).collect(),
        note: note.map(|note| format!("{}: {note}", say(Phrase::LabelNote))),
    }
}
