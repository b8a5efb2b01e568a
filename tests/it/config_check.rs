//! `config check`: what it shows, what it complains about, and what it never tells.

use std::fs;

use cupwright::{config::SETTINGS, demo};
use serde_json::json;

use crate::{
    changed::{demo_book, put},
    cli::{complained, program, run, said, write},
    config::checked,
};

#[test]
fn paths_of_a_file_are_relative_to_its_folder_and_all_others_to_where_the_program_runs() {
    let folder = tempfile::tempdir().unwrap();
    let demo = demo::book().text;
    write(folder.path(), "books/book.json", &demo);
    write(folder.path(), "conf/our.toml", "book = '../books/book.json'\n");
    let check = |more: &[&str]| {
        let mut program = program();
        program.current_dir(folder.path().join("conf")).args(["config", "check", "--json"]);
        program.args(more).output().expect("the program runs")
    };
    let near = check(&["--config", "our.toml"]);
    assert_eq!(near.status.code(), Some(0), "{}", said(&near));
    assert_eq!(checked(&near)["settings"]["book"]["value"], json!("../books/book.json"));
    let far = check(&["--config", "../conf/../conf/our.toml"]);
    assert_eq!(far.status.code(), Some(0), "{}", said(&far));
    let flag = check(&["--config", "our.toml", "--book", "books/book.json"]);
    assert_eq!(flag.status.code(), Some(4), "{}", said(&flag));
    assert!(said(&flag).contains("Cannot read books/book.json"), "{}", said(&flag));
}

#[test]
fn check_shows_the_settings_as_a_table_and_says_that_it_would_start() {
    let folder = tempfile::tempdir().unwrap();
    let keys = folder.path().join("keys.json");
    let made =
        run(&["key", "--id", "front", "--role", "till", "--into", keys.to_str().unwrap()], "");
    let secret = said(&made).trim().to_owned();
    let document = fs::read_to_string(&keys).unwrap();
    let digest = document.split("sha256:").nth(1).expect("a digest")[..64].to_owned();
    let text = "keys = 'keys.json'\nstop.notice_s = 0.5\n[log]\nform = 'text'\n";
    let file = write(folder.path(), "our.toml", text);
    let mut program = program();
    program.args([
        "config",
        "check",
        "--config",
        &file,
        "--at-once",
        "64",
        "--trusted-proxy",
        "::1",
    ]);
    program.args(["--trusted-proxy", "10.0.0.0/8"]).env("CUPWRIGHT_LISTEN", "0.0.0.0:9000");
    // Such a variable is set in every pod beside a service of this name.
    program.env("CUPWRIGHT_PORT", "tcp://192.0.2.1:8080");
    let output = program.output().expect("the program runs");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let printed = said(&output);
    let line = |path: &str| {
        let mut lines = printed.lines().filter(|line| line.split(' ').next() == Some(path));
        lines.next().unwrap_or_else(|| panic!("{path} in:\n{printed}")).to_owned()
    };
    for (path, value, from) in [
        ("book", "not set", "default"),
        ("keys", keys.to_str().unwrap(), &format!("{file}:1")),
        ("stop.notice_s", "0.5", &format!("{file}:2")),
        ("log.form", "text", &format!("{file}:4")),
        ("listen.address", "0.0.0.0:9000", "CUPWRIGHT_LISTEN"),
        ("listen.trusted_proxies", "::1/128, 10.0.0.0/8", "--trusted-proxy"),
        ("limits.at_once", "64", "--at-once"),
        ("log.level", "info", "default"),
    ] {
        let line = line(path);
        let cells: Vec<&str> =
            line.split("  ").map(str::trim).filter(|one| !one.is_empty()).collect();
        assert_eq!(cells, [path, value, from], "{printed}");
    }
    let columns: Vec<usize> =
        SETTINGS.iter().map(|one| line(one.path).rfind("  ").unwrap()).collect();
    assert!(columns.iter().all(|column| *column == columns[0]), "aligned:\n{printed}");
    assert!(printed.contains(&format!("1 key in {}\n", keys.display())), "{printed}");
    assert!(printed.ends_with("`cupwright serve` would start.\n"), "{printed}");
    assert_eq!(complained(&output), "CUPWRIGHT_PORT is in the environment and is no setting.\n");
    for hidden in [&secret, &digest] {
        assert!(hidden.len() == 64 && !printed.contains(hidden.as_str()), "{printed}");
    }
}

#[test]
fn check_tells_faults_of_settings_and_of_documents_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = demo_book();
    put(&mut book, "/drinks/mocha/default_size", json!("vast"));
    let book = write(folder.path(), "book.json", &book.to_string());
    let secret = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
    let keys = json!({"schema": "service-keys/0.1.0",
        "keys": [{"id": "a", "role": "barista", "digest": secret}]});
    let keys = write(folder.path(), "keys.json", &keys.to_string());
    let text = "book = 'book.json'\nkeys = 'keys.json'\nheld_books = 0\n";
    let file = write(folder.path(), "our.toml", text);
    let check = |more: &[&str]| {
        let mut program = program();
        program.args(["config", "check", "--config", &file]).args(more);
        program.env("CUPWRIGHT_BURST", "many").output().expect("the program runs")
    };
    let output = check(&[]);
    assert_eq!(output.status.code(), Some(3));
    let told = complained(&output);
    for part in [
        &format!("{file}:3:14: /held_books: found 0; expected a whole number from 1 to 20\n"),
        "CUPWRIGHT_BURST:/limits/burst: found `many`; expected a whole number from 1 to 1000000\n",
        &format!("{book}:1:"),
        &format!("{keys}:1:"),
        "`cupwright serve` would not start.\n",
    ] {
        assert!(told.contains(part), "`{part}` in:\n{told}");
    }
    let as_json = check(&["--json"]);
    assert_eq!(as_json.status.code(), Some(3));
    let value = checked(&as_json);
    assert_eq!((&value["starts"], complained(&as_json).as_str()), (&json!(false), ""));
    let listed = value["complaints"].as_array().unwrap();
    assert_eq!(told.lines().count(), listed.len() + 1, "as many as were told:\n{told}");
    assert_eq!(listed[0]["line"], json!(3));
    assert!(!told.contains(secret) && !said(&as_json).contains(secret), "no secret is told");
    let served = run(&["serve", "--config", &file], "");
    assert_eq!(served.status.code(), Some(3));
    assert!(complained(&served).starts_with(&format!("{file}:3:14: ")), "{}", complained(&served));
}
