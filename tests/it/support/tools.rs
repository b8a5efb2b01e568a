//! Starting the outside tools.

use std::{path::PathBuf, process::Command};

use super::root;

const REMEDY: &str = "run ./tests/run, which installs it";

/// A file under `tests/tools`, which must be there.
pub(crate) fn tool_file(path: &str) -> PathBuf {
    let whole = root("tests/tools").join(path);
    assert!(whole.exists(), "tests/tools/{path} is missing: {REMEDY}");
    whole
}

/// Node.js, for the packages of `tests/tools/npm`.
pub(crate) fn node() -> Command {
    tool_file("npm/node_modules");
    Command::new("node")
}

/// Python, with the packages of `tests/tools/requirements.txt`.
pub(crate) fn python() -> Command {
    Command::new(tool_file("venv/bin/python"))
}

/// A program of Debian's, such as `pdftotext`.
pub(crate) fn debian(program: &str) -> Command {
    Command::new(program)
}

/// What a tool prints; a tool that cannot be started, or that is not content, fails the test.
pub(crate) fn run(mut tool: Command) -> String {
    let output = tool.output().unwrap_or_else(|fault| panic!("{tool:?}: {fault}: {REMEDY}"));
    let printed = String::from_utf8_lossy(&output.stdout).into_owned();
    let complained = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{tool:?}\n{printed}\n{complained}");
    printed
}
