//! The image, built and run as it is meant to be: no rights, nothing to write to, little memory.

use std::{
    collections::BTreeSet,
    fs,
    net::TcpListener,
    path::{Path, PathBuf},
    process::Command,
    thread,
    time::{Duration, Instant},
};

use reqwest::{
    StatusCode,
    blocking::{Client, Response},
};
use serde_json::{Value, json};
use tempfile::TempDir;

use super::instruction;
use crate::{
    cli::{complained, program, said},
    support::{root, text, tools::run},
};

const REMEDY: &str = "run ./tests/run, which makes it";
const NAME: &str = "localhost/cupwright:test";
const PATIENCE: Duration = Duration::from_mins(1);

/// Notice and drain by default, and some time for a machine that is busy.
const ENDS_WITHIN: Duration = Duration::from_secs(2 + 20 + 5);

/// The static program, beside the folder that cargo gives to tests.
fn static_program() -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).with_file_name("release").join("cupwright");
    assert!(path.exists(), "{} is missing: {REMEDY}", path.display());
    let bytes = fs::read(&path).expect("a program");
    assert!(is_static(&bytes), "{} is linked dynamically: {REMEDY}", path.display());
    path
}

/// Whether no program header of an ELF file of 64 bits asks for a loader (`PT_INTERP`, 3).
///
/// Source: System V ABI, ELF-64 object file format: headers at `e_phoff` (32), `e_phentsize` (54)
/// bytes each, `e_phnum` (56) of them; the kind of each is its first word.
fn is_static(bytes: &[u8]) -> bool {
    assert_eq!(&bytes[..5], b"\x7fELF\x02", "an ELF file of 64 bits");
    let word = |at: usize| usize::from(u16::from_le_bytes([bytes[at], bytes[at + 1]]));
    let (size, count) = (word(54), word(56));
    let first = word(32) + (word(34) << 16);
    (0..count).all(|n| bytes[first + n * size..][..4] != [3, 0, 0, 0])
}

/// Images and containers in a folder of their own, with one image.
struct Engine {
    folder: TempDir,
}

impl Engine {
    /// Builds the image of the static program from the Dockerfile.
    fn with_image() -> Self {
        let engine = Self { folder: tempfile::tempdir().expect("a folder") };
        let context = engine.folder.path().join("context");
        let licences = root("target/parts/licences.txt");
        assert!(licences.exists(), "{} is missing: run docker/parts", licences.display());
        for (from, to) in [
            (static_program(), "elsewhere/cupwright"),
            (licences, "target/parts/licences.txt"),
            (root("LICENSE"), "LICENSE"),
            (root("docker/Dockerfile"), "docker/Dockerfile"),
        ] {
            let to = context.join(to);
            fs::create_dir_all(to.parent().unwrap()).expect("a folder");
            fs::copy(from, to).expect("a copy");
        }
        let mut build = engine.program("buildah");
        build.args(["bud", "--isolation", "chroot", "--format", "oci", "--tag", NAME]);
        build.args(["--build-arg", "PROGRAM=elsewhere/cupwright", "--file"]);
        build.arg(context.join("docker/Dockerfile")).arg(&context);
        run(build);
        engine
    }

    fn program(&self, name: &str) -> Command {
        let mut program = Command::new(name);
        let place = |name: &str| self.folder.path().join(name);
        program.arg("--root").arg(place("images")).arg("--runroot").arg(place("running"));
        program
    }

    fn podman(&self) -> Command {
        let mut podman = self.program("podman");
        podman.args(["--cgroup-manager", "cgroupfs", "--events-backend", "file"]);
        podman.args(["--runtime", "runc"]);
        podman
    }

    /// `podman run` with no rights at all; `more` are its further options.
    fn running(&self, more: &[&str]) -> Command {
        let mut start = self.podman();
        start.args(["run", "--network", "host", "--memory", "64m", "--read-only"]);
        start.args(["--ulimit", "nofile=1024:1024", "--ulimit", "nproc=1024:1024"]);
        start.args(["--cap-drop", "all", "--security-opt", "no-new-privileges"]);
        start.args(more).arg(NAME);
        start
    }

    /// What podman says of a container.
    fn asked(&self, container: &str, format: &str) -> String {
        let mut inspect = self.podman();
        inspect.args(["inspect", "--format", format, container]);
        run(inspect).trim().to_owned()
    }
}

impl Drop for Engine {
    fn drop(&mut self) {
        // Containers of this folder alone; without it they would outlive a test that fails.
        let _ = self.podman().args(["rm", "--all", "--force", "--time", "0"]).output();
        let _ = self.program("buildah").args(["rmi", "--all", "--force"]).output();
    }
}

/// A service in a container of its own.
struct Contained<'e> {
    engine: &'e Engine,
    id: String,
    address: String,
    client: Client,
}

impl<'e> Contained<'e> {
    /// Starts the image on a free port of loopback with a folder at `/etc/cupwright`.
    fn start(engine: &'e Engine, mounted: &Path, more: &[&str]) -> Self {
        let free = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let address = free.local_addr().expect("an address").to_string();
        drop(free);
        let volume = format!("{}:/etc/cupwright:ro", mounted.display());
        let mut start = engine.running(&["--detach", "--volume", &volume]);
        start.args(["serve", "--listen", &address, "--keys", "/etc/cupwright/keys.json"]);
        start.args(more);
        let id = run(start).trim().to_owned();
        let client = Client::builder().no_proxy().timeout(PATIENCE).build().expect("a client");
        let contained = Self { engine, id, address, client };
        contained.wait_until_ready();
        contained
    }

    fn url(&self, path: &str) -> String {
        format!("http://{}{path}", self.address)
    }

    fn wait_until_ready(&self) {
        let began = Instant::now();
        loop {
            match self.client.get(self.url("/health/ready")).send() {
                Ok(answer) if answer.status() == StatusCode::NO_CONTENT => return,
                _ => assert!(began.elapsed() < PATIENCE, "not ready:\n{}", self.log()),
            }
            thread::sleep(Duration::from_millis(50));
        }
    }

    fn log(&self) -> String {
        let output = self.engine.podman().args(["logs", &self.id]).output().expect("podman runs");
        said(&output) + &complained(&output)
    }

    fn expand(&self, key: &str, ticket: &Value) -> Response {
        let request = self.client.post(self.url("/v1/expand")).bearer_auth(key);
        request.json(ticket).send().expect("an answer")
    }

    /// The service's process as the host sees it.
    fn status(&self) -> String {
        let process = self.engine.asked(&self.id, "{{.State.Pid}}");
        fs::read_to_string(format!("/proc/{process}/status")).expect("the process")
    }

    /// Asks it to end as an orchestrator does, and gives the exit code.
    fn stop(&self) -> i32 {
        let began = Instant::now();
        run({
            let mut kill = self.engine.podman();
            kill.args(["kill", "--signal", "TERM", &self.id]);
            kill
        });
        while self.engine.asked(&self.id, "{{.State.Status}}") != "exited" {
            assert!(began.elapsed() < ENDS_WITHIN, "it does not end:\n{}", self.log());
            thread::sleep(Duration::from_millis(100));
        }
        self.engine.asked(&self.id, "{{.State.ExitCode}}").parse().expect("a number")
    }
}

/// A folder with a file of keys for one key, and the key.
fn keys() -> (TempDir, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let mut make = program();
    make.args(["key", "--id", "front", "--role", "trainer", "--into"]);
    make.arg(folder.path().join("keys.json"));
    let key = run(make).trim().to_owned();
    allow_all(folder.path());
    (folder, key)
}

/// Lets the user of the image in, who is nobody on this machine.
fn allow_all(folder: &Path) {
    let mut allow = Command::new("chmod");
    allow.args(["-R", "a+rX"]).arg(folder);
    run(allow);
}

fn latte(site: &str) -> Value {
    json!({ "site": site, "lang": "en", "lines": [{ "line": "1", "drink": "latte" }] })
}

#[track_caller]
fn field<'t>(status: &'t str, name: &str) -> &'t str {
    let line = status.lines().find_map(|line| line.strip_prefix(name));
    line.unwrap_or_else(|| panic!("{name} in\n{status}")).trim_start_matches(':').trim()
}

#[test]
fn the_image_serves_without_rights_and_ends_well_when_it_is_asked_to() {
    let engine = Engine::with_image();
    let (folder, key) = keys();
    let service = Contained::start(&engine, folder.path(), &[]);
    let answer = service.expand(&key, &latte("bookshop"));
    assert_eq!(answer.status(), StatusCode::OK);
    let answer: Value = answer.json().expect("JSON");
    assert_eq!(answer["lines"][0]["verdict"], "accept");
    assert_eq!(service.expand("not a key", &latte("bookshop")).status(), StatusCode::UNAUTHORIZED);
    let status = service.status();
    assert_eq!(field(&status, "Uid"), ["65532"; 4].join("\t"), "it is not root");
    assert_eq!(field(&status, "CapEff"), "0000000000000000", "it has no capability");
    assert_eq!(field(&status, "CapBnd"), "0000000000000000", "and cannot get any");
    assert_eq!(field(&status, "NoNewPrivs"), "1");
    assert!(field(&status, "NSpid").ends_with("\t1"), "it is process 1 of its container");
    assert_eq!(service.stop(), 0, "{}", service.log());
}

/// In an empty image the only time zones are those in the program: Pacific/Auckland is in no demo.
#[test]
fn a_book_of_ones_own_in_another_time_zone_is_served_from_an_empty_image() {
    let engine = Engine::with_image();
    let (folder, key) = keys();
    let mut new = program();
    new.arg("new").arg(folder.path().join("ours"));
    run(new);
    let sheet = folder.path().join("ours/sites/first-site.json");
    let sheet_text = fs::read_to_string(&sheet).expect("a sheet");
    let book = ["--book", "/etc/cupwright/ours/book.json", "--sites", "/etc/cupwright/ours/sites"];
    let moved = sheet_text.replace("Europe/Dublin", "Pacific/Auckland");
    assert_ne!(moved, sheet_text);
    fs::write(&sheet, moved).expect("a sheet");
    allow_all(folder.path());
    let service = Contained::start(&engine, folder.path(), &book);
    let answer = service.expand(&key, &latte("first-site"));
    assert_eq!(answer.status(), StatusCode::OK);
    assert_eq!(answer.json::<Value>().expect("JSON")["lines"][0]["verdict"], "accept");
    assert_eq!(service.stop(), 0, "{}", service.log());
    // A zone that nobody knows is seen, so the one above was looked up.
    fs::write(&sheet, sheet_text.replace("Europe/Dublin", "Pacific/Nowhere")).expect("a sheet");
    let volume = format!("{}:/etc/cupwright:ro", folder.path().display());
    let mut check = engine.running(&["--rm", "--volume", &volume]);
    let output = check.args(book).arg("check").output().expect("podman runs");
    let complaint = said(&output) + &complained(&output);
    assert_eq!(output.status.code(), Some(3), "{complaint}");
    assert!(complaint.contains("Pacific/Nowhere"), "{complaint}");
}

/// An empty image has no file of roots, so each is looked for in the program: a DER sequence with a
/// length of two bytes (X.690, section 8.1.3) that is that very certificate.
#[test]
fn the_roots_of_certificate_authorities_are_in_the_program() {
    let program = fs::read(static_program()).expect("a program");
    let roots = webpki_root_certs::TLS_SERVER_ROOT_CERTS;
    let starts = program.windows(2).enumerate().filter(|(_, pair)| *pair == [0x30, 0x82]);
    let found: BTreeSet<usize> = starts
        .filter_map(|(at, _)| roots.iter().position(|root| program[at..].starts_with(root)))
        .collect();
    assert!(roots.len() > 50);
    assert_eq!(found.len(), roots.len(), "all of them");
}

#[test]
fn as_it_comes_the_image_does_not_start_before_keys_are_mounted() {
    let engine = Engine::with_image();
    let output = engine.running(&["--rm"]).output().expect("podman runs");
    let complaint = said(&output) + &complained(&output);
    assert_eq!(output.status.code(), Some(4), "{complaint}");
    assert!(complaint.contains("/etc/cupwright/keys.json"), "{complaint}");
}

#[test]
fn the_image_holds_the_program_and_the_licences_and_nothing_else() {
    let engine = Engine::with_image();
    let list = engine.folder.path().join("image.tar");
    let mut create = engine.podman();
    create.args(["create", "--ulimit", "nofile=1024:1024", "--ulimit", "nproc=1024:1024", NAME]);
    let id = run(create).trim().to_owned();
    let mut export = engine.podman();
    export.args(["export", "--output"]).arg(&list).arg(id);
    run(export);
    let mut tar = Command::new("tar");
    tar.arg("-tf").arg(&list);
    let names = run(tar);
    let mut files: Vec<&str> = names.lines().filter(|name| !name.ends_with('/')).collect();
    files.sort_unstable();
    assert_eq!(files, ["cupwright", "licences/LICENSE", "licences/licences.txt"]);
    let mut inspect = engine.program("buildah");
    inspect.args(["inspect", "--type", "image", NAME]);
    let known: Value = serde_json::from_str(&run(inspect)).expect("JSON");
    let config = &known["OCIv1"]["config"];
    assert_eq!(config["User"], "65532:65532");
    assert_eq!(config["Entrypoint"], json!(instruction("ENTRYPOINT")));
    assert_eq!(config["ExposedPorts"], json!({ "8080/tcp": {} }));
    let manifest: toml::Table = text("Cargo.toml").parse().expect("TOML");
    let package = &manifest["package"];
    for (label, value) in [
        ("title", "Cupwright"),
        ("description", package["description"].as_str().unwrap()),
        ("licenses", package["license"].as_str().unwrap()),
    ] {
        let name = format!("org.opencontainers.image.{label}");
        assert_eq!(config["Labels"][&name], value, "{name}");
    }
}
