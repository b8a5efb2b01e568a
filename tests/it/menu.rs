//! The menu held to what the service then does: what is offered is taken, what is left out is not.

use cupwright::{
    answering::menu,
    book::{Bar, Drink, Modifier, MonthDay, Phase, Service as Serving},
    engine::{Line, build_line},
    in_force::{InForce, moment},
    wire::TicketLine,
};
use reqwest::{StatusCode, header};
use serde_json::{Value, json};

use crate::{
    lines::DEMO,
    posted::{posted, sent},
    server::Service,
};

/// A day on which some of the demo's drinks are in season and others are not.
const WINTER: &str = "2026-12-10T11:00:00+01:00";
const SUMMER: &str = "2026-07-10T11:00:00+02:00";

fn menu_of(site: &str, lang: Option<&str>, now: &str) -> Value {
    let bytes = menu(&DEMO, &DEMO.bars[site], lang, &sent(now)).expect("a menu");
    serde_json::from_slice(&bytes).unwrap()
}

fn list<'v>(value: &'v Value, name: &str) -> &'v [Value] {
    value[name].as_array().map(Vec::as_slice).unwrap_or_default()
}

fn id(value: &Value) -> &str {
    value["id"].as_str().expect("an id")
}

/// The line of one cup of a menu; the customer's own cup says what it holds.
fn in_cup(bar: &Bar, drink: &str, cup: &Value) -> Value {
    let given = |name: &str| json!({ "id": name, "value": cup[name] });
    let mut modifiers = vec![given("service"), given("size")];
    if cup["service"] == "own" {
        let vessel = bar.cup_here(cup["vessel"].as_str().unwrap()).expect("the site has it").vessel;
        modifiers.push(json!({ "id": "capacity", "value": vessel.brim_ml }));
    }
    json!({ "drink": drink, "modifiers": modifiers })
}

fn with(base: &Value, modifier: Value) -> Value {
    let mut line = base.clone();
    let mut modifiers = list(&line, "modifiers").to_vec();
    modifiers.push(modifier);
    line["modifiers"] = json!(modifiers);
    line
}

/// The line on which the offers of a drink are tried: the usual one, or the first cup.
fn base(site: &str, now: &str, drink: &Value) -> Value {
    let usual = json!({ "drink": id(drink) });
    let made = posted(site, "en", now, std::slice::from_ref(&usual))[0]["verdict"] == "accept";
    if made { usual } else { in_cup(&DEMO.bars[site], id(drink), &drink["cups"][0]) }
}

/// A price that a menu leaves to the cup.
const UNSAID: i64 = i64::MIN;

/// An amount in hundredths, and thousandths never.
fn cents(amount: &Value) -> i64 {
    let text = amount.as_str().expect("an amount");
    let (whole, places) = text.split_once('.').expect("two places");
    assert_eq!(places.len(), 2, "{text}");
    format!("{whole}{places}").parse().expect("a number")
}

/// Every bar of the demo.
fn bars() -> impl Iterator<Item = (&'static str, &'static Bar)> {
    DEMO.bars.iter().map(|(site, bar)| (&**site, &**bar))
}

#[test]
fn every_drink_in_every_cup_of_a_menu_is_accepted_at_its_price_and_no_other_cup_is() {
    let mut own = 0;
    for (site, bar) in bars() {
        let menu = menu_of(site, None, WINTER);
        for drink in list(&menu, "drinks") {
            let of_book = bar.drink(id(drink)).unwrap();
            let cups = list(drink, "cups");
            let lines: Vec<Value> = cups.iter().map(|cup| in_cup(bar, id(drink), cup)).collect();
            for (cup, answer) in cups.iter().zip(posted(site, "en", WINTER, &lines)) {
                assert_eq!(answer["verdict"], "accept", "{site}: {cup} of {}", id(drink));
                assert_eq!(answer["price"]["amount"], cup["price"], "{site}: {}", id(drink));
                assert_eq!(answer["price"]["currency"], menu["currency"]);
                assert_eq!(answer["build"]["vessel"]["id"], vessel_here(bar, cup));
                own += usize::from(cup["service"] == "own");
            }
            let left: Vec<Value> = left_out_cups(of_book, cups);
            let lines: Vec<Value> = left
                .iter()
                .filter(|cup| bar.cup_here(cup["vessel"].as_str().unwrap()).is_some())
                .map(|cup| in_cup(bar, id(drink), cup))
                .collect();
            for answer in posted(site, "en", WINTER, &lines) {
                assert_ne!(answer["verdict"], "accept", "{site}: {answer:#}");
            }
        }
    }
    assert!(own > 20, "only {own} cups of customers were tried");
}

/// The vessel that stands at the site for that of a cup.
fn vessel_here<'b>(bar: &'b Bar, cup: &Value) -> &'b str {
    let here = bar.cup_here(cup["vessel"].as_str().unwrap()).expect("the site has it");
    &here.vessel.id
}

/// The cups of the book's table that a menu leaves out.
fn left_out_cups(drink: &Drink, cups: &[Value]) -> Vec<Value> {
    let all = drink.cups.iter().flat_map(|(service, row)| {
        row.iter().map(|(size, cup)| {
            json!({ "service": service.as_str(), "size": size, "vessel": cup.vessel })
        })
    });
    let same =
        |one: &Value, two: &Value| one["service"] == two["service"] && one["size"] == two["size"];
    all.filter(|one| !cups.iter().any(|two| same(one, two))).collect()
}

/// What a menu offers of a modifier, each way with what it adds to the price in hundredths.
fn ways(menu: &Value, offer: &Value) -> Vec<(Value, i64)> {
    let modifier = list(menu, "modifiers").iter().find(|one| one["id"] == offer["id"]);
    let modifier = modifier.expect("what is offered is described");
    match modifier["kind"].as_str().unwrap() {
        "slot" => {
            let delta = |value: &Value| {
                let known = list(modifier, "values").iter().find(|one| one["id"] == *value);
                // Halves cost by how many the cup has: null, and compared with nothing.
                let price = &known.expect("the value is described")["price"];
                if price.is_null() { UNSAID } else { cents(price) }
            };
            let values = list(offer, "values").iter();
            values.map(|one| (json!({ "id": offer["id"], "value": one }), delta(one))).collect()
        }
        "counter" => {
            let (min, max) = (offer["min"].as_i64().unwrap(), offer["max"].as_i64().unwrap());
            let each = cents(&modifier["price"]);
            let counts = (min..=max).filter(|n| *n != 0);
            counts.map(|n| (json!({ "id": offer["id"], "count": n }), n * each)).collect()
        }
        "flag" => vec![(json!({ "id": offer["id"] }), cents(&modifier["price"]))],
        other => panic!("a {other}"),
    }
}

#[test]
fn whatever_a_menu_offers_is_taken_at_its_price_or_asked_to_be_confirmed() {
    let (mut taken, mut asked) = (0, 0);
    for (site, _) in bars() {
        let menu = menu_of(site, None, WINTER);
        for drink in list(&menu, "drinks") {
            let base = base(site, WINTER, drink);
            let plain = &posted(site, "en", WINTER, std::slice::from_ref(&base))[0];
            let ways: Vec<(Value, i64)> =
                list(drink, "modifiers").iter().flat_map(|offer| ways(&menu, offer)).collect();
            let lines: Vec<Value> = ways.iter().map(|(way, _)| with(&base, way.clone())).collect();
            for ((way, delta), answer) in ways.iter().zip(posted(site, "en", WINTER, &lines)) {
                let what = format!("{site}: {} with {way}", id(drink));
                if answer["verdict"] == "ask" {
                    assert_eq!(answer["code"], "confirm-needed", "{what}: {answer:#}");
                    asked += 1;
                    continue;
                }
                assert_eq!(answer["verdict"], "accept", "{what}: {answer:#}");
                let held = list(&answer["canonical"], "modifiers");
                assert!(held.iter().any(|one| one["id"] == way["id"]), "{what} is dropped");
                let paid = cents(&answer["price"]["amount"]) - cents(&plain["price"]["amount"]);
                if way["id"] != "form" && *delta != UNSAID {
                    assert_eq!(paid, *delta, "{what}");
                }
                taken += 1;
            }
        }
    }
    assert!(taken > 3_000 && asked > 50, "{taken} taken, {asked} asked");
}

/// Every way to give a modifier of the book that an offer leaves out, and one step beyond its bounds.
fn left_out(modifier: &Modifier, offer: Option<&Value>) -> Vec<Value> {
    let id = modifier.id();
    let offered =
        |value: &str| offer.is_some_and(|one| list(one, "values").iter().any(|two| two == value));
    match modifier {
        Modifier::Slot(slot) => {
            let left = slot.values.iter().filter(|value| !offered(&value.id));
            left.map(|value| json!({ "id": id, "value": value.id })).collect()
        }
        Modifier::Counter(_) => {
            let bound = |name: &str| offer.map_or(0, |one| one[name].as_i64().unwrap());
            let beyond = [bound("min") - 1, bound("max") + 1];
            beyond.iter().map(|n| json!({ "id": id, "count": n })).collect()
        }
        Modifier::Flag(_) if offer.is_some() => Vec::new(),
        Modifier::Flag(_) => vec![json!({ "id": id })],
    }
}

#[test]
fn whatever_a_menu_leaves_out_is_refused_or_asked_about_or_changes_nothing() {
    let (mut refused, mut idle) = (0, 0);
    for (site, bar) in bars() {
        let menu = menu_of(site, None, WINTER);
        for drink in list(&menu, "drinks") {
            let base = base(site, WINTER, drink);
            let plain = &posted(site, "en", WINTER, std::slice::from_ref(&base))[0];
            let offer = |id: &str| list(drink, "modifiers").iter().find(|one| one["id"] == id);
            let modifiers = bar.book.modifiers.iter().filter(|one| one.phase() != Phase::Cup);
            let ways = modifiers.flat_map(|one| left_out(one, offer(one.id())));
            let moment = moment(bar, &[], None, WINTER.parse().unwrap()).unwrap();
            for way in ways {
                let line = with(&base, way.clone());
                let mut posting = line.clone();
                posting["line"] = json!("1");
                let one: TicketLine = serde_json::from_value(posting).unwrap();
                if build_line(bar, &Line::from(one), &moment).is_err() {
                    refused += 1;
                    continue;
                }
                let answer = &posted(site, "en", WINTER, &[line])[0];
                let what = format!("{site}: {} with {way}", id(drink));
                for same in ["/build/digest", "/price", "/canonical/modifiers"] {
                    assert_eq!(answer.pointer(same), plain.pointer(same), "{what}: {same}");
                }
                idle += 1;
            }
        }
    }
    assert!(refused > 3_000 && idle > 100, "{refused} refused, {idle} without effect");
}

#[test]
fn a_drink_that_is_not_on_the_menu_is_refused_for_the_very_reason_that_the_menu_gives() {
    let mut codes = std::collections::BTreeSet::new();
    for (site, bar) in bars() {
        for lang in &bar.site.languages {
            for now in [WINTER, SUMMER] {
                let menu = menu_of(site, Some(lang), now);
                assert_eq!(menu["lang"], **lang);
                let not_now = list(&menu, "not_now");
                let lines: Vec<Value> =
                    not_now.iter().map(|one| json!({ "drink": one["drink"] })).collect();
                for (one, answer) in not_now.iter().zip(posted(site, lang, now, &lines)) {
                    assert_eq!(answer["verdict"], "refuse", "{site}: {one}");
                    let first = &answer["refusals"][0];
                    assert_eq!(
                        (&first["code"], &first["text"]),
                        (&one["code"], &one["text"]),
                        "{site}: {one}"
                    );
                    assert_eq!(
                        one["name"],
                        bar.drink(one["drink"].as_str().unwrap()).unwrap().names.in_lang(lang)
                    );
                    codes.insert(one["code"].as_str().unwrap().to_owned());
                }
                let on = list(&menu, "drinks").iter().map(id);
                let mut all: Vec<&str> =
                    on.chain(not_now.iter().map(|one| one["drink"].as_str().unwrap())).collect();
                let mut of_book: Vec<&str> = bar.book.drinks.iter().map(|one| &*one.id).collect();
                all.sort_unstable();
                of_book.sort_unstable();
                assert_eq!(all, of_book, "every drink stands on one side, once");
            }
        }
    }
    for code in ["out-of-season", "not-stocked", "no-such-cup-here"] {
        assert!(codes.contains(code), "{codes:?}");
    }
}

#[test]
fn an_exclusion_is_told_in_the_language_and_is_what_a_line_with_both_is_refused_for() {
    let mut tried = 0;
    for (site, bar) in bars() {
        for lang in &bar.site.languages {
            let menu = menu_of(site, Some(lang), WINTER);
            for modifier in list(&menu, "modifiers") {
                for one in list(modifier, "excludes") {
                    let because = one["because"].as_str().unwrap();
                    assert!(!because.is_empty(), "{modifier:#}");
                    tried += usize::from(both(site, lang, &menu, modifier, one) == Some(true));
                }
            }
        }
    }
    assert!(tried >= 10, "only {tried} exclusions could be tried");
    let because = |lang: &str| -> Vec<Value> {
        let menu = menu_of("bookshop", Some(lang), WINTER);
        let modifiers = list(&menu, "modifiers").iter();
        modifiers
            .flat_map(|one| list(one, "excludes").to_vec())
            .map(|one| one["because"].clone())
            .collect()
    };
    let (en, de) = (because("en"), because("de"));
    assert!(!en.is_empty() && en.len() == de.len());
    assert!(en.iter().zip(&de).all(|(one, other)| one != other), "{en:?} {de:?}");
}

/// Whether a drink that takes a modifier and what it excludes is refused with the reason; `None`
/// where no drink of the menu takes both.
fn both(site: &str, lang: &str, menu: &Value, modifier: &Value, one: &Value) -> Option<bool> {
    let way = |drink: &Value, id: &Value, value: &Value| -> Option<Value> {
        let offer = list(drink, "modifiers").iter().find(|two| two["id"] == *id)?;
        let known = |(way, _): &(Value, i64)| value.is_null() || way["value"] == *value;
        let all = ways(menu, offer).into_iter().filter(known).map(|(way, _)| way);
        // One more is asked about nowhere; many may be.
        all.min_by_key(|way| (way["count"].as_i64().unwrap_or(1) - 1).abs())
    };
    let found = list(menu, "drinks").iter().find_map(|drink| {
        let first = way(drink, &modifier["id"], &one["when"])?;
        let second = way(drink, &one["id"], &one["value"])?;
        Some((drink, first, second))
    });
    let (drink, first, second) = found?;
    let line = with(&with(&base(site, WINTER, drink), first), second);
    let answer = &posted(site, lang, WINTER, std::slice::from_ref(&line))[0];
    assert_eq!(answer["verdict"], "refuse", "{site}: {line}");
    if modifier["id"] == "form" || one["id"] == "form" {
        // The other form is another drink, which may not take the modifier at all.
        return None;
    }
    let told = list(answer, "refusals").iter().any(|refusal| {
        refusal["code"] == "modifiers-conflict" && refusal["text"] == one["because"]
    });
    assert!(told, "{site}: {line}: {answer:#}");
    Some(told)
}

#[test]
fn a_drink_is_on_the_menu_in_its_season_by_the_calendar_of_the_site() {
    let mut turned = 0;
    for (site, bar) in bars() {
        for (now, day) in [(WINTER, "12-10"), (SUMMER, "07-10")] {
            let day: MonthDay = day.parse().unwrap();
            let menu = menu_of(site, Some("en"), now);
            for drink in &bar.book.drinks {
                let Some(season) = drink.season.as_ref() else { continue };
                let on = list(&menu, "drinks").iter().any(|one| one["id"] == *drink.id);
                let not = list(&menu, "not_now").iter().find(|one| one["drink"] == *drink.id);
                assert!(!on || season.holds(day), "{site}: {} on {day:?}", drink.id);
                if let Some(not) = not
                    && season.holds(day)
                {
                    assert_ne!(not["code"], "out-of-season", "{site}: {}", drink.id);
                }
                turned += usize::from(on);
            }
        }
        assert!(
            site == "ferry-kiosk" || menu_of(site, None, WINTER) != menu_of(site, None, SUMMER),
            "{site}"
        );
    }
    assert!(turned >= 5, "only {turned} drinks of a season were on a menu");
    // The same moment is another day in Hobart: the season there ends on 31 March.
    let on = |now: &str| {
        let menu = menu_of("takeaway-window", None, now);
        list(&menu, "drinks").iter().any(|one| one["id"] == "espresso-tonic")
    };
    assert!(on("2027-03-31T12:00:00Z") && !on("2027-03-31T14:00:00Z"), "23:00 and 01:00 there");
}

/// Texts that a menu says in a language; everything else is the same in every language.
fn without_texts(value: &mut Value) {
    match value {
        Value::Object(members) => {
            for text in ["lang", "name", "short_name", "text", "because"] {
                members.remove(text);
            }
            members.values_mut().for_each(without_texts);
        }
        Value::Array(all) => all.iter_mut().for_each(without_texts),
        _ => {}
    }
}

#[test]
fn menus_in_two_languages_differ_in_their_texts_alone() {
    let mut compared = 0;
    for (site, bar) in bars().filter(|(_, bar)| bar.site.languages.len() > 1) {
        let [mut one, mut other] =
            [0, 1].map(|n| menu_of(site, Some(&bar.site.languages[n]), WINTER));
        assert_ne!(one, other, "{site}");
        without_texts(&mut one);
        without_texts(&mut other);
        assert_eq!(one, other, "{site}");
        compared += 1;
    }
    assert!(compared >= 3);
}

#[test]
fn a_menu_that_nothing_changed_is_the_same_bytes_and_is_not_sent_again() {
    let service = Service::start();
    let mut tags = std::collections::BTreeSet::new();
    for path in [
        "/v1/menu",
        "/v1/menu?site=bookshop",
        "/v1/menu?site=bookshop&lang=en",
        "/v1/menu?site=ferry-kiosk",
    ] {
        let first = service.get(path);
        assert_eq!(first.status(), StatusCode::OK, "{path}");
        let tag = first.headers()[header::ETAG].to_str().unwrap().to_owned();
        let bytes = first.bytes().unwrap();
        assert_eq!(service.get(path).bytes().unwrap(), bytes, "{path}");
        let request = service.client.get(service.url(path)).header(header::IF_NONE_MATCH, &tag);
        let again = request.send().unwrap();
        assert_eq!(again.status(), StatusCode::NOT_MODIFIED, "{path}");
        assert!(again.bytes().unwrap().is_empty());
        assert!(tags.insert(tag), "{path} has a tag of its own");
    }
    let same = service.get("/v1/menu?site=bookshop&lang=de").bytes().unwrap();
    assert_eq!(same, service.get("/v1/menu?site=bookshop").bytes().unwrap(), "its first language");
}

/// The demo speaks of customers' own cups at some sites only.
#[test]
fn a_site_without_room_for_own_cups_offers_none() {
    let own = |held: &InForce, site: &str| {
        let menu = menu(held, &held.bars[site], None, &sent(WINTER)).unwrap();
        let menu: Value = serde_json::from_slice(&menu).unwrap();
        let drinks = list(&menu, "drinks").iter();
        let cups = drinks.flat_map(|drink| list(drink, "cups").to_vec());
        cups.filter(|cup| cup["service"] == Serving::Own.as_str()).count()
    };
    assert!(own(&DEMO, "bookshop") > 0);
    assert_eq!(own(&DEMO, "ferry-kiosk"), 0, "its sheet has no such cup");
}
