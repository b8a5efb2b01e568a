//! Shots held to their recipe: the arithmetic, the one change, and what a grinder's step is taken for.

use cupwright::{
    answering::{read_shot, shot_answer},
    engine::shot::{extraction_yield, slope},
    in_force::InForce,
    units::{Mass, Percent},
};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::{lines::DEMO, support::chance::cases};

/// The middle of the demo's recipe for a double of the house bean.
pub(crate) const MIDDLE: (f64, f64, f64) = (19.0, 38.0, 28.5);

pub(crate) fn posted(held: &InForce, shot: &Value) -> Value {
    let ticket = read_shot(shot.to_string().as_bytes()).expect("a shot of the contract");
    serde_json::from_slice(&shot_answer(held, &ticket).expect("an answer")).expect("JSON")
}

pub(crate) fn shot((dose, run, time): (f64, f64, f64), more: &Value) -> Value {
    let mut shot = json!({
        "site": "bookshop", "lang": "en", "bean": "house", "pull": "standard",
        "dose_g": dose, "yield_g": run, "time_s": time,
    });
    let more = more.as_object().cloned().unwrap_or_default();
    shot.as_object_mut().unwrap().extend(more);
    shot
}

fn advice(measures: (f64, f64, f64), more: &Value) -> Value {
    posted(&DEMO, &shot(measures, more))["advice"].clone()
}

/// Source: arithmetic, EY % = TDS % · yield ÷ dose, on the round numbers that are used to teach it.
#[test]
fn the_extraction_yield_is_what_dissolved_of_the_dry_coffee() {
    for (tds, run, dose, percent) in
        [(9.0, 36.0, 18.0, 18.0), (10.0, 40.0, 18.0, 22.222), (1.25, 300.0, 18.0, 20.833)]
    {
        let (run, dose) = (Mass::from_g(run), Mass::from_g(dose));
        let found = extraction_yield(Percent::from_percent(tds), run, dose);
        assert_eq!(found, Percent::from_percent(percent), "{tds} % of {run} from {dose}");
    }
}

/// Source: NIST Statistical Reference Datasets, linear regression, Norris: certified slope
/// 1.00211681802045, standard error 0.000429796848199937. The data are from memory; that they give
/// both certified values shows that they are right.
#[test]
fn the_slope_and_its_error_are_those_that_nist_certifies() {
    let norris = [
        (2, 1),
        (3_374, 3_388),
        (1_182, 1_181),
        (8_846, 8_880),
        (101, 92),
        (2_265, 2_281),
        (6_663, 6_685),
        (9_963, 9_985),
        (4_486, 4_491),
        (7_770, 7_789),
        (5_582, 5_592),
        (4, 3),
        (6, 1),
        (7_755, 7_781),
        (6_669, 6_688),
        (3_380, 3_393),
        (4_475, 4_489),
        (116, 108),
        (5_560, 5_577),
        (2_281, 2_283),
        (9_958, 9_980),
        (8_876, 8_888),
        (1_202, 1_196),
        (3, 3),
        (3, 6),
        (5_568, 5_576),
        (3_391, 3_393),
        (8_872, 8_880),
        (9_990, 9_985),
        (7_790, 7_789),
        (111, 102),
        (1_183, 1_176),
        (2_292, 2_289),
        (6_691, 6_684),
        (4_489, 4_492),
        (5, 2),
    ];
    // In tenths, and y a thousand times: the slope comes out with six places.
    let points: Vec<(i64, i64)> = norris.iter().map(|(x, y)| (*x, y * 1_000)).collect();
    let line = slope(&points).expect("many x");
    assert_eq!((line.slope, line.error), (1_002_117, Some(430)));
    assert_eq!(slope(&[(5, 1), (5, 9)]), None, "one setting shows nothing");
}

/// Source of which sign goes with which remedy: common practice, no source. The sizes are the
/// demo's own.
#[test]
fn one_thing_is_changed_and_it_is_the_first_that_is_wrong() {
    let (dose, run, time) = MIDDLE;
    let none = || json!({});
    let taste = |word: &str| json!({ "taste": word });
    let tds = |tds: f64| json!({ "tds_percent": tds });
    let both = |word: &str, tds: f64| json!({ "taste": word, "tds_percent": tds });
    let rows = [
        // Dose goes before everything else that is wrong.
        ((18.5, 30.0, 12.0), taste("sour"), "dose", "dose-under", 0.5),
        ((19.6, run, time), none(), "dose", "dose-over", -0.6),
        ((dose, 0.0, 40.0), none(), "grind", "nothing-came", -3.0),
        ((dose, 20.0, 45.0), none(), "grind", "choked", -3.0),
        ((dose, 44.0, 15.0), none(), "preparation", "gushing", 0.0),
        ((dose, run, time), taste("both"), "preparation", "uneven", 0.0),
        ((dose, 33.0, 24.0), taste("sour"), "yield", "yield-under", 5.0),
        ((dose, 42.5, 33.0), none(), "yield", "yield-over", -4.5),
        ((dose, run, 25.9), taste("sour"), "grind", "too-fast", 1.0),
        ((dose, run, 22.0), taste("bitter"), "grind", "too-fast", 2.0),
        ((dose, run, 32.0), none(), "grind", "too-slow", -1.0),
        ((dose, run, 38.0), none(), "grind", "too-slow", -2.0),
        ((dose, run, time), taste("sour"), "yield", "sour", 1.5),
        ((dose, run, time), taste("bitter"), "yield", "bitter", -1.5),
        ((dose, run, time), taste("weak"), "yield", "weak", -1.9),
        ((dose, run, time), tds(9.0), "yield", "extraction-low", 1.5),
        ((dose, run, time), tds(11.0), "yield", "extraction-high", -1.5),
        ((dose, run, time), tds(10.0), "none", "within-recipe", 0.0),
        ((dose, run, time), taste("fine"), "none", "within-recipe", 0.0),
        ((dose, run, time), both("fine", 9.0), "none", "taste-is-fine", 0.0),
        ((dose, run, time), both("sour", 11.0), "none", "taste-and-measure-differ", 0.0),
        ((dose, run, time), both("bitter", 9.0), "none", "taste-and-measure-differ", 0.0),
        // The remedy never leads out of the recipe.
        ((dose, 39.5, time), taste("sour"), "yield", "sour", 0.5),
        ((dose, 40.0, time), taste("sour"), "none", "recipe-at-limit", 0.0),
    ];
    for (measures, more, change, reason, by) in rows {
        let found = advice(measures, &more);
        let case = format!("{measures:?} {more}: {found}");
        assert_eq!(
            (&found["change"], &found["reason"]),
            (&json!(change), &json!(reason)),
            "{case}"
        );
        let field = match change {
            "dose" => "dose_change_g",
            "yield" => "yield_change_g",
            _ => "grind_steps",
        };
        assert!((found[field].as_f64().unwrap_or(0.0) - by).abs() < 1e-9, "{case}");
    }
}

/// Source: common practice, no source.
#[test]
fn a_shot_that_gushes_again_at_the_same_grind_is_ground_finer() {
    let (dose, run, _) = MIDDLE;
    let before = |dose: f64, time: f64, moved: i32| {
        let recent = json!([{ "dose_g": dose, "yield_g": 40, "time_s": time }]);
        let more = json!({ "recent": recent, "grind_steps": moved });
        let found = advice((dose.max(18.9), run, 16.0), &more);
        (found["change"].clone(), found["reason"].clone())
    };
    assert_eq!(before(dose, 15.0, 0), (json!("grind"), json!("too-fast")));
    let again = (json!("preparation"), json!("gushing"));
    assert_eq!(before(dose, 24.0, 0), again, "the one before did not gush");
    assert_eq!(before(dose, 15.0, 1), again, "it was ground otherwise");
    assert_eq!(before(17.0, 15.0, 0), again, "it had another dose");
}

#[test]
fn the_middle_of_every_recipe_at_every_site_needs_no_change() {
    let mut seen = 0;
    for bar in DEMO.bars.values() {
        for row in bar.book.extractions.iter().flat_map(|one| &one.rows) {
            // Only what can be pulled here has a recipe here.
            let ground = || bar.site.grinders.iter().flat_map(|one| &one.beans);
            let beans = bar.site.pre_dosed.iter().chain(ground()).any(|one| *one == row.bean);
            let basket = bar.site.baskets.iter().any(|one| one.halves == row.halves);
            if !beans || !basket {
                continue;
            }
            let middle = f64::midpoint(row.time_s.min.s(), row.time_s.max.s());
            let answer = posted(
                &DEMO,
                &json!({
                    "site": *bar.site.id, "bean": *row.bean, "pull": *row.pull,
                    "halves": row.halves, "dose_g": row.dose_g, "yield_g": row.yield_g,
                    "time_s": middle,
                }),
            );
            assert_eq!(answer["within"], true, "{answer}");
            assert_eq!(answer["advice"]["change"], "none", "{answer}");
            seen += 1;
        }
    }
    assert!(seen >= 25, "only {seen} recipes were tried");
}

/// Source: Cameron et al. 2020, Matter, doi 10.1016/j.matt.2019.12.019: below some size a finer
/// grind extracts less. So no finer grind is ever advised for taste or extraction, and where one is
/// advised for time, that is said.
#[test]
fn finer_is_advised_for_the_time_alone_and_with_its_caution() {
    let (dose, run, _) = MIDDLE;
    for tenths in 200..400 {
        let time = f64::from(tenths) / 10.0;
        for (taste, tds) in [("sour", 8.5), ("bitter", 9.9), ("weak", 8.5), ("fine", 8.0)] {
            let found = advice((dose, run, time), &json!({ "taste": taste, "tds_percent": tds }));
            let finer = found["grind_steps"].as_i64().unwrap_or(0) > 0;
            assert_eq!(finer, (20.0..26.0).contains(&time), "{time} s, {taste}: {found}");
            let sources = found["remarks"].as_array().unwrap().iter();
            let told = sources.filter_map(|one| one["source"].as_str()).count();
            assert_eq!(told, usize::from(finer), "{found}");
        }
    }
}

/// Shots of the recipe's dose and yield at settings, each with its time.
fn series(points: &[(f64, f64)]) -> Value {
    let mut before = 0.0;
    let all = points.iter().map(|(setting, time)| {
        let by = setting - before;
        before = *setting;
        json!({ "dose_g": 19, "yield_g": 38, "time_s": time, "grind_steps": by })
    });
    all.collect()
}

fn step(points: &[(f64, f64)], now: f64) -> Value {
    let (dose, run, _) = MIDDLE;
    posted(&DEMO, &shot((dose, run, now), &json!({ "recent": series(points) })))["step"].clone()
}

#[test]
fn a_step_is_learned_only_where_the_shots_show_it() {
    let told = |points: &[(f64, f64)], now: f64| {
        let found = step(points, now);
        (found["from"].as_str().unwrap().to_owned(), found["time_s"].as_f64().unwrap())
    };
    let by_book = |seconds: f64| ("book".to_owned(), seconds);
    // Four seconds a step, exactly.
    assert_eq!(told(&[(0.0, 14.0), (1.0, 18.0)], 18.0), ("recent-shots".to_owned(), 4.0));
    // A step that leads farther away than the shot is would only be taken back again.
    let (dose, run, _) = MIDDLE;
    let more = json!({ "recent": series(&[(0.0, 13.9), (1.0, 19.9)]), "grind_steps": 1 });
    let found = advice((dose, run, 25.9), &more);
    let told_of = (&found["change"], &found["reason"]);
    assert_eq!(told_of, (&json!("none"), &json!("step-too-large")), "{found}");
    // No shot, or all at one setting.
    assert_eq!(told(&[], 22.0), by_book(2.5));
    assert_eq!(told(&[(0.0, 20.0), (0.0, 24.0)], 22.0), by_book(2.5));
    // They scatter more than they follow the setting.
    assert_eq!(told(&[(0.0, 18.0), (1.0, 27.0), (2.0, 17.0), (3.0, 26.0)], 20.0), by_book(2.5));
    // A finer grind ran faster: no promise is made of it.
    let contrary = step(&[(0.0, 24.0), (1.0, 22.0), (2.0, 20.0)], 20.0);
    assert_eq!(contrary["from"], "book");
    assert!(contrary["text"].as_str().unwrap().contains("expect little"), "{contrary}");
    // Shots of another dose or yield say nothing of the grind.
    let odd = json!([
        { "dose_g": 17, "yield_g": 38, "time_s": 14, "grind_steps": 0 },
        { "dose_g": 19, "yield_g": 46, "time_s": 30, "grind_steps": 1 },
    ]);
    let found = &posted(&DEMO, &shot((dose, run, 22.0), &json!({ "recent": odd })))["step"];
    assert_eq!((&found["from"], &found["shots"]), (&json!("book"), &json!(1)));
}

#[test]
fn what_lies_beyond_the_settings_seen_is_said_to_be_a_guess() {
    let remarks = |points: &[(f64, f64)], now: f64, moved: f64| {
        let (dose, run, _) = MIDDLE;
        let more = json!({ "recent": series(points), "grind_steps": moved });
        let found = advice((dose, run, now), &more);
        let all = found["remarks"].as_array().unwrap().iter();
        let said = all.filter(|one| one["text"].as_str().unwrap().contains("only a guess")).count();
        (found["grind_steps"].as_f64(), said)
    };
    // From setting 1 to 3, where a shot was pulled; then from 2 to 4, where none was.
    assert_eq!(remarks(&[(1.0, 22.0), (3.0, 28.0)], 22.0, -2.0), (Some(2.0), 0));
    assert_eq!(remarks(&[(0.0, 16.0), (1.0, 19.0)], 22.0, 1.0), (Some(2.0), 1));
}

/// A grinder that does so many seconds a step brings any shot home, one change at a time.
#[test]
fn following_the_advice_ends_within_the_recipe() {
    for (seconds, start) in [(1.0, 21.0), (2.0, 36.0), (3.0, 20.5), (4.5, 38.0), (5.0, 25.9)] {
        let (mut dose, mut run, mut base) = (18.4, 43.0, start);
        let (mut recent, mut moved, mut rounds) = (Vec::new(), 0.0, 0);
        loop {
            let more = json!({ "grind_steps": moved, "recent": recent });
            let found = advice((dose, run, base), &more);
            if found["change"] == "none" {
                assert_eq!(found["reason"], "within-recipe");
                break;
            }
            recent.push(json!({
                "dose_g": dose, "yield_g": run, "time_s": base, "grind_steps": moved,
            }));
            moved = found["grind_steps"].as_f64().unwrap_or(0.0);
            dose += found["dose_change_g"].as_f64().unwrap_or(0.0);
            run += found["yield_change_g"].as_f64().unwrap_or(0.0);
            base += moved * seconds;
            (dose, run) = ((dose * 1_000.0).round() / 1_000.0, (run * 1_000.0).round() / 1_000.0);
            rounds += 1;
            assert!(rounds < 12, "{seconds} s a step from {start} s: {found}");
        }
        assert!((26.0..=31.0).contains(&base), "{base}");
    }
}

fn thousandths(range: std::ops::Range<i32>) -> impl Strategy<Value = f64> {
    range.prop_map(|n| f64::from(n) / 1_000.0)
}

fn measures() -> impl Strategy<Value = (f64, f64, f64)> {
    (thousandths(17_000..21_000), thousandths(0..60_000), thousandths(5_000..60_000))
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn exactly_one_thing_changes_or_none_and_every_bound_is_arithmetic(
        measures in measures(),
        taste in prop::option::of(prop::sample::select(vec!["sour", "bitter", "weak", "both", "fine"])),
    ) {
        let more = taste.map_or_else(|| json!({}), |taste| json!({ "taste": taste }));
        let found = posted(&DEMO, &shot(measures, &more));
        let advice = &found["advice"];
        let sizes = ["dose_change_g", "yield_change_g", "grind_steps"];
        let given: Vec<&str> =
            sizes.into_iter().filter(|name| !advice[*name].is_null()).collect();
        let wanted: &[&str] = match advice["change"].as_str().unwrap() {
            "dose" => &["dose_change_g"],
            "yield" => &["yield_change_g"],
            "grind" => &["grind_steps"],
            _ => &[],
        };
        prop_assert_eq!(given.as_slice(), wanted);
        if let Some(name) = given.first() {
            prop_assert!(advice[*name].as_f64().unwrap() != 0.0, "a change of nothing");
        }
        let text = advice["text"].as_str().unwrap();
        prop_assert!(!text.is_empty());
        prop_assert!(text.find(['{', '}']).is_none(), "a gap is left: {}", text);
        let mut within = true;
        for (field, value) in [("dose_g", measures.0), ("yield_g", measures.1), ("time_s", measures.2)] {
            let one = |name: &str| found[field][name].as_f64().unwrap();
            let off = (value - one("max")).max(0.0) - (one("min") - value).max(0.0);
            prop_assert!((one("off_by") - off).abs() < 1e-9, "{}: {}", field, found);
            within &= off == 0.0;
        }
        prop_assert_eq!(found["within"].as_bool(), Some(within));
    }

    #[test]
    fn twice_the_dose_and_yield_have_the_same_ratio_and_extraction(
        dose in 5_000_i64..50_000, run in 0_i64..100_000, tds in 1_i64..15_000, times in 2_i64..5,
    ) {
        let of = |times: i64| {
            let (dose, run) = (Mass::from_mg(dose * times), Mass::from_mg(run * times));
            extraction_yield(Percent::from_thousandths(tds), run, dose)
        };
        prop_assert_eq!(of(1), of(times));
    }

    #[test]
    fn the_order_of_recent_shots_at_one_setting_does_not_matter(
        times in prop::collection::vec(thousandths(15_000..40_000), 2..8), turn in 1_usize..7,
    ) {
        let with = |times: &[f64]| {
            let mut points = vec![(0.0, 17.0), (1.0, 20.0)];
            points.extend(times.iter().map(|time| (2.0, *time)));
            let (dose, run, _) = MIDDLE;
            posted(&DEMO, &shot((dose, run, 22.0), &json!({ "recent": series(&points) })))
        };
        let mut turned = times.clone();
        turned.rotate_left(turn % times.len());
        prop_assert_eq!(with(&times), with(&turned));
    }

    #[test]
    fn a_slope_is_the_same_when_all_points_are_moved_and_grows_with_its_times(
        points in prop::collection::vec((-20_000_i64..20_000, 0_i64..60_000), 2..20),
        x in -5_000_i64..5_000, y in -5_000_i64..5_000,
    ) {
        let moved: Vec<_> = points.iter().map(|(a, b)| (a + x, b + y)).collect();
        prop_assert_eq!(slope(&points), slope(&moved));
        let against: Vec<_> = points.iter().map(|(a, b)| (*a, -b)).collect();
        prop_assert_eq!(slope(&points).map(|one| -one.slope), slope(&against).map(|one| one.slope));
    }
}
