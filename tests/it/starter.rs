//! `new`: a book to start from, which is right as it is and is not the demo's.

use std::{fs, path::Path};

use cupwright::demo;
use serde_json::Value;

use crate::cli::{complained, run, said, write};

/// The files that `new` writes.
const FILES: [&str; 3] = ["book.json", "sites/first-site.json", "ticket.json"];

/// A starter in a folder of its own, and what was said.
fn started(folder: &Path) -> String {
    let output = run(&["new", folder.to_str().unwrap()], "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    said(&output)
}

#[test]
fn a_starter_passes_its_check_and_its_ticket_is_accepted() {
    let folder = tempfile::tempdir().unwrap();
    started(folder.path());
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (book, sites, ticket) = (path("book.json"), path("sites"), path("ticket.json"));
    let documents = ["--book", &book, "--sites", &sites];
    let check = run(&[&documents[..], &["check"]].concat(), "");
    assert_eq!(check.status.code(), Some(0), "{}", complained(&check));
    assert!(said(&check).contains("Site first-site: "), "{}", said(&check));
    let expand = run(&[&documents[..], &["expand", "--json", &ticket]].concat(), "");
    assert_eq!(expand.status.code(), Some(0), "{}", complained(&expand));
    let answer: Value = serde_json::from_slice(&expand.stdout).expect("JSON");
    let lines = answer["lines"].as_array().expect("lines");
    assert!(lines.len() > 1 && lines.iter().all(|line| line["verdict"] == "accept"), "{answer}");
    let books = [fs::read_to_string(&book).unwrap(), demo::book().text];
    let [own, demos] = books.map(|text| serde_json::from_str::<Value>(&text).unwrap());
    assert_ne!(own["id"], demos["id"]);
    assert_ne!(own["names"]["en"], demos["names"]["en"]);
    assert_eq!(own["drinks"].as_array().map(Vec::len), Some(3));
    assert!(own["examples"].as_array().is_some_and(|all| !all.is_empty()));
}

#[test]
fn the_commands_that_a_starter_prints_can_be_typed() {
    let folder = tempfile::tempdir().unwrap();
    let own = folder.path().join("our standards");
    let told = started(&own);
    for name in FILES {
        assert!(told.contains(&format!("Wrote {}\n", own.join(name).display())), "{told}");
    }
    let commands: Vec<&str> =
        told.lines().filter_map(|line| line.strip_prefix("  cupwright ")).collect();
    assert_eq!(commands.len(), 4, "{told}");
    for command in commands.into_iter().filter(|command| !command.ends_with(" serve")) {
        // Every second piece between apostrophes is a path; the rest is parted by spaces.
        let pieces = command.split('\'').enumerate();
        let words: Vec<&str> =
            pieces
                .flat_map(|(at, piece)| {
                    if at % 2 == 1 { vec![piece] } else { piece.split_whitespace().collect() }
                })
                .collect();
        let output = run(&words, "");
        assert_eq!(output.status.code(), Some(0), "{command}: {}", complained(&output));
    }
    assert!(own.join("tables/drinks.csv").is_file());
}

#[test]
fn nothing_that_is_there_is_overwritten() {
    for there in FILES {
        let folder = tempfile::tempdir().unwrap();
        let kept = write(folder.path(), there, "kept");
        let output = run(&["new", folder.path().to_str().unwrap()], "");
        assert_eq!(output.status.code(), Some(4));
        assert_eq!(said(&output), "");
        let told = complained(&output);
        assert!(told.starts_with(&format!("Cannot write {kept}: it is there already\n")), "{told}");
        assert_eq!(fs::read_to_string(&kept).unwrap(), "kept");
        for other in FILES.iter().filter(|other| **other != there) {
            assert!(!folder.path().join(other).exists(), "{other} beside {there}");
        }
    }
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "taken", "a file where the folder should be");
    let output = run(&["new", folder.path().join("taken").to_str().unwrap()], "");
    assert_eq!(output.status.code(), Some(4), "{}", complained(&output));
}
