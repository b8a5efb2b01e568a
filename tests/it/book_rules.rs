//! Books as wholes: what no schema can say, each rule broken once, all complaints in their places.

use cupwright::json::Complaint;
use serde_json::{Value, json};

use crate::changed::{assert_broken, demo_book, load, place, pointer, put, row};

/// What is complained about when `book` is loaded, which proves it, without any site's sheet.
#[track_caller]
fn unproved(book: &Value) -> Vec<Complaint> {
    let mut faulty = load(book, &[]).expect_err("the book is wrong");
    assert_eq!(faulty.len(), 1, "one document: {faulty:?}");
    assert_eq!(faulty[0].document, "book.json");
    faulty.remove(0).all
}

#[test]
fn bounds_are_in_order() {
    assert_broken(&[
        row(
            "/extractions/espresso/rows/0/time_s",
            json!({"min": 40, "max": 31}),
            "31 s",
            "at least 40 s, its lower bound",
        )
        .at("/extractions/espresso/rows/0/time_s/max"),
        row(
            "/drinks/latte/envelope/fill_ml",
            json!({"min": 300, "max": 200.5}),
            "200.5 ml",
            "at least 300 ml, its lower bound",
        )
        .at("/drinks/latte/envelope/fill_ml/max"),
        row(
            "/drinks/latte/envelope/foam_depth_mm",
            json!({"min": 9, "max": 8}),
            "8 mm",
            "at least 9 mm",
        )
        .at("/drinks/latte/envelope/foam_depth_mm/max"),
        row(
            "/drinks/piccolo/envelope/brim_ml",
            json!({"min": 101, "max": 100}),
            "100 ml",
            "at least 101 ml",
        )
        .at("/drinks/piccolo/envelope/brim_ml/max"),
        row(
            "/drinks/piccolo/envelope/set_point_c",
            json!({"min": 61, "max": 60}),
            "60 °C",
            "at least 61 °C",
        )
        .at("/drinks/piccolo/envelope/set_point_c/max"),
        row("/modifiers/shots/result", json!({"min": 6, "max": 1}), "1", "at least 6")
            .at("/modifiers/shots/result/max"),
        row(
            "/modifiers/temperature/celsius",
            json!({"min": 80, "max": 40}),
            "40 °C",
            "at least 80 °C",
        )
        .at("/modifiers/temperature/celsius/max"),
    ]);
}

#[test]
fn records_hold_together() {
    assert_broken(&[
        row(
            "/ingredients/whole-milk/steaming/set_points_c/extra-hot",
            json!(69.5),
            "69.5 °C",
            "at most 69 °C, its cap",
        ),
        row(
            "/ingredients/oat-drink/steaming/set_points_c/child",
            json!(4),
            "4 °C",
            "more than 4 °C, as stored",
        ),
        row(
            "/ingredients/soy-drink/steaming/set_points_c/standard",
            json!(null),
            "no `standard`",
            "a set-point named `standard`",
        )
        .taken_out()
        .at("/ingredients/soy-drink/steaming/set_points_c"),
        row(
            "/ingredients/skimmed-milk/composition/water",
            json!(95),
            "104.4 g per 100 g",
            "98 to 102 g",
        )
        .at("/ingredients/skimmed-milk/composition"),
        row(
            "/ingredients/chai-syrup/specific_heat_kj_kg_k",
            json!(null),
            "neither a specific heat nor a composition",
            "`composition`",
        )
        .taken_out()
        .at("/ingredients/chai-syrup"),
        row(
            "/ingredients/black-tea/keeps_ml_g",
            json!(null),
            "no `keeps_ml_g`",
            "keeps when strained",
        )
        .taken_out()
        .at("/ingredients/black-tea"),
        row(
            "/ingredients/sugar/displacement_ml_g",
            json!(null),
            "neither a density nor a displacement",
            "room in the cup",
        )
        .taken_out()
        .at("/ingredients/sugar"),
        row("/vessels/cup-260/fill_ml", json!(260.5), "260.5 ml", "at most 260 ml, its brim"),
        row("/vessels/cup-200/fill_ml", json!(0), "0 ml", "more than nothing"),
        row("/vessels/glass-100/diameter_at_fill_mm", json!(9.999), "9.999 mm", "at least 10 mm"),
        row("/vessels/cup-260/diameter_at_floor_mm", json!(9.999), "9.999 mm", "at least 10 mm"),
        row(
            "/vessels/cup-200/diameter_at_floor_mm",
            json!(85),
            "85 mm",
            "at most 84 mm, as at the",
        ),
    ]);
}

#[test]
fn the_parts_of_a_drink_agree_with_its_remainder() {
    assert_broken(&[
        row(
            "/drinks/latte/parts/milk/foam",
            json!({"depth_mm": 9, "ml": 20}),
            "2 measures of foam",
            "exactly one of `depth_mm`, `ml` and `gas_fraction`",
        ),
        row("/drinks/mocha/parts/milk/foam", json!({}), "0 measures of foam", "exactly one of"),
        row(
            "/drinks/steamer/cups/here/regular/foam",
            json!({"gas_fraction": 0.95}),
            "more than 0.9",
            "a milk that still pours",
        )
        .at("/drinks/steamer/cups/here/regular/foam/gas_fraction"),
        row(
            "/drinks/flat-white/remainder",
            json!("water"),
            "water",
            "a water part without an amount of its own",
        ),
        row(
            "/drinks/iced-latte/parts/milk/cold_ml",
            json!(150),
            "milk",
            "a milk part without an amount of its own",
        )
        .at("/drinks/iced-latte/remainder"),
    ]);
}

#[test]
fn the_cups_of_a_drink_agree_with_its_parts() {
    assert_broken(&[
        row(
            "/drinks/long-black/cups/here/regular/fill_ml",
            json!(null),
            "no fill",
            "up to which the remainder goes",
        )
        .taken_out()
        .at("/drinks/long-black/cups/here/regular"),
        row(
            "/drinks/espresso/cups/here/regular/fill_ml",
            json!(30),
            "a fill",
            "the parts of this drink make the fill",
        )
        .at("/drinks/espresso/cups/here/regular"),
        row("/drinks/steamer/cups/here/large/halves", json!(1), "1", "no coffee part"),
        row("/drinks/mocha/envelope/requires/0", json!("choco"), "`choco`", "a part of this drink"),
        row(
            "/drinks/cappuccino/parts/cocoa/amount",
            json!({"g": 1, "ml": 1}),
            "both `g` and `ml`",
            "exactly one of `g` and `ml`",
        ),
        row(
            "/drinks/cortado/parts/milk/set_point",
            json!("scalding"),
            "`scalding`",
            "one of the milk's set-points: ",
        ),
        row(
            "/drinks/piccolo/parts/milk/ingredient",
            json!("sugar"),
            "`sugar`",
            "an ingredient of kind `milk`",
        ),
        row(
            "/drinks/piccolo/parts/milk/ingredient",
            json!("sugar"),
            "`sugar`, which has no `steaming`",
            "a milk that takes steam",
        ),
    ]);
}

#[test]
fn an_effect_belongs_to_its_phase() {
    assert_broken(&[
        row(
            "/modifiers/vanilla/does/halves_each",
            json!(1),
            "`halves_each` in phase `addition`",
            "it in phase `count`",
        ),
        row(
            "/modifiers/lid-off/does",
            json!({"foam_depth_mm": 3}),
            "`foam_depth_mm` in phase `handover`",
            "it in phase `foam`",
        )
        .at("/modifiers/lid-off/does/foam_depth_mm"),
        row(
            "/modifiers/foam/values/less/does/fill_share",
            json!(0.5),
            "`fill_share` in phase `foam`",
            "it in phase `fill`",
        ),
        row(
            "/modifiers/cinnamon/does/add/amount",
            json!({}),
            "neither `g` nor `ml`",
            "exactly one of",
        ),
    ]);
}

#[test]
fn every_text_stands_in_every_language_of_the_book() {
    const GONE: &str = "no text in `de`";
    const EACH: &str = "a text in each language of the book";
    let gone = |path, at| row(path, json!(null), GONE, EACH).taken_out().at(at);
    assert_broken(&[
        gone("/names/de", "/names"),
        gone("/allergens/oats/names/de", "/allergens/oats/names"),
        gone("/services/own/sticker/de", "/services/own/sticker"),
        gone("/ingredients/water/names/de", "/ingredients/water/names"),
        gone("/drinks/latte/names/de", "/drinks/latte/names"),
        row("/drinks/mocha/names/en", json!("  "), "an empty text", "a text"),
        gone(
            "/modifiers/milk/values/oat-drink/sticker/de",
            "/modifiers/milk/values/oat-drink/sticker",
        ),
        gone("/modifiers/milk/otherwise/text/de", "/modifiers/milk/otherwise/text"),
        row(
            "/modifiers/vanilla/sticker/en",
            json!("VANILLA"),
            "`VANILLA`",
            "a text with `{n}`, the count",
        ),
        gone("/modifiers/lid-off/excludes/0/because/de", "/modifiers/lid-off/excludes/0/because"),
        gone("/regions/au/names/de", "/regions/au/names"),
    ]);
}

#[test]
fn a_document_for_a_newer_program_is_refused_by_that_name() {
    assert_broken(&[
        row("/min_reader", json!("0.2.0"), "0.2.0", "at most 0.1.0; a newer program reads this"),
        row("/training_bar/min_reader", json!("1.0.0"), "1.0.0", "at most 0.1.0"),
    ]);
}

#[test]
fn regions_and_sites_may_never_reach_ids_kinds_or_allergens() {
    assert_broken(&[
        row(
            "/region_may_replace/0",
            json!("/ingredients/*/allergens"),
            "`/ingredients/*/allergens`, which reaches `allergens`",
            "a path that reaches none of ",
        ),
        row(
            "/region_may_replace/1",
            json!("/regions/*/names/*"),
            "`/regions/*/names/*`",
            "a path into one of drinks",
        ),
        row(
            "/site_may_replace/0",
            json!("/ingredients/*/may_contain/0"),
            "`/ingredients/*/may_contain/0`, which reaches `may_contain`",
            "reaches none of ",
        ),
        row(
            "/site_may_replace/1",
            json!("/drinks/*/id"),
            "`/drinks/*/id`, which reaches `id`",
            "reaches none of ",
        ),
    ]);
}

#[test]
fn a_star_in_a_path_reaches_no_allergen_either() {
    for pattern in ["/ingredients/*", "/ingredients/*/*"] {
        let mut book = demo_book();
        put(&mut book, "/region_may_replace/-", json!(pattern));
        let mut milk = book.pointer(&pointer(&book, "/ingredients/whole-milk")).unwrap().clone();
        milk["allergens"] = json!([]);
        let (path, value) = match pattern {
            "/ingredients/*" => ("~1ingredients~1whole-milk", milk),
            _ => ("~1ingredients~1whole-milk~1allergens", json!([])),
        };
        book["regions"][0]["replace"] = json!({ path.replace("~1", "/"): value });
        assert!(
            load(&book, &[]).is_err(),
            "by `{pattern}` a region says that milk has no milk in it"
        );
    }
}

#[test]
fn a_drink_that_leaves_its_own_envelope_is_not_proved() {
    let mut book = demo_book();
    put(&mut book, "/drinks/cortado/envelope/fill_ml/max", json!(129));
    put(&mut book, "/examples", json!([]));
    let all = unproved(&book);
    assert_eq!(all.len(), 1, "only the cup to take away holds more: {all:?}");
    assert_eq!(all[0].pointer, pointer(&book, "/drinks/cortado/cups/takeaway/regular"));
    assert_eq!(all[0].place, Some(place(&book, &all[0].pointer)));
    assert!(all[0].found.starts_with("fill-outside-identity: "), "{}", all[0]);
    assert!(all[0].found.contains("130") && all[0].found.contains("129"), "{}", all[0]);
    assert_eq!(all[0].expected, "a cup that the training bar can make");
}

#[test]
fn a_worked_example_that_does_not_hold_is_told_where_it_is_written() {
    let example = |drink: &str, expect: Value| {
        let line = json!({"drink": drink});
        json!({"about": "wrong on purpose", "line": line, "expect": expect})
    };
    let mut book = demo_book();
    let flat = json!({"drink": "flat-white", "modifiers": [{"id": "size", "value": "large"}]});
    book["examples"] = json!([
        example("latte", json!({"/coffee/halves": 2, "/drink": "latte"})),
        example("latte", json!({"/coffee/yield_g": {"value": 21, "tolerance": 1.999}})),
        example("latte", json!({"/coffee/colour": "brown"})),
        example("latte", json!({"verdict": "refuse"})),
        {"about": "refused", "line": flat, "expect": {"/coffee/halves": 2}},
        {"about": "refused otherwise", "line": flat,
         "expect": {"verdict": "refuse", "/refusals/0/code": "overflows"}},
        example("latte", json!({"/coffee/yield_g": {"value": 21, "tolerance": 2}})),
    ]);
    let told: Vec<(String, String, String)> = unproved(&book)
        .into_iter()
        .map(|one| {
            assert_eq!(one.place, Some(place(&book, &one.pointer)), "{one}");
            (one.pointer, one.found, one.expected)
        })
        .collect();
    let wanted = [
        ("/examples/0/expect/~1coffee~1halves", "1", "2"),
        ("/examples/1/expect/~1coffee~1yield_g", "19", "21 give or take 1.999"),
        ("/examples/2/expect/~1coffee~1colour", "nothing there", "a pointer into the answer"),
        ("/examples/3/expect", "verdict \"accept\" (made as asked)", "verdict \"refuse\""),
        (
            "/examples/4/expect",
            "verdict \"refuse\" (Flat white is not made in this form: Large.)",
            "verdict \"accept\"",
        ),
        ("/examples/5/expect/~1refusals~10~1code", "\"no-such-cup\"", "\"overflows\""),
    ];
    let wanted =
        wanted.map(|(at, found, right)| (at.to_owned(), found.to_owned(), right.to_owned()));
    assert_eq!(told, wanted);
}

#[test]
fn a_sentence_of_the_books_own_has_a_key_that_means_something_and_the_gaps_of_the_english_one() {
    let mut book = demo_book();
    book["phrases"] = json!({
        "en": {"step.dance": "Dance.", "step.put-ice": "Put {g} g ice in the {bucket} or {bag}."},
        "de": {"step.put-ice": "Eis in {cup} geben."},
    });
    let told: Vec<(String, String)> =
        unproved(&book).into_iter().map(|one| (one.pointer, one.found)).collect();
    let wanted = [
        ("/phrases/en/step.dance".to_owned(), "the key `step.dance`".to_owned()),
        ("/phrases/en/step.put-ice".to_owned(), "the gap `{bag}`".to_owned()),
        ("/phrases/en/step.put-ice".to_owned(), "the gap `{bucket}`".to_owned()),
        ("/phrases/en/step.put-ice".to_owned(), "no gap `{cup}`".to_owned()),
        ("/phrases/de/step.put-ice".to_owned(), "no gap `{g}`".to_owned()),
    ];
    assert_eq!(told, wanted);
}

#[test]
fn each_sentence_that_a_language_lacks_is_told_by_its_key() {
    let mut book = demo_book();
    let fault = "a text in each language of the book";
    put(&mut book, "/languages/-", json!("fr"));
    book["phrases"] = json!({"fr": {"step.stir": "Remuer.", "decimal-mark": ","}});
    let faulty = load(&book, &[]).expect_err("it speaks no French");
    let of_sentences: Vec<&Complaint> =
        faulty[0].all.iter().filter(|one| one.expected != fault).collect();
    let keys: std::collections::BTreeSet<&str> = of_sentences
        .iter()
        .map(|one| one.pointer.strip_prefix("/phrases/fr/").expect("a key of French"))
        .collect();
    assert_eq!(keys.len(), of_sentences.len(), "one complaint for each");
    assert!(keys.contains("step.hand-over") && keys.contains("refusal.no-jug"));
    assert!(!keys.contains("step.stir") && !keys.contains("decimal-mark"));
    let stir = of_sentences.iter().find(|one| one.pointer.ends_with("/step.hand-over")).unwrap();
    assert_eq!(stir.found, "no sentence `step.hand-over` in `fr`");
    assert!(stir.expected.starts_with("a sentence such as `"), "{stir}");
    assert!(stir.place.is_some());
}

/// Each of these loaded once and made nonsense, or ended the program.
#[test]
fn numbers_that_no_bar_could_work_with_are_told() {
    for (path, value, expected) in [
        ("/modifiers/shots/confirm_above", json!(-2_147_483_648_i64), "0 to 24 halves"),
        ("/modifiers/temperature/celsius/min", json!(2), "at which `"),
        ("/jugs/jug-350/cold_min", json!(1), "to which milk may stretch"),
        ("/training_bar/pour_mark_ml", json!(1_000), "at most 50 mL"),
        ("/ingredients/whole-milk/density_hot", json!({"at_c": 5, "kg_m3": 2000}), "at least 30"),
        ("/modifiers/spoon/does", json!({"halves": 2}), "in phase `count`"),
    ] {
        let mut book = demo_book();
        put(&mut book, path, value);
        let faulty = load(&book, &[]).expect_err(path);
        let all: Vec<String> = faulty[0].all.iter().map(ToString::to_string).collect();
        assert!(all.iter().any(|one| one.contains(expected)), "{path}: {all:#?}");
    }
}

#[test]
fn a_modifier_neither_excludes_itself_nor_sets_halves_that_nothing_reads() {
    let mut book = demo_book();
    put(
        &mut book,
        "/modifiers/shots/excludes",
        json!([{"id": "shots", "because": {"en": "So.", "de": "So."}}]),
    );
    put(&mut book, "/modifiers/dirty/does", json!({"halves": 2}));
    let faulty = load(&book, &[]).expect_err("two faults");
    let told = |part: &str| faulty[0].all.iter().any(|one| one.to_string().contains(part));
    assert!(told("`shots`, which is itself; expected another modifier"));
    assert!(told("halves set; expected them on a slot"));
}
