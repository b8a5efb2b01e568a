//! Build cards: everything that a build says is on its card, nothing covers anything or is cut off,
//! and the section is to scale.

use std::{collections::BTreeSet, sync::LazyLock};

use cupwright::{
    answering::{CardSetWish, card_of, card_set},
    book::{Bar, Part},
    engine::{
        Build, Given, Line, Moment, What, build_line,
        solve::{LayerOf, Milk},
    },
    in_force::InForce,
    label::{
        Fault, Mark, Paint, Sheet, Text,
        card::{Card, Cone, Drawn, Hatch, Paper, SectionDrawn, chart, drawn, stacked},
    },
    units::{Length, Volume},
    wire::{AllergenWording, build_view},
    words,
};
use proptest::prelude::*;

use crate::support::{chance::cases, demo};

pub(crate) static DEMO: LazyLock<InForce> = LazyLock::new(demo);
const LANGS: [&str; 2] = ["en", "de"];

/// The builds of every cup of every drink that a site makes.
fn every_cup(bar: &Bar) -> Vec<Build<'_>> {
    let mut all = Vec::new();
    for drink in &bar.book.drinks {
        for (service, row) in &drink.cups {
            for (size, cup) in row {
                let capacity = bar.usual_capacity(*service, &cup.vessel);
                let line = Line::standard(&drink.id, service.as_str(), size, capacity);
                all.extend(build_line(bar, &line, &Moment::default()));
            }
        }
    }
    assert!(all.len() > 40, "{} has only {} cups", bar.site.id, all.len());
    all
}

/// The builds of the drinks as they come.
pub(crate) fn usual(bar: &Bar) -> Vec<Build<'_>> {
    let plain = |id: &str| Line { drink: id.to_owned(), quantity: 1, ..Line::default() };
    let lines = bar.book.drinks.iter().map(|drink| plain(&drink.id));
    let all: Vec<Build<'_>> =
        lines.filter_map(|line| build_line(bar, &line, &Moment::default()).ok()).collect();
    assert!(all.len() > 20);
    all
}

pub(crate) fn card(bar: &Bar, build: &Build<'_>, lang: &str) -> Card {
    card_of(bar, build, DEMO.catalogue(bar, Some(lang)).unwrap(), Some("2026-11-25"))
}

fn texts(sheet: &Sheet) -> Vec<&Text> {
    let marks = sheet.marks.iter();
    marks.filter_map(|mark| if let Mark::Text(text) = mark { Some(text) } else { None }).collect()
}

/// What stands on the sheets, each line after the one before.
pub(crate) fn printed(sheets: &[Sheet]) -> String {
    let lines = sheets.iter().flat_map(|sheet| texts(sheet).into_iter().map(|one| &*one.run.text));
    lines.collect::<Vec<_>>().join(" ")
}

/// Nothing leaves its sheet or comes near its edge, no two texts touch, and each can be read.
#[track_caller]
fn is_sound(about: &str, sheet: &Sheet) {
    const EDGE: i64 = 3_000;
    assert_eq!(sheet.leaving().next(), None, "{about}");
    let texts = texts(sheet);
    for (at, one) in texts.iter().enumerate() {
        let (left, top, right, bottom) = one.extent();
        let within = left >= EDGE && top >= EDGE && right <= sheet.width - EDGE;
        assert!(within && bottom <= sheet.height - EDGE, "{about}: {} is cut", one.run.text);
        // Source: Regulation (EU) No 1169/2011, Article 13(2): 1.2 mm.
        let x_height = one.run.face.x_height(one.em);
        assert!(x_height >= 1_195, "{about}: {} has an x of {x_height} µm", one.run.text);
        for other in &texts[at + 1..] {
            let (l, t, r, b) = other.extent();
            let apart = right <= l || r <= left || bottom <= t || b <= top;
            assert!(apart, "{about}: `{}` covers `{}`", one.run.text, other.run.text);
        }
    }
}

/// A rotational solid between two heights, from what was drawn: in millilitres of the cup.
fn volume(corners: &[(i64, i64); 4], drawn: &SectionDrawn) -> f64 {
    let mm = |um: i64| Length::from_um(um * drawn.ratio.cup / drawn.ratio.paper).mm();
    let [a, b, c, d] = *corners;
    let (upper, lower, height) = (mm(b.0 - a.0), mm(c.0 - d.0), mm(c.1 - b.1));
    std::f64::consts::PI / 12.0 * height * (upper * upper + upper * lower + lower * lower) / 1_000.0
}

#[track_caller]
fn is_to_scale(about: &str, build: &Build<'_>, card: &Card, drawn: &SectionDrawn) {
    let near = |what: &str, found: f64, wanted: f64| {
        let bound = (wanted * 0.02).max(0.15);
        assert!((found - wanted).abs() <= bound, "{about}, {what}: {found:.2} for {wanted:.2} mL");
    };
    assert_eq!(drawn.layers.len(), card.section.layers.len(), "{about}");
    let mut below = drawn.floor;
    for (layer, corners) in card.section.layers.iter().zip(&drawn.layers) {
        near(&layer.label.name, volume(corners, drawn), layer.volume.ml());
        assert_eq!(corners[2].1, below, "{about}: layers lie on each other");
        below = corners[0].1;
    }
    assert_eq!(below, drawn.fill_line, "{about}: the line is where the last layer ends");
    let all: f64 = drawn.layers.iter().map(|corners| volume(corners, drawn)).sum();
    near("all of it", all, build.solved.fill.ml());
    // The same from the vessel of the book, whose diameter at its own line turns depths into volumes.
    let vessel = build.order.vessel.vessel;
    let floor = vessel.diameter_at_floor_mm.unwrap_or(vessel.diameter_at_fill_mm);
    let cone = Cone::new(floor, vessel.diameter_at_fill_mm, vessel.fill_ml, vessel.brim_ml);
    let height = (drawn.floor - drawn.fill_line) * drawn.ratio.cup / drawn.ratio.paper;
    near("at the line", cone.volume_to(height).ml(), build.solved.fill.ml());
    let at_line = cone.diameter_at(cone.height_of(vessel.fill_ml));
    assert!((at_line - vessel.diameter_at_fill_mm.um()).abs() <= 5, "{about}: {at_line} µm");
    // What is in each kind of layer is what the build says of it.
    let of = |wanted: fn(LayerOf<'_>) -> bool| -> f64 {
        let layers = build.solved.layers.iter().filter(|layer| wanted(layer.of));
        layers.map(|layer| layer.volume.ml()).sum()
    };
    let shown = |hatches: &[Hatch]| -> f64 {
        let layers = card.section.layers.iter().filter(|layer| hatches.contains(&layer.hatch));
        layers.map(|layer| layer.volume.ml()).sum()
    };
    let has_brew = build.order.parts().any(|part| matches!(part, Part::Brew(_)));
    if !has_brew {
        near("coffee", shown(&[Hatch::Coffee]), of(|of| of == LayerOf::Coffee));
    }
    near("ice", shown(&[Hatch::Ice]), of(|of| matches!(of, LayerOf::Ice(_))));
    let milk = of(|of| matches!(of, LayerOf::Milk | LayerOf::FoamGas));
    near("milk with its foam", shown(&[Hatch::Milk, Hatch::Foam]), milk);
    if let Some(Milk::Steamed(steamed)) = &build.solved.milk
        && shown(&[Hatch::Foam]) > 0.0
        && shown(&[Hatch::Milk]) > 0.0
    {
        // Depth times the area at the vessel's line: how the trade measures foam; common practice,
        // no source.
        let radius = vessel.diameter_at_fill_mm.mm() / 20.0;
        let area = std::f64::consts::PI * radius * radius;
        near("foam", shown(&[Hatch::Foam]), area * steamed.foam_depth.mm() / 10.0);
    }
}

/// Every word of the build that may not be missing.
#[track_caller]
fn is_complete(about: &str, bar: &Bar, build: &Build<'_>, lang: &str, card: &Card, text: &str) {
    let allergens = &build.allergens;
    let ids = allergens.ingredients.iter().chain(&allergens.may_contain);
    for id in ids.map(|id| &***id).chain(allergens.shared.iter().map(|one| &**one.allergen)) {
        let name = words::allergen(bar, lang, id);
        assert!(text.contains(&name), "{about} lacks the allergen {name}");
    }
    if let Some(milk) = &build.solved.milk {
        let name = milk.ingredient().names.in_lang(lang);
        assert!(text.contains(name), "{about} lacks the milk {name}");
    }
    assert!(card.steps.len() <= build.steps.len() && !card.steps.is_empty());
    let squeezed = |text: &str| text.split_whitespace().collect::<String>();
    let whole = squeezed(text);
    // What the service answers of this build, not what the card holds.
    let view = build_view(bar, build, DEMO.catalogue(bar, Some(lang)).unwrap());
    let AllergenWording { contains, may_contain, shared_equipment } = view.allergens.wording;
    let wording = [contains, may_contain, shared_equipment].into_iter().flatten();
    let steps = view.steps.into_iter().map(|step| step.text);
    let cautions = view.cautions.iter().map(|one| one.text.to_owned());
    for said in steps.chain(wording).chain(cautions).chain(view.changes) {
        assert!(whole.contains(&squeezed(&said)), "{about} lacks `{said}`");
    }
    if allergens.ingredients.is_empty()
        && allergens.may_contain.is_empty()
        && allergens.shared.is_empty()
    {
        let none = card.may_contain.first().unwrap();
        assert!(whole.contains(&squeezed(none)), "{about} lacks `{none}`");
    }
    for said in card.section.said() {
        // A figure and its name are two texts.
        for word in said.split_whitespace() {
            assert!(text.contains(word), "{about} lacks `{word}` of `{said}`");
        }
    }
    for row in &card.figures {
        for figure in &row.figures {
            assert!(text.contains(&figure.value), "{about} lacks {}", figure.value);
        }
    }
    for stamp in ["1.1.0", "2026-11-25", "sallowmere-standards"] {
        assert!(text.contains(stamp), "{about} lacks {stamp}");
    }
}

/// All properties of one card; its drawing.
#[track_caller]
fn is_right(bar: &Bar, build: &Build<'_>, lang: &str, paper: Paper) -> Drawn {
    let (drink, cup) = (&build.order.asked.id, build.order.service.as_str());
    let about =
        format!("{drink}, {cup}, {} at {} in {lang}, {paper:?}", build.order.size, bar.site.id);
    let card = card(bar, build, lang);
    let drawn = drawn(&card, paper).unwrap_or_else(|fault| panic!("{about}: {fault}"));
    assert!((1..=2).contains(&drawn.sheets.len()));
    for sheet in &drawn.sheets {
        assert_eq!((sheet.width, sheet.height), paper.size(), "{about}");
        is_sound(&about, sheet);
    }
    is_to_scale(&about, build, &card, &drawn.section);
    is_complete(&about, bar, build, lang, &card, &printed(&drawn.sheets));
    drawn
}

#[test]
fn the_card_of_every_drink_at_every_site_is_whole_and_to_scale() {
    for bar in DEMO.bars.values() {
        for lang in LANGS {
            for build in usual(bar) {
                is_right(bar, &build, lang, Paper::A6);
            }
        }
    }
}

#[test]
fn so_is_that_of_every_cup_and_on_larger_paper() {
    let bar = DEMO.training_bar().unwrap();
    for build in every_cup(bar) {
        is_right(bar, &build, "de", Paper::A6);
        is_right(bar, &build, "en", Paper::A4);
    }
}

#[test]
fn the_demos_drinks_have_one_page_and_eight_lines_at_most() {
    let bar = DEMO.training_bar().unwrap();
    for build in usual(bar) {
        let card = card(bar, &build, "en");
        let sheets = drawn(&card, Paper::A6).unwrap().sheets.len();
        assert!(sheets == 1 && card.steps.len() <= 8, "{}: {sheets}", card.title);
    }
}

/// Lines with modifiers that add layers, steps and words.
fn customised() -> impl Strategy<Value = Vec<Given>> {
    let value =
        |id: &str, value: &str| Given { id: id.to_owned(), what: What::Value(value.to_owned()) };
    let count = |id: &str, n: i32| Given { id: id.to_owned(), what: What::Count(n) };
    let flag = |id: &str| Given { id: id.to_owned(), what: What::Flag };
    let all = vec![
        value("milk", "oat-drink"),
        value("milk", "almond-drink"),
        value("beans", "half-caf"),
        value("beans", "decaf"),
        value("pull", "ristretto"),
        value("service", "takeaway"),
        value("size", "large"),
        value("foam", "more"),
        value("foam", "none"),
        value("temperature", "extra-hot"),
        value("form", "iced"),
        value("cream", "on"),
        value("cocoa", "on"),
        count("shots", 1),
        count("shots", 2),
        count("vanilla", 2),
        count("caramel", 1),
        count("honey", 1),
        count("sugar", 2),
        flag("milk-on-side"),
        flag("coffee-on-side"),
        flag("cinnamon"),
        flag("hot-cup"),
    ];
    prop::sample::subsequence(all, 0..=6)
}

proptest! {
    #![proptest_config(cases(150))]

    #[test]
    fn so_is_that_of_any_customised_line(
        drink in 0..54_usize,
        given in customised(),
        a4: bool,
        german: bool,
    ) {
        let bar = DEMO.training_bar().unwrap();
        let drink = bar.book.drinks[drink].id.to_string();
        let line = Line { drink, quantity: 1, modifiers: given, ..Line::default() };
        if let Ok(build) = build_line(bar, &line, &Moment::default()) {
            let paper = if a4 { Paper::A4 } else { Paper::A6 };
            is_right(bar, &build, if german { "de" } else { "en" }, paper);
        }
    }
}

#[test]
fn a_cup_that_is_not_measured_at_its_floor_has_upright_walls() {
    let ml = Volume::from_ml;
    let cone = Cone::new(Length::from_mm(60.0), Length::from_mm(60.0), ml(100.0), ml(110.0));
    assert_eq!([0, 20_000, 40_000].map(|height| cone.diameter_at(height)), [60_000; 3]);
}

/// Each kind of substance has a hatch of its own.
#[test]
fn no_two_hatches_look_alike() {
    let bar = DEMO.training_bar().unwrap();
    let mut seen = BTreeSet::new();
    let mut used = BTreeSet::new();
    for build in usual(bar) {
        used.extend(card(bar, &build, "en").section.layers.iter().map(|layer| layer.hatch));
    }
    assert!(used.len() >= 9, "the demo shows only {used:?}");
    let flat_white = usual(bar).into_iter().find(|one| *one.order.asked.id == *"flat-white");
    let mut plain = card(bar, &flat_white.unwrap(), "en");
    for hatch in used {
        plain.section.layers[0].hatch = hatch;
        let sheet = drawn(&plain, Paper::A6).unwrap().sheets.remove(0);
        let shapes: Vec<String> = sheet
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Shape(path, Paint::Stroke { .. } | Paint::Fill(_)) => {
                    Some(format!("{path:?}"))
                }
                Mark::Text(_) => None,
            })
            .collect();
        assert!(seen.insert(shapes), "{hatch:?} looks like another");
    }
}

#[test]
fn more_steps_than_fit_share_lines_or_go_to_a_second_page_and_none_is_lost() {
    let bar = DEMO.training_bar().unwrap();
    let build = usual(bar).into_iter().find(|one| *one.order.asked.id == *"mocha").unwrap();
    let mut long = card(bar, &build, "en");
    let step = long.steps[4].clone();
    long.steps = (0..14).map(|n| format!("{step} {n}")).collect();
    let made = drawn(&long, Paper::A6).unwrap();
    assert_eq!(made.sheets.len(), 2);
    made.sheets.iter().for_each(|sheet| is_sound("a long card", sheet));
    let squeezed = printed(&made.sheets).split_whitespace().collect::<String>();
    for step in &long.steps {
        assert!(squeezed.contains(&step.split_whitespace().collect::<String>()), "{step}");
    }
    // Allergens stand on each page: a page that lies alone must not lack them.
    for sheet in &made.sheets {
        assert!(printed(std::slice::from_ref(sheet)).contains("Ingredients contain: Milk"));
    }
    let both = stacked(&made.sheets).unwrap();
    assert_eq!(both.height, 2 * Paper::A6.size().1);
    is_sound("both pages", &both);
    // What has no room on two pages either is a fault, and nothing is drawn.
    long.steps = (0..90).map(|n| format!("{step} {n}")).collect();
    assert!(matches!(drawn(&long, Paper::A6), Err(Fault::NoRoom { .. })));
    long.steps = vec!["\u{4e00}".to_owned()];
    assert!(matches!(drawn(&long, Paper::A6), Err(Fault::NoGlyph { .. })));
}

#[test]
fn steps_of_one_station_share_a_line_where_there_are_too_many() {
    let bar = DEMO.bar("bookshop").unwrap();
    let value =
        |id: &str, value: &str| Given { id: id.to_owned(), what: What::Value(value.to_owned()) };
    let count = |id: &str| Given { id: id.to_owned(), what: What::Count(1) };
    let modifiers = vec![
        value("service", "takeaway"),
        count("vanilla"),
        count("hazelnut"),
        count("sugar"),
        Given { id: "cinnamon".to_owned(), what: What::Flag },
    ];
    let line = Line { drink: "mocha".to_owned(), quantity: 1, modifiers, ..Line::default() };
    let build = build_line(bar, &line, &Moment::default()).unwrap();
    assert!(build.steps.len() > 8, "{} steps", build.steps.len());
    let card = card(bar, &build, "en");
    assert_eq!(card.steps.len(), 8, "{:?}", card.steps);
    is_right(bar, &build, "en", Paper::A6);
}

/// Where ice melts or ice cream lies in hot coffee, what is worked out is where it would end.
#[test]
fn no_served_temperature_stands_on_a_card_with_something_frozen() {
    let bar = DEMO.training_bar().unwrap();
    for build in usual(bar) {
        let id = &*build.order.asked.id;
        let card = card(bar, &build, "en");
        let served = card.figures.iter().flat_map(|row| &row.figures);
        let is_told = served.into_iter().any(|one| one.name.starts_with("as served"));
        let frozen = ["affogato", "iced-latte", "iced-mocha"].contains(&id);
        assert!(!frozen || !is_told, "{id}");
        assert!(id != "flat-white" || is_told);
    }
}

/// A number beside a range in brackets reads as its tolerance.
#[test]
fn what_a_guest_may_ask_for_stands_apart_from_the_numbers_of_the_work() {
    let bar = DEMO.training_bar().unwrap();
    for build in usual(bar) {
        let card = card(bar, &build, "en");
        for figure in card.figures.iter().flat_map(|row| &row.figures) {
            assert!(!figure.name.contains('('), "{}: {figure:?}", card.title);
        }
        let Some(allows) = card.allows else { continue };
        let brim = build.order.capacity.unwrap_or(build.order.vessel.vessel.brim_ml);
        let fill = allows.split_once(" mL in the cup").map(|(before, _)| before);
        let most = fill.and_then(|before| before.rsplit('–').next()).map(str::parse);
        if let Some(most) = most {
            assert!(most.unwrap_or(f64::MAX) <= brim.ml(), "{allows}");
        }
    }
}

/// Chocolate that is stirred into the coffee comes into the cup with it.
#[test]
fn what_is_stirred_into_the_coffee_is_drawn_under_it() {
    let bar = DEMO.training_bar().unwrap();
    let build = usual(bar).into_iter().find(|one| *one.order.asked.id == *"iced-mocha").unwrap();
    let card = card(bar, &build, "en");
    let hatches: Vec<Hatch> = card.section.layers.iter().map(|layer| layer.hatch).collect();
    let coffee = hatches.iter().position(|hatch| *hatch == Hatch::Coffee).unwrap();
    assert!(matches!(hatches[coffee - 1], Hatch::Powder | Hatch::Syrup), "{hatches:?}");
    assert!(card.stirred.is_some());
}

#[test]
fn the_chart_shows_every_drink_in_one_scale() {
    for (site, bar) in &DEMO.bars {
        for lang in LANGS {
            let set =
                card_set(&DEMO, bar, CardSetWish { lang: Some(lang), ..CardSetWish::default() })
                    .unwrap();
            let sheet = chart(&set.chart).unwrap();
            // ISO 216: A3.
            assert_eq!((sheet.width, sheet.height), (420_000, 297_000));
            is_sound(&format!("the chart of {site}"), &sheet);
            let text = printed(std::slice::from_ref(&sheet));
            for cup in &set.chart.cups {
                let squeezed = text.split_whitespace().collect::<String>();
                let name = cup.name.split_whitespace().collect::<String>();
                assert!(squeezed.contains(&name) && text.contains(&cup.fill), "{}", cup.name);
            }
        }
    }
}
