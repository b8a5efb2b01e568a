//! The program on the command line: what it prints, where, and how it ends.

use std::{
    collections::BTreeSet,
    env,
    ffi::OsString,
    fs,
    io::Write,
    net::TcpListener,
    path::Path,
    process::{Command, Output, Stdio},
    sync::Arc,
};

use cupwright::{
    answering::{Asked, Sent},
    demo,
    in_force::{InForce, Source},
    json::Limits,
};
use serde_json::{Value, json};

use crate::{
    changed::{demo_book, demo_site, pointer, put},
    support::{answer_to, demo as in_force},
};

/// The program with nothing of the surroundings that changes what it does.
pub(crate) fn program() -> Command {
    let mut program = Command::new(env!("CARGO_BIN_EXE_cupwright"));
    let ours = |name: &OsString| name.to_string_lossy().starts_with("CUPWRIGHT_");
    let others = ["CLICOLOR_FORCE", "RUST_BACKTRACE"].map(OsString::from);
    for name in env::vars_os().map(|(name, _)| name).filter(ours).chain(others) {
        program.env_remove(name);
    }
    program
}

/// Runs the program with `input` as its standard input.
pub(crate) fn run(arguments: &[&str], input: &str) -> Output {
    let mut child = program()
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // It may end before it reads; what it says then is what the test looks at.
    let _ = child.stdin.take().expect("a pipe").write_all(input.as_bytes());
    child.wait_with_output().expect("the program ends")
}

pub(crate) fn said(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

pub(crate) fn complained(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

/// A ticket whose lines are all accepted.
fn good() -> Value {
    json!({"site": "bookshop", "lang": "en", "order": {"at": "2026-11-25T14:05:00+01:00"}, "lines": [
        {"line": "1", "drink": "latte", "quantity": 2,
         "modifiers": [{"id": "milk", "value": "oat-drink"}, {"id": "shots", "count": 1}]},
        {"line": "2", "drink": "espresso"},
    ]})
}

/// What the library answers to `ticket`.
fn library(ticket: &Value, asked: Asked) -> Value {
    answer_to(&Arc::new(in_force()), ticket, asked, &Sent::default())
}

pub(crate) fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn check_proves_the_demo_and_says_what_there_is() {
    let output = run(&["check"], "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let (held, said) = (in_force(), said(&output));
    let book = held.book();
    let numbers = [
        format!("The book holds: {} {}\n", book.id, book.version),
        held.digest().to_string(),
        format!("drinks     {}\n", book.drinks.len()),
        format!("modifiers  {}\n", book.modifiers.len()),
        format!("examples   {}, all as worked", book.examples.len()),
    ];
    for part in numbers.iter().map(String::as_str).chain(["en, de"]) {
        assert!(said.contains(part), "`{part}` in:\n{said}");
    }
    for site in held.bars.keys() {
        assert!(said.contains(&format!("Site {site}: ")), "{site} in:\n{said}");
    }
    assert!(!said.contains("\n  region "), "no field is listed unasked:\n{said}");
    assert_eq!(complained(&output), "");
}

#[test]
fn check_lists_each_replaced_field_with_its_layer_when_asked() {
    let output = run(&["check", "--fields"], "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let (held, said) = (in_force(), said(&output));
    let mut layers = BTreeSet::new();
    for (id, bar) in &held.bars {
        let of_site = said.split_once(&format!("Site {id}: ")).expect("the site").1;
        let (first, rest) = of_site.split_once('\n').expect("its line");
        let count = bar.from.replaced().count();
        let noun = if count == 1 { "field" } else { "fields" };
        assert!(first.ends_with(&format!(", {count} {noun} replaced")), "{first}");
        let listed: Vec<&str> = rest.lines().take_while(|line| line.starts_with("  ")).collect();
        let replaced: Vec<String> = bar
            .from
            .replaced()
            .map(|(path, layer)| {
                let layer = format!("{layer:?}").to_lowercase();
                layers.insert(layer.clone());
                format!("  {layer:<6}  {path}")
            })
            .collect();
        assert_eq!(listed, replaced, "{id}");
    }
    assert_eq!(layers, ["region", "site"].map(str::to_owned).into(), "the demo has both layers");
}

#[test]
fn check_tells_every_complaint_about_files_with_file_line_and_column() {
    let folder = tempfile::tempdir().unwrap();
    let mut book = demo_book();
    put(&mut book, "/drinks/latte/cups/here/regular/vessel", json!("glass-26"));
    put(&mut book, "/drinks/mocha/default_size", json!("vast"));
    let text = format!("{book:#}");
    let path = write(folder.path(), "our book.json", &text);
    let output = run(&["--book", &path, "check"], "");
    assert_eq!(output.status.code(), Some(3));
    assert_eq!(said(&output), "");
    let told = complained(&output);
    let line = text.lines().position(|line| line.contains("\"glass-26\"")).unwrap() + 1;
    let column = text.lines().nth(line - 1).unwrap().find("\"glass-26\"").unwrap() + 1;
    let at = pointer(&book, "/drinks/latte/cups/here/regular/vessel");
    let wanted = format!(
        "{path}:{line}:{column}: {at}: found `glass-26`, which the book \
         does not have; expected the id of a vessel of the book, such as `glass-260`\n"
    );
    assert!(told.starts_with(&wanted), "{told}");
    let faulty = InForce::load(&Source { name: path, text }, &[]).expect_err("it is wrong");
    let count = faulty[0].all.len();
    assert_eq!(told, format!("{}\n{count} complaints. Nothing was loaded.\n", faulty[0]));
}

#[test]
fn check_reads_a_folder_of_sheets_and_tells_the_complaints_of_each() {
    let folder = tempfile::tempdir().unwrap();
    let book = write(folder.path(), "book.json", &demo::book().text);
    let (mut first, mut second) = (demo_site("bookshop"), demo_site("ferry-kiosk"));
    write(folder.path(), "sites/a.json", &first.to_string());
    write(folder.path(), "sites/b.json", &second.to_string());
    write(folder.path(), "sites/notes.txt", "not a sheet");
    let sites = folder.path().join("sites");
    let arguments = ["--book", &book, "--sites", sites.to_str().unwrap(), "check"];
    let output = run(&arguments, "");
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    assert_eq!(said(&output).matches("\nSite ").count(), 3, "two sheets and the training bar");
    first["region"] = json!("moon");
    second["time_zone"] = json!("Moon/Crater");
    let first = write(folder.path(), "sites/a.json", &first.to_string());
    let second = write(folder.path(), "sites/b.json", &second.to_string());
    let output = run(&arguments, "");
    assert_eq!(output.status.code(), Some(3));
    let told = complained(&output);
    assert!(told.starts_with(&format!("{first}:1:")), "{told}");
    assert!(told.contains(&format!("\n{second}:1:")), "{told}");
    assert!(told.ends_with("2 complaints. Nothing was loaded.\n"), "{told}");
}

#[test]
fn a_ticket_from_a_file_or_from_standard_input_has_the_answer_of_the_library() {
    let folder = tempfile::tempdir().unwrap();
    let ticket = good();
    let file = write(folder.path(), "ticket.json", &ticket.to_string());
    for (command, asked) in [("expand", Asked::Builds), ("validate", Asked::Verdicts)] {
        let ours = library(&ticket, asked);
        let runs = [
            run(&[command, "--json", &file], ""),
            run(&[command, "--json"], &ticket.to_string()),
            run(&[command, "--json", "-"], &ticket.to_string()),
        ];
        for output in runs {
            assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
            let printed: Value = serde_json::from_slice(&output.stdout).expect("JSON");
            assert_eq!(printed, ours);
        }
        let builds = ours["lines"].as_array().unwrap().iter();
        assert!(
            builds.into_iter().all(|line| line.get("build").is_some() == (command == "expand"))
        );
    }
}

/// A table's text with each broken line joined again.
fn joined(table: &str) -> String {
    table.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_table_has_amounts_steps_and_allergens_and_no_colour_in_a_pipe() {
    let output = run(&["expand"], &good().to_string());
    assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    let (table, ours) = (said(&output), library(&good(), Asked::Builds));
    assert!(!table.contains('\u{1b}'), "no escape sequence where nobody sees colour:\n{table}");
    let flat = joined(&table);
    for line in ours["lines"].as_array().unwrap() {
        for step in line["build"]["steps"].as_array().unwrap() {
            assert!(flat.contains(step["text"].as_str().unwrap()), "{step} in:\n{table}");
        }
        let price = line["price"]["amount"].as_str().unwrap();
        assert!(table.contains(&format!("{price} EUR")), "{price} in:\n{table}");
    }
    let price = ours["lines"][0]["price"]["amount"].as_str().unwrap();
    for part in [
        &format!("1  accept  2 × Latte, {price} EUR each\n"),
        "2  accept  1 × Espresso, ",
        "   OAT MILK\n",
        "   coffee  2 halves ",
        "   coffee  1 half ",
        "   Ingredients contain: ",
        "   Packs say may contain: ",
    ] {
        assert!(table.contains(part), "`{part}` in:\n{table}");
    }
    let verdicts = said(&run(&["validate"], &good().to_string()));
    assert!(verdicts.contains("accept") && !verdicts.contains("Ingredients contain"), "{verdicts}");
}

#[test]
fn the_table_names_things_in_the_language_of_the_answer_and_shows_no_ids() {
    let held = in_force();
    let bar = held.bar("bookshop").expect("the bookshop");
    for lang in ["en", "de"] {
        let mut ticket = good();
        ticket["lang"] = json!(lang);
        let (table, ours) =
            (said(&run(&["expand"], &ticket.to_string())), library(&ticket, Asked::Builds));
        let build = &ours["lines"][0]["build"];
        let id = |at: &str| build.pointer(at).unwrap().as_str().unwrap();
        let jug = bar.jugs.iter().find(|one| *one.jug.id == *id("/milk/jug")).unwrap();
        for name in [
            bar.ingredient(id("/milk/ingredient")).unwrap().names.in_lang(lang),
            bar.bean(id("/coffee/bean")).unwrap().names.in_lang(lang),
            bar.cup_here(id("/vessel/id")).unwrap().vessel.names.in_lang(lang),
            bar.allergen(id("/allergens/ingredients/0")).unwrap().names.in_lang(lang),
            jug.jug.names.in_lang(lang),
        ] {
            assert!(table.contains(name), "`{name}` in:\n{table}");
        }
        for at in ["/milk/jug", "/milk/ingredient", "/vessel/id"] {
            assert!(!table.contains(id(at)), "`{}` in:\n{table}", id(at));
        }
    }
}

#[test]
fn the_table_keeps_to_a_hundred_columns_and_sets_steps_apart() {
    let mut ticket = good();
    ticket["lines"][1] = json!({"line": "2", "drink": "brewed-chai"});
    let asked = json!({"line": "c", "drink": "long-black",
        "modifiers": [{"id": "milk", "value": "oat-drink"}]});
    ticket["lines"].as_array_mut().unwrap().push(asked);
    for lang in ["en", "de"] {
        ticket["lang"] = json!(lang);
        let table = said(&run(&["expand"], &ticket.to_string()));
        for line in table.lines() {
            assert!(line.chars().count() <= 100 && !line.ends_with(' '), "`{line}`");
        }
        let steps: Vec<usize> = table
            .lines()
            .filter(|line| line.starts_with("   1  "))
            .map(|line| table.lines().position(|other| other == line).unwrap())
            .collect();
        assert_eq!(steps.len(), 2, "two builds in:\n{table}");
        for at in steps {
            assert_eq!(table.lines().nth(at - 1), Some(""), "a blank line in:\n{table}");
        }
    }
}

#[test]
fn the_program_ends_with_1_when_a_line_is_asked_about_or_refused_and_says_why() {
    let refused = json!({"site": "bookshop", "lang": "en", "lines": [
        {"line": "1", "drink": "latte"},
        {"line": "b", "drink": "flat-white", "modifiers": [{"id": "size", "value": "large"}]},
    ]});
    let output = run(&["expand"], &refused.to_string());
    assert_eq!(output.status.code(), Some(1));
    let table = said(&output);
    let why = library(&refused, Asked::Builds)["lines"][1]["refusals"][0]["text"].clone();
    let refusal = format!("b  refuse  {}", why.as_str().unwrap());
    for part in ["1  accept", &refusal, "no-such-cup", "   → "] {
        assert!(table.contains(part), "`{part}` in:\n{table}");
    }
    let asked = json!({"site": "bookshop", "lang": "en", "lines": [
        {"line": "c", "drink": "long-black", "modifiers": [{"id": "milk", "value": "oat-drink"}]},
    ]});
    for command in ["expand", "validate"] {
        let output = run(&[command], &asked.to_string());
        assert_eq!(output.status.code(), Some(1));
        assert!(
            said(&output).contains("c  ask  There is no milk in this drink."),
            "{}",
            said(&output)
        );
    }
}

#[test]
fn the_program_ends_with_2_when_the_command_line_is_at_fault() {
    for arguments in [
        &["brew"][..],
        &["expand", "--yaml"],
        &["serve", "--listen", "nowhere"],
        &["check", "extra"],
    ] {
        let output = run(arguments, "");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(complained(&output).contains("--help"), "{}", complained(&output));
        assert_eq!(said(&output), "");
    }
}

#[test]
fn the_program_ends_with_3_when_a_ticket_has_faults_and_names_each_at_its_place() {
    let ticket = "{\n  \"site\": \"bookshop\",\n  \"lines\": [\n    { \"line\": \"1\", \"drnk\": \"latte\", \
                  \"quantity\": 0 }\n  ]\n}";
    let output = run(&["expand"], ticket);
    assert_eq!(output.status.code(), Some(3));
    assert_eq!(said(&output), "");
    let told = complained(&output);
    for part in [
        "  4:5: /lines/0: found neither `drink` nor `codes`; expected a drink, or buttons of the site's till\n",
        "  4:28: /lines/0/drnk: found the field `drnk`; expected no such field here",
        "  4:49: /lines/0/quantity: found 0; expected a number of at least 1\n",
    ] {
        assert!(told.contains(part), "`{part}` in:\n{told}");
    }
    let output = run(&["expand"], "{\n \"site\" }");
    assert_eq!(output.status.code(), Some(3));
    assert!(complained(&output).contains("  2:9: (ticket): found "), "{}", complained(&output));
    let output = run(
        &["expand"],
        "{\"site\": \"moon\", \"lines\": [{\"line\": \"1\", \"drink\": \"latte\"}]}",
    );
    assert_eq!(output.status.code(), Some(3));
    assert!(
        complained(&output).contains("ferry-kiosk"),
        "the sites there are: {}",
        complained(&output)
    );
}

#[test]
fn the_program_ends_with_4_when_a_file_cannot_be_read_or_an_address_cannot_be_bound() {
    let folder = tempfile::tempdir().unwrap();
    let missing = folder.path().join("nothing.json");
    let missing = missing.to_str().unwrap();
    let taken = TcpListener::bind("127.0.0.1:0").unwrap();
    let taken = taken.local_addr().map(|address| (taken, address.to_string())).unwrap();
    for arguments in [
        &["expand", missing][..],
        &["--book", missing, "check"],
        &["--sites", missing, "check"],
        &["serve", "--listen", &taken.1],
    ] {
        let output = run(arguments, "");
        assert_eq!(output.status.code(), Some(4), "{arguments:?}: {}", complained(&output));
        assert!(complained(&output).starts_with("Cannot "), "{}", complained(&output));
    }
    let said = complained(&run(&["expand", missing], ""));
    assert!(said.contains(missing), "the file that cannot be read is named: {said}");
}

#[test]
fn a_ticket_over_the_limit_is_refused_without_being_read_to_its_end() {
    let folder = tempfile::tempdir().unwrap();
    // A letter of two bytes lies across the limit.
    let large = format!(" {}", "ü".repeat(Limits::TICKET.bytes / 2));
    let file = write(folder.path(), "large.json", &large);
    for output in [run(&["expand", &file], ""), run(&["validate"], &large)] {
        assert_eq!(output.status.code(), Some(3));
        let wanted = format!("A ticket has at most {} bytes.\n", Limits::TICKET.bytes);
        assert!(complained(&output).ends_with(&wanted), "{}", complained(&output));
    }
    if cfg!(target_os = "linux") {
        let output = run(&["expand", "/dev/zero"], "");
        assert_eq!(output.status.code(), Some(3), "a source without an end comes to one");
    }
}

#[test]
fn a_document_over_the_limit_is_a_complaint_and_is_not_read() {
    let folder = tempfile::tempdir().unwrap();
    let large = folder.path().join("large.json");
    // The file has a length and no contents on the disk.
    let length = u64::try_from(Limits::DOCUMENT.bytes).unwrap() + 1;
    fs::File::create(&large).unwrap().set_len(length).unwrap();
    let (book, sites) = (large.to_str().unwrap(), folder.path().to_str().unwrap());
    for arguments in [["--book", book, "check"], ["--sites", sites, "check"]] {
        let output = run(&arguments, "");
        assert_eq!(output.status.code(), Some(3), "{}", complained(&output));
        let most = Limits::DOCUMENT.bytes;
        let wanted = format!(
            "{book}:1:1: (document): found {length} bytes; expected at most {most} bytes\n\
             1 complaint. Nothing was loaded.\n"
        );
        assert_eq!(complained(&output), wanted);
    }
}

#[test]
fn help_has_examples_and_exit_codes_and_the_version_is_told() {
    let output = run(&["--help"], "");
    assert_eq!(output.status.code(), Some(0));
    let help = said(&output);
    for part in [
        "Usage",
        "Exit codes:",
        "  0  ",
        "  1  ",
        "  2  ",
        "  3  ",
        "  4  ",
        "Examples:",
        "cupwright expand ticket.json",
    ] {
        assert!(help.contains(part), "`{part}` in:\n{help}");
    }
    for command in ["serve", "config", "expand", "validate", "check", "table", "new"] {
        assert!(help.contains(command), "{command} in:\n{help}");
        let output = run(&[command, "--help"], "");
        assert_eq!(output.status.code(), Some(0));
        assert!(said(&output).contains("Example"), "{}", said(&output));
    }
    let output = run(&["--version"], "");
    // Which commit it is built from is for what is shipped; `container` asks that.
    let told = said(&output);
    let commit = told.strip_prefix(concat!("cupwright ", env!("CARGO_PKG_VERSION"), " ("));
    assert!(commit.is_some_and(|commit| commit.ends_with(")\n")), "{told}");
}

#[test]
fn a_reader_that_goes_away_is_no_crash() {
    let mut child = program()
        .arg("check")
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("the program ends");
    let told = complained(&output);
    assert!(!told.contains("panicked") && output.status.code() != Some(101), "{told}");
}
