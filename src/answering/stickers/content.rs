//! What is said on the stickers of one cup.

use jiff::fmt::temporal::Pieces;

use crate::{
    book::Bar,
    engine::{
        Build, Line,
        phrase::{Gap, Phrase},
    },
    label::{
        cleaned, isolated,
        sticker::{Content, Sentence},
    },
    wire::{AllergenWording, OrderInfo, allergens_view},
    words::{self, Catalogue},
};

/// A cup of a ticket.
#[derive(Clone, Copy)]
pub(super) struct Cup<'a> {
    pub(super) bar: &'a Bar,
    pub(super) catalogue: &'a Catalogue,
    pub(super) info: Option<&'a OrderInfo>,
    pub(super) line: &'a Line,
    /// Which of the ticket's cups, from 1, and how many there are.
    pub(super) place: (usize, usize),
    /// Whether its sticker was printed before.
    pub(super) reprint: bool,
}

/// What is said, and the characters of it that the font lacks.
pub(super) struct Said {
    pub(super) content: Content,
    pub(super) boxed: Vec<char>,
}

/// What the stickers of a cup say; the code is still to come.
pub(super) fn said(cup: Cup<'_>, build: &Build<'_>) -> Said {
    let Cup { bar, catalogue, info, line, place, reprint } = cup;
    let lang = &catalogue.lang;
    let say = |phrase| words::gaps(catalogue, phrase, &[]);
    let mut boxed = Vec::new();
    let mut clean = |text: &str| {
        let clean = cleaned(text);
        boxed.extend(clean.boxed);
        isolated(clean.text)
    };
    let order = &build.order;
    let short = order.asked.short_names.as_ref().map(|names| names.in_lang(lang));
    let mut drink = vec![order.asked.names.in_lang(lang).to_owned()];
    drink.extend(short.map(str::to_owned).filter(|short| !drink.contains(short)));
    let stamps =
        [(reprint, Phrase::StickerReprint), (!order.waived.is_empty(), Phrase::StickerOverride)];
    let stamps = stamps.into_iter().filter(|(is_so, _)| *is_so);
    let note =
        line.note.as_deref().map(|note| format!("{}: {}", say(Phrase::LabelNote), clean(note)));
    let content = Content {
        allergy: allergy(bar, catalogue, line),
        see_allergy: (!line.allergies.is_empty())
            .then(|| format!("{}: {} 1", say(Phrase::LabelAllergy), say(Phrase::StickerPart))),
        procedure: procedure(bar, catalogue, line, build),
        stamps: stamps.map(|(_, phrase)| say(phrase)).collect(),
        drink,
        cup: order.vessel.vessel.names.in_lang(lang).to_owned(),
        changes: build
            .changes
            .iter()
            .map(|change| words::sticker(catalogue, &change.sticker))
            .collect(),
        note,
        who: who(info, which(catalogue, place), &mut clean),
        which: Some(which(catalogue, place)),
        hot: build.is_hot(bar).then(|| say(Phrase::StickerHot)),
        allergens: sentences(bar, catalogue, build),
        part: say(Phrase::StickerPart),
        code: None,
        lang: lang.to_string(),
    };
    Said { content, boxed }
}

/// The declared allergies, in capitals.
fn allergy(bar: &Bar, catalogue: &Catalogue, line: &Line) -> Option<String> {
    let name = |id: &String| words::declared(bar, &catalogue.lang, id).to_uppercase();
    let names: Vec<String> = line.allergies.iter().map(name).collect();
    let label = words::gaps(catalogue, Phrase::LabelAllergy, &[]);
    (!names.is_empty()).then(|| format!("{label}: {}", names.join(", ")))
}

/// How the cup is made, by the site's route for what was declared.
fn procedure(bar: &Bar, catalogue: &Catalogue, line: &Line, build: &Build<'_>) -> Vec<String> {
    let mut all = Vec::new();
    for one in build.notices(bar, line) {
        let phrases = [
            (Phrase::NoticeAllergyClean, Phrase::StickerClean),
            (Phrase::NoticeAllergyDedicated, Phrase::StickerDedicated),
        ];
        let found = phrases.into_iter().find(|(notice, _)| *notice == one.phrase);
        let Some((_, phrase)) = found else { continue };
        let said = words::gaps(catalogue, phrase, &one.gaps);
        // Two allergies may be met on the same equipment.
        if !all.contains(&said) {
            all.push(said);
        }
    }
    all
}

/// The three answers about allergens. What is declared is refused where it is in the cup or in a pack;
/// where it is on shared equipment, that sentence stands out.
fn sentences(bar: &Bar, catalogue: &Catalogue, build: &Build<'_>) -> Vec<Sentence> {
    let AllergenWording { contains, may_contain, shared_equipment } =
        allergens_view(bar, &build.allergens, catalogue).wording;
    let is_met = build.declared.iter().any(|one| !one.equipment.is_empty());
    let all = [(contains, false), (may_contain, false), (shared_equipment, is_met)];
    let one =
        |(text, stressed): (Option<String>, bool)| text.map(|text| Sentence { text, stressed });
    all.into_iter().filter_map(one).collect()
}

/// Which of how many cups.
fn which(catalogue: &Catalogue, (n, of): (usize, usize)) -> String {
    let number = |n: usize| Gap::Number(i64::try_from(n).unwrap_or_default() * 1_000, 0);
    words::gaps(catalogue, Phrase::StickerCup, &[("n", number(n)), ("m", number(of))])
}

/// Name, reference, which of how many cups, and the time as the caller gives it.
fn who(
    info: Option<&OrderInfo>,
    which: String,
    clean: &mut impl FnMut(&str) -> String,
) -> Vec<String> {
    let name = info.and_then(|info| info.name.as_deref()).map(&mut *clean);
    let reference = info.and_then(|info| info.r#ref.as_deref()).map(&mut *clean);
    let time = info.and_then(|info| info.at.as_deref()).and_then(time_of_day);
    let parts = name.into_iter().chain(reference).chain([which]).chain(time);
    parts.filter(|part| !part.is_empty()).collect()
}

/// Hours and minutes of a time as its sender's clock has them, whatever the place's.
fn time_of_day(at: &str) -> Option<String> {
    let time = Pieces::parse(at).ok()?.time()?;
    Some(format!("{:02}:{:02}", time.hour(), time.minute()))
}
