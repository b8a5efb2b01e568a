//! The running service, judged by a tool that asks it whatever its OpenAPI document allows and much
//! that it forbids.

use std::{env, process::Command};

use crate::{
    gate::keys_of,
    server::Service,
    support::tools::{run, tool_file},
};

/// Requests for each operation; `CUPWRIGHT_EXAMPLES` sets another number.
const EXAMPLES: &str = "20";

/// Every check of Schemathesis: among them that nothing fails, that statuses, media types and bodies
/// are those of the document, that what it forbids is refused and what it allows is taken, that keys
/// are wanted where it says so, and that `Allow` tells the truth.
#[test]
fn the_service_answers_as_its_openapi_document_says_whatever_is_asked() {
    let (folder, file, secrets) = keys_of(&[("admin", &[])]);
    let state = folder.path().join("state");
    let service = Service::start_with(&[
        "--keys",
        &file,
        "--state",
        state.to_str().expect("text"),
        "--requests-per-s",
        "0",
        "--log-requests",
        "none",
    ]);
    let examples = env::var("CUPWRIGHT_EXAMPLES").unwrap_or_else(|_| EXAMPLES.to_owned());
    let mut tool = Command::new(tool_file("venv/bin/schemathesis"));
    tool.current_dir(folder.path());
    tool.arg("--config-file").arg(tool_file("schemathesis.toml"));
    tool.args(["run", &service.url("/openapi.json"), "--checks", "all", "--seed", "7"]);
    tool.args(["--max-examples", &examples, "--generation-database", "none", "--no-color"]);
    tool.args(["--header", &format!("Authorization: Bearer {}", secrets[0])]);
    let told = run(tool);
    let tested = told.lines().any(|line| line.trim_start().starts_with("Tested: "));
    assert!(tested && told.contains("No issues found"), "{told}");
}
