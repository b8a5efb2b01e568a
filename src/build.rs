//! Tells the program which commit it is built from, for `cupwright --version`.

#![allow(clippy::print_stdout, reason = "that is how a build script speaks to cargo")]

use std::{env, process::Command};

/// Set it where there is no repository, as when a packager builds from an archive.
const STATED: &str = "CUPWRIGHT_COMMIT";

fn main() {
    println!("cargo::rerun-if-changed=src/build.rs");
    println!("cargo::rerun-if-env-changed={STATED}");
    let stated = env::var(STATED).ok().filter(|commit| !commit.is_empty());
    // Only what is shipped has a commit: everything else would be built anew after each one.
    let shipped = env::var("PROFILE").is_ok_and(|profile| profile == "release");
    let commit = stated.or_else(|| shipped.then(of_repository).flatten());
    let commit = commit.unwrap_or_else(|| "no commit".to_owned());
    println!("cargo::rustc-env=CUPWRIGHT_BUILT_FROM={commit}");
}

/// The commit that is checked out.
fn of_repository() -> Option<String> {
    for file in ["HEAD", "logs/HEAD"] {
        if let Some(path) = git(&["rev-parse", "--git-path", file]) {
            println!("cargo::rerun-if-changed={path}");
        }
    }
    git(&["rev-parse", "--short=12", "HEAD"])
}

fn git(arguments: &[&str]) -> Option<String> {
    let output = Command::new("git").args(arguments).output().ok()?;
    let said = String::from_utf8(output.stdout).ok()?;
    (output.status.success() && !said.trim().is_empty()).then(|| said.trim().to_owned())
}
