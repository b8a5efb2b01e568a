//! Signed rollout: what our program publishes, taken and refused alike by our client and by python-tuf,
//! which is its own reading of The Update Framework; both fetch from nginx.

mod attacks;
mod changes;
mod commands;
mod killed;
mod place;

use serde_json::Value;

use self::place::{Place, run};
use crate::cli::{complained, said};

#[test]
fn both_clients_take_every_document_with_what_is_said_of_it() {
    let place = Place::published();
    let (ours, theirs) = (place.ours("seen").unwrap(), place.theirs("seen", 0).unwrap());
    let names: Vec<&str> = theirs.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "book.json",
            "site.bookshop.json",
            "site.ferry-kiosk.json",
            "site.hospital-foyer.json",
            "site.takeaway-window.json",
            "till.bookshop.csv",
        ]
    );
    for (name, document) in names.iter().zip(ours["documents"].as_array().unwrap()) {
        assert_eq!(document["name"], *name);
        assert_eq!(document["said"], theirs[name]["said"]);
    }
    let held = crate::support::demo();
    assert_eq!(theirs["book.json"]["said"]["digest"], held.digest().to_string());
    assert_eq!(theirs["book.json"]["said"]["version"], *held.book().version);
    let bar = held.bar("bookshop").unwrap();
    let said = &theirs["site.bookshop.json"]["said"];
    assert_eq!(said["digest"], bar.site_digest.to_string());
    assert_eq!((&said["kind"], &said["id"]), (&Value::from("site"), &Value::from("bookshop")));
}

#[test]
fn what_check_refuses_is_not_signed() {
    let place = Place::new();
    let book = std::fs::read_to_string(crate::support::root("src/demo/book.json")).unwrap();
    let wrong = place.file("wrong.json", &book.replacen("\"halves\": 1", "\"halvs\": 1", 1));
    let checked = run(&["--book", &wrong, "check"]);
    let output = place.publish_with(&["--book", &wrong]);
    assert_eq!(output.status.code(), Some(3));
    let told = complained(&output);
    let without_progress = told.split_once("…\n").expect("progress").1;
    assert_eq!(without_progress, complained(&checked));
    assert!(!place.repository().exists(), "nothing was made");
}

#[test]
fn a_dry_run_says_what_it_would_write_and_writes_nothing() {
    let place = Place::new();
    let output = place.publish_with(&["--dry-run", "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let told: Value = serde_json::from_str(&said(&output)).unwrap();
    assert_eq!(told["written"], false);
    let files = told["files"].as_array().unwrap();
    assert_eq!(files.first().unwrap(), "metadata/1.root.json");
    assert_eq!(files.last().unwrap(), "metadata/timestamp.json", "what puts it in force is last");
    assert_eq!(told["complaints_from"], told["expires"]["timestamp"]);
    assert_eq!(told["off_line_key_needed_by"], told["expires"]["targets"]);
    assert!(!place.repository().exists());
}

#[test]
fn going_back_is_a_new_version_with_the_old_content() {
    let place = Place::published();
    let before = place.both().unwrap();
    let book = place.book("1.2.0");
    assert_eq!(place.publish_with(&["--book", &book]).status.code(), Some(0));
    assert_eq!(place.both().unwrap()["book.json"]["said"]["version"], "1.2.0");
    place.publish();
    assert_eq!(place.both().unwrap(), before);
    let ours = place.ours("seen").unwrap();
    assert_eq!(
        (&ours["versions"]["targets"], &ours["versions"]["overlay"]),
        (&3.into(), &1.into())
    );
}

#[test]
fn renewing_takes_the_key_on_line_alone_and_sites_complain_without_it() {
    let place = Place::published();
    place.both().unwrap();
    let day = 24 * 60 * 60;
    let refused = place.theirs("late", day + 60).unwrap_err();
    assert!(refused.contains("expired"), "{refused}");
    for name in ["root-1", "root-2", "root-3", "targets", "overlay"] {
        std::fs::remove_file(place.key(name)).unwrap();
    }
    let output = place.renew(&["--timestamp-hours", "48", "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let told: Value = serde_json::from_str(&said(&output)).unwrap();
    assert_eq!(told["files"], serde_json::json!(["metadata/timestamp.json"]));
    assert_eq!(told["versions"]["timestamp"], 2);
    place.both().unwrap();
    place.theirs("late", day + 60).unwrap();
    // It cannot publish.
    let output = place.publish_with(&[]);
    assert_eq!(output.status.code(), Some(4));
    place.both().unwrap();
}
