//! What the program is made of: allowed licences, the bill of materials, and the licence texts.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    process::Command,
};

use serde_json::{Value, json};

use super::tool;
use crate::support::{
    root, text,
    tools::{python, run, tool_file},
};

/// A crate by name and version.
type Named = (String, String);

/// A file that `docker/parts` wrote.
#[track_caller]
fn part(name: &str) -> String {
    let path = root("target/parts").join(name);
    let remedy = "run docker/parts, as ./tests/run does";
    fs::read_to_string(&path)
        .unwrap_or_else(|fault| panic!("{}: {fault}: {remedy}", path.display()))
}

fn bill() -> Value {
    serde_json::from_str(&part("sbom.cdx.json")).expect("JSON")
}

fn named(component: &Value) -> Named {
    let text = |name: &str| component[name].as_str().expect("a text").to_owned();
    (text("name"), text("version"))
}

/// Every crate that a build of the program compiles for the system that it is shipped for.
fn compiled() -> BTreeSet<Named> {
    let mut tree = Command::new(env!("CARGO"));
    tree.args(["tree", "--locked", "--offline", "--edges", "normal,build", "--prefix", "none"]);
    tree.args(["--target", "x86_64-unknown-linux-gnu", "--no-dedupe"]).current_dir(root(""));
    let printed = run(tree);
    let all: BTreeSet<Named> = printed
        .lines()
        .map(|line| line.split_once(" v").expect("a crate with its version"))
        .map(|(name, rest)| (name.to_owned(), rest.split(' ').next().unwrap().to_owned()))
        .collect();
    assert!(all.len() > 100, "{printed}");
    all
}

/// The digest of each crate's archive, as Cargo.lock has it.
fn locked() -> BTreeMap<Named, String> {
    let lock: toml::Table = text("Cargo.lock").parse().expect("TOML");
    let packages = lock["package"].as_array().expect("packages");
    let text = |one: &toml::Value, name: &str| one.get(name)?.as_str().map(ToOwned::to_owned);
    let row = |one| Some(((text(one, "name")?, text(one, "version")?), text(one, "checksum")?));
    packages.iter().filter_map(row).collect()
}

#[test]
fn licences_crates_and_their_source_are_those_that_are_allowed() {
    let check = || {
        let mut deny = tool("cargo-deny");
        deny.args(["--offline", "--manifest-path"]).arg(root("Cargo.toml")).arg("check");
        deny
    };
    let mut whole = check();
    whole.args(["licenses", "bans", "sources"]);
    run(whole);
    let folder = tempfile::tempdir().expect("a folder");
    let narrow = folder.path().join("deny.toml");
    let rules = text(".cargo/deny.toml");
    let fewer = rules.replace("    \"ISC\",\n", "");
    assert_ne!(rules, fewer);
    fs::write(&narrow, fewer).expect("a file");
    let output = check().arg("--config").arg(&narrow).arg("licenses").output().expect("it runs");
    assert!(!output.status.success(), "a licence that is not listed is refused");
}

/// Source: `CycloneDX` 1.6, whose JSON schema the judge carries; strict, so no other property.
#[test]
fn the_bill_is_cyclonedx_1_6_and_a_broken_one_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let judged = |bill: &Value| {
        let file = folder.path().join("bill.json");
        fs::write(&file, bill.to_string()).expect("a file");
        let mut judge = python();
        judge.arg(tool_file("bill.py")).arg(&file);
        judge
    };
    let sound = bill();
    assert_eq!((&sound["bomFormat"], &sound["specVersion"]), (&json!("CycloneDX"), &json!("1.6")));
    run(judged(&sound));
    for (pointer, value) in [
        ("/components/0/type", json!("crate")),
        ("/components/0/hashes/0/content", json!("none")),
        ("/components/0/licenses", json!("MIT")),
        ("/serialNumber", json!("1")),
    ] {
        let mut broken = sound.clone();
        *broken.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = value;
        assert!(!judged(&broken).output().expect("it runs").status.success(), "{pointer}");
    }
}

#[test]
fn the_bill_names_every_crate_of_the_program_once_with_licence_and_digest() {
    let (bill, locked) = (bill(), locked());
    let components = bill["components"].as_array().expect("components");
    let mut all: Vec<Named> = components.iter().map(named).collect();
    all.push(named(&bill["metadata"]["component"]));
    let once: BTreeSet<Named> = all.iter().cloned().collect();
    assert_eq!(once.len(), all.len(), "no crate is named twice");
    let compiled = compiled();
    let lacking: Vec<_> = compiled.difference(&once).collect();
    let too_many: Vec<_> = once.difference(&compiled).collect();
    assert!(
        lacking.is_empty() && too_many.is_empty(),
        "lacking {lacking:?}, too many {too_many:?}; after a change run docker/parts"
    );
    for component in components {
        let (name, version) = named(component);
        // A purl encodes the plus of a version's build metadata.
        let purl = format!("pkg:cargo/{name}@{version}").replace('+', "%2B");
        assert_eq!(component["purl"], purl);
        let licence = &component["licenses"][0];
        let said = licence["expression"].as_str().or(licence["license"]["id"].as_str());
        assert!(said.is_some_and(|said| !said.is_empty()), "{name} has no SPDX licence: {licence}");
        let digest = &component["hashes"][0];
        assert_eq!(digest["alg"], "SHA-256");
        assert_eq!(digest["content"], locked[&(name, version)]);
    }
}

#[test]
fn the_bill_says_which_crate_uses_which() {
    let bill = bill();
    let components = bill["components"].as_array().expect("components");
    let reference = |component: &Value| component["bom-ref"].as_str().expect("text").to_owned();
    let mut known: BTreeSet<String> = components.iter().map(reference).collect();
    let root = reference(&bill["metadata"]["component"]);
    known.insert(root.clone());
    let mut graph: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for row in bill["dependencies"].as_array().expect("dependencies") {
        let used = row["dependsOn"].as_array().cloned().unwrap_or_default();
        let used = used.iter().map(|one| one.as_str().expect("text").to_owned()).collect();
        graph.insert(row["ref"].as_str().expect("text").to_owned(), used);
    }
    assert_eq!(graph.keys().cloned().collect::<BTreeSet<_>>(), known, "each has its row");
    let (mut reached, mut next) = (BTreeSet::new(), vec![root.clone()]);
    while let Some(one) = next.pop() {
        if reached.insert(one.clone()) {
            next.extend(graph[&one].iter().cloned());
        }
    }
    assert_eq!(reached, known, "whatever is listed is there because something uses it");
    let direct: BTreeSet<String> =
        graph[&root].iter().map(|one| one.split(['/', '@']).nth(1).unwrap().to_owned()).collect();
    let manifest: toml::Table = text("Cargo.toml").parse().expect("TOML");
    let wanted = manifest["dependencies"].as_table().expect("dependencies");
    assert_eq!(direct, wanted.keys().cloned().collect(), "those of Cargo.toml");
}

#[test]
fn every_crate_is_in_the_file_of_licences_with_its_texts_or_the_word_that_it_has_none() {
    let file = part("licences.txt");
    let lines: Vec<&str> = file.lines().collect();
    let heads: BTreeSet<&str> =
        lines.iter().copied().filter(|line| line.starts_with("Text ")).collect();
    let bill = bill();
    let components = bill["components"].as_array().expect("components");
    for component in components {
        let (name, version) = named(component);
        let begin = format!("{name} {version}: ");
        let rows: Vec<usize> =
            (0..lines.len()).filter(|at| lines[*at].starts_with(&begin)).collect();
        assert_eq!(rows.len(), 1, "{name} {version} has one row");
        let below = lines[rows[0] + 1].trim();
        let Some(numbers) = below.strip_prefix("texts ") else {
            assert_eq!(below, "without a licence file of its own", "{name}");
            continue;
        };
        for number in numbers.split(", ") {
            assert!(heads.contains(&*format!("Text {number}, of")), "{name} has text {number}");
        }
        assert!(file.contains(&format!("\n  {name} {version}: ")), "{name} is under a text");
    }
    let without = lines.iter().filter(|line| line.contains("without a licence file")).count();
    assert!(without * 10 < components.len(), "{without} crates without a text are too many");
    for known in
        ["Permission is hereby granted, free of charge", "Apache License", "UNICODE LICENSE"]
    {
        assert!(file.contains(known), "{known}");
    }
}

/// A second run, with Python's sets in another order, writes the same bytes.
#[test]
fn the_same_sources_give_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut again = python();
    again.arg(root("docker/inventory")).arg(folder.path()).current_dir(root(""));
    again.env("PYTHONHASHSEED", "7");
    run(again);
    for name in ["sbom.cdx.json", "licences.txt"] {
        let made = fs::read_to_string(folder.path().join(name)).expect("a file");
        assert!(made == part(name), "{name} differs: run docker/parts, as ./tests/run does");
    }
}
