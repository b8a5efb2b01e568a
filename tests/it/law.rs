//! Rules of law that are arithmetic, at their boundaries, and the cautions of a site.

use std::collections::BTreeSet;

use cupwright::{
    book::{Bar, BookDocument},
    engine::{
        Line, Moment, build_line,
        law::{TimeOut, high_caffeine_statement, time_out},
    },
    in_force::{InForce, Source},
    units::{Mass, Span, Temperature, Volume},
};
use serde_json::{Value, json};

use crate::{
    allergen_tables::{in_region, load},
    support::{answer, demo},
};

/// Source: Regulation (EU) No 1169/2011, Annex III, point 4.1, from memory: more than 150 mg/L; exempt
/// where the drink is based on coffee or tea and its name says so.
#[test]
fn a_high_caffeine_content_is_stated_strictly_above_150_mg_in_a_litre() {
    let of = |mg, ml, named| high_caffeine_statement(Mass::from_mg(mg), Volume::from_ml(ml), named);
    for (mg, ml, wanted) in [
        (0, 250.0, false),
        (149, 1_000.0, false),
        (150, 1_000.0, false),
        (151, 1_000.0, true),
        (75, 500.0, false),
        (75, 499.999, true),
        (38, 250.0, true),
        (37, 250.0, false),
        (80, 0.0, false),
    ] {
        assert_eq!(of(mg, ml, false), wanted, "{mg} mg in {ml} mL");
        assert!(!of(mg, ml, true), "coffee or tea by base and by name: {mg} mg in {ml} mL");
    }
}

/// Source: the 2-hour/4-hour guide to Standard 3.2.2 (FSANZ), from memory: less than 2 hours, back into
/// the cold or used; 2 hours and less than 4, used; 4 hours or more, thrown away.
#[test]
fn milk_out_of_the_cold_is_put_back_used_or_thrown_away_by_two_and_four_hours() {
    let hours = |h: i64, ms: i64| time_out(Span::from_ms(h * 3_600_000 + ms));
    for (out, wanted) in [
        (hours(0, 0), TimeOut::BackOrUse),
        (hours(2, -1), TimeOut::BackOrUse),
        (hours(2, 0), TimeOut::UseNow),
        (hours(4, -1), TimeOut::UseNow),
        (hours(4, 0), TimeOut::Away),
        (hours(30, 0), TimeOut::Away),
    ] {
        assert_eq!(out, wanted);
    }
}

fn ids(line: &Value, held: &InForce) -> Vec<String> {
    let told = answer(held, "training-bar", line);
    assert_eq!(told["verdict"], "accept", "{line}");
    let all = told["build"]["cautions"].as_array().unwrap();
    all.iter().map(|one| one["id"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_cup_carries_the_cautions_that_its_contents_and_kind_call_for() {
    let held = demo();
    let with = |drink: &str, id: &str, what: Value| {
        let mut modifier = what;
        modifier["id"] = json!(id);
        ids(&json!({"drink": drink, "modifiers": [modifier]}), &held)
    };
    let plain = |drink: &str| ids(&json!({ "drink": drink }), &held);
    assert!(plain("cold-brew").contains(&"caffeine".to_owned()), "brewed coffee is coffee");
    assert!(!plain("steamer").contains(&"caffeine".to_owned()));
    assert!(plain("matcha-latte").contains(&"caffeine".to_owned()));
    assert!(plain("chai-syrup-latte").contains(&"caffeine".to_owned()));
    assert!(plain("brewed-chai").contains(&"honey-and-infants".to_owned()), "it is in the mix");
    assert!(!plain("steamer").contains(&"honey-and-infants".to_owned()));
    let honey = with("steamer", "honey", json!({"count": 1}));
    assert!(honey.contains(&"honey-and-infants".to_owned()));
    let marshmallow = with("hot-chocolate", "marshmallow", json!({}));
    assert!(marshmallow.contains(&"choking".to_owned()));
    assert!(plain("babyccino").contains(&"for-small-children".to_owned()));
    let bench: Vec<String> = plain("latte");
    assert!(!bench.contains(&"cleaning-chemicals".to_owned()), "the bench's stay at the bench");
}

/// Source: IARC Monograph 116: very hot beverages, above 65 °C, group 2A; Brown and Diller 2008: an
/// optimum of 57.8 °C, from memory.
#[test]
fn a_cup_is_cautioned_about_heat_only_above_the_thresholds() {
    let held = demo();
    let tea = json!({"drink": "herbal-infusion"});
    let told = answer(&held, "training-bar", &tea);
    assert!(told["build"]["serve"]["temperature_c"].as_f64().unwrap() > 66.0);
    let of = |told: &Value, id: &str| {
        let all = told["build"]["cautions"].as_array().unwrap();
        all.iter().find(|one| one["id"] == id).cloned()
    };
    let very_hot = of(&told, "very-hot").expect("above 65 °C");
    assert!(very_hot["source"].as_str().unwrap().contains("IARC Monograph 116"));
    assert!(of(&told, "hot").is_some());
    let cold = answer(&held, "training-bar", &json!({"drink": "iced-latte"}));
    assert!(of(&cold, "hot").is_none() && of(&cold, "very-hot").is_none());
    let child = answer(&held, "training-bar", &json!({"drink": "babyccino"}));
    assert!(of(&child, "hot").is_none(), "lukewarm");
    // A threshold is met, and not exceeded, by a cup of just that temperature.
    let line = Line { drink: "herbal-infusion".to_owned(), quantity: 1, ..Line::default() };
    let served = |c: Option<Temperature>| {
        let mut book = in_region("eu");
        let c = c.map_or(50.0, Temperature::c);
        book["cautions"] = json!([{
            "id": "probe", "text": {"en": "Probe", "de": "Probe"}, "source": "none",
            "when": {"hotter_than_c": c},
        }]);
        let document = BookDocument::read("book.json", &book.to_string()).unwrap();
        let bar = Bar::compile(&document, &document.training_bar(), None, None).unwrap();
        let build = build_line(&bar, &line, &Moment::default()).unwrap();
        (build.solved.serve, build.cautions(&bar).len())
    };
    let (served_at, _) = served(None);
    let thousandth = Temperature::from_mc(1);
    assert_eq!(served(Some(served_at)).1, 0, "{served_at}");
    assert_eq!(served(Some(served_at - thousandth)).1, 1, "{served_at}");
}

#[test]
fn cautions_are_those_of_the_site_s_region() {
    let bench = |region: &str| -> BTreeSet<String> {
        let held = load(&in_region(region));
        let bar = held.bar("training-bar").unwrap();
        let list = cupwright::answering::cautions(&held, bar, Some("en")).unwrap();
        let all = list.cautions.iter().filter(|one| one.when.bench);
        all.map(|one| one.id.to_owned()).collect()
    };
    let is = |region: &str, id: &str| bench(region).contains(id);
    assert!(is("eu", "milk-cold-europe") && !is("eu", "milk-cold-australia"));
    assert!(is("au", "milk-cold-australia") && is("au", "two-hours-four-hours"));
    assert!(is("us", "milk-cold-united-states") && !is("us", "two-hours-four-hours"));
    assert!(["eu", "au", "us"].iter().all(|region| is(region, "cleaning-chemicals")));
}

#[test]
fn every_caution_of_the_demo_names_its_source_and_defers_to_local_codes() {
    for one in &demo().book().cautions {
        let (en, de) = (one.text.in_lang("en"), one.text.in_lang("de"));
        assert!(en.ends_with("Local codes and licensed practice come first."), "{}", one.id);
        assert!(de.contains("Örtliche Vorschriften"), "{}", one.id);
        assert!(one.source.len() > 10, "{}", one.id);
    }
}

#[test]
fn a_caution_has_exactly_one_condition_which_names_what_is_there() {
    let told = |when: Value| {
        let mut book = in_region("eu");
        book["cautions"][0]["when"] = when;
        let source = Source { name: "book.json".to_owned(), text: book.to_string() };
        let faulty = InForce::load(&source, &[]).expect_err("a fault");
        let first = &faulty[0].all[0];
        format!("{}: {}", first.pointer, first.found)
    };
    assert_eq!(told(json!({})), "/cautions/0/when: 0 conditions");
    assert_eq!(told(json!({"caffeine": false})), "/cautions/0/when: 0 conditions");
    let two = json!({"always": true, "hotter_than_c": 60});
    assert_eq!(told(two), "/cautions/0/when: 2 conditions");
    let lost = told(json!({"contains": ["honeydew"]}));
    assert_eq!(lost, "/cautions/0/when/contains/0: `honeydew`, which the book does not have");
}
