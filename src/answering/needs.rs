//! What a sales mix takes: reading the mix, and its answer in words.

use std::{collections::HashSet, sync::LazyLock};

use super::{
    body::BodyOf,
    respond::{Sent, unknown_lang, unknown_site},
};
use crate::{
    book::Bar,
    engine::phrase::{Gap, Phrase},
    in_force::{InForce, moment},
    json::{Complaint, SchemaCheck},
    needs::{
        BeanNeed, ClassNeed, Forecast, IngredientNeed, MilkNeed, Needs, Par, Pulls, Sale,
        VesselNeed, needs,
    },
    units::{Mass, Volume},
    wire::{
        BookStamp, Kind, NeedsAnswer, NeedsBean, NeedsClass, NeedsIngredient, NeedsLineView,
        NeedsMilk, NeedsPar, NeedsPulls, NeedsRequest, NeedsVessel, Problem, SiteStamp,
        Thousandths,
    },
    words::{self, Catalogue},
};

static SCHEMA: LazyLock<SchemaCheck> = LazyLock::new(|| SchemaCheck::of::<NeedsRequest>(false));

/// Reads a sales mix.
///
/// * Errors: a problem for a body that is not UTF-8 JSON, is over the limits, or does not follow
///   the contract, with each fault.
pub fn read_needs(body: &[u8]) -> Result<NeedsRequest, Problem> {
    let mix =
        BodyOf { what: "mix", schema: &SCHEMA, beyond: beyond_the_schema, besides: |_| Vec::new() };
    mix.read(body)
}

/// What a schema cannot say: line ids that differ, modifiers in one form, a time that is one, and
/// cups on a day for each line or for none.
fn beyond_the_schema(mix: &NeedsRequest) -> Vec<Complaint> {
    let mut complaints = Vec::new();
    let mut seen = HashSet::new();
    for (at, line) in mix.lines.iter().enumerate() {
        let here = format!("/lines/{at}");
        if !seen.insert(&line.line) {
            let found = format!("the line id `{}` a second time", line.line);
            complaints.push(Complaint::at(format!("{here}/line"), found, "each line id once"));
        }
        for (n, modifier) in line.modifiers.iter().enumerate() {
            if modifier.value.is_some() && modifier.count.is_some() {
                let here = format!("{here}/modifiers/{n}");
                let expected = "`value` for a slot, `count` for a counter, neither for a flag";
                complaints.push(Complaint::at(here, "both `value` and `count`", expected));
            }
        }
        match (mix.forecast.is_some(), line.per_day.is_some()) {
            (true, false) => {
                let expected = "`per_day` on each line, since there is a `forecast`";
                complaints.push(Complaint::at(here, "no `per_day`", expected));
            }
            (false, true) => {
                let expected = "no `per_day`, or a `forecast` beside the lines";
                complaints.push(Complaint::at(format!("{here}/per_day"), "it alone", expected));
            }
            (true, true) | (false, false) => {}
        }
    }
    if let Some(text) = mix.at.as_deref().filter(|text| text.parse::<jiff::Timestamp>().is_err()) {
        let expected = "a time such as \"2026-11-25T14:05:00+01:00\" (RFC 3339)";
        complaints.push(Complaint::at("/at", format!("`{text}`"), expected));
    }
    complaints
}

/// What a sales mix takes, as JSON. What has run out for the day is not looked at.
///
/// * Errors: an unknown site, a language that the book lacks.
pub fn needs_of(held: &InForce, mix: NeedsRequest, sent: &Sent) -> Result<Vec<u8>, Problem> {
    let NeedsRequest { site, lang, period, days, at, forecast, lines } = mix;
    let bar = held.bar(&site).ok_or_else(|| unknown_site(held, &site))?;
    let found = held.catalogue(bar, lang.as_deref());
    let catalogue = found.map_err(|known| unknown_lang(&known, "/lang"))?;
    let moment =
        moment(bar, &[], at.as_deref(), sent.now).map_err(|fault| Kind::Internal.with(fault))?;
    let sales: Vec<Sale> = lines.into_iter().map(Sale::from).collect();
    let found = needs(bar, &sales, &moment, days, forecast.map(Forecast::from));
    let told = Told { bar, catalogue };
    let view = NeedsAnswer {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        lang: catalogue.lang.to_string(),
        period,
        days,
        cups: found.cups,
        notes: told.notes(&found),
        lines: told.lines(&sales, &found),
        coffee: found.coffee.iter().map(|one| told.class(one)).collect(),
        beans: found.beans.iter().map(|one| told.bean(one)).collect(),
        milk: found.milk.iter().map(|one| told.milk(one)).collect(),
        ingredients: found.ingredients.iter().map(|one| told.ingredient(one)).collect(),
        vessels: found.vessels.iter().map(|one| told.vessel(one)).collect(),
        water_ml: ml(found.water),
        ice_g: g(found.ice),
    };
    serde_json::to_vec(&view).map_err(|fault| Kind::Internal.with(fault))
}

const fn g(mass: Mass) -> Thousandths {
    Thousandths(mass.mg())
}

const fn ml(volume: Volume) -> Thousandths {
    Thousandths(volume.ul())
}

/// What needs are told with.
struct Told<'a> {
    bar: &'a Bar,
    catalogue: &'a Catalogue,
}

impl<'a> Told<'a> {
    fn notes(&self, found: &Needs<'_>) -> Vec<String> {
        let mut notes = Vec::new();
        let mut say = |phrase, gaps: &[(&'static str, Gap<'_>)]| {
            notes.push(words::gaps(self.catalogue, phrase, gaps));
        };
        let left_out = found.not_counted.iter().flatten().count();
        if left_out > 0 {
            let n = i64::try_from(left_out).unwrap_or(i64::MAX / 1_000);
            say(Phrase::NeedsLeftOut, &[("n", Gap::Number(n * 1_000, 0))]);
        }
        if found.milk.iter().any(|milk| milk.steamed > 0) {
            say(Phrase::NeedsMilk, &[]);
        }
        if self.bar.site.usage.is_none() {
            say(Phrase::NeedsUsage, &[]);
        }
        notes
    }

    fn lines(&self, sales: &[Sale], found: &Needs<'_>) -> Vec<NeedsLineView<'a>> {
        let all = sales.iter().zip(&found.not_counted);
        all.map(|(sale, why)| NeedsLineView {
            line: sale.line.id.clone(),
            drink: sale.line.drink.clone(),
            name: self
                .bar
                .drink(&sale.line.drink)
                .map(|drink| drink.names.in_lang(&self.catalogue.lang)),
            count: sale.count,
            counted: why.is_none(),
            code: why.as_ref().map(|why| why.code.as_str()),
            text: why.as_ref().map(|why| words::objection(self.catalogue, why)),
        })
        .collect()
    }

    fn class(&self, one: &ClassNeed<'a>) -> NeedsClass<'a> {
        NeedsClass {
            bean: &one.bean.id,
            name: one.bean.names.in_lang(&self.catalogue.lang),
            decaf: one.bean.decaf,
            extraction: one.extraction,
            pull: one.pull,
            halves: one.halves,
            in_cups_g: g(one.in_cups),
            paired: pulls(one.paired),
            alone: pulls(one.alone),
        }
    }

    fn bean(&self, one: &BeanNeed<'a>) -> NeedsBean<'a> {
        NeedsBean {
            bean: &one.bean.id,
            name: one.bean.names.in_lang(&self.catalogue.lang),
            ingredient: &one.bean.ingredient,
            dry_paired_g: g(one.paired),
            dry_alone_g: g(one.alone),
            purge_paired_g: g(one.purge),
            purge_alone_g: g(one.purge_alone),
            dial_in_g: g(one.dial_in),
            used_paired_g: g(one.used()),
            used_alone_g: g(one.used_alone()),
        }
    }

    fn milk(&self, one: &MilkNeed<'a>) -> NeedsMilk<'a> {
        NeedsMilk {
            ingredient: &one.ingredient.id,
            name: one.ingredient.names.in_lang(&self.catalogue.lang),
            cups: one.cups,
            steamed: one.steamed,
            cold_ml: ml(one.cold),
            film_g: g(one.film),
            left_over_ml: ml(one.left_over),
            poured_ml: ml(one.cold + one.left_over),
            poured_g: g(one.poured),
        }
    }

    fn ingredient(&self, one: &IngredientNeed<'a>) -> NeedsIngredient<'a> {
        NeedsIngredient {
            ingredient: &one.ingredient.id,
            name: one.ingredient.names.in_lang(&self.catalogue.lang),
            kind: one.ingredient.kind.as_str(),
            in_cups_g: g(one.in_cups),
            in_cups_ml: one.in_cups_ml.map(ml),
            used_g: g(one.used),
            used_ml: one.used_ml.map(ml),
            waste_share: one.waste.map(|share| Thousandths(share.thousandths())),
            bought_g: g(one.bought),
            bought_ml: one.bought_ml.map(ml),
            par: one.par.map(|par| par_view(par, one.par_ml)),
        }
    }

    fn vessel(&self, one: &VesselNeed<'a>) -> NeedsVessel<'a> {
        NeedsVessel {
            vessel: &one.vessel.id,
            name: one.vessel.names.in_lang(&self.catalogue.lang),
            service: one.service,
            cups: one.cups,
            lids: one.lids,
        }
    }
}

fn par_view(par: Par, level_ml: Option<Volume>) -> NeedsPar {
    NeedsPar {
        level_g: g(par.level),
        level_ml: level_ml.map(ml),
        mean_g_per_day: g(par.mean_per_day),
        standard_deviation_g_per_day: g(par.deviation_per_day),
        capped_by_shelf_life: par.capped,
    }
}

const fn pulls(one: Pulls) -> NeedsPulls {
    let Pulls { doubles, singles, spare_halves, dry } = one;
    NeedsPulls { doubles, singles, spare_halves, dry_g: g(dry) }
}
