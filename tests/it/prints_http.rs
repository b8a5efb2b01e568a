//! Prints over HTTP and from the command line: a real ticket's stickers at a real printer.

use std::{
    fs,
    io::Read as _,
    path::Path,
    process::{Command, Output, Stdio},
    thread,
    time::Duration,
};

use cupwright::demo;
use reqwest::{StatusCode, blocking::Response, header};
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::{
    cli::{complained, program, run, said, write},
    keys::{file_of, made},
    server::{Service, problem},
    support::printer::{Printer, free_port, until},
};

/// The bookshop with these printers.
fn sites(printers: &Value) -> TempDir {
    let folder = TempDir::new().expect("a folder");
    let of = |text: &str| serde_json::from_str::<Value>(text).expect("a sheet");
    let sheets = demo::sites();
    let mut sheet = sheets.iter().map(|one| of(&one.text)).find(|one| one["id"] == "bookshop");
    let sheet = sheet.as_mut().expect("the bookshop");
    sheet["printers"] = printers.clone();
    fs::write(folder.path().join("bookshop.json"), sheet.to_string()).expect("a file");
    folder
}

fn till(uri: &str) -> Value {
    json!({ "id": "till", "media": { "width_mm": 58, "height_mm": 40 }, "dpi": 203, "uri": uri })
}

fn serving(folder: &Path, more: &[&str]) -> Service {
    let folder = folder.to_str().expect("a path");
    Service::start_with(&[&["--sites", folder][..], more].concat())
}

/// Two lattes of one customer, with everything that nobody but the bar may read.
fn ticket() -> Value {
    json!({
        "site": "bookshop", "lang": "en", "order": { "name": "Zebedee", "ref": "Q77" },
        "lines": [
            { "line": "a", "drink": "latte", "quantity": 2, "note": "for Wilhelmina" },
            { "line": "b", "drink": "espresso" },
        ],
    })
}

fn send(service: &Service, path: &str, ticket: &Value, headers: &[(&str, &str)]) -> Response {
    let request = service.client.post(service.url(path));
    let request = request.header(header::CONTENT_TYPE, "application/json");
    let with = |request: reqwest::blocking::RequestBuilder, (name, value): &(&str, &str)| {
        request.header(*name, *value)
    };
    let request = headers.iter().fold(request, with);
    request.body(ticket.to_string()).send().expect("an answer")
}

#[track_caller]
fn taken(response: Response) -> (String, Value) {
    assert_eq!(response.status(), StatusCode::ACCEPTED);
    let place = response.headers()["location"].to_str().expect("text").to_owned();
    let body: Value = response.json().expect("JSON");
    assert_eq!(place, format!("/v1/prints/{}", body["print_id"].as_str().expect("an id")));
    (place, body)
}

fn over(service: &Service, place: &str) -> Value {
    let mut last = Value::Null;
    until("the end", || {
        last = service.get(place).json().expect("JSON");
        last["over"] == true
    });
    last
}

fn states(answer: &Value) -> Vec<&str> {
    let stickers = answer["stickers"].as_array().expect("stickers");
    stickers.iter().map(|one| one["state"].as_str().expect("a state")).collect()
}

/// The stickers as they are drawn, as PWG raster, one document each.
fn drawn(service: &Service, ticket: &Value, more: &str) -> Vec<Vec<u8>> {
    let layout: Value = send(service, &format!("/v1/stickers?printer=till{more}"), ticket, &[])
        .json()
        .expect("JSON");
    let each = layout["stickers"].as_array().expect("stickers").iter().map(|one| {
        let path = format!("/v1/stickers?printer=till&n={}&part={}{more}", one["n"], one["part"]);
        let answer = send(service, &path, ticket, &[("Accept", "image/pwg-raster")]);
        assert_eq!(answer.status(), StatusCode::OK);
        answer.bytes().expect("bytes").to_vec()
    });
    each.collect()
}

#[track_caller]
fn arrived(printer: &Printer, expected: &[Vec<u8>]) {
    let documents = printer.documents();
    assert_eq!(documents.len(), expected.len());
    for (at, ((ending, bytes), drawn)) in documents.iter().zip(expected).enumerate() {
        assert_eq!(ending, "pwg");
        assert!(bytes == drawn, "document {at} is not what is drawn");
    }
}

/// PWG 5102.4, section 4.1: a file of PWG raster begins with `RaS2`.
#[test]
fn a_tickets_stickers_arrive_as_they_are_drawn_and_nothing_of_the_customer_is_told() {
    let printer = Printer::start();
    let folder = sites(&json!([till(&printer.uri())]));
    let mut service = Service::start_by(
        program()
            .args(["serve", "--listen", "127.0.0.1:0", "--log-requests", "all"])
            .args(["--public-base", "https://cups.example", "--sites"])
            .arg(folder.path())
            .stderr(Stdio::piped()),
    );
    let mut log = service.stderr().expect("a pipe");
    let (place, body) = taken(send(&service, "/v1/prints", &ticket(), &[]));
    assert_eq!(body["kept_in"], "memory");
    assert!(states(&body).len() >= 3, "{body}");
    let end = over(&service, &place);
    assert!(states(&end).iter().all(|state| *state == "printed"), "{end}");
    assert_eq!((&end["stickers"][0]["line"], &end["stickers"][0]["of"]), (&json!("a"), &json!(3)));
    let mut expected = drawn(&service, &ticket(), "");
    let layout = send(&service, "/v1/stickers", &ticket(), &[]).text().expect("text");
    assert!(layout.contains("HTTPS://CUPS.EXAMPLE/"), "codes are on them: {layout}");
    assert!(expected.iter().all(|document| document.starts_with(b"RaS2")));
    arrived(&printer, &expected);
    let (again, _) = taken(send(&service, "/v1/prints?reprint=true&printer=till", &ticket(), &[]));
    over(&service, &again);
    let reprinted = drawn(&service, &ticket(), "&reprint=true");
    assert_ne!(reprinted, expected, "a reprint says so");
    expected.extend(reprinted);
    arrived(&printer, &expected);
    let metrics = service.get("/metrics").text().expect("text");
    service.kill();
    let mut logged = String::new();
    log.read_to_string(&mut logged).expect("text");
    assert!(logged.contains("\"message\":\"sticker\""), "{logged}");
    let told = format!("{end}{}{metrics}{logged}", printer.names().concat());
    for word in ["Zebedee", "Q77", "Wilhelmina"] {
        assert!(!told.contains(word), "{word} is told");
    }
    assert!(metrics.contains("cupwright_stickers_total{outcome=\"printed\"}"), "{metrics}");
}

#[test]
fn one_key_prints_once_even_if_the_process_is_killed_between() {
    let printer = Printer::start();
    printer.hold();
    let folder = sites(&json!([till(&printer.uri())]));
    let key = [("Idempotency-Key", "order-77")];
    let one = json!({ "site": "bookshop", "lines": [{ "line": "1", "drink": "espresso" }] });
    let service = serving(folder.path(), &[]);
    let (place, first) = taken(send(&service, "/v1/prints", &one, &key));
    let (same, _) = taken(send(&service, "/v1/prints", &one, &key));
    assert_eq!(place, same);
    problem(send(&service, "/v1/prints", &ticket(), &key), 422, "idempotency-key-reused");
    problem(send(&service, "/v1/prints?reprint=true", &one, &key), 422, "idempotency-key-reused");
    let stickers = states(&first).len();
    until("the printer has it", || printer.documents().len() == 1);
    service.kill();
    let service = serving(folder.path(), &[]);
    problem(service.get(&place), 404, "unknown-print");
    let (place, _) = taken(send(&service, "/v1/prints", &one, &key));
    thread::sleep(Duration::from_millis(300));
    printer.let_go();
    let end = over(&service, &place);
    assert!(states(&end).iter().all(|state| *state == "printed"), "{end}");
    assert_eq!(printer.documents().len(), stickers, "nothing twice");
    let (place, _) = taken(send(&service, "/v1/prints", &one, &[("Idempotency-Key", "order-78")]));
    over(&service, &place);
    assert_eq!(printer.documents().len(), 2 * stickers, "another customer's is another");
}

#[test]
fn what_cannot_be_printed_is_told_before_anything_is_sent() {
    let printer = Printer::start();
    let without = json!({ "id": "bar", "media": { "width_mm": 58, "height_mm": 40 }, "dpi": 203 });
    let folder = sites(&json!([without, till(&printer.uri())]));
    let (secret, record) = made(&["--id", "front", "--role", "till", "--site", "bookshop"]);
    let records: Vec<Value> = vec![serde_json::from_str(&record).expect("JSON")];
    let keys = folder.path().join("keys.file");
    fs::write(&keys, file_of(&records)).expect("a file");
    let keys = keys.to_str().expect("a path");
    let service = serving(folder.path(), &["--keys", keys, "--prints-queue", "4"]);
    problem(send(&service, "/v1/prints", &ticket(), &[]), 401, "unauthorized");
    let bearer = format!("Bearer {secret}");
    let key = [("Authorization", &*bearer)];
    let post =
        |query: &str, ticket: &Value| send(&service, &format!("/v1/prints{query}"), ticket, &key);
    let told = problem(post("?printer=bar", &ticket()), 409, "no-printer-address");
    assert!(told["detail"].as_str().expect("text").contains("/printers/0/uri"), "{told}");
    problem(post("?printer=nobody", &ticket()), 404, "no-printer");
    let refused = json!({ "site": "bookshop", "lines": [{ "line": "1", "drink": "unicorn" }] });
    problem(post("", &refused), 422, "not-all-accepted");
    let odd = [key[0], ("Idempotency-Key", "")];
    problem(send(&service, "/v1/prints", &ticket(), &odd), 400, "odd-idempotency-key");
    let mut many = ticket();
    many["lines"][0]["quantity"] = json!(9);
    problem(post("", &many), 422, "invalid-body");
    assert_eq!(printer.documents().len(), 0);
    printer.hold();
    let (place, _) = taken(post("", &ticket()));
    let full = post("", &ticket());
    assert_eq!(full.headers()["retry-after"], "5");
    problem(full, 503, "prints-full");
    problem(service.get(&place), 401, "unauthorized");
    printer.let_go();
}

fn printed(folder: &Path, ticket: &Value, more: &[&str]) -> Output {
    let other = TempDir::new().expect("a folder");
    let file = write(other.path(), "ticket.json", &ticket.to_string());
    let folder = folder.to_str().expect("a path");
    run(&[&["--sites", folder, "print"][..], more, &[&*file]].concat(), "")
}

#[test]
fn the_command_line_prints_and_ends_as_the_stickers_do() {
    let printer = Printer::start();
    let folder = sites(&json!([till(&printer.uri())]));
    let output = printed(folder.path(), &ticket(), &[]);
    assert_eq!(output.status.code(), Some(0), "{}{}", said(&output), complained(&output));
    assert!(said(&output).contains("Line b, cup 3 of 3: printed at till"), "{}", said(&output));
    let count = printer.documents().len();
    let json = printed(folder.path(), &ticket(), &["--json", "--reprint"]);
    let answer: Value = serde_json::from_str(&said(&json)).expect("JSON");
    assert_eq!((json.status.code(), &answer["over"]), (Some(0), &json!(true)));
    assert_eq!(printer.documents().len(), 2 * count);
    // Labels of another size.
    let mut wide = till(&printer.uri());
    wide["media"] = json!({ "width_mm": 80, "height_mm": 40 });
    let mut german = ticket();
    german["lang"] = json!("de");
    let output = printed(sites(&json!([wide])).path(), &german, &[]);
    assert_eq!(output.status.code(), Some(1));
    let told = said(&output);
    assert!(told.contains("58 × 40 mm") && told.contains("80 × 40 mm"), "{told}");
    assert!(told.contains("Falsche Etiketten"), "{told}");
    // Nobody there, and nowhere to go.
    let gone = format!("ipp://127.0.0.1:{}/ipp/print", free_port());
    let output = printed(sites(&json!([till(&gone)])).path(), &ticket(), &[]);
    assert_eq!(output.status.code(), Some(4), "{}", said(&output));
    assert!(said(&output).contains("cannot be reached"), "{}", said(&output));
    let nowhere =
        json!([{ "id": "till", "media": { "width_mm": 58, "height_mm": 40 }, "dpi": 203 }]);
    let output = printed(sites(&nowhere).path(), &ticket(), &[]);
    assert_eq!(output.status.code(), Some(3));
    assert!(complained(&output).contains("/printers/0/uri"), "{}", complained(&output));
}

#[test]
fn printers_of_the_same_station_go_before_those_of_another_and_other_labels_never_do() {
    let (mut mate, far, wide) = (Printer::start(), Printer::start(), Printer::start());
    let at = |id: &str, station: &str, uri: &str, width: u32| {
        let media = json!({ "width_mm": width, "height_mm": 40 });
        json!({ "id": id, "station": station, "media": media, "dpi": 203, "uri": uri })
    };
    let gone = format!("ipp://127.0.0.1:{}/ipp/print", free_port());
    let folder = sites(&json!([
        at("wide", "hot", &wide.uri(), 60),
        at("far", "cold", &far.uri(), 58),
        at("first", "hot", &gone, 58),
        at("mate", "hot", &mate.uri(), 58),
    ]));
    let one = json!({ "site": "bookshop", "lines": [{ "line": "1", "drink": "espresso" }] });
    let print = || {
        let output = printed(folder.path(), &one, &["--json", "--printer", "first"]);
        let answer: Value = serde_json::from_str(&said(&output)).expect("JSON");
        (output.status.code(), answer["stickers"][0].clone())
    };
    let (code, sticker) = print();
    assert_eq!((code, &sticker["printer"]), (Some(0), &json!("mate")), "{sticker}");
    assert_eq!(sticker["passed_over"][0]["printer"], "first");
    mate.kill();
    let (code, sticker) = print();
    assert_eq!((code, &sticker["printer"]), (Some(0), &json!("far")), "{sticker}");
    assert_eq!(sticker["passed_over"].as_array().map(Vec::len), Some(2));
    drop(far);
    let (code, sticker) = print();
    assert_eq!((code, &sticker["state"]), (Some(4), &json!("failed")), "{sticker}");
    assert_eq!(wide.documents().len(), 0, "its labels are of another size");
}

#[test]
fn a_service_that_is_told_to_stop_prints_what_it_has_taken() {
    let printer = Printer::start();
    printer.hold();
    let folder = sites(&json!([till(&printer.uri())]));
    let stop = ["--stop-notice-s", "0", "--stop-within-s", "20"];
    let mut service = serving(folder.path(), &stop);
    let (_, body) = taken(send(&service, "/v1/prints", &ticket(), &[]));
    until("the printer has one", || printer.documents().len() == 1);
    let told = Command::new("kill").args(["-TERM", &service.process().to_string()]).status();
    assert!(told.expect("`kill` is there").success());
    thread::sleep(Duration::from_millis(300));
    printer.let_go();
    assert_eq!(service.ended().code(), Some(0));
    assert_eq!(printer.documents().len(), states(&body).len());
}
