//! Reloading: what is right comes into force whole and at once, and what is wrong not at all.

use std::{
    fs,
    panic::{AssertUnwindSafe, catch_unwind, resume_unwind},
    path::Path,
    sync::{
        Arc,
        atomic::{AtomicBool, AtomicUsize, Ordering},
    },
    thread,
};

use cupwright::{
    answering::{Asked, Sent, answer, menu, read_ticket},
    in_force::{InForce, Source},
};
use jiff::Timestamp;
use reqwest::{StatusCode, blocking::Client, header};
use serde_json::{Value, json};

use crate::{
    observed::{Observed, Standards, replace},
    server::problem,
    support::edition,
};

/// A ticket whose answer tells of the book in one price and of the sheet in another.
pub(crate) fn ticket(pin: &Value) -> String {
    let large = [("service", "takeaway"), ("size", "large")];
    let large: Vec<Value> =
        large.iter().map(|(id, value)| json!({ "id": id, "value": value })).collect();
    let mut ticket = json!({ "site": "first-site", "lang": "en", "lines": [
        { "line": "1", "drink": "latte" },
        { "line": "2", "drink": "latte", "modifiers": large },
    ] });
    if !pin.is_null() {
        ticket["pin"] = pin.clone();
    }
    ticket.to_string()
}

/// An edition of the standards as the library has it, without the service.
struct Expected {
    held: Arc<InForce>,
    answer: Vec<u8>,
    menu: Vec<u8>,
}

impl Expected {
    fn of(standards: &Standards, n: u32) -> Self {
        let source = |name: &str, text| Source { name: name.to_owned(), text };
        let sheet = source("first-site.json", standards.sheet_text(n));
        let held = InForce::load(&source("book.json", standards.book_text(n)), &[sheet]);
        let held = Arc::new(held.unwrap_or_else(|faulty| panic!("{}", faulty[0])));
        let sent = Sent { now: Timestamp::now(), ..Sent::default() };
        let read = read_ticket(ticket(&Value::Null).as_bytes()).expect("a ticket");
        let answered =
            answer(&edition(&held), read, Asked::Builds, &sent, None).expect("an answer");
        let bar = held.bar("first-site").expect("the site");
        let menu = menu(&held, bar, Some("en"), &sent).expect("a menu");
        Self { held, answer: answered.bytes, menu }
    }

    fn digest(&self) -> String {
        self.held.digest().to_string()
    }
}

/// Sends the `n`th edition, tells the service, and waits until it is in force.
pub(crate) fn reload(service: &mut Observed, standards: &Standards, n: u32) {
    standards.edition(n);
    service.signal("HUP");
    let version = format!("0.1.{n}");
    service.until("the new book is in force", |service| service.book()["version"] == version);
}

/// A client that asks without pause for one kind of answer.
struct Asker {
    client: Client,
    url: String,
    /// A ticket to post; none to get.
    ticket: Option<String>,
    /// The answer of an edition.
    of: fn(&Expected) -> &[u8],
}

impl Asker {
    /// The `n`th of several: every fourth asks for the menu, the others for builds.
    fn nth(service: &Observed, n: usize) -> Self {
        let client = service.client.clone();
        if n % 4 == 3 {
            let url = service.url("/v1/menu?site=first-site&lang=en");
            return Self { client, url, ticket: None, of: |one| &one.menu };
        }
        let ticket = Some(ticket(&Value::Null));
        Self { client, url: service.url("/v1/expand"), ticket, of: |one| &one.answer }
    }

    /// Of which edition one answer is, whole.
    fn ask(&self, expected: &[Expected]) -> usize {
        let request = match &self.ticket {
            None => self.client.get(&self.url),
            Some(ticket) => {
                let request = self.client.post(&self.url).body(ticket.clone());
                request.header(header::CONTENT_TYPE, "application/json")
            }
        };
        let answer = request.send().expect("an answer");
        assert_eq!(answer.status(), StatusCode::OK);
        let bytes = answer.bytes().expect("a body");
        let found = expected.iter().position(|one| (self.of)(one) == bytes);
        found.unwrap_or_else(|| {
            panic!("of no edition, or of two: {}", String::from_utf8_lossy(&bytes))
        })
    }
}

/// Eight clients ask all the while; whatever they get is one of the editions whole, byte for byte
/// as the library makes it, and never an earlier one than was in force when they asked.
#[test]
fn every_answer_is_of_one_edition_from_start_to_end_and_none_of_one_that_was_replaced() {
    const EDITIONS: u32 = 20;
    let standards = Standards::new();
    let expected: Vec<Expected> = (0..=EDITIONS).map(|n| Expected::of(&standards, n)).collect();
    standards.edition(0);
    let mut service = standards.serve(&["--requests-per-s", "0"]);
    let (newest, over) = (AtomicUsize::new(0), AtomicBool::new(false));
    let asked = AtomicUsize::new(0);
    thread::scope(|scope| {
        for n in 0..8 {
            let client = Asker::nth(&service, n);
            let (newest, over, asked, expected) = (&newest, &over, &asked, &expected);
            scope.spawn(move || {
                while !over.load(Ordering::Acquire) {
                    let least = newest.load(Ordering::Acquire);
                    let found = client.ask(expected);
                    assert!(found >= least, "edition {found} although {least} was in force");
                    asked.fetch_add(1, Ordering::Relaxed);
                }
            });
        }
        // Whatever fails here, the clients must end.
        let reloads = catch_unwind(AssertUnwindSafe(|| {
            for n in 1..=EDITIONS {
                let before = asked.load(Ordering::Relaxed);
                reload(&mut service, &standards, n);
                newest.store(n as usize, Ordering::Release);
                service.until("answers are given in between", |_| {
                    asked.load(Ordering::Relaxed) >= before + 16
                });
            }
        }));
        over.store(true, Ordering::Release);
        if let Err(fault) = reloads {
            resume_unwind(fault);
        }
    });
    assert_eq!(service.reloads("taken"), u64::from(EDITIONS));
    assert_eq!(service.book()["digest"], expected[EDITIONS as usize].digest());
    let failed = service.metrics().into_iter().filter(|(name, _)| {
        name.starts_with("cupwright_requests_total") && !name.contains("status=\"200\"")
    });
    assert_eq!(failed.collect::<Vec<_>>(), Vec::new());
}

#[test]
fn tags_of_reads_change_with_what_is_in_force_and_only_then() {
    let standards = Standards::new();
    let mut service = standards.serve(&[]);
    let paths = ["/v1/menu?site=first-site", "/v1/drinks", "/v1/sites", "/v1/drinks/latte"];
    let tags = |service: &Observed| paths.map(|path| service.get(path).headers()["etag"].clone());
    let first = tags(&service);
    service.signal("HUP");
    service.until("it has read everything", |service| service.reloads("unchanged") > 0);
    assert_eq!(tags(&service), first, "nothing has changed");
    reload(&mut service, &standards, 1);
    let second = tags(&service);
    for (path, (first, second)) in paths.iter().zip(first.iter().zip(&second)) {
        assert_ne!(first, second, "{path}");
    }
    let known = service.client.get(service.url(paths[0])).header(header::IF_NONE_MATCH, &first[0]);
    assert_eq!(known.send().expect("an answer").status(), StatusCode::OK);
}

/// Breaks one file, and holds the service to what it says and does about it.
fn broken(
    file: impl Fn(&Standards) -> std::path::PathBuf,
    wrong: Option<&dyn Fn(&str) -> String>,
    said: &str,
) {
    let standards = Standards::new();
    let keys = standards.folder().join("keys.json");
    fs::write(&keys, "{\"schema\": \"service-keys/0.1.0\", \"keys\": []}").unwrap();
    let mut service = standards.serve(&["--keys", keys.to_str().unwrap()]);
    let (before, path) = (service.book(), file(&standards));
    assert_eq!(before["not_taken"], Value::Null);
    let first = service.post("/v1/expand", ticket(&Value::Null)).bytes().unwrap();
    let good = fs::read_to_string(&path).expect("the file");
    match wrong {
        Some(wrong) => replace(&path, &wrong(&good)),
        None => fs::remove_file(&path).unwrap(),
    }
    service.signal("HUP");
    service.until("it is refused", |service| service.reloads("refused") > 0);
    let book = service.book();
    assert_eq!(book["digest"], before["digest"]);
    let told = book["not_taken"]["complaints"].as_array().expect("complaints");
    assert!(told.iter().any(|one| one.as_str().unwrap().starts_with(said)), "{said}: {told:#?}");
    let at: Timestamp = book["not_taken"]["at"].as_str().unwrap().parse().expect("RFC 3339");
    assert!(at <= Timestamp::now());
    let again = service.post("/v1/expand", ticket(&Value::Null)).bytes().unwrap();
    assert_eq!(again, first, "the last good ones stay in force");
    let checked = service.time("cupwright_book_checked_timestamp_seconds");
    let records = service.records();
    let warned: Vec<&Value> = records.iter().filter(|one| one["level"] == "WARN").collect();
    assert_eq!(warned.len(), 1, "{records:#?}");
    assert!(warned[0]["reason"].as_str().is_some_and(|why| why.contains(said)), "{}", warned[0]);
    assert_eq!(warned[0]["complaints"], told.len());
    let folder = standards.folder().to_str().unwrap();
    let all = format!("{records:?}{book}");
    assert!(!all.contains(folder), "where the files lie is nobody's business: {all}");
    replace(&path, &good);
    service.signal("HUP");
    service.until("it is mended", |service| service.book()["not_taken"].is_null());
    assert_eq!(service.reloads("refused"), 1);
    assert!(service.time("cupwright_book_checked_timestamp_seconds") > checked);
}

#[test]
fn a_faulty_book_is_not_taken() {
    let wrong = |text: &str| text.replace("\"version\": \"0.1.0\"", "\"version\": 7");
    broken(Standards::book, Some(&wrong), "book.json: 5:14: /version: found 7");
}

#[test]
fn a_book_that_is_gone_or_empty_is_not_taken() {
    broken(Standards::book, None, "book.json: No such file");
    broken(Standards::book, Some(&|_| String::new()), "book.json: 1:1: ");
}

#[test]
fn a_faulty_sheet_is_not_taken() {
    let wrong = |text: &str| text.replace("\"groups\": 1", "\"groups\": \"one\"");
    broken(Standards::sheet, Some(&wrong), "first-site.json: 18:13: /groups: found \"one\"");
}

#[test]
fn a_faulty_file_of_keys_is_not_taken() {
    let keys = |standards: &Standards| standards.folder().join("keys.json");
    broken(
        keys,
        Some(&|_| "{\n \"schema\": \"service-keys/0.1.0\",\n \"keys\": 7\n}".to_owned()),
        "keys.json: 3:10: /keys",
    );
    let stranger = json!({ "schema": "service-keys/0.1.0", "keys": [{ "id": "one", "role": "till",
        "digest": format!("sha256:{}", "ab".repeat(32)), "sites": ["moon"] }] });
    broken(keys, Some(&|_| stranger.to_string()), "keys.json: 1:");
}

#[test]
fn a_folder_of_sites_that_is_gone_is_not_taken() {
    let standards = Standards::new();
    let mut service = standards.serve(&[]);
    fs::rename(standards.sites(), standards.folder().join("away")).unwrap();
    service.signal("HUP");
    service.until("it is refused", |service| !service.book()["not_taken"].is_null());
    assert_eq!(service.get("/v1/menu?site=first-site").status(), StatusCode::OK);
}

/// A ticket pinned to a book, its version or a sheet.
fn pinned(service: &Observed, pin: &Value) -> reqwest::blocking::Response {
    service.post("/v1/expand", ticket(pin))
}

#[test]
fn a_pinned_ticket_is_answered_with_the_same_bytes_while_its_book_is_held() {
    let standards = Standards::new();
    standards.edition(0);
    let mut service = standards.serve(&["--held-books", "2"]);
    let first = pinned(&service, &Value::Null).bytes().unwrap();
    let answer: Value = serde_json::from_slice(&first).unwrap();
    let book = answer["book"]["digest"].clone();
    let pins = [
        json!({ "book": book }),
        json!({ "book": "0.1.0" }),
        json!({ "site": answer["site"]["digest"] }),
        json!({ "book": book, "site": answer["site"]["digest"] }),
    ];
    reload(&mut service, &standards, 1);
    let second = service.book()["digest"].clone();
    assert_eq!(service.book()["held"], json!([second, book]));
    for pin in &pins {
        let again = pinned(&service, pin);
        assert_eq!(again.status(), StatusCode::OK, "{pin}");
        assert_eq!(again.bytes().unwrap(), first, "{pin}");
        let now: Value = pinned(&service, &Value::Null).json().unwrap();
        let prices = |answer: &Value| {
            [0, 1].map(|line| answer["lines"][line]["price"]["amount"].to_string())
        };
        assert_eq!(prices(&now), ["\"3.01\"", "\"5.01\""], "builds of two books are kept apart");
        assert_eq!(prices(&answer), ["\"3.00\"", "\"5.00\""]);
    }
    reload(&mut service, &standards, 2);
    let third = service.book()["digest"].clone();
    for pin in &pins {
        let told = problem(pinned(&service, pin), 409, "not-held");
        let held = told["held"].as_array().expect("what is held");
        assert_eq!(held.len(), 2, "{told}");
        if pin.get("book").is_some() {
            assert_eq!(told["held"], json!([third, second]), "{told}");
        }
    }
    assert_eq!(pinned(&service, &json!({ "book": second })).status(), StatusCode::OK);
}

#[test]
fn a_ticket_pinned_to_an_earlier_sheet_of_the_same_book_is_answered_by_it() {
    let standards = Standards::new();
    standards.edition(0);
    let mut service = standards.serve(&["--held-books", "2"]);
    let first = pinned(&service, &Value::Null).bytes().unwrap();
    let answer: Value = serde_json::from_slice(&first).unwrap();
    replace(&standards.sheet(), &standards.sheet_text(1));
    service.signal("HUP");
    service.until("the sheet is in force", |service| service.reloads("taken") > 0);
    assert_eq!(service.book()["held"], json!([answer["book"]["digest"]]), "one book");
    assert_ne!(pinned(&service, &json!({ "book": "0.1.0" })).bytes().unwrap(), first);
    let pin = json!({ "site": answer["site"]["digest"] });
    assert_eq!(pinned(&service, &pin).bytes().unwrap(), first);
}

/// How much memory a process has in use, in kibibytes; source: proc(5).
fn in_use(process: u32) -> u64 {
    let status = fs::read_to_string(Path::new("/proc").join(process.to_string()).join("status"));
    let status = status.expect("its status");
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:")).expect("its size");
    line.trim().trim_end_matches(" kB").parse().expect("a number")
}

#[test]
fn two_hundred_reloads_leave_nothing_behind() {
    let standards = Standards::new();
    let mut service = standards.serve(&["--requests-per-s", "0"]);
    let mut early = 0;
    for n in 1..=200 {
        reload(&mut service, &standards, n);
        assert_eq!(pinned(&service, &Value::Null).status(), StatusCode::OK);
        if n == 50 {
            early = in_use(service.process());
        }
    }
    let late = in_use(service.process());
    // One edition alone takes a good deal of a mebibyte.
    assert!(late < early + 24 * 1_024, "{early} kB after 50, {late} kB after 200");
    assert_eq!(service.book()["held"].as_array().map(Vec::len), Some(3));
}
