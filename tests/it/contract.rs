//! The HTTP contract, one file a case under `tests/contract/`; a new case needs no Rust.
//!
//! A case holds a request and the whole answer. Digests are not kept, so that a change of the demo
//! book shows only what it changes; they have tests of their own.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::PathBuf,
    sync::{Arc, LazyLock},
};

use actix_web::{http::Method, test, web::Data};
use cupwright::{
    book::{Bar, Overlay},
    config::Settings,
    contract::schemas,
    demo as demo_files,
    engine::{
        Moment, build_line,
        objection::{Code, Notice},
    },
    http::{State, app, document},
    in_force::{InForce, Source},
    json::Digest,
    keys::KeyRing,
    state::{StateDir, StockOuts},
    token::token,
    wire::{Kind, TicketLine},
};
use serde_json::{Value, json};

use crate::support::{demo, golden, root};

fn cases() -> Vec<PathBuf> {
    let mut all = Vec::new();
    for folder in fs::read_dir(root("tests/contract")).unwrap() {
        for case in fs::read_dir(folder.unwrap().path()).unwrap() {
            all.push(case.unwrap().path());
        }
    }
    all.sort();
    assert!(all.len() >= 50, "only {} cases were found", all.len());
    all
}

/// Sets the value at a path of ids; null takes a member away.
fn set(document: &mut Value, path: &str, value: &Value) {
    let (parent, last) = path.rsplit_once('/').unwrap();
    let mut here = document;
    for segment in parent.split('/').skip(1) {
        here = match here {
            Value::Array(all) => {
                all.iter_mut().find(|one| one["id"] == segment).unwrap_or_else(|| panic!("{path}"))
            }
            other => other.get_mut(segment).unwrap_or_else(|| panic!("{path}: no {segment}")),
        };
    }
    let members = here.as_object_mut().unwrap();
    if value.is_null() {
        members.remove(last).unwrap_or_else(|| panic!("{path} is not there"));
    } else {
        members.insert(last.to_owned(), value.clone());
    }
}

fn changed(source: Source, changes: &Value) -> Source {
    let Some(changes) = changes.as_object() else { return source };
    let mut document: Value = serde_json::from_str(&source.text).unwrap();
    for (path, value) in changes {
        set(&mut document, path, value);
    }
    Source { name: source.name, text: document.to_string() }
}

/// The demo as it is, which most cases need.
static DEMO: LazyLock<Arc<InForce>> = LazyLock::new(|| Arc::new(demo()));

/// The demo, with what the case changes in the book, in the site's sheet, or by a recall.
fn held_for(case: &Value) -> Arc<InForce> {
    if ["book_changes", "site_changes", "recalled"].iter().all(|key| case[key].is_null()) {
        return Arc::clone(&DEMO);
    }
    let about = &case["about"];
    let site = case["request"]["body"]["site"].as_str().unwrap_or_default();
    let sheet = |source: Source| {
        let own = serde_json::from_str::<Value>(&source.text).unwrap()["id"] == site;
        if own { changed(source, &case["site_changes"]) } else { source }
    };
    let sites: Vec<Source> = demo_files::sites().into_iter().map(sheet).collect();
    let book = changed(demo_files::book(), &case["book_changes"]);
    let mut held = InForce::load(&book, &sites)
        .and_then(|held| held.with_tills(&demo_files::tills()))
        .unwrap_or_else(|faulty| panic!("{about}: {}", faulty[0]));
    if let Some(ids) = case["recalled"].as_array() {
        let remove = ids.iter().map(|id| id.as_str().unwrap().into()).collect();
        let overlay = Overlay { remove, substitute: Vec::new() };
        let digest = Digest::of(&case["recalled"]);
        let sheet = held.document.training_bar();
        let bar = Bar::compile(&held.document, &sheet, None, Some((&overlay, digest))).unwrap();
        held.bars.insert(bar.site.id.clone(), Arc::new(bar));
    }
    Arc::new(held)
}

/// Takes out what changes with every edit of the demo.
fn without_digests(value: &mut Value) {
    match value {
        Value::String(text) if text.starts_with("sha256:") => "sha256:…".clone_into(text),
        Value::Object(members) => {
            for (key, member) in members {
                if ["build_id", "since", "token", "print_id"].contains(&&**key)
                    && member.is_string()
                {
                    *member = json!("…");
                }
                without_digests(member);
            }
        }
        Value::Array(all) => all.iter_mut().for_each(without_digests),
        _ => {}
    }
    if let Value::Object(members) = value
        && let Some(detail) = members.get_mut("detail")
        && let Some((before, after)) = detail.as_str().and_then(|text| text.split_once("sha256:"))
    {
        let rest = after.trim_start_matches(|c: char| c.is_ascii_hexdigit());
        *detail = json!(format!("{before}sha256:…{rest}"));
    }
}

async fn answer_to(case: &Value) -> (u16, String, Value) {
    let kept = case["kept"].as_bool().unwrap_or(false).then(|| tempfile::tempdir().unwrap());
    let stock = kept.as_ref().map_or_else(StockOuts::default, |folder| {
        StockOuts::kept_in(StateDir::open(folder.path()).unwrap()).unwrap()
    });
    let keys = if case["without_keys"] == true { KeyRing::default() } else { keys() };
    let mut settings = Settings::default();
    settings.limits.requests_per_s = 0;
    if let Some(most) = case["at_most"].as_u64() {
        // So many requests from one sender, the first of which come in `before`.
        settings.limits.requests_per_s = 1;
        settings.limits.burst = u32::try_from(most).unwrap();
    }
    if let Some(places) = case["places"].as_u64() {
        settings.limits.at_once = usize::try_from(places).unwrap();
    }
    let mut state = State::new(held_for(case), keys, stock, settings);
    if case["told_to_stop"] == true {
        state.leave();
    }
    // The cases are of one day, so that no season changes them.
    state.clock = || "2026-11-25T14:05:00+01:00".parse().unwrap();
    let service = test::init_service(app(Data::new(state))).await;
    for before in case["before"].as_array().into_iter().flatten() {
        let response = test::call_service(&service, request_of(before).to_request()).await;
        assert!(response.status().is_success(), "{before}: {}", response.status());
    }
    let mut asked = case["request"].clone();
    if !case["token_of"].is_null() {
        let path = asked["path"].as_str().unwrap();
        asked["path"] = path.replace("{token}", &token_of(&case["token_of"])).into();
    }
    let response = test::call_service(&service, request_of(&asked).to_request()).await;
    let header = |name: &str| {
        response
            .headers()
            .get(name)
            .and_then(|value| value.to_str().ok())
            .unwrap_or_default()
            .to_owned()
    };
    let (status, kind) = (response.status().as_u16(), header("content-type"));
    let body = test::read_body(response).await;
    let text = || Value::String(String::from_utf8_lossy(&body).into_owned());
    let plain = kind.starts_with("text/").then(text).unwrap_or(Value::Null);
    (status, kind, serde_json::from_slice(&body).unwrap_or(plain))
}

/// The token of a line, which no case holds: another edition of the demo has others.
fn token_of(asked: &Value) -> String {
    let [site, lang] = ["site", "lang"].map(|name| asked[name].as_str().unwrap());
    let mut line = asked["line"].clone();
    line["line"] = "1".into();
    let line = serde_json::from_value::<TicketLine>(line).unwrap().into();
    let bar = &DEMO.bars[site];
    let build = build_line(bar, &line, &Moment::default()).unwrap();
    token(bar, &build.order.asked.id, &build.modifiers(), lang).unwrap()
}

/// The secret of a key in these cases; only its digest is known to the service.
fn secret_of(key: &str) -> String {
    format!("{key}-0123456789abcdef0123456789abcdef")
}

/// Keys of each role, and one of a till that holds at another site.
fn keys() -> KeyRing {
    let key = |id: &str, role: &str, sites: Value| {
        let digest = Digest::of_bytes(secret_of(id).as_bytes()).to_string();
        json!({ "id": id, "role": role, "digest": digest, "sites": sites })
    };
    let all = json!({
        "schema": "service-keys/0.1.0",
        "keys": [
            key("a-till", "till", json!([])),
            key("a-trainer", "trainer", json!([])),
            key("an-admin", "admin", json!([])),
            key("elsewhere", "admin", json!(["ferry-kiosk"])),
        ],
    });
    KeyRing::read("keys", &all.to_string()).unwrap()
}

fn request_of(asked: &Value) -> actix_web::test::TestRequest {
    let method = asked["method"].as_str().unwrap().parse::<Method>().unwrap();
    let mut request =
        test::TestRequest::default().method(method).uri(asked["path"].as_str().unwrap());
    let body = if let Some(bytes) = asked["padding"].as_u64() {
        Some(" ".repeat(usize::try_from(bytes).unwrap()))
    } else if let Some(text) = asked["text"].as_str() {
        Some(text.to_owned())
    } else {
        (!asked["body"].is_null()).then(|| asked["body"].to_string())
    };
    if let Some(body) = body {
        request = request.insert_header(("content-length", body.len()));
        request = request.set_payload(body);
    }
    let kind = asked["content_type"].as_str().unwrap_or("application/json");
    request = request.insert_header(("content-type", kind));
    if let Some(accept) = asked["accept"].as_str() {
        request = request.insert_header(("accept", accept));
    }
    if let Some(key) = asked["idempotency_key"].as_str() {
        request = request.insert_header(("idempotency-key", key));
    }
    if let Some(key) = asked["key"].as_str() {
        request = request.insert_header(("authorization", format!("Bearer {}", secret_of(key))));
    }
    request
}

#[actix_web::test]
async fn every_case_is_answered_as_it_is_written_down() {
    for path in cases() {
        let mut case: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        let (status, kind, mut body) = answer_to(&case).await;
        without_digests(&mut body);
        case["response"] = json!({ "status": status, "content_type": kind, "body": body });
        let relative = path.strip_prefix(root("")).unwrap().to_str().unwrap();
        golden(relative, &format!("{case:#}\n"));
    }
}

/// Source: JSON Schema 2020-12, by the crate `jsonschema`.
#[actix_web::test]
async fn every_answer_follows_the_published_schema() {
    let schema = |name: &str| {
        let (_, schema) = schemas().into_iter().find(|(known, _)| *known == name).unwrap();
        jsonschema::draft202012::new(&schema).unwrap()
    };
    let (answer, problem) = (schema("ticket-answer"), schema("problem"));
    let mut judged = 0;
    for path in cases() {
        let case: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        let (status, kind, body) = answer_to(&case).await;
        let ticket =
            ["/v1/expand", "/v1/validate"].contains(&case["request"]["path"].as_str().unwrap());
        let schema = match (status, ticket) {
            (200, true) if kind.starts_with("application/json") => &answer,
            (400.., _) => {
                assert_eq!(kind, "application/problem+json", "{}", path.display());
                &problem
            }
            _ => continue,
        };
        let faults: Vec<String> =
            schema.iter_errors(&body).map(|fault| fault.to_string()).collect();
        assert!(faults.is_empty(), "{}: {faults:?}", path.display());
        judged += 1;
    }
    assert!(judged >= 50, "only {judged} answers were judged");
}

/// What the OpenAPI document says of an answer: its operation, as method and path, and the schema
/// of its body. `None` for a path that the document lacks; a null schema for an answer of no body.
fn described(
    openapi: &Value,
    asked: &Value,
    (status, kind): (u16, &str),
) -> Option<(String, Value)> {
    let method = asked["method"].as_str().unwrap();
    let path = asked["path"].as_str().unwrap().split('?').next().unwrap();
    let leads = |template: &str| {
        let (mut here, mut there) = (template.split('/'), path.split('/'));
        let alike = here.by_ref().zip(there.by_ref()).all(|(a, b)| a == b || a.starts_with('{'));
        alike && template.matches('/').count() == path.matches('/').count()
    };
    let paths = openapi["paths"].as_object().unwrap();
    let (template, methods) = paths.iter().find(|(template, _)| leads(template))?;
    let operation = methods.get(method.to_lowercase())?;
    let name = format!("{method} {template}");
    let (exact, class) = (status.to_string(), format!("{}XX", status / 100));
    let answers = &operation["responses"];
    let answer = answers.get(&exact).or_else(|| answers.get(&class));
    let answer = answer.unwrap_or_else(|| panic!("{name} does not describe {status}"));
    let kind = kind.split(';').next().unwrap_or_default();
    let media = answer["content"].as_object().and_then(|content| content.get(kind));
    Some((name, media.map_or(Value::Null, |media| media["schema"].clone())))
}

/// Source: OpenAPI 3.1, whose schemas are JSON Schema 2020-12, by the crate `jsonschema`.
#[actix_web::test]
async fn every_answer_follows_the_openapi_document() {
    let openapi = serde_json::to_value(document()).unwrap();
    let mut judged: BTreeMap<(String, u16), usize> = BTreeMap::new();
    for path in cases() {
        let case: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        let (status, kind, body) = answer_to(&case).await;
        let Some((name, mut schema)) = described(&openapi, &case["request"], (status, &kind))
        else {
            continue;
        };
        if schema.is_null() {
            assert!(body.is_null(), "{}: a body that is not described", path.display());
        } else {
            schema["components"] = openapi["components"].clone();
            let judge = jsonschema::draft202012::new(&schema).unwrap();
            let faults: Vec<String> =
                judge.iter_errors(&body).map(|fault| fault.to_string()).collect();
            assert!(faults.is_empty(), "{}: {faults:?}", path.display());
        }
        *judged.entry((name, status)).or_default() += 1;
    }
    for name in [
        "/v1/b/{token}",
        "/v1/book",
        "/v1/drinks",
        "/v1/drinks/{id}",
        "/v1/sites",
        "/v1/menu",
        "/v1/till-map",
    ] {
        let judged = judged.get(&(format!("GET {name}"), 200));
        assert!(judged.is_some(), "no answer of {name} was judged");
    }
    for method in ["PUT", "DELETE"] {
        let judged = judged.get(&(format!("{method} /v1/stock/{{ingredient}}"), 200));
        assert!(judged.is_some(), "no answer of {method} was judged");
    }
    let fit = judged.get(&("GET /v1/sites/{site}/fit".to_owned(), 200));
    assert!(fit.is_some(), "no answer of what a site cannot make was judged");
    let prints = judged.get(&("POST /v1/prints".to_owned(), 202));
    assert!(prints.is_some(), "no answer of prints was judged");
    let asked = [
        ("/v1/expand", 30),
        ("/v1/validate", 1),
        ("/v1/needs", 2),
        ("/v1/shots/check", 5),
        ("/v1/identify", 2),
    ];
    for (name, least) in asked {
        let judged = judged.get(&(format!("POST {name}"), 200)).copied().unwrap_or_default();
        assert!(judged >= least, "only {judged} answers of {name} were judged");
    }
}

#[::core::prelude::v1::test]
fn the_openapi_document_refuses_an_answer_that_lacks_a_member() {
    let openapi = serde_json::to_value(document()).unwrap();
    for name in ["book", "sites", "drinks_in_german", "piccolo_at_the_kiosk"] {
        let file = root(&format!("tests/contract/read/{name}.json"));
        let case: Value = serde_json::from_str(&fs::read_to_string(file).unwrap()).unwrap();
        let (_, mut schema) =
            described(&openapi, &case["request"], (200, "application/json")).unwrap();
        schema["components"] = openapi["components"].clone();
        let judge = jsonschema::draft202012::new(&schema).unwrap();
        let mut body = case["response"]["body"].clone();
        let first = body.as_object().unwrap().keys().next().unwrap().clone();
        body.as_object_mut().unwrap().shift_remove(&first);
        assert!(!judge.is_valid(&body), "{name} without `{first}`");
    }
}

#[actix_web::test]
async fn the_book_in_force_tells_the_digest_of_the_recall_that_its_builds_are_worked_from() {
    let about = "the book under a recall";
    let ask = |method: &str, path: &str, body: Value, recalled: Value| {
        json!({
            "about": about,
            "request": { "method": method, "path": path, "body": body },
            "recalled": recalled,
        })
    };
    let (recalled, none) = (json!(["oat-drink"]), Value::Null);
    let (_, _, book) = answer_to(&ask("GET", "/v1/book", Value::Null, recalled.clone())).await;
    let ticket = json!({
        "site": DEMO.book().training_bar.id.to_string(),
        "lines": [{ "line": "1", "drink": "latte" }],
    });
    let (_, _, answer) = answer_to(&ask("POST", "/v1/expand", ticket, recalled.clone())).await;
    assert_eq!(book["overlay"], Digest::of(&recalled).to_string());
    assert_eq!(answer["overlay"]["digest"], book["overlay"]);
    let (_, _, book) = answer_to(&ask("GET", "/v1/book", Value::Null, none)).await;
    assert_eq!(book["overlay"], Value::Null, "nothing is recalled");
}

/// Every alternative and every choice of every case is accepted when it is posted.
#[actix_web::test]
async fn every_alternative_of_every_case_is_accepted_when_posted() {
    let mut posted = 0;
    for path in cases() {
        let case: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        if case["request"]["method"] != "POST" {
            continue;
        }
        let (_, _, body) = answer_to(&case).await;
        for line in body["lines"].as_array().into_iter().flatten() {
            for list in ["alternatives", "choices"] {
                for way in line[list].as_array().into_iter().flatten() {
                    let mut again = case.clone();
                    again["request"]["body"]["lines"] = json!([way["line"]]);
                    let (_, _, answer) = answer_to(&again).await;
                    assert_eq!(
                        answer["lines"][0]["verdict"],
                        "accept",
                        "{}: {way}",
                        path.display()
                    );
                    assert_eq!(answer["lines"][0]["canonical"], way["line"], "{}", path.display());
                    posted += 1;
                }
            }
        }
    }
    assert!(posted >= 30, "only {posted} ways out were posted");
}

#[::core::prelude::v1::test]
fn every_code_notice_and_problem_has_a_case() {
    let mut said = BTreeSet::new();
    for path in cases() {
        let case: Value = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        let body = &case["response"]["body"];
        said.extend(body["type"].as_str().map(str::to_owned));
        for line in body["lines"].as_array().into_iter().flatten() {
            said.extend(line["code"].as_str().map(str::to_owned));
            for list in ["refusals", "notices"] {
                let all = line[list].as_array().into_iter().flatten();
                said.extend(all.filter_map(|one| one["code"].as_str().map(str::to_owned)));
            }
        }
    }
    let codes = Code::ALL.iter().map(|code| code.as_str().to_owned());
    let notices = Notice::ALL.iter().map(|one| one.as_str().to_owned());
    // What only a fault of the program, a real connection or a real printer brings about; `limits`
    // holds the slow body, `prints_http` the full queue.
    let unreachable = ["/problems/internal", "/problems/body-too-slow", "/problems/prints-full"];
    let kinds = Kind::ALL.iter().map(|kind| kind.with("").kind.to_owned());
    let kinds = kinds.filter(|kind| !unreachable.contains(&kind.as_str()));
    let missing: Vec<String> =
        codes.chain(notices).chain(kinds).filter(|one| !said.contains(one)).collect();
    assert!(missing.is_empty(), "no case says {missing:?}");
}
