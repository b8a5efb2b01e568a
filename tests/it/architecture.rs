//! The layering as a table, the purity of the engine, and the shape of files.

use std::{fs, path::Path};

use crate::support::root;

/// Each module, and the modules it may name. A row may list only rows above it, so a circle cannot
/// be written down. DEVELOPERS.md shows the same table.
const MAY_USE: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("roots", &[]),
    ("json", &["units"]),
    ("label", &["units"]),
    ("book", &["units", "json"]),
    ("engine::line", &["units"]),
    ("engine::phrase", &["book"]),
    ("engine::objection", &["units", "book", "engine::phrase"]),
    ("engine::physics", &[]),
    ("engine::law", &["units"]),
    ("engine::order", &["units", "book", "engine::line", "engine::phrase", "engine::objection"]),
    ("engine::solve", &["units", "book", "engine::physics", "engine::objection", "engine::order"]),
    (
        "engine::derive",
        &[
            "units",
            "book",
            "engine::line",
            "engine::objection",
            "engine::phrase",
            "engine::order",
            "engine::solve",
        ],
    ),
    (
        "engine::build_line",
        &[
            "units",
            "book",
            "engine::line",
            "engine::objection",
            "engine::order",
            "engine::solve",
            "engine::derive",
        ],
    ),
    (
        "engine::explain",
        &[
            "units",
            "book",
            "engine::order",
            "engine::solve",
            "engine::derive",
            "engine::build_line",
        ],
    ),
    (
        "engine::neighbours",
        &[
            "units",
            "book",
            "engine::line",
            "engine::objection",
            "engine::order",
            "engine::build_line",
        ],
    ),
    (
        "engine::expand",
        &[
            "book",
            "engine::line",
            "engine::objection",
            "engine::derive",
            "engine::build_line",
            "engine::neighbours",
        ],
    ),
    (
        "engine::reach",
        &[
            "units",
            "book",
            "engine::line",
            "engine::objection",
            "engine::solve",
            "engine::build_line",
        ],
    ),
    ("engine::shot", &["units", "book", "engine::phrase"]),
    ("engine::identify", &["units", "book", "engine::line", "engine::order", "engine::solve"]),
    ("tables", &["units", "json", "book"]),
    ("till", &["units", "json", "book", "engine", "tables"]),
    ("fit", &["units", "book", "engine"]),
    ("needs", &["units", "book", "engine"]),
    ("keys", &["json", "book"]),
    ("state", &[]),
    ("config", &["units", "json"]),
    ("print", &["units", "roots", "book"]),
    ("rollout", &["roots", "json"]),
    ("words", &["units", "json", "book", "engine"]),
    ("wire", &["units", "json", "label", "book", "engine", "till", "needs", "words"]),
    ("token", &["units", "json", "book", "engine", "wire"]),
    ("contract", &["json", "book", "till", "keys", "wire"]),
    ("in_force", &["units", "json", "book", "engine", "till", "words", "wire"]),
    ("demo", &["in_force"]),
    (
        "answering",
        &[
            "units", "json", "label", "book", "engine", "till", "fit", "needs", "print", "words",
            "wire", "token", "in_force",
        ],
    ),
    ("observe", &["roots", "config"]),
    (
        "http",
        &[
            "units",
            "json",
            "label",
            "book",
            "till",
            "keys",
            "state",
            "config",
            "print",
            "observe",
            "wire",
            "in_force",
            "answering",
        ],
    ),
    (
        "cli",
        &[
            "units",
            "json",
            "label",
            "book",
            "engine",
            "tables",
            "till",
            "needs",
            "keys",
            "state",
            "config",
            "print",
            "rollout",
            "wire",
            "in_force",
            "demo",
            "answering",
            "observe",
            "http",
        ],
    ),
];

/// Modules whose own file only gathers the rows below them.
const GATHERS: [&str; 4] = ["lib", "main", "build", "engine"];

/// What the pure part never names.
///
/// The last are functions that each platform may round in its own way, and collections whose order
/// is not that of any document: with either, the same line could have another build elsewhere.
const IMPURE: [&str; 30] = [
    "std::fs",
    "std::net",
    "std::env",
    "std::time",
    "std::thread",
    "std::io",
    "SystemTime",
    "Instant",
    "actix",
    "tokio",
    "reqwest",
    "serde",
    "rand",
    "async ",
    ".exp(",
    ".exp2(",
    ".exp_m1(",
    ".ln(",
    ".ln_1p(",
    ".log(",
    ".log2(",
    ".log10(",
    ".powf(",
    ".powi(",
    ".sin(",
    ".cos(",
    ".tan(",
    ".cbrt(",
    "HashMap",
    "HashSet",
];

const LINES_MAX: usize = 500;
const FUNCTION_MAX: usize = 70;

fn sources(folder: &Path, found: &mut Vec<(String, String)>) {
    let mut entries: Vec<_> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let module = path.strip_prefix(root("src")).unwrap().with_extension("");
            let module = module.to_str().unwrap().replace('/', "::");
            let module = module.strip_suffix("::mod").unwrap_or(&module).to_owned();
            found.push((module, fs::read_to_string(&path).unwrap()));
        }
    }
}

fn all_sources() -> Vec<(String, String)> {
    let mut found = Vec::new();
    sources(&root("src"), &mut found);
    assert!(found.len() > 60, "only {} source files were found", found.len());
    found
}

/// The row that a module belongs to: the longest row that is the module or holds it.
fn row_of(module: &str) -> Option<usize> {
    let holds = |row: &str| {
        module == row || module.strip_prefix(row).is_some_and(|rest| rest.starts_with("::"))
    };
    let rows = MAY_USE.iter().enumerate().filter(|(_, (row, _))| holds(row));
    rows.max_by_key(|(_, (row, _))| row.len()).map(|(at, _)| at)
}

/// Code without comments; texts in quotes stay, which errs on the strict side.
fn code_of(text: &str) -> String {
    let before_tests = text.split("#[cfg(test)]").next().unwrap();
    before_tests.lines().map(|line| line.split("//").next().unwrap()).collect::<Vec<_>>().join("\n")
}

/// Every path that begins with `crate::` or `super::`, nested groups opened.
fn named_modules(module: &str, text: &str) -> Vec<String> {
    let code = code_of(text);
    let mut named = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        open_paths(&code[at + "crate::".len()..], "", &mut named);
    }
    for (at, _) in code.match_indices("super::") {
        if code[..at].ends_with("super::") {
            continue;
        }
        let ups = code[at..].matches_leading("super::");
        let parts: Vec<&str> = module.split("::").collect();
        // A module's own file stands for the module, so `super` leaves its last part.
        let kept = parts.len().saturating_sub(ups);
        let base = parts[..kept].join("::");
        let rest = &code[at + ups * "super::".len()..];
        let prefix = if base.is_empty() { String::new() } else { format!("{base}::") };
        open_paths(rest, &prefix, &mut named);
    }
    named
}

trait Leading {
    fn matches_leading(&self, pattern: &str) -> usize;
}

impl Leading for str {
    fn matches_leading(&self, pattern: &str) -> usize {
        let (mut rest, mut count) = (self, 0);
        while let Some(after) = rest.strip_prefix(pattern) {
            (rest, count) = (after, count + 1);
        }
        count
    }
}

/// Collects the paths at the start of `rest`: a single one, or those of a group in braces.
fn open_paths(rest: &str, prefix: &str, named: &mut Vec<String>) {
    let word: String =
        rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_' || *c == ':').collect();
    let after = &rest[word.len()..];
    if !after.starts_with('{') {
        named.push(format!("{prefix}{word}"));
        return;
    }
    let prefix = format!("{prefix}{word}");
    let (mut depth, mut start) = (0_usize, 1);
    for (at, c) in after.char_indices() {
        match c {
            '{' => depth += 1,
            ',' if depth == 1 => {
                open_paths(after[start..at].trim_start(), &prefix, named);
                start = at + 1;
            }
            '}' => {
                depth -= 1;
                if depth == 0 {
                    let last = after[start..at].trim();
                    if !last.is_empty() {
                        open_paths(last, &prefix, named);
                    }
                    return;
                }
            }
            _ => {}
        }
    }
}

#[test]
fn modules_depend_downwards_only() {
    for (at, (row, uses)) in MAY_USE.iter().enumerate() {
        for used in *uses {
            let below = row_of(used).or_else(|| (*used == "engine").then_some(0));
            assert!(below.is_some_and(|below| below < at), "{row} may not list {used}");
        }
    }
    for (module, text) in all_sources() {
        if GATHERS.contains(&module.as_str()) {
            continue;
        }
        let row = row_of(&module).unwrap_or_else(|| panic!("{module} has no row in MAY_USE"));
        let (own, uses) = MAY_USE[row];
        for named in named_modules(&module, &text) {
            let named = if named.starts_with("engine::") { through_engine(&named) } else { named };
            let Some(named_row) = row_of(&named) else { continue };
            let there = MAY_USE[named_row].0;
            let whole = there.split("::").next().unwrap();
            let allowed = there == own || uses.contains(&there) || uses.contains(&whole);
            assert!(allowed, "{module} names {named}, which the row `{own}` does not allow");
        }
    }
}

/// The engine gathers names of its rows; a name taken from it stands for the row it comes from.
fn through_engine(named: &str) -> String {
    let rows = [
        ("engine::Build", "engine::build_line"),
        ("engine::Verdict", "engine::expand"),
        ("engine::verdict", "engine::expand"),
        ("engine::Given", "engine::line"),
        ("engine::Line", "engine::line"),
        ("engine::Moment", "engine::line"),
        ("engine::What", "engine::line"),
    ];
    let found = rows.iter().find(|(name, _)| named == *name);
    found.map_or_else(|| named.to_owned(), |(_, row)| (*row).to_owned())
}

#[test]
fn planted_upward_names_are_seen() {
    let seen = |module: &str, text: &str| named_modules(module, text);
    assert_eq!(seen("units::money", "use crate::http::State;"), ["http::State"]);
    assert_eq!(
        seen("book::index", "use crate::{json::Digest, engine::{order::Order, solve::Milk}};"),
        ["json::Digest", "engine::order::Order", "engine::solve::Milk"]
    );
    assert_eq!(
        seen("engine::order::milk", "use super::super::solve::Milk;"),
        ["engine::solve::Milk"]
    );
    assert_eq!(seen("book::check::site", "use super::Notes;"), ["book::check::Notes"]);
    assert!(seen("units::money", "// crate::http is far above").is_empty());
}

#[test]
fn the_developers_page_shows_the_same_table() {
    let page = fs::read_to_string(root("DEVELOPERS.md")).unwrap();
    for (row, uses) in MAY_USE {
        let shown = if uses.is_empty() { "–".to_owned() } else { uses.join(", ") };
        let line = format!("| `{row}` | {shown} |");
        assert!(page.contains(&line), "DEVELOPERS.md lacks the row\n{line}");
    }
    let rows =
        page.lines().filter(|line| line.starts_with("| `") && line.matches('|').count() == 3);
    assert_eq!(rows.count(), MAY_USE.len(), "DEVELOPERS.md shows rows that the table lacks");
}

#[test]
fn the_engine_is_pure() {
    for (module, text) in all_sources().iter().filter(|(module, _)| module.starts_with("engine")) {
        for (number, line) in code_of(text).lines().enumerate() {
            for word in IMPURE {
                assert!(!line.contains(word), "{module}:{} names `{word}`", number + 1);
            }
        }
    }
}

#[test]
fn every_file_says_what_it_is_for_and_stays_short() {
    for (module, text) in all_sources() {
        assert!(text.starts_with("//!"), "{module} does not say what it is for");
        let lines = text.lines().count();
        assert!(lines <= LINES_MAX, "{module} has {lines} lines, more than {LINES_MAX}");
    }
    let main = fs::read_to_string(root("src/main.rs")).unwrap();
    assert!(main.lines().count() < 50);
}

#[test]
fn functions_stay_short() {
    for (module, text) in all_sources() {
        let lines: Vec<&str> = text.lines().collect();
        for (at, line) in lines.iter().enumerate() {
            let indent = line.len() - line.trim_start().len();
            let word = line.trim_start();
            let heads = [
                "fn ",
                "pub fn ",
                "pub(crate) fn ",
                "pub(super) fn ",
                "pub const fn ",
                "async fn ",
            ];
            if !heads.iter().any(|head| word.starts_with(head)) || word.ends_with(';') {
                continue;
            }
            let closing = format!("{}}}", " ".repeat(indent));
            let end = lines[at..].iter().position(|line| *line == closing).unwrap_or(0);
            assert!(end < FUNCTION_MAX, "{module}:{} is {end} lines long: {word}", at + 1);
        }
    }
}

#[test]
fn the_top_level_is_that_of_the_design_card() {
    let known = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "src",
        "openapi",
        "schemas",
        "tests",
        "docker",
        "target",
    ];
    for entry in fs::read_dir(root("")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(name.starts_with('.') || known.contains(&name.as_str()), "{name} at the top level");
    }
}
