//! Codes on cups: what the running service answers to them, to whom, and that they can be read.

use std::{fs, path::Path, process::Command};

use cupwright::{
    answering::code_url,
    engine::{Moment, build_line},
    label::{QUIET_MODULES, Square, module_size},
    wire::TicketLine,
};
use reqwest::{StatusCode, header};
use serde_json::{Value, json};

use crate::{
    cli::{complained, run, said},
    lines::DEMO,
    server::{Service, problem},
    support::tools::{self, python, tool_file},
};

const BASE: &str = "https://cups.example";
/// What browsers of phones accept.
const BROWSER: &str = "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8";

fn line(drink: &str, modifiers: &Value) -> Value {
    json!({ "line": "1", "drink": drink, "modifiers": modifiers })
}

/// The address on a cup of the demo.
fn url_of(site: &str, lang: &str, line: &Value) -> String {
    let bar = &DEMO.bars[site];
    let line = serde_json::from_value::<TicketLine>(line.clone()).expect("a line").into();
    let build = build_line(bar, &line, &Moment::default()).expect("it is made");
    code_url(BASE, bar, &build, lang).expect("it has a code")
}

/// What stands behind the host of an address.
fn path_of(url: &str) -> &str {
    url.strip_prefix("HTTPS://CUPS.EXAMPLE").expect("the public base")
}

#[test]
fn a_code_leads_to_the_build_in_letters_of_either_case_and_in_each_form() {
    let service = Service::start();
    let line = line("latte", &json!([{ "id": "milk", "value": "oat-drink" }]));
    let url = url_of("bookshop", "de", &line);
    let path = path_of(&url);
    let ticket = json!({ "site": "bookshop", "lang": "de", "lines": [line] });
    let expanded = service.expand(&ticket);
    let first = service.get(path).bytes().unwrap();
    let answer: Value = serde_json::from_slice(&first).unwrap();
    assert_eq!(answer["build"], expanded["lines"][0]["build"]);
    for key in ["book", "overlay", "site", "contract", "lang"] {
        assert_eq!(answer[key], expanded[key], "{key}");
    }
    let mixed = path.replacen("/V1/B/", "/v1/B/", 1);
    for other in [path.to_lowercase(), mixed, format!("{path}?utm=cup")] {
        assert_eq!(service.get(&other).bytes().unwrap(), first, "{other}");
    }
    let accept = |kind: &str| {
        service.client.get(service.url(path)).header(header::ACCEPT, kind).send().unwrap()
    };
    let page = accept(BROWSER);
    assert_eq!(page.headers()["content-type"], "text/html; charset=utf-8");
    assert_eq!(page.headers()["vary"], "accept");
    assert!(page.headers()["content-security-policy"].to_str().unwrap().contains("'none'"));
    let page = page.text().unwrap();
    assert!(page.contains("lang=\"de\"") && page.contains("HAFERDRINK"), "{page}");
    assert!(accept("text/plain").text().unwrap().contains("HAFERDRINK"));
    assert_eq!(accept("image/png").status(), StatusCode::NOT_ACCEPTABLE);
}

/// Source: RFC 9110, sections 8.8.3, 9.3.2 and 13.1.2.
#[test]
fn a_build_is_not_sent_twice_to_whoever_has_it_and_takes_no_other_method() {
    let service = Service::start();
    let url = url_of("bookshop", "en", &line("espresso", &json!([])));
    let (upper, lower) = (path_of(&url), path_of(&url).to_lowercase());
    let tag = service.get(upper).headers()["etag"].clone();
    let again = service.client.get(service.url(&lower)).header(header::IF_NONE_MATCH, &tag);
    assert_eq!(again.send().unwrap().status(), StatusCode::NOT_MODIFIED);
    let page = service.client.get(service.url(upper)).header(header::ACCEPT, "text/html");
    let page = page.header(header::IF_NONE_MATCH, &tag).send().unwrap();
    assert_eq!(page.status(), StatusCode::OK, "another form has another tag");
    assert_eq!(service.client.head(service.url(&lower)).send().unwrap().status(), StatusCode::OK);
    let posted = service.client.post(service.url(&lower)).send().unwrap();
    assert_eq!(posted.headers()["allow"], "GET, HEAD, OPTIONS");
    problem(posted, 405, "method-not-allowed");
    problem(service.get("/v1/b/"), 404, "not-found");
    problem(service.get("/v1/b/latte"), 404, "unreadable-token");
    problem(service.get("/v1/b/%C3%A9%00"), 404, "unreadable-token");
    let metrics = service.get("/metrics").text().unwrap();
    assert!(metrics.contains("/v1/b/{token}") && !metrics.contains(&lower[6..]), "{metrics}");
}

#[test]
fn guests_need_no_key_only_where_builds_are_open() {
    let folder = tempfile::tempdir().unwrap();
    let keys = folder.path().join("keys.json");
    let keys = keys.to_str().unwrap();
    let made = run(&["key", "--id", "front", "--role", "till", "--into", keys], "");
    let secret = said(&made).trim().to_owned();
    let url = url_of("bookshop", "en", &line("latte", &json!([])));
    let path = path_of(&url).to_lowercase();
    // An address that others can reach, and yet the test alone does.
    let closed = Service::start_at("0.0.0.0:0", &["--keys", keys]);
    problem(closed.get(&path), 401, "unauthorized");
    let keyed = closed.client.get(closed.url(&path)).bearer_auth(&secret).send().unwrap();
    assert_eq!(keyed.status(), StatusCode::OK);
    drop(closed);
    let open = Service::start_at("0.0.0.0:0", &["--keys", keys, "--open-builds"]);
    assert_eq!(open.get(&path).status(), StatusCode::OK);
    assert_eq!(open.get(&path.to_uppercase()).status(), StatusCode::OK);
    for other in ["/v1/menu?site=bookshop", "/v1/b", "/v1/book"] {
        problem(open.get(other), 401, "unauthorized");
    }
}

/// The square as a plain picture (PNG), each module so many pixels.
fn picture(square: &Square, pixels: usize, file: &Path) {
    let side = square.whole_side() * pixels;
    let dark = |at: usize| {
        let module = |pixel: usize| (pixel / pixels).checked_sub(QUIET_MODULES);
        match (module(at % side), module(at / side)) {
            (Some(x), Some(y)) => square.is_dark(x, y),
            _ => false,
        }
    };
    let grey: Vec<u8> = (0..side * side).map(|at| if dark(at) { 0 } else { 255 }).collect();
    let length = u32::try_from(side).unwrap();
    let mut encoder = png::Encoder::new(fs::File::create(file).unwrap(), length, length);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.write_header().unwrap().write_image_data(&grey).unwrap();
}

/// Sources: two readers of ISO/IEC 18004 that share no code with the writer: ZXing-C++, which also
/// tells level and version, and `zbarimg`.
#[test]
fn two_readers_read_the_code_and_its_address_leads_to_the_build_of_the_ticket() {
    let service = Service::start();
    let folder = tempfile::tempdir().unwrap();
    let many = json!([
        { "id": "milk", "value": "oat-drink" }, { "id": "shots", "count": 1 },
        { "id": "vanilla", "count": 2 }, { "id": "temperature", "value": 55.5 },
        { "id": "spoon" }, { "id": "brown-sugar", "count": 1 },
    ]);
    let lines = [
        line("espresso", &json!([])),
        line("latte", &json!([{ "id": "milk", "value": "oat-drink" }])),
        line("latte", &many),
    ];
    for (at, line) in lines.iter().enumerate() {
        let url = url_of("bookshop", "en", line);
        let square = Square::of(&url).expect("a square");
        for dpi in [203, 300] {
            let file = folder.path().join(format!("{at}-{dpi}.png"));
            let pixels = usize::try_from(module_size(dpi).dots).unwrap();
            picture(&square, pixels, &file);
            let mut reader = python();
            reader.arg(tool_file("codes.py")).arg(&file);
            let read: Value = serde_json::from_str(&tools::run(reader)).unwrap();
            let version = (square.side() - 17) / 4;
            let whole = json!([{ "text": url, "level": "M", "version": version.to_string() }]);
            assert_eq!(read, whole, "ZXing-C++");
            let mut reader = Command::new("zbarimg");
            reader.args(["--quiet", "--raw", "--nodbus"]).arg(&file);
            assert_eq!(tools::run(reader).trim_end(), url, "ZBar");
        }
        let ticket = json!({ "site": "bookshop", "lang": "en", "lines": [line] });
        let answer: Value = service.get(path_of(&url)).json().unwrap();
        let expanded = &service.expand(&ticket)["lines"][0]["build"];
        assert_eq!(answer["build"]["digest"], expanded["digest"]);
        assert_eq!(answer["build"]["build_id"], expanded["build_id"]);
    }
}

#[test]
fn the_command_line_writes_the_tokens_of_a_ticket_and_reads_them() {
    let ticket = json!({ "site": "bookshop", "lang": "en", "lines": [
        { "line": "1", "drink": "latte", "modifiers": [{ "id": "shots", "count": 1 }] },
        { "line": "2", "drink": "mocha", "allergies": ["honey"] },
    ] });
    let written = run(&["token", "--of", "-"], &ticket.to_string());
    assert_eq!(written.status.code(), Some(1), "{}", complained(&written));
    assert!(complained(&written).contains("Line 2 has no token"), "{}", complained(&written));
    let token = said(&written).trim().to_owned();
    for given in [token.clone(), token.to_lowercase(), format!("HTTPS://CUPS.EXAMPLE/V1/B/{token}")]
    {
        let read = run(&["token", &given], "");
        assert_eq!(read.status.code(), Some(0), "{}", complained(&read));
        let printed = said(&read);
        assert!(printed.starts_with("{\"line\":\"1\",\"drink\":\"latte\""), "{printed}");
        assert!(printed.contains("+ 1 SHOT"), "{printed}");
    }
    let read = run(&["token", "--json", &token], "");
    let read: Value = serde_json::from_str(&said(&read)).unwrap();
    assert_eq!(read["token"], token);
    let faulty = run(&["token", &token[1..]], "");
    assert_eq!(faulty.status.code(), Some(3));
    assert!(complained(&faulty).starts_with("This is no token of a build"));
    assert_eq!(run(&["token"], "").status.code(), Some(2));
}
