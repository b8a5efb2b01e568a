//! Shots and books that are wrong, books that say less, and the program beside the library.

use cupwright::answering::{read_shot, shot_answer};
use serde_json::{Value, json};

use crate::{
    changed::{demo_book, load, put},
    cli::run,
    lines::DEMO,
    shots::{MIDDLE, posted, shot},
};

/// The pointers of the problem of a shot that has no answer.
fn pointers(shot: &Value) -> Vec<String> {
    let problem = match read_shot(shot.to_string().as_bytes()) {
        Err(problem) => problem,
        Ok(ticket) => shot_answer(&DEMO, &ticket).expect_err("no answer"),
    };
    assert_eq!((problem.kind, problem.status), ("/problems/invalid-body", 422));
    problem.errors.into_iter().map(|fault| fault.pointer).collect()
}

#[test]
fn what_cannot_be_a_shot_is_told_with_its_place() {
    let (dose, run, time) = MIDDLE;
    let good = shot(MIDDLE, &json!({}));
    let with = |field: &str, value: Value| {
        let mut shot = good.clone();
        shot[field] = value;
        shot
    };
    for (shot, at) in [
        (shot((0.0, run, time), &json!({})), "/dose_g"),
        (shot((dose, run, 0.0), &json!({})), "/time_s"),
        (shot((dose, 0.0, time), &json!({ "tds_percent": 9 })), "/tds_percent"),
        (with("tds_percent", json!(60)), "/tds_percent"),
        (with("bean", json!("moon")), "/bean"),
        (with("pull", json!("moon")), "/pull"),
        (with("extraction", json!("moon")), "/extraction"),
        (with("halves", json!(3)), "/halves"),
        (with("taste", json!("nice")), "/taste"),
        (with("color", json!("blue")), "/color"),
        (with("dose_g", json!(19.0001)), "/dose_g"),
        (with("recent", json!([{ "dose_g": 0, "yield_g": 1, "time_s": 2 }])), "/recent/0/dose_g"),
        (
            with("recent", json!(vec![json!({ "dose_g": 1, "yield_g": 1, "time_s": 2 }); 21])),
            "/recent",
        ),
    ] {
        assert_eq!(pointers(&shot), [at], "{shot}");
    }
    // A recipe for another basket, and none at all.
    let mut decaf = with("bean", json!("decaf"));
    decaf["halves"] = json!(1);
    assert_eq!(pointers(&decaf), ["/halves"]);
    let mut guest = with("bean", json!("guest"));
    guest["pull"] = json!("long");
    assert_eq!(pointers(&guest), ["/bean"]);
    let moon = read_shot(with("site", json!("moon")).to_string().as_bytes()).unwrap();
    assert_eq!(shot_answer(&DEMO, &moon).unwrap_err().kind, "/problems/unknown-site");
}

/// The demo's book with `value` in place of a field of its extraction style, or without the field.
fn book_with(field: &str, value: Value) -> Value {
    let mut book = demo_book();
    let style = book["extractions"][0].as_object_mut().unwrap();
    if value.is_null() {
        style.shift_remove(field);
    } else {
        style.insert(field.to_owned(), value);
    }
    book
}

#[test]
fn a_book_without_the_records_answers_tolerances_alone() {
    let plain = json!({ "site": "training", "bean": "house", "pull": "standard", "dose_g": 19,
        "yield_g": 38, "time_s": 22, "tds_percent": 5 });
    let answer_of = |book: &Value| {
        let held = load(book, &[]).unwrap_or_else(|faulty| panic!("{}", faulty[0]));
        let mut shot = plain.clone();
        shot["site"] = json!(*held.book().training_bar.id);
        posted(&held, &shot)
    };
    let none = answer_of(&book_with("shot_check", Value::Null));
    assert_eq!((&none["advice"]["change"], &none["step"]), (&json!("none"), &Value::Null));
    assert_eq!(none["advice"]["reason"], "no-remedies");
    assert_eq!(none["time_s"]["off_by"], -4);
    let bandless = answer_of(&book_with("extraction_yield_percent", Value::Null));
    let judged = &bandless["extraction_yield_percent"];
    assert_eq!(*judged, json!({ "measured": 10, "min": null, "max": null, "off_by": null }));
    assert_eq!(bandless["advice"]["reason"], "too-fast");
}

#[test]
fn remedies_that_change_nothing_and_bands_the_wrong_way_round_are_complained_about() {
    for (path, value) in [
        ("/extractions/espresso/extraction_yield_percent/max", json!(2)),
        ("/extractions/espresso/shot_check/most_steps", json!(1.5)),
        ("/extractions/espresso/shot_check/most_steps", json!(0)),
        ("/extractions/espresso/shot_check/choked_steps", json!(-3)),
        ("/extractions/espresso/shot_check/time_per_step_s", json!(0)),
        ("/extractions/espresso/shot_check/yield_change_g", json!(0)),
        ("/extractions/espresso/shot_check/ratio_change", json!(0)),
    ] {
        let mut book = demo_book();
        put(&mut book, path, value.clone());
        let faulty = load(&book, &[]).err().unwrap_or_else(|| panic!("{path} may be {value}"));
        let wanted = path.replace("/espresso/", "/0/");
        assert_eq!(faulty[0].all.len(), 1, "{path} as {value}");
        assert_eq!(faulty[0].all[0].pointer, wanted, "{path} as {value}");
    }
}

#[test]
fn the_program_says_the_same_as_the_library_and_fails_with_the_place() {
    let posted_shot = shot((19.0, 38.0, 22.0), &json!({}));
    let output = run(&["shot", "--json"], &posted_shot.to_string());
    assert!(output.status.success());
    let said: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(said, posted(&DEMO, &posted_shot));
    let text = String::from_utf8(run(&["shot"], &posted_shot.to_string()).stdout).unwrap();
    assert!(text.contains("Time        22 s, recipe 26 to 31 s: off by -4 s"), "{text}");
    assert!(text.contains("Set the grinder finer, steps: 2."), "{text}");
    let wrong = run(&["shot"], &shot((0.0, 38.0, 22.0), &json!({})).to_string());
    assert_eq!(wrong.status.code(), Some(3));
    assert!(String::from_utf8(wrong.stderr).unwrap().contains("/dose_g: found 0"));
}
