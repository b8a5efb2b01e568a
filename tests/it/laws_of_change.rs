//! Laws of what one change does to a cup: of coffee, milk, allergens and prices.
//!
//! Amounts of coffee stand for its cost where a law speaks of that: it follows from the dose.

use std::collections::BTreeSet;

use cupwright::{
    book::{Bar, Modifier, Part},
    engine::{Line, Moment, build_line},
    units::Money,
    wire::TicketLine,
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{
    lines::{DEMO, Posted, answer_to, posted},
    support::chance::cases,
};

/// The three ends of a build's caffeine.
const CAFFEINE: [&str; 3] = ["/caffeine/low_mg", "/caffeine/typical_mg", "/caffeine/high_mg"];

fn bar(there: &Posted) -> &'static Bar {
    &DEMO.bars[there.site.as_str()]
}

/// The build of the line with `more` put to it in place of what it says of the same modifier.
fn with(there: &Posted, more: &[Value]) -> Option<Value> {
    let mut modifiers = there.modifiers.clone();
    modifiers.retain(|one| !more.iter().any(|new| new["id"] == one["id"]));
    modifiers.extend(more.iter().cloned());
    let line = there.with(modifiers).line();
    let answer = answer_to(&there.site, &line);
    (answer["verdict"] == "accept").then_some(answer)
}

fn number(answer: &Value, pointer: &str) -> f64 {
    answer["build"].pointer(pointer).and_then(Value::as_f64).unwrap_or(0.0)
}

fn allergens(answer: &Value) -> BTreeSet<String> {
    let all = answer["build"]["allergens"]["ingredients"].as_array().unwrap();
    all.iter().map(|one| one.as_str().unwrap().to_owned()).collect()
}

/// Allergens of an ingredient with all that it is made of, read straight from the records.
fn brings(bar: &Bar, id: &str) -> BTreeSet<String> {
    let record = bar.book.ingredients.iter().find(|one| *one.id == *id).unwrap();
    let own = record.allergens.iter().map(ToString::to_string);
    own.chain(record.made_of.iter().flat_map(|part| brings(bar, part))).collect()
}

/// The price by the book as it holds at the site: the cup's, and what each modifier adds.
fn price_by_the_book(bar: &Bar, canonical: &Value, build: &Value) -> Money {
    let drink = bar.drink(canonical["drink"].as_str().unwrap()).unwrap();
    let given = canonical["modifiers"].as_array().cloned().unwrap_or_default();
    let form = given.iter().find(|one| one["id"] == "form");
    let recipe = form.map_or(drink, |one| {
        let id = &drink.forms[one["value"].as_str().unwrap()];
        bar.drink(id).unwrap()
    });
    let service = serde_json::from_value(build["service"].clone()).unwrap();
    let cup = &recipe.cups[&service][build["size"].as_str().unwrap()];
    let added = |one: &Value| match bar.modifier(one["id"].as_str().unwrap()).unwrap().1 {
        Modifier::Slot(slot) => {
            let value = slot.values.iter().find(|value| one["value"] == *value.id);
            let halves = value.and_then(|value| value.does.halves);
            let by = slot.priced_by.as_ref().map(|id| bar.modifier(id).unwrap().1);
            // An absolute count costs what its halves cost beyond those of the cup.
            match (halves, by) {
                (Some(halves), Some(Modifier::Counter(counter))) => {
                    let more = i64::from(halves) - i64::from(cup.halves);
                    counter.price_delta_each.times(more)
                }
                _ => value.map_or(Money::ZERO, |value| value.price_delta),
            }
        }
        Modifier::Counter(counter) => {
            counter.price_delta_each.times(one["count"].as_i64().unwrap())
        }
        Modifier::Flag(flag) => flag.price_delta,
    };
    cup.price + given.iter().map(added).sum()
}

proptest! {
    #![proptest_config(cases(192))]

    /// L6.
    #[test]
    fn an_extra_shot_never_lessens_the_coffee_and_never_adds_milk(there in posted()) {
        let shot = |n: i32| with(&there, &[json!({ "id": "shots", "count": n })]);
        if let (Some(less), Some(more)) = (shot(0), shot(1)) {
            prop_assert!(number(&more, "/coffee/dose_g") >= number(&less, "/coffee/dose_g"));
            prop_assert!(number(&more, "/coffee/in_cup_g") >= number(&less, "/coffee/in_cup_g"));
            prop_assert!(number(&more, "/milk/cold_ml") <= number(&less, "/milk/cold_ml"));
            prop_assert!(number(&more, "/water/ml") <= number(&less, "/water/ml"));
            for end in CAFFEINE {
                prop_assert!(number(&more, end) >= number(&less, end), "{end}: {more:#}");
            }
            let strength = |one: &Value| number(one, "/strength/solids_g_per_100ml");
            prop_assert!(strength(&more) >= strength(&less) - 0.01, "{less:#} {more:#}");
        }
    }

    /// L7.
    #[test]
    fn decaf_changes_no_volume_where_its_recipe_is_the_same(there in posted()) {
        let bean = |id: &str| with(&there, &[json!({ "id": "beans", "value": id })]);
        if let (Some(usual), Some(decaf)) = (bean("house"), bean("decaf")) {
            prop_assert_eq!(&decaf["build"]["coffee"]["bean"], "decaf");
            if usual["build"]["coffee"]["bean"] == "house" {
                for end in CAFFEINE {
                    prop_assert!(number(&decaf, end) <= number(&usual, end), "{end}: {decaf:#}");
                }
                prop_assert!(number(&decaf, CAFFEINE[2]) > 0.0, "decaf has some: {decaf:#}");
            }
            // A single basket may have a recipe in one bean only.
            let singles = |one: &Value| one["build"]["coffee"]["singles"].clone();
            if usual["build"]["coffee"]["bean"] == "house" && singles(&usual) == singles(&decaf) {
                prop_assert_eq!(&usual["build"]["layers"], &decaf["build"]["layers"]);
                prop_assert_eq!(&usual["build"]["milk"], &decaf["build"]["milk"]);
            }
        }
    }

    /// L8.
    #[test]
    fn a_ristretto_has_less_in_the_cup_than_the_usual_pull_and_a_long_one_more(there in posted()) {
        let Some(drink) = bar(&there).drink(&there.drink) else { return Ok(()) };
        let standard = drink.parts.iter().find_map(Part::as_coffee).is_some_and(|part| part.pull == "standard");
        let pulled = |pull: &str| with(&there, &[json!({ "id": "pull", "value": pull })]);
        let mut plain = there.modifiers.clone();
        plain.retain(|one| one["id"] != "pull");
        let usual = with(&there.with(plain), &[]);
        let Some(usual) = usual.filter(|_| standard) else { return Ok(()) };
        for (pull, sign) in [("ristretto", -1.0), ("long", 1.0)] {
            if let Some(other) = pulled(pull) {
                let more = number(&other, "/coffee/in_cup_g") - number(&usual, "/coffee/in_cup_g");
                prop_assert!(more * sign >= 0.0, "{pull}: {more} g more: {usual:#} {other:#}");
                for end in CAFFEINE {
                    let more = number(&other, end) - number(&usual, end);
                    prop_assert!(more * sign >= 0.0, "{pull}: {end} {more} mg more: {other:#}");
                }
            }
        }
    }

    /// L11.
    #[test]
    fn what_is_added_removes_no_allergen(there in posted(), at in any::<prop::sample::Index>()) {
        let adding: Vec<Value> = bar(&there).book.modifiers.iter().flat_map(|one| match one {
            Modifier::Slot(slot) => slot.values.iter().filter(|value| value.does.add.is_some())
                .map(|value| json!({ "id": slot.id, "value": value.id })).collect(),
            Modifier::Counter(counter) if counter.does.add.is_some() => {
                vec![json!({ "id": counter.id, "count": 1 })]
            }
            Modifier::Flag(flag) if flag.does.add.is_some() => vec![json!({ "id": flag.id })],
            Modifier::Counter(_) | Modifier::Flag(_) => Vec::new(),
        }).collect();
        let added = &adding[at.index(adding.len())];
        let mut plain = there.modifiers.clone();
        plain.retain(|one| one["id"] != added["id"]);
        let before = answer_to(&there.site, &there.with(plain).line());
        if let (Some(after), "accept") = (with(&there, std::slice::from_ref(added)), before["verdict"].as_str().unwrap()) {
            prop_assert!(allergens(&after).is_superset(&allergens(&before)), "{added}");
        }
    }

    /// L12, and L13: the allergens of a cup are those of what is in it, and no more; what stands beside
    /// the cup counts.
    #[test]
    fn the_allergens_of_a_cup_are_those_of_its_parts(there in posted()) {
        let Some(answer) = with(&there, &[]) else { return Ok(()) };
        let parts = answer["build"]["parts"].as_array().unwrap();
        let all: BTreeSet<String> = parts.iter()
            .flat_map(|part| brings(bar(&there), part["ingredient"].as_str().unwrap()))
            .collect();
        prop_assert_eq!(&allergens(&answer), &all, "{:#}", answer);
        for flag in ["milk-on-side", "syrup-on-side", "cream-on-side"] {
            if let Some(aside) = with(&there, &[json!({ "id": flag })]) {
                prop_assert_eq!(allergens(&aside), allergens(&answer), "{}", flag);
            }
        }
    }

    /// L14.
    #[test]
    fn a_price_is_the_cup_and_what_its_modifiers_add(there in posted()) {
        let Some(answer) = with(&there, &[]) else { return Ok(()) };
        let bar = bar(&there);
        let wanted = price_by_the_book(bar, &answer["canonical"], &answer["build"]);
        let places = usize::from(bar.book.currency_places);
        prop_assert_eq!(&answer["price"]["amount"], &json!(wanted.with_places(places)), "{:#}", answer);
    }

    /// L15.
    #[test]
    fn extra_hot_takes_more_steam_and_less_milk_for_the_same_cup(there in posted()) {
        let at = |value: &str| with(&there, &[json!({ "id": "temperature", "value": value })]);
        if let (Some(warm), Some(hot)) = (at("warm"), at("extra-hot")) {
            prop_assert!(number(&hot, "/milk/condensate_g") > number(&warm, "/milk/condensate_g"));
            prop_assert!(number(&hot, "/milk/cold_ml") < number(&warm, "/milk/cold_ml"));
            prop_assert_eq!(&hot["build"]["vessel"], &warm["build"]["vessel"]);
            prop_assert_eq!(&hot["build"]["milk"]["textured_ml"], &warm["build"]["milk"]["textured_ml"]);
        }
    }

    /// A declared allergy changes verdict, route and notices, never the recipe; and a cup that is made
    /// for it has nothing in it that contains or may contain what was declared.
    #[test]
    fn a_declared_allergy_changes_no_recipe_and_is_never_in_the_cup(there in posted()) {
        let mut line = there.line();
        line["allergies"] = json!([]);
        line["note"] = json!("for the window");
        let plain = answer_to(&there.site, &line);
        for allergy in ["milk", "soya", "oats", "almond", "tree-nuts"] {
            line["allergies"] = json!([allergy]);
            let answer = answer_to(&there.site, &line);
            if answer["verdict"] != "accept" {
                continue;
            }
            prop_assert_eq!(&answer["build"], &plain["build"], "{}", allergy);
            prop_assert_eq!(&answer["price"], &plain["price"]);
            let bar = bar(&there);
            let covers = &bar.allergen(allergy).unwrap().covers;
            let wanted: BTreeSet<&str> = covers.iter().map(|id| &**id).chain([allergy]).collect();
            for list in ["ingredients", "may_contain"] {
                for one in answer["build"]["allergens"][list].as_array().unwrap() {
                    prop_assert!(!wanted.contains(one.as_str().unwrap()), "{} {:#}", allergy, answer);
                }
            }
            prop_assert_eq!(&answer["allergy"]["declared"], &json!([allergy]));
            let said = answer["notices"].to_string().to_lowercase();
            prop_assert!(said.contains("allergy-declared"));
            for claim in ["free from", "-free", "is safe", "no traces"] {
                prop_assert!(!said.contains(claim), "{} is claimed: {}", claim, said);
            }
        }
    }

    /// L17, for every drink that has an iced form.
    #[test]
    fn an_iced_form_refuses_heat(there in posted(), hot in prop::sample::select(vec!["temperature", "hot-cup"])) {
        let heat = match hot {
            "temperature" => json!({ "id": "temperature", "value": "extra-hot" }),
            flag => json!({ "id": flag }),
        };
        let iced = json!({ "id": "form", "value": "iced" });
        prop_assert!(with(&there, &[iced, heat]).is_none(), "{:?}", there.line());
    }

    /// L14: what is added never makes a cup cheaper to make, apart from what it takes the place of.
    #[test]
    fn more_of_anything_never_costs_less(there in posted(), n in 1..=2_i32) {
        let bar = bar(&there);
        let cost = |answer: &Value| {
            let line: TicketLine = serde_json::from_value(answer["canonical"].clone()).unwrap();
            let build = build_line(bar, &Line::from(line), &Moment::default()).unwrap();
            let cost = build.cost(bar)?;
            assert_eq!(cost.items.iter().map(|item| item.cost).sum::<Money>(), cost.total);
            assert!(cost.items.iter().all(|item| item.cost >= Money::ZERO), "{cost:?}");
            let sugar = cost.items.iter().filter(|item| *item.of == *"sugar");
            Some(sugar.map(|item| item.cost).sum::<Money>())
        };
        let sugar = |n: i32| with(&there, &[json!({ "id": "sugar", "count": n })]);
        if let (Some(less), Some(more)) = (sugar(n), sugar(n + 1)) {
            prop_assert!(cost(&more) >= cost(&less), "{less:#} {more:#}");
        }
    }
}
