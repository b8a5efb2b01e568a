//! The contract judged by outside tools, none of which shares code with this project.
//!
//! `./tests/run` installs them; a tool that is missing fails its test and says so.

pub(crate) mod mutants;
mod running;

use std::{fs, path::Path, process::Command, sync::Arc};

use cupwright::{
    answering::{Asked, Sent, read_ticket},
    contract, demo, http,
};
use serde_json::{Value, json};
use tempfile::TempDir;

use mutants::{mutants, with};

use crate::support::{
    self,
    tools::{node, python, run, tool_file},
};

/// A document with the name of the schema that it is judged by.
type Case = (&'static str, Value);

/// The OpenAPI document, as a file in a folder of its own.
fn openapi_in(folder: &Path) -> String {
    let path = folder.join("openapi.json");
    fs::write(&path, http::document().to_pretty_json().unwrap()).unwrap();
    path.to_str().unwrap().to_owned()
}

/// Every published schema as a file, and the cases one a line, in a folder of their own.
fn bench(cases: &[Case]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("schemas")).unwrap();
    for (name, schema) in contract::schemas() {
        let file = folder.path().join("schemas").join(format!("{name}.json"));
        fs::write(file, schema.to_string()).unwrap();
    }
    let lines: Vec<String> = cases.iter().map(|case| json!(case).to_string()).collect();
    fs::write(folder.path().join("cases.jsonl"), lines.join("\n")).unwrap();
    folder
}

/// The verdicts that a judging script prints, one for each case.
fn verdicts(mut judge: Command, cases: &[Case]) -> Vec<bool> {
    let folder = bench(cases);
    judge.arg(folder.path().join("schemas")).arg(folder.path().join("cases.jsonl"));
    let printed: Vec<bool> = run(judge).lines().map(|line| line.parse().unwrap()).collect();
    assert_eq!(printed.len(), cases.len(), "the judge answers every case");
    printed
}

fn ajv(cases: &[Case]) -> Vec<bool> {
    let mut judge = node();
    judge.arg(tool_file("npm/judge.mjs"));
    verdicts(judge, cases)
}

fn python_jsonschema(cases: &[Case]) -> Vec<bool> {
    let mut judge = python();
    judge.arg(tool_file("judge.py"));
    verdicts(judge, cases)
}

fn rust_jsonschema(cases: &[Case]) -> Vec<bool> {
    let schemas: Vec<_> = contract::schemas()
        .into_iter()
        .map(|(name, schema)| (name, jsonschema::draft202012::new(&schema).unwrap()))
        .collect();
    let judge = |wanted: &str| &schemas.iter().find(|(name, _)| *name == wanted).unwrap().1;
    cases.iter().map(|(name, case)| judge(name).is_valid(case)).collect()
}

fn book() -> Value {
    serde_json::from_str(&demo::book().text).unwrap()
}

/// The demo book with every fifth row of its lists: each kind of thing, in a fifth of the time.
fn excerpt() -> Value {
    let mut book = book();
    for list in book.as_object_mut().unwrap().values_mut().filter_map(Value::as_array_mut) {
        *list = list.iter().step_by(5).cloned().collect();
    }
    book
}

fn sites() -> Vec<Value> {
    demo::sites().iter().map(|site| serde_json::from_str(&site.text).unwrap()).collect()
}

/// A ticket with every kind of field and every kind of verdict.
fn ticket() -> Value {
    json!({
        "site": "bookshop",
        "pin": { "book": "1.0.0" },
        "lang": "en",
        "out_of_stock": ["hazelnut-syrup"],
        "order": { "ref": "A-17", "name": "Mira", "at": "2026-11-25T14:05:00+01:00" },
        "lines": [
            {
                "line": "1", "drink": "latte", "quantity": 2, "note": "in the garden",
                "modifiers": [
                    { "id": "milk", "value": "oat-drink" },
                    { "id": "temperature", "value": 55.5 },
                    { "id": "shots", "count": 1 },
                    { "id": "spoon" },
                ],
            },
            { "line": "2", "drink": "flat-white", "modifiers": [{ "id": "shots", "count": 3 }] },
            {
                "line": "3", "drink": "flat-white", "allergies": ["soy"], "diets": ["vegan"],
                "confirmed": ["shots"], "override": "tasting",
                "modifiers": [{ "id": "size", "value": "large" }],
            },
            { "line": "4", "drink": "iced-latte" },
        ],
    })
}

/// The library's answer to the ticket at the demo's training bar, which has everything.
fn answered(asked: Asked) -> Value {
    let held = Arc::new(support::demo());
    let mut wanted = ticket();
    wanted["site"] = json!(*held.book().training_bar.id);
    wanted["pin"]["book"] = json!(held.book().version);
    let now = "2026-11-25T13:05:00Z".parse().unwrap();
    let sent = Sent { now, ..Sent::default() };
    support::answer_to(&held, &wanted, asked, &sent)
}

#[test]
fn a_linter_finds_nothing_wrong_with_the_openapi_document() {
    let folder = tempfile::tempdir().unwrap();
    let mut lint = node();
    lint.arg(tool_file("npm/node_modules/@redocly/cli/bin/cli.js"));
    lint.args(["lint", "--format", "stylish", "--lint-config", "error", "--config"]);
    lint.arg(tool_file("redocly.yaml")).arg(openapi_in(folder.path()));
    lint.env("REDOCLY_TELEMETRY", "off").env("REDOCLY_SUPPRESS_UPDATE_NOTICE", "true");
    run(lint);
}

#[test]
fn a_validator_of_openapi_takes_the_document_as_openapi_3_1_and_refuses_a_broken_one() {
    let folder = tempfile::tempdir().unwrap();
    let validate = |path: &str| {
        let mut validate = python();
        validate.args(["-m", "openapi_spec_validator", "--schema", "3.1", path]);
        validate
    };
    run(validate(&openapi_in(folder.path())));
    let mut broken = serde_json::to_value(http::document()).unwrap();
    broken["paths"]["/v1/expand"]["post"]["responses"] = json!({ "200": {} });
    let path = folder.path().join("broken.json");
    fs::write(&path, broken.to_string()).unwrap();
    let output = validate(path.to_str().unwrap()).output().unwrap();
    assert!(!output.status.success(), "a response without a description is no OpenAPI");
}

#[test]
fn a_strict_validator_takes_every_document_that_the_demo_has_or_makes() {
    let mut cases: Vec<Case> = vec![("drink-book", book()), ("ticket", ticket())];
    cases.extend(sites().into_iter().map(|site| ("drink-site", site)));
    let answer = answered(Asked::Builds);
    let lines = answer["lines"].as_array().unwrap();
    let kinds: Vec<&Value> = lines.iter().map(|line| &line["verdict"]).collect();
    assert_eq!(kinds, ["accept", "ask", "refuse", "accept"], "the ticket meets every verdict");
    let builds = lines.iter().filter_map(|line| line.get("build"));
    cases.extend(builds.map(|build| ("drink-build", build.clone())));
    cases.push(("ticket-answer", answer.clone()));
    cases.push(("ticket-answer", answered(Asked::Verdicts)));
    cases.push(("problem", serde_json::to_value(read_ticket(b"{}").unwrap_err()).unwrap()));
    assert_eq!(cases.len(), 11, "a book, a ticket, four sites, two builds, two answers, a problem");
    for ((name, _), taken) in cases.iter().zip(ajv(&cases)) {
        assert!(taken, "a {name} is refused by its schema");
    }
}

#[test]
fn a_strict_validator_refuses_what_the_contract_does_not_allow() {
    let put = |schema, pointer, value| (schema, pointer, Some(value));
    let faults = [
        put("ticket", "/lines", json!([])),
        put("ticket", "/lines/0/quantity", json!(0)),
        put("ticket", "/lines/0/modifiers/0/value", json!(["oat-drink"])),
        put("ticket", "/lines/0/modifiers/1/value", json!(10_001)),
        put("ticket", "/lines/0/modifiers/2/count", json!(1.5)),
        put("drink-site", "/schema", json!("drink-site/0.2.0")),
        put("drink-site", "/baskets/0/halves", json!(3)),
        put("drink-site", "/steam/dryness", json!(1.5)),
        put("drink-site", "/default_service", json!("delivery")),
        put("drink-book", "/drinks/0/parts/0/kind", json!("juice")),
        put("drink-book", "/modifiers/0/kind", json!("dial")),
        put("drink-book", "/currency", json!("euro")),
        put("drink-book", "/version", json!("1")),
        put("ticket-answer", "/lines/0/verdict", json!("maybe")),
        put("ticket-answer", "/lines/0/verdict", json!("refuse")),
        put("ticket-answer", "/lines/0/price/amount", json!(4.2)),
        put("ticket-answer", "/lines/0/build/milk/set_point_c", json!("hot")),
        put("ticket-answer", "/lines/0/build/digest", json!("sha256:0")),
        put("ticket-answer", "/lines/1/question", Value::Null),
        ("ticket-answer", "/book", None),
        ("ticket-answer", "/allergens/may_contain", None),
        ("ticket-answer", "/lines/0/verdict", None),
        ("ticket-answer", "/lines/2/refusals", None),
    ];
    let answer = answered(Asked::Builds);
    let sound = |schema| match schema {
        "ticket" => ticket(),
        "drink-site" => sites().swap_remove(0),
        "drink-book" => book(),
        _ => answer.clone(),
    };
    let wrong = |(schema, pointer, value): &(&'static str, &str, Option<Value>)| {
        (*schema, with(sound(schema), pointer, value.clone()))
    };
    let cases: Vec<Case> = faults.iter().map(wrong).collect();
    for (fault, taken) in faults.iter().zip(ajv(&cases)) {
        assert!(!taken, "{fault:?} is taken");
    }
}

#[test]
fn three_validators_of_three_languages_judge_every_mutant_alike() {
    let mut cases: Vec<Case> = Vec::new();
    let mut add = |name: &'static str, document: &Value, every: usize| {
        cases.extend(mutants(document, every).into_iter().map(|mutant| (name, mutant)));
    };
    add("ticket", &ticket(), 1);
    add("drink-site", &sites()[1], 2);
    add("drink-book", &excerpt(), 37);
    let ours = rust_jsonschema(&cases);
    let taken = ours.iter().filter(|taken| **taken).count();
    assert!(cases.len() >= 400, "only {} mutants", cases.len());
    assert!(taken >= 50 && cases.len() - taken >= 200, "{taken} of {} are taken", cases.len());
    for (theirs, tool) in [(ajv(&cases), "Ajv"), (python_jsonschema(&cases), "python-jsonschema")] {
        let verdicts = ours.iter().zip(theirs).zip(&cases);
        for ((ours, theirs), (name, case)) in verdicts {
            assert_eq!(*ours, theirs, "the Rust validator and {tool} on a {name}: {case}");
        }
    }
}

#[test]
fn a_typescript_client_compiles_against_types_made_from_the_openapi_document() {
    let folder = tempfile::tempdir().unwrap();
    let mut generate = node();
    generate.arg(tool_file("npm/node_modules/openapi-typescript/bin/cli.js"));
    // A field with a default may be left out of a request.
    generate.args(["--default-non-nullable", "false", "--output"]);
    generate.arg(folder.path().join("contract.d.ts")).arg(openapi_in(folder.path()));
    run(generate);
    fs::copy(tool_file("npm/client.ts"), folder.path().join("client.ts")).unwrap();
    let mut compile = node();
    compile.arg(tool_file("npm/node_modules/typescript/bin/tsc"));
    compile.args(["--strict", "--exactOptionalPropertyTypes", "--noUncheckedIndexedAccess"]);
    compile.args(["--noEmit", "--target", "es2022", "--module", "preserve"]);
    compile.arg(folder.path().join("client.ts"));
    run(compile);
}
