//! A roaster with keys and a repository, and a web server that shows it to two clients.

use std::{
    fs,
    net::TcpStream,
    path::{Path, PathBuf},
    process::{Child, Command, Output, Stdio},
};

use serde_json::Value;
use tempfile::TempDir;

use crate::{
    cli::{self, complained, said},
    support::{
        printer::{end, free_port, until},
        root,
        tools::{python, tool_file},
    },
};

const PASSPHRASE: &str = "nine drops of cold milk";

/// See the module.
pub(crate) struct Place {
    pub(crate) folder: TempDir,
    port: u16,
    server: Child,
}

impl Drop for Place {
    fn drop(&mut self) {
        end(&mut self.server);
    }
}

impl Place {
    /// With keys, and nothing published.
    pub(crate) fn new() -> Self {
        let folder = TempDir::new().expect("a folder");
        fs::write(folder.path().join("passphrase"), PASSPHRASE).unwrap();
        let (port, server) = served(folder.path(), "");
        let place = Self { folder, port, server };
        let output = place.make_keys();
        assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
        place
    }

    /// Makes the keys.
    pub(crate) fn make_keys(&self) -> Output {
        let (keys, passphrase) = (self.at("keys"), self.at("passphrase"));
        run(&["rollout", "keys", "new", &keys, "--passphrase-file", &passphrase])
    }

    /// With the demo published.
    pub(crate) fn published() -> Self {
        let place = Self::new();
        place.publish();
        place
    }

    /// Another server in place of this one's, with more of a configuration.
    pub(crate) fn serve(&mut self, more: &str) {
        end(&mut self.server);
        (self.port, self.server) = served(self.folder.path(), more);
    }

    /// The path of something in the folder.
    pub(crate) fn at(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    pub(crate) fn file(&self, name: &str, text: &str) -> String {
        cli::write(self.folder.path(), name, text)
    }

    pub(crate) fn repository(&self) -> PathBuf {
        self.folder.path().join("repository")
    }

    pub(crate) fn metadata(&self, name: &str) -> PathBuf {
        self.repository().join("metadata").join(name)
    }

    /// The newest file of a key.
    pub(crate) fn key(&self, name: &str) -> PathBuf {
        let output = run(&["rollout", "keys", "list", &self.at("keys"), "--json"]);
        let told: Value = serde_json::from_str(&said(&output)).unwrap();
        let keys = told["keys"].as_array().unwrap();
        let key = keys.iter().find(|key| key["name"] == name).expect("a key of this name");
        PathBuf::from(key["file"].as_str().unwrap_or_else(|| panic!("{name} is here")))
    }

    /// The demo's book under another version.
    pub(crate) fn book(&self, version: &str) -> String {
        let book = fs::read_to_string(root("src/demo/book.json")).unwrap();
        let other =
            book.replacen("\"version\": \"1.1.0\"", &format!("\"version\": \"{version}\""), 1);
        assert_ne!(book, other);
        self.file("book.json", &other)
    }

    /// The command that publishes.
    pub(crate) fn publishing(&self, more: &[&str]) -> Command {
        let mut program = cli::program();
        program.args(["rollout", "publish", "--keys", &self.at("keys")]);
        program.args(["--out", &self.at("repository")]);
        program.args(["--passphrase-file", &self.at("passphrase")]).args(more);
        if more.contains(&"--book") {
            program.args(["--sites", root("src/demo/sites").to_str().unwrap()]);
        }
        program
    }

    pub(crate) fn publish_with(&self, more: &[&str]) -> Output {
        self.publishing(more).output().expect("the program starts")
    }

    pub(crate) fn publish(&self) {
        let output = self.publish_with(&[]);
        assert_eq!(output.status.code(), Some(0), "{}", complained(&output));
    }

    /// The command that renews.
    pub(crate) fn renewing(&self, more: &[&str]) -> Command {
        let mut program = cli::program();
        program.args(["rollout", "renew", "--keys", &self.at("keys")]);
        program.args(["--repo", &self.at("repository")]).args(more);
        program
    }

    pub(crate) fn renew(&self, more: &[&str]) -> Output {
        self.renewing(more).output().expect("the program starts")
    }

    pub(crate) fn rotate(&self, which: &str) -> Output {
        run(&[
            "rollout",
            "keys",
            "rotate",
            which,
            &self.at("keys"),
            "--passphrase-file",
            &self.at("passphrase"),
        ])
    }

    fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }

    /// What our client sees, or why it refuses.
    ///
    /// * `seen`: the name of the folder that it keeps.
    pub(crate) fn ours(&self, seen: &str) -> Result<Value, String> {
        self.ours_trusting(seen, &self.at("keys/1.root.json"))
    }

    pub(crate) fn ours_trusting(&self, seen: &str, trusted: &str) -> Result<Value, String> {
        let output = self.looking_with(seen, trusted).output().expect("the program starts");
        match output.status.code() {
            Some(0) => Ok(serde_json::from_str(&said(&output)).expect("JSON")),
            Some(3 | 4) if said(&output).is_empty() => Err(complained(&output)),
            code => panic!("{code:?}: {}", complained(&output)),
        }
    }

    /// The command by which our client looks.
    pub(crate) fn looking(&self, seen: &str) -> Command {
        self.looking_with(seen, &self.at("keys/1.root.json"))
    }

    fn looking_with(&self, seen: &str, trusted: &str) -> Command {
        let mut program = cli::program();
        program.args(["rollout", "verify", &self.address(), "--json", "--trust", trusted]);
        program.args(["--datastore", &self.at(&format!("{seen}-ours"))]);
        program
    }

    /// What python-tuf sees, or why it refuses.
    ///
    /// * `later`: seconds by which its clock is ahead.
    pub(crate) fn theirs(&self, seen: &str, later: i64) -> Result<Value, String> {
        let mut client = python();
        client.arg(tool_file("rollout.py")).args([&self.address(), &self.at("keys/1.root.json")]);
        client.args([&self.at(&format!("{seen}-theirs")), &later.to_string()]);
        let output = client.output().expect("python starts");
        match output.status.code() {
            Some(0) => Ok(serde_json::from_str(&said(&output)).expect("JSON")),
            Some(1) if complained(&output).is_empty() => Err(said(&output)),
            code => panic!("{code:?}: {}", complained(&output)),
        }
    }

    /// What both clients see that looked before; they must agree.
    ///
    /// * Errors: why both refuse, ours first.
    #[track_caller]
    pub(crate) fn both(&self) -> Result<Value, [String; 2]> {
        self.both_of("seen")
    }

    #[track_caller]
    pub(crate) fn both_of(&self, seen: &str) -> Result<Value, [String; 2]> {
        match (self.ours(seen), self.theirs(seen, 0)) {
            (Ok(ours), Ok(theirs)) => {
                let names = ours["documents"].as_array().unwrap().iter();
                let names: Vec<&str> = names.map(|one| one["name"].as_str().unwrap()).collect();
                let others: Vec<&str> =
                    theirs.as_object().unwrap().keys().map(String::as_str).collect();
                assert_eq!(names, others);
                Ok(theirs)
            }
            (Err(ours), Err(theirs)) => Err([ours, theirs]),
            (ours, theirs) => panic!("ours: {ours:?}\ntheirs: {theirs:?}"),
        }
    }

    /// Has python-tuf sign something with a key that was stolen.
    pub(crate) fn forge(&self, what: &str, key: &Path, is_locked: bool) {
        let mut forger = python();
        forger.arg(tool_file("rollout_forge.py")).args([&self.at("repository"), what]).arg(key);
        if is_locked {
            forger.arg(self.at("passphrase"));
        }
        crate::support::tools::run(forger);
    }

    /// Copies the repository as it is now.
    pub(crate) fn copy_to(&self, name: &str) {
        copy(&self.repository(), &self.folder.path().join(name));
    }

    /// Puts a copy in the repository's place.
    pub(crate) fn put_back(&self, name: &str) {
        fs::remove_dir_all(self.repository()).unwrap();
        copy(&self.folder.path().join(name), &self.repository());
    }
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let to = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &to);
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
}

/// Runs the program.
pub(crate) fn run(arguments: &[&str]) -> Output {
    cli::run(arguments, "")
}

/// nginx before the folder's repository.
fn served(folder: &Path, more: &str) -> (u16, Child) {
    let port = free_port();
    let shown = folder.to_str().unwrap();
    let configuration = format!(
        "daemon off; master_process off; pid {shown}/nginx.pid; error_log stderr emerg;\n\
         events {{ worker_connections 64; }}\n\
         http {{\n access_log off;\n client_body_temp_path {shown}/body;\n proxy_temp_path {shown}/proxy;\n \
         fastcgi_temp_path {shown}/fastcgi;\n uwsgi_temp_path {shown}/uwsgi;\n scgi_temp_path {shown}/scgi;\n \
         server {{ listen 127.0.0.1:{port}; root {shown}/repository; {more} }}\n}}\n"
    );
    let file = cli::write(folder, "nginx.conf", &configuration);
    let installed = Path::new("/usr/sbin/nginx");
    let program = if installed.exists() { installed } else { Path::new("nginx") };
    let server = Command::new(program)
        .args(["-p", shown, "-e", "stderr", "-c", &file])
        .stdout(Stdio::null())
        .spawn()
        .expect("nginx is there: run ./tests/run, which installs it");
    until("nginx", || TcpStream::connect(("127.0.0.1", port)).is_ok());
    (port, server)
}
