//! Whether an answer is one that the OpenAPI document describes.

use std::collections::BTreeMap;

use cupwright::{http::document, wire::Kind};
use jsonschema::Validator;
use serde_json::Value;

/// What may be answered to an operation: for a status or its class, a schema for each media type.
type Answers = BTreeMap<String, BTreeMap<String, Option<usize>>>;

/// The document, its schemas compiled once.
pub(super) struct Judge {
    paths: Vec<(String, BTreeMap<String, Answers>)>,
    schemas: Vec<Validator>,
    problem: Validator,
    /// How often each operation and status was seen.
    pub(super) seen: BTreeMap<(String, u16), usize>,
}

/// An answer as it is judged.
pub(super) struct Answered<'a> {
    pub(super) status: u16,
    /// Its media type, without parameters.
    pub(super) kind: &'a str,
    pub(super) body: &'a [u8],
}

impl Judge {
    pub(super) fn new() -> Self {
        let document = serde_json::to_value(document()).expect("JSON");
        let compiled = |schema: &Value| {
            let mut schema = schema.clone();
            schema["components"] = document["components"].clone();
            jsonschema::draft202012::new(&schema).expect("a schema")
        };
        let mut known: Vec<(Value, usize)> = Vec::new();
        let mut schemas = Vec::new();
        let mut number = |schema: &Value| {
            if let Some((_, n)) = known.iter().find(|(one, _)| one == schema) {
                return *n;
            }
            known.push((schema.clone(), schemas.len()));
            schemas.push(compiled(schema));
            schemas.len() - 1
        };
        let mut paths = Vec::new();
        for (template, item) in document["paths"].as_object().expect("paths") {
            let mut operations = BTreeMap::new();
            for (method, operation) in item.as_object().expect("operations") {
                let mut answers = Answers::new();
                for (status, answer) in operation["responses"].as_object().expect("answers") {
                    let content = answer["content"].as_object().into_iter().flatten();
                    let media = content.map(|(kind, media)| {
                        let json = kind.ends_with("json").then(|| number(&media["schema"]));
                        (kind.clone(), json)
                    });
                    answers.insert(status.clone(), media.collect());
                }
                operations.insert(method.to_uppercase(), answers);
            }
            paths.push((template.clone(), operations));
        }
        let problem = serde_json::json!({ "$ref": "#/components/schemas/Problem" });
        let problem = compiled(&problem);
        Self { paths, schemas, problem, seen: BTreeMap::new() }
    }

    /// Holds an answer to the document.
    ///
    /// * Result: what is wrong with it.
    pub(super) fn judge(&mut self, method: &str, path: &str, told: &Answered) -> Option<String> {
        let status = told.status;
        if status >= 500 {
            return Some(format!("{status}: {}", String::from_utf8_lossy(told.body)));
        }
        if status >= 400
            && let Some(fault) = self.no_problem(told, method == "HEAD")
        {
            return Some(fault);
        }
        let path = path.split(['?', '#']).next().unwrap_or_default();
        // The one path that is taken in capitals too, as codes on cups have it.
        let of_token = path.get(..6).is_some_and(|begin| begin.eq_ignore_ascii_case("/v1/b/"));
        let path = if of_token { &path.to_ascii_lowercase() } else { path };
        let found = self.paths.iter().find(|(template, _)| leads(template, path));
        let Some((template, operations)) = found else {
            let page = path == "/docs" || path.starts_with("/docs/");
            let fits = if page { status < 500 } else { (400..500).contains(&status) };
            return (!fits).then(|| format!("{status} where there is nothing"));
        };
        let asked = if method == "HEAD" { "GET" } else { method };
        let Some(answers) = operations.get(asked) else {
            let fits = if method == "OPTIONS" { status == 204 } else { status == 405 };
            // A body that nobody wanted may be too large, and a key unknown.
            let fits = fits || [401, 413].contains(&status);
            return (!fits).then(|| format!("{status} to a method that is not taken"));
        };
        *self.seen.entry((format!("{asked} {template}"), status)).or_default() += 1;
        let class = format!("{}XX", status / 100);
        let Some(media) = answers.get(&status.to_string()).or_else(|| answers.get(&class)) else {
            return Some(format!("{status} is not described"));
        };
        if method == "HEAD" {
            return (!told.body.is_empty()).then(|| "content to HEAD".to_owned());
        }
        if media.is_empty() {
            return (!told.body.is_empty()).then(|| "content that is not described".to_owned());
        }
        match media.get(told.kind) {
            None => Some(format!("`{}` is not described for {status}", told.kind)),
            Some(None) => std::str::from_utf8(told.body).err().map(|fault| fault.to_string()),
            Some(Some(n)) => faults(&self.schemas[*n], told.body),
        }
    }

    /// Whether a problem is none of those that are documented.
    fn no_problem(&self, told: &Answered, without_content: bool) -> Option<String> {
        if told.kind != "application/problem+json" {
            return Some(format!("{} as `{}`", told.status, told.kind));
        }
        if without_content {
            return None;
        }
        if let Some(fault) = faults(&self.problem, told.body) {
            return Some(fault);
        }
        let body: Value = serde_json::from_slice(told.body).expect("JSON");
        let known = Kind::ALL.iter().map(|kind| kind.with(""));
        let known = known.filter(|one| body["type"] == one.kind && told.status == one.status);
        (known.count() != 1).then(|| format!("no such problem: {body}"))
    }
}

fn faults(schema: &Validator, body: &[u8]) -> Option<String> {
    let body: Value = match serde_json::from_slice(body) {
        Ok(body) => body,
        Err(fault) => return Some(format!("no JSON: {fault}")),
    };
    schema.iter_errors(&body).next().map(|fault| format!("{fault} in {body}"))
}

fn leads(template: &str, path: &str) -> bool {
    let (wanted, given): (Vec<&str>, Vec<&str>) =
        (template.split('/').collect(), path.split('/').collect());
    let fits =
        |(want, have): (&&str, &&str)| want == have || (want.starts_with('{') && !have.is_empty());
    wanted.len() == given.len() && wanted.iter().zip(&given).all(fits)
}
