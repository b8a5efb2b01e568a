//! Watching: every way in which a file may be saved is seen, and nothing is taken half.

use std::{
    fs::{self, File, OpenOptions},
    io::Write as _,
    os::unix::fs::symlink,
    path::Path,
    thread,
    time::Duration,
};

use cupwright::keys::{Key, Role};
use reqwest::{StatusCode, header};
use serde_json::{Value, json};

use crate::{
    observed::{Observed, Standards, replace},
    reload::ticket,
};

/// The price of the large latte to go, which the sheet says.
fn price(service: &Observed) -> Value {
    let answer: Value = service.post("/v1/expand", ticket(&Value::Null)).json().expect("JSON");
    let price = answer["lines"][1]["price"]["amount"].clone();
    assert!(price.is_string(), "{answer}");
    price
}

fn until_version(service: &mut Observed, n: u32) {
    let version = format!("0.1.{n}");
    service.until(&version, |service| service.book()["version"] == version);
}

#[test]
fn each_way_of_saving_a_book_or_a_sheet_is_seen() {
    let standards = Standards::new();
    let mut service = standards.serve(&["--watch"]);
    let before = price(&service);
    // Written beside and renamed, as most editors do.
    replace(&standards.book(), &standards.book_text(1));
    until_version(&mut service, 1);
    // Emptied and written again.
    fs::write(standards.book(), standards.book_text(2)).unwrap();
    until_version(&mut service, 2);
    // Moved away, and another put in its place.
    let (text, aside) = (standards.book_text(3), standards.folder().join("ours/book.bak"));
    fs::rename(standards.book(), &aside).unwrap();
    fs::write(standards.book(), text).unwrap();
    until_version(&mut service, 3);
    fs::write(standards.sheet(), standards.sheet_text(7)).unwrap();
    service.until("the sheet is in force", |service| price(service) != before);
    // A sheet more, and a sheet less.
    let sheet = fs::read_to_string(standards.sheet()).unwrap();
    let second = standards.sites().join("second-site.json");
    fs::write(&second, sheet.replace("first-site", "second-site")).unwrap();
    let menu = |service: &Observed| service.get("/v1/menu?site=second-site").status();
    service.until("a site more", |service| menu(service) == StatusCode::OK);
    fs::remove_file(second).unwrap();
    service.until("a site less", |service| menu(service) == StatusCode::NOT_FOUND);
    // The whole folder is replaced by another.
    let (now, next) = (price(&service), standards.folder().join("ours/next"));
    fs::create_dir(&next).unwrap();
    fs::write(next.join("first-site.json"), standards.sheet_text(8)).unwrap();
    fs::rename(standards.sites(), standards.folder().join("ours/old")).unwrap();
    fs::rename(&next, standards.sites()).unwrap();
    service.until("another folder of sites", |service| price(service) != now);
    let now = price(&service);
    fs::write(standards.sheet(), standards.sheet_text(9)).unwrap();
    service.until("a change in it", |service| price(service) != now);
}

/// A folder as a cluster mounts it: files are links through `..data`, which is itself a link that
/// is swapped for another. Source: the atomic writer of Kubernetes (from memory).
fn mount(folder: &Path, n: u32, files: &[(&str, String)]) {
    let inner = folder.join(format!("..stamp_{n}"));
    fs::create_dir_all(&inner).unwrap();
    for (name, text) in files {
        fs::write(inner.join(name), text).unwrap();
        let link = folder.join(name);
        if fs::symlink_metadata(&link).is_err() {
            symlink(Path::new("..data").join(name), link).unwrap();
        }
    }
    symlink(inner.file_name().unwrap(), folder.join("..data_tmp")).unwrap();
    fs::rename(folder.join("..data_tmp"), folder.join("..data")).unwrap();
    if n > 0 {
        fs::remove_dir_all(folder.join(format!("..stamp_{}", n - 1))).unwrap();
    }
}

#[test]
fn folders_whose_links_are_swapped_all_at_once_are_seen_each_time() {
    let standards = Standards::new();
    let [books, sites] = ["books", "sheets"].map(|name| standards.folder().join(name));
    let book = |n| mount(&books, n, &[("book.json", standards.book_text(n))]);
    let sheet = |n| mount(&sites, n, &[("first-site.json", standards.sheet_text(n))]);
    book(0);
    sheet(0);
    let path = books.join("book.json");
    let own = ["--book", path.to_str().unwrap(), "--sites", sites.to_str().unwrap(), "--watch"];
    let mut service = Observed::start(&own);
    for n in 1..4 {
        book(n);
        until_version(&mut service, n);
        let before = price(&service);
        sheet(n);
        service.until("the sheet is in force", |service| price(service) != before);
    }
    assert_eq!(service.reloads("refused"), 0, "{:#?}", service.log());
}

#[test]
fn a_file_that_is_only_half_written_is_not_taken() {
    let standards = Standards::new();
    let mut service = standards.serve(&["--watch"]);
    let digest = service.book()["digest"].clone();
    let text = standards.book_text(1);
    let (first, second) = text.split_at(text.len() / 2);
    let mut file = File::create(standards.book()).unwrap();
    file.write_all(first.as_bytes()).unwrap();
    service.until("the half is refused", |service| !service.book()["not_taken"].is_null());
    assert_eq!(service.book()["digest"], digest);
    file.write_all(second.as_bytes()).unwrap();
    drop(file);
    until_version(&mut service, 1);
    assert_eq!(service.book()["not_taken"], Value::Null);
}

#[test]
fn a_file_that_is_written_bit_by_bit_is_read_once_it_rests() {
    let standards = Standards::new();
    let mut service = standards.serve(&["--watch"]);
    let text = standards.book_text(1);
    let mut file = File::create(standards.book()).unwrap();
    for part in text.as_bytes().chunks(text.len() / 12) {
        file.write_all(part).unwrap();
        thread::sleep(Duration::from_millis(50));
    }
    drop(file);
    until_version(&mut service, 1);
    assert_eq!(service.reloads("refused"), 0, "{:#?}", service.log());
    assert_eq!(service.reloads("taken"), 1);
}

/// Reading is no change, and neither is what else is written beside what is loaded.
#[test]
fn what_is_no_change_of_what_is_loaded_makes_nothing_be_read_again() {
    let standards = Standards::new();
    let mut service = standards.serve(&["--watch"]);
    let beside = standards.folder().join("ours/service.log");
    let mut log = OpenOptions::new().create(true).append(true).open(beside).unwrap();
    for _ in 0..10 {
        fs::read(standards.book()).unwrap();
        writeln!(log, "a line").unwrap();
        thread::sleep(Duration::from_millis(20));
    }
    replace(&standards.book(), &standards.book_text(1));
    until_version(&mut service, 1);
    thread::sleep(Duration::from_secs(1));
    let all = ["taken", "unchanged", "refused"].map(|outcome| service.reloads(outcome));
    assert_eq!(all, [1, 0, 0], "once, and never because it was read: {:#?}", service.log());
}

#[test]
fn without_being_told_to_watch_it_waits_for_a_signal() {
    let standards = Standards::new();
    let mut service = standards.serve(&[]);
    replace(&standards.book(), &standards.book_text(1));
    thread::sleep(Duration::from_millis(700));
    assert_eq!(service.book()["version"], "0.1.0");
    service.signal("HUP");
    until_version(&mut service, 1);
}

#[test]
fn a_key_that_is_taken_out_of_the_file_does_not_work_any_more() {
    let standards = Standards::new();
    let path = standards.folder().join("keys/keys.json");
    fs::create_dir(path.parent().unwrap()).unwrap();
    let [(till, one), (other, two)] =
        ["front", "back"].map(|id| Key::new(id.into(), Role::Till, Vec::new()));
    let file = |keys: &[&Key]| {
        replace(&path, &json!({ "schema": "service-keys/0.1.0", "keys": keys }).to_string());
    };
    file(&[&one]);
    let mut service = standards.serve(&["--watch", "--keys", path.to_str().unwrap()]);
    let with = |service: &Observed, secret: &str| {
        let request = service.client.get(service.url("/v1/book"));
        let request = request.header(header::AUTHORIZATION, format!("Bearer {secret}"));
        request.send().expect("an answer").status()
    };
    assert_eq!(with(&service, &till), StatusCode::OK);
    assert_eq!(with(&service, &other), StatusCode::UNAUTHORIZED);
    let held = service.book()["held"].clone();
    file(&[&two]);
    service.until("the keys are others", |service| with(service, &other) == StatusCode::OK);
    assert_eq!(with(&service, &till), StatusCode::UNAUTHORIZED);
    assert_eq!(service.book()["held"], held, "the book is the same");
    assert_eq!(service.reloads("taken"), 1, "other keys count as a change");
}
