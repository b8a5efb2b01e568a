//! Generated files are what the code makes now; `cargo bless` brings them up to date.

use cupwright::{
    contract::{VERSION, schemas},
    engine::objection::{Code, Notice},
    http::document,
    wire::Kind,
};

use crate::support::golden;

#[test]
fn the_openapi_document_is_what_the_routes_make() {
    golden("openapi/openapi.json", &(document().to_pretty_json().unwrap() + "\n"));
}

#[test]
fn the_schemas_are_what_the_types_make() {
    for (name, schema) in schemas() {
        golden(&format!("schemas/{name}/{VERSION}.json"), &format!("{schema:#}\n"));
    }
}

/// Integrators switch on these: a row may be added, never changed or dropped.
#[test]
fn the_table_of_problems_is_what_the_code_reports() {
    let rows = Kind::ALL.iter().map(|kind| kind.with(""));
    let rows: Vec<String> =
        rows.map(|one| format!("{}\t{}\t{}\n", one.status, one.kind, one.title)).collect();
    golden("openapi/problems.tsv", &rows.concat());
}

/// Integrators switch on these: a row may be added, never changed or dropped.
#[test]
fn the_table_of_codes_is_what_the_engine_says() {
    let safety = |code: &Code| if code.is_safety() { "safety" } else { "" };
    let codes = Code::ALL.iter().map(|code| format!("line\t{}\t{}\n", code.as_str(), safety(code)));
    let notices =
        Notice::ALL.iter().map(|one| format!("notice\t{}\t{}\n", one.as_str(), one.severity()));
    golden("openapi/codes.tsv", &codes.chain(notices).collect::<String>());
}

#[test]
fn every_operation_of_the_openapi_document_is_described() {
    let document = serde_json::to_value(document()).unwrap();
    let paths = document["paths"].as_object().unwrap();
    assert!(paths.len() >= 9, "the document lists only {} paths", paths.len());
    for (path, methods) in paths {
        for (method, operation) in methods.as_object().unwrap() {
            for field in ["summary", "description", "operationId", "tags"] {
                assert!(!operation[field].is_null(), "{method} {path} has no {field}");
            }
        }
    }
}

#[test]
fn every_property_of_the_openapi_document_is_described() {
    let document = serde_json::to_value(document()).unwrap();
    let schemas = document["components"]["schemas"].as_object().unwrap();
    assert!(schemas.contains_key("Ticket") && schemas.contains_key("AnswerLine"));
    for (name, schema) in schemas {
        for (property, part) in schema["properties"].as_object().into_iter().flatten() {
            let described = part["description"].is_string()
                || part["$ref"].is_string()
                || part["oneOf"].is_array();
            assert!(described, "{name}.{property} says nothing of itself");
        }
    }
}
