//! From a build to what its card says.

use super::{
    figures::{allowed, figures},
    section::section,
};
use crate::{
    book::Bar,
    engine::{
        Build,
        phrase::{Gap, Phrase},
    },
    label::card::{Asked, Card, Headings},
    units::Volume,
    wire::{AllergenWording, BookStamp, BuildView, StepView, build_view},
    words::{self, Catalogue},
};

/// A build's words: its catalogue, with what a card says again and again.
pub(super) struct Say<'a> {
    pub(super) catalogue: &'a Catalogue,
}

impl Say<'_> {
    /// A sentence without gaps.
    pub(super) fn plain(&self, phrase: Phrase) -> String {
        words::gaps(self.catalogue, phrase, &[])
    }

    /// A sentence with its gaps filled.
    pub(super) fn told(&self, phrase: Phrase, gaps: &[(&'static str, Gap<'_>)]) -> String {
        words::gaps(self.catalogue, phrase, gaps)
    }

    /// A number with its unit.
    ///
    /// * `thousandths`: of the unit; shown with one place under twenty, where a scale shows it too.
    pub(super) fn number(&self, unit: Phrase, thousandths: i64) -> String {
        let places = u32::from(thousandths < 20_000);
        self.told(unit, &[("n", Gap::Number(thousandths, places))])
    }

    /// Millilitres.
    pub(super) fn ml(&self, volume: Volume) -> String {
        self.told(Phrase::CardMillilitres, &[("n", Gap::Number(volume.ul(), places(volume.ul())))])
    }
}

/// Decimal places of an amount: who reads 36.4 mL pours 36.
pub(super) const fn places(thousandths: i64) -> u32 {
    if thousandths < 10_000 { 1 } else { 0 }
}

/// Numbered lines of a card, if they can be had without losing one.
const STEPS: usize = 8;

/// The card of a build.
///
/// * `effective`: the day from which it is in force, as it is printed.
pub fn card_of(
    bar: &Bar,
    build: &Build<'_>,
    catalogue: &Catalogue,
    effective: Option<&str>,
) -> Card {
    let say = Say { catalogue };
    let view = build_view(bar, build, catalogue);
    let AllergenWording { contains, may_contain, shared_equipment } =
        view.allergens.wording.clone();
    let caution = |scalds: bool| {
        let all = build.cautions(bar).into_iter();
        let all = all.filter(|one| one.when.hotter_than_c.is_some() == scalds);
        all.map(|one| one.text.in_lang(&catalogue.lang).to_owned()).collect()
    };
    let mut may_contain: Vec<String> = may_contain.into_iter().chain(shared_equipment).collect();
    if contains.is_none() && may_contain.is_empty() {
        may_contain.push(say.plain(Phrase::CardNoRecord));
    }
    Card {
        lang: catalogue.lang.to_string(),
        asked: Asked::default(),
        title: view.name.to_owned(),
        cup: cup(bar, build, catalogue),
        changes: view.changes.clone(),
        section: section(bar, build, &say),
        figures: figures(bar, build, &say),
        stirred: is_stirred(build).then(|| say.plain(Phrase::CardStays)),
        allows: allowed(build, &say),
        steps: lines(&view.steps),
        contains: contains.into_iter().collect(),
        may_contain,
        scalds: caution(true),
        cautions: caution(false),
        stamps: stamps(bar, &view, &say, effective),
        headings: Headings {
            section: say.plain(Phrase::CardScale),
            figures: say.plain(Phrase::CardFigures),
            steps: say.plain(Phrase::CardSteps),
            allergens: say.plain(Phrase::CardAllergens),
            cautions: say.plain(Phrase::CardCautions),
        },
    }
}

/// The cup, the way of serving and the size.
fn cup(bar: &Bar, build: &Build<'_>, catalogue: &Catalogue) -> String {
    let order = &build.order;
    let lang = &catalogue.lang;
    let service = bar.book.services.iter().find(|row| row.id == order.service);
    let names = [
        Some(&order.vessel.vessel.names),
        service.map(|row| &row.names),
        bar.size(order.size).map(|size| &size.names),
    ];
    let names: Vec<&str> = names.into_iter().flatten().map(|names| names.in_lang(lang)).collect();
    names.join(" · ")
}

/// Whether a step stirs something: what it is stirred into has no layers then.
fn is_stirred(build: &Build<'_>) -> bool {
    build.steps.iter().any(|step| {
        matches!(
            step.phrase,
            Phrase::InCoffeeMeasure
                | Phrase::InCoffeeWeigh
                | Phrase::Stir
                | Phrase::StirThrough
                | Phrase::StirWithMilk
        )
    })
}

/// The steps as numbered lines: where there are too many, neighbours at one station share a line,
/// the shortest first. None is left out.
fn lines(steps: &[StepView]) -> Vec<String> {
    let mut lines: Vec<(&str, String)> =
        steps.iter().map(|step| (step.station, step.text.clone())).collect();
    while lines.len() > STEPS {
        let pairs = lines.windows(2).enumerate().filter_map(|(at, pair)| match pair {
            [(one, text), (other, more)] if one == other => Some((text.len() + more.len(), at)),
            _ => None,
        });
        let Some((_, at)) = pairs.min() else { break };
        let (_, more) = lines.remove(at + 1);
        if let Some((_, text)) = lines.get_mut(at) {
            text.push(' ');
            text.push_str(&more);
        }
    }
    lines.into_iter().map(|(_, text)| text).collect()
}

/// Hexadecimal digits of a digest that are printed.
const SHORT: usize = 8;

/// What the card was worked from, and from when it holds.
fn stamps(bar: &Bar, view: &BuildView<'_>, say: &Say<'_>, effective: Option<&str>) -> Vec<String> {
    let BookStamp { id, version, digest } = BookStamp::of(bar);
    let digest = digest.rsplit(':').next().unwrap_or_default();
    let short = digest.get(..SHORT).unwrap_or(digest);
    let build = view.digest.rsplit(':').next().unwrap_or_default();
    let build = build.get(..SHORT).unwrap_or(build);
    let site = bar.site.names.in_lang(&say.catalogue.lang).to_owned();
    let mut stamps =
        vec![site, format!("{id} {version} ({short}), {} {build}", say.plain(Phrase::CardBuild))];
    if let Some(day) = effective {
        stamps.push(format!("{} {day}", say.plain(Phrase::CardEffective)));
    }
    stamps
}
