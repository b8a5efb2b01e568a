//! `new`: a small book, a site's sheet and a ticket to start from.

use std::{
    fs,
    io::{self, Write},
    path::{Path, PathBuf},
};

use anstream::{eprintln, println};

use super::{
    Outcome,
    writing::{self, unwritten},
};

/// Each file to write: its place in the folder, and its text.
const FILES: [(&str, &str); 3] = [
    ("book.json", include_str!("book.json")),
    ("sites/first-site.json", include_str!("sites/first-site.json")),
    ("ticket.json", include_str!("ticket.json")),
];

/// Writes the starter into `folder` and says what to type next. A file that is there already ends
/// it before anything is written.
pub(super) fn new(folder: &Path) -> Outcome {
    let there: Vec<PathBuf> = FILES
        .iter()
        .map(|(name, _)| folder.join(name))
        .filter(|path| path.symlink_metadata().is_ok())
        .collect();
    if !there.is_empty() {
        for path in there {
            eprintln!("Cannot write {}: it is there already", path.display());
        }
        eprintln!("Nothing was written; name another folder.");
        return Outcome::Failed;
    }
    let paths = FILES.map(|(name, text)| (folder.join(name), text));
    for (at, (path, text)) in paths.iter().enumerate() {
        if let Err(fault) = write(path, text) {
            // A half starter would only be in the way of the next attempt.
            paths[..at].iter().for_each(|(path, _)| drop(fs::remove_file(path)));
            return unwritten(path, &fault);
        }
    }
    for (path, _) in &paths {
        println!("Wrote {}", path.display());
    }
    say_next(folder);
    Outcome::Done
}

fn write(path: &Path, text: &str) -> io::Result<()> {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    writing::new(path)?.write_all(text.as_bytes())
}

fn say_next(folder: &Path) {
    let file = |name: &str| quoted(&folder.join(name));
    let documents = format!("--book {} --sites {}", file("book.json"), file("sites"));
    println!("\nNext:");
    println!("  cupwright {documents} check");
    println!("  cupwright {documents} expand {}", file("ticket.json"));
    println!("  cupwright {documents} serve");
    println!("  cupwright --book {} table export {}", file("book.json"), file("tables"));
}

/// A path as a shell takes it: in quotes where it has more than plain letters.
fn quoted(path: &Path) -> String {
    let path = path.display().to_string();
    let plain = |c: char| c.is_alphanumeric() || "/._-".contains(c);
    if path.chars().all(plain) { path } else { format!("'{}'", path.replace('\'', r"'\''")) }
}
