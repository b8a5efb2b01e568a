//! `config`: the settings of `serve`, where each comes from, and whether `serve` would start.

use std::{env, path::PathBuf};

use anstream::{eprintln, print, println};
use serde_json::{Map, Value, json};

use super::{
    Outcome,
    flags::Flags,
    layout::{self, counted},
    load::{Unloaded, complain, try_source},
    serve::{files_of, read_ring},
};
use crate::{
    config::{self, Configured, Layers, SETTINGS, Settings, Whence},
    in_force::InForce,
    json::{Complaints, Place},
};

/// The variable that names the file of settings.
const FILE: &str = "CUPWRIGHT_CONFIG";

/// The path that an environment variable names; an empty one is as if it were not there.
pub(super) fn path_in(variable: &str) -> Option<PathBuf> {
    env::var_os(variable).filter(|path| !path.is_empty()).map(PathBuf::from)
}

/// The settings of `serve`; every complaint about them is printed.
pub(super) fn settings(flags: &Flags) -> Result<Settings, Outcome> {
    let Configured { settings, faults, .. } = configured(flags).map_err(|why| why.tell())?;
    if faults.is_empty() { Ok(settings) } else { Err(complain(&faults)) }
}

/// Prints a file of settings to start from.
pub(super) fn example() -> Outcome {
    print!("{}", config::example());
    Outcome::Done
}

/// Prints every setting with where it comes from, and says whether `serve` would start.
///
/// * `as_json`: whether as JSON, complaints included.
pub(super) fn check(flags: &Flags, as_json: bool) -> Outcome {
    let configured = match configured(flags) {
        Ok(configured) => configured,
        Err(why) => return why.tell(),
    };
    let checked = Checked::of(configured);
    if as_json {
        println!("{}", layout::json(&checked.value()));
    } else {
        checked.print();
    }
    checked.outcome()
}

fn configured(flags: &Flags) -> Result<Configured, Unloaded> {
    let file = match flags.file.clone().or_else(|| path_in(FILE)) {
        Some(path) => Some(config::File { text: try_source(&path)?.text, path }),
        None => None,
    };
    let variable = |name: &str| env::var_os(name);
    Ok(Configured::of(&Layers { file: file.as_ref(), variable: &variable, flags: &flags.given }))
}

/// The settings with all that they name, read as `serve` reads it.
struct Checked {
    configured: Configured,
    /// How many keys are taken.
    keys: Option<usize>,
    held: Option<InForce>,
    complaints: Vec<Complaints>,
    /// What cannot be read or used.
    failures: Vec<String>,
    /// Variables that look like settings and are none.
    strangers: Vec<String>,
}

impl Checked {
    fn of(configured: Configured) -> Self {
        let complaints = configured.faults.clone();
        let (failures, strangers) = (Vec::new(), strangers());
        let mut this = Self { configured, keys: None, held: None, complaints, failures, strangers };
        let settings = this.configured.settings.clone();
        let ring = settings.keys.as_ref().and_then(|path| this.taken(read_ring(path)));
        if !this.at_fault("/book") && !this.at_fault("/sites") {
            let taken = files_of(&settings).try_load();
            this.held = this.taken(taken);
        }
        if let (Some(ring), Some(held)) = (&ring, &this.held) {
            this.complaints.extend(ring.strangers(|site| held.bar(site).is_some()));
        }
        this.keys = ring.map(|ring| ring.count());
        if let Some(folder) = settings.state.filter(|folder| folder.exists() && !folder.is_dir()) {
            this.failures.push(format!("Cannot keep state: {} is no folder", folder.display()));
        }
        this
    }

    /// What could be read; of the rest, why not is noted.
    fn taken<T>(&mut self, read: Result<T, Unloaded>) -> Option<T> {
        match read {
            Ok(read) => return Some(read),
            Err(Unloaded::Faulty(faulty)) => self.complaints.extend(faulty),
            Err(Unloaded::Unreadable(path, fault)) => {
                self.failures.push(format!("Cannot read {}: {fault}", path.display()));
            }
        }
        None
    }

    fn at_fault(&self, pointer: &str) -> bool {
        self.configured.faults.iter().flat_map(|one| &one.all).any(|one| one.pointer == pointer)
    }

    fn outcome(&self) -> Outcome {
        if !self.complaints.is_empty() {
            Outcome::Complaints
        } else if !self.failures.is_empty() {
            Outcome::Failed
        } else {
            Outcome::Done
        }
    }

    fn print(&self) {
        let settings = &self.configured.settings;
        let rows: Vec<[String; 3]> = (self.configured.rows())
            .map(|(one, whence)| {
                let mut from = self.configured.named(one, whence);
                if let Whence::File(Place { line, .. }) = whence {
                    from = format!("{from}:{line}");
                }
                [one.path.to_owned(), in_words(&one.value(settings)), from]
            })
            .collect();
        let width = |at: usize| rows.iter().map(|row| row[at].chars().count()).max().unwrap_or(0);
        let (names, values) = (width(0), width(1));
        for [name, value, from] in &rows {
            println!("{name:<names$}  {value:<values$}  {from}");
        }
        println!();
        if let (Some(keys), Some(file)) = (self.keys, &settings.keys) {
            println!("{} in {}", counted(keys, "key", "keys"), file.display());
        }
        if let Some(held) = &self.held {
            let (book, sites) = (held.book(), counted(held.bars.len(), "site", "sites"));
            println!("Book {} {}, {sites}", book.id, book.version);
        }
        for name in &self.strangers {
            eprintln!("{name} is in the environment and is no setting.");
        }
        for complaints in &self.complaints {
            eprintln!("{complaints}");
        }
        for failure in &self.failures {
            eprintln!("{failure}");
        }
        match self.complaints.iter().map(|one| one.all.len()).sum::<usize>() + self.failures.len() {
            0 => println!("`cupwright serve` would start."),
            n => {
                eprintln!("{}. `cupwright serve` would not start.", counted(n, "fault", "faults"));
            }
        }
    }

    fn value(&self) -> Value {
        let settings = &self.configured.settings;
        let rows = self.configured.rows().map(|(one, whence)| {
            let (from, line) = match whence {
                Whence::Default => ("default", None),
                Whence::File(place) => ("file", Some(place.line)),
                Whence::Variable => ("environment", None),
                Whence::Flag => ("flag", None),
            };
            let mut row = json!({ "value": one.value(settings), "from": from });
            if whence != Whence::Default {
                row["name"] = self.configured.named(one, whence).into();
            }
            if let Some(line) = line {
                row["line"] = line.into();
            }
            (one.path.to_owned(), row)
        });
        let complaints = self.complaints.iter().flat_map(|document| {
            document.all.iter().map(|one| {
                json!({
                    "document": document.document,
                    "line": one.place.map(|place| place.line),
                    "column": one.place.map(|place| place.column),
                    "pointer": one.pointer,
                    "found": one.found,
                    "expected": one.expected,
                })
            })
        });
        json!({
            "file": self.configured.file,
            "settings": rows.collect::<Map<String, Value>>(),
            "keys": self.keys,
            "book": self.held.as_ref().map(|held| {
                let (book, sites) = (held.book(), held.bars.keys().collect::<Vec<_>>());
                json!({ "id": book.id, "version": book.version, "sites": sites })
            }),
            "unknown_variables": self.strangers,
            "complaints": complaints.collect::<Vec<Value>>(),
            "failures": self.failures,
            "starts": self.outcome() == Outcome::Done,
        })
    }
}

/// A value as people read it.
fn in_words(value: &Value) -> String {
    match value {
        Value::Null => "not set".to_owned(),
        Value::String(text) => text.clone(),
        Value::Array(all) if all.is_empty() => "none".to_owned(),
        Value::Array(all) => all.iter().map(in_words).collect::<Vec<_>>().join(", "),
        plain @ (Value::Bool(_) | Value::Number(_) | Value::Object(_)) => plain.to_string(),
    }
}

/// Names of environment variables that look like settings and are none. They are told and no fault:
/// where services run in pods, variables such as `CUPWRIGHT_PORT` are set for everybody.
fn strangers() -> Vec<String> {
    let known = |name: &str| name == FILE || SETTINGS.iter().any(|one| one.variable == name);
    let names = env::vars_os().filter_map(|(name, _)| name.into_string().ok());
    let mut all: Vec<String> =
        names.filter(|name| name.starts_with("CUPWRIGHT_") && !known(name)).collect();
    all.sort();
    all
}
