//! How the service is shipped and run: image, balancer, cluster, and what it is made of.
//!
//! `./tests/run` installs the tools and makes the static program; a test fails without them.

mod balancer;
mod cluster;
mod image;
mod parts;
mod rolling;

use serde_json::Value;

use crate::{
    cli,
    support::{root, text, tools},
};

/// A tool of `tests/tools/requirements.txt` that is a program.
fn tool(name: &str) -> std::process::Command {
    std::process::Command::new(tools::tool_file("venv/bin").join(name))
}

/// The documents of a YAML file, read by `PyYAML`.
fn yaml(path: &str) -> Vec<Value> {
    let mut read = tools::python();
    read.args(["-c", READ]).arg(root(path));
    serde_json::from_str(&tools::run(read)).expect("JSON")
}

const READ: &str =
    "import json, sys, yaml; print(json.dumps(list(yaml.safe_load_all(open(sys.argv[1])))))";

/// The only document of a YAML file.
fn only(path: &str) -> Value {
    let mut all = yaml(path);
    assert_eq!(all.len(), 1, "{path} is one document");
    all.remove(0)
}

/// A list of texts.
#[track_caller]
fn texts(value: &Value) -> Vec<String> {
    let all = value.as_array().unwrap_or_else(|| panic!("{value} is a list"));
    all.iter().map(|one| one.as_str().expect("a text").to_owned()).collect()
}

/// The number that a flag of a command line is given, as `--flag=number`.
#[track_caller]
fn given(command: &[String], flag: &str) -> u64 {
    let begin = format!("{flag}=");
    let found = command.iter().find_map(|word| word.strip_prefix(&begin));
    found.unwrap_or_else(|| panic!("{flag} in {command:?}")).parse().expect("a whole number")
}

/// What an instruction of the Dockerfile is given as a JSON list.
#[track_caller]
fn instruction(name: &str) -> Vec<String> {
    let file = text("docker/Dockerfile");
    let line = file.lines().find_map(|line| line.strip_prefix(name));
    let list = line.unwrap_or_else(|| panic!("the Dockerfile has {name}"));
    texts(&serde_json::from_str(list).expect("a JSON list"))
}

#[test]
fn the_linter_of_dockerfiles_finds_nothing() {
    let mut lint = tool("hadolint");
    lint.args(["--no-color", "--failure-threshold", "style"]).arg(root("docker/Dockerfile"));
    tools::run(lint);
}

#[test]
fn every_flag_that_the_container_files_give_is_one_of_the_program() {
    let help = cli::run(&["serve", "--help"], "");
    let help = cli::said(&help);
    let known: Vec<&str> =
        help.split([' ', '\n', ',', '=', '[']).filter(|word| word.starts_with("--")).collect();
    let compose = only("docker/compose.yaml");
    let deployment = only("docker/kubernetes/deployment.yaml");
    let container = &deployment["spec"]["template"]["spec"]["containers"][0];
    let commands = [
        instruction("CMD"),
        texts(&compose["services"]["replica-1"]["command"]),
        texts(&compose["services"]["replica-2"]["command"]),
        texts(&container["args"]),
    ];
    for command in &commands {
        assert_eq!(command[0], "serve");
        let flags: Vec<&str> = command
            .iter()
            .filter(|word| word.starts_with("--"))
            .map(|word| word.split('=').next().unwrap())
            .collect();
        assert!(flags.contains(&"--listen") && flags.contains(&"--keys"), "{command:?}");
        for flag in flags {
            assert!(known.contains(&flag), "{flag} is no flag of `serve`:\n{help}");
        }
    }
}

/// The commit that is checked out, where this is a repository and the machine has git.
fn checked_out() -> Option<String> {
    let mut git = std::process::Command::new("git");
    git.args(["rev-parse", "--short=12", "HEAD"]).current_dir(root(""));
    let output = git.output().ok().filter(|output| output.status.success())?;
    Some(String::from_utf8(output.stdout).expect("text").trim().to_owned())
}

#[test]
fn the_program_that_is_shipped_tells_which_commit_it_is_built_from() {
    let program = root("target/release/cupwright");
    assert!(program.exists(), "the static program is missing: run ./tests/run, which makes it");
    let mut told = std::process::Command::new(program);
    let told = tools::run({
        told.arg("--version");
        told
    });
    let commit = checked_out().unwrap_or_else(|| "no commit".to_owned());
    assert_eq!(told, format!("cupwright {} ({commit})\n", env!("CARGO_PKG_VERSION")));
}
