//! A real printer of labels: `ippeveprinter` of CUPS, on a bus of its own.

use std::{
    fs,
    net::{TcpListener, TcpStream},
    os::unix::fs::PermissionsExt as _,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

use tempfile::TempDir;

use super::tools::tool_file;

/// How long anything may take before it counts as stuck.
pub(crate) const PATIENCE: Duration = Duration::from_secs(20);

const REMEDY: &str = "run ./tests/run, which installs it";

/// What the printer runs for each job. It says what the file `state` says, waits while there is a file
/// `hold`, and ends as the file `exit` says. A job ends by itself after half a minute.
const COMMAND: &str = "#!/bin/sh
cd \"$(dirname \"$0\")\" || exit 9
[ -e state ] && cat state >&2
left=600
while [ -e hold ] && [ $left -gt 0 ]; do sleep 0.05; left=$((left - 1)); done
[ -e exit ] && exit \"$(cat exit)\"
exit 0
";

/// A bus of the kind that a system has, for nobody else.
const BUS: &str = "<busconfig><type>system</type><listen>unix:path=FOLDER/bus</listen>
<policy context=\"default\"><allow send_destination=\"*\" eavesdrop=\"true\"/>
<allow eavesdrop=\"true\"/><allow own=\"*\"/></policy></busconfig>";

/// A printer that runs, and takes its labels to a folder.
pub(crate) struct Printer {
    folder: TempDir,
    bus: Child,
    child: Child,
    port: u16,
}

impl Drop for Printer {
    fn drop(&mut self) {
        end(&mut self.child);
        end(&mut self.bus);
    }
}

/// Ends a process of this test's.
pub(crate) fn end(child: &mut Child) {
    // It may have ended already; then there is nothing to do.
    let _ = child.kill();
    let _ = child.wait();
}

/// A port that nobody listens at.
pub(crate) fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0").expect("a port").local_addr().expect("its address").port()
}

/// Waits until `is` holds.
#[track_caller]
pub(crate) fn until(what: &str, mut is: impl FnMut() -> bool) {
    let began = Instant::now();
    while !is() {
        assert!(began.elapsed() < PATIENCE, "{what} does not come");
        thread::sleep(Duration::from_millis(20));
    }
}

/// What the printer of the tests can do, as `ippeveprinter` reads it.
pub(crate) fn description() -> String {
    fs::read_to_string(tool_file("ipp/sticker-printer.conf")).expect("a description")
}

impl Printer {
    /// A printer with labels of 58 by 40 mm.
    pub(crate) fn start() -> Self {
        Self::of(&description())
    }

    /// A printer as it is described.
    pub(crate) fn of(description: &str) -> Self {
        let folder = TempDir::new().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        for name in ["spool", "keys"] {
            fs::create_dir(at(name)).expect("a folder");
        }
        fs::write(at("printer.conf"), description).expect("a file");
        fs::write(at("command"), COMMAND).expect("a file");
        fs::set_permissions(at("command"), fs::Permissions::from_mode(0o755)).expect("a program");
        let text = BUS.replace("FOLDER", &folder.path().display().to_string());
        fs::write(at("bus.conf"), text).expect("a file");
        let bus = Command::new("dbus-daemon")
            .arg(format!("--config-file={}", at("bus.conf").display()))
            .args(["--nofork", "--nopidfile"])
            .stderr(Stdio::null())
            .spawn()
            .unwrap_or_else(|fault| panic!("dbus-daemon: {fault}: {REMEDY}"));
        until("the bus", || at("bus").exists());
        let port = free_port();
        let child = run(folder.path(), port);
        let printer = Self { folder, bus, child, port };
        printer.listens();
        printer
    }

    fn listens(&self) {
        until("the printer", || TcpStream::connect(("127.0.0.1", self.port)).is_ok());
    }

    /// Where it takes jobs.
    pub(crate) fn uri(&self) -> String {
        format!("ipp://localhost:{}/ipp/print", self.port)
    }

    pub(crate) fn port(&self) -> u16 {
        self.port
    }

    fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// From now on its jobs do not end.
    pub(crate) fn hold(&self) {
        fs::write(self.file("hold"), "").expect("a file");
    }

    /// What is held ends.
    pub(crate) fn let_go(&self) {
        fs::remove_file(self.file("hold")).expect("it was held");
    }

    /// What its next jobs say of it, such as `STATE: +cover-open`.
    pub(crate) fn says(&self, state: &str) {
        fs::write(self.file("state"), format!("{state}\n")).expect("a file");
    }

    /// How its next jobs end.
    pub(crate) fn ends_with(&self, code: u8) {
        fs::write(self.file("exit"), code.to_string()).expect("a file");
    }

    /// The documents that it has, in the order in which they came: the ending of each name, and what is
    /// in it.
    pub(crate) fn documents(&self) -> Vec<(String, Vec<u8>)> {
        let entries = fs::read_dir(self.file("spool")).expect("a folder");
        let mut found: Vec<(u32, String, Vec<u8>)> = entries
            .filter_map(|entry| {
                let path = entry.expect("an entry").path();
                let name = path.file_name()?.to_str()?;
                let number = name.split('-').next()?.parse().ok()?;
                let ending = path.extension()?.to_str()?.to_owned();
                Some((number, ending, fs::read(&path).expect("a file")))
            })
            // It makes an empty file for a job without a document.
            .filter(|(_, _, bytes)| !bytes.is_empty())
            .collect();
        found.sort();
        found.into_iter().map(|(_, ending, bytes)| (ending, bytes)).collect()
    }

    /// What its documents are called, after their jobs.
    pub(crate) fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(self.file("spool")).expect("a folder");
        let name = |entry: fs::DirEntry| entry.file_name().to_string_lossy().into_owned();
        entries.map(|entry| name(entry.expect("an entry"))).collect()
    }

    /// Ends it as a loss of power would.
    pub(crate) fn kill(&mut self) {
        end(&mut self.child);
    }

    /// Starts it again where it was; what it had it has forgotten.
    pub(crate) fn restart(&mut self) {
        self.child = run(self.folder.path(), self.port);
        self.listens();
    }
}

fn run(folder: &Path, port: u16) -> Child {
    let at = |name: &str| folder.join(name);
    let log = fs::File::create(at("log")).expect("a file");
    Command::new("ippeveprinter")
        .args(["-n", "localhost", "-p", &port.to_string(), "-r", "off", "-k", "-d"])
        .arg(at("spool"))
        .arg("-K")
        .arg(at("keys"))
        .arg("-c")
        .arg(at("command"))
        .arg("-a")
        .arg(at("printer.conf"))
        .arg("Stickers")
        .env("DBUS_SYSTEM_BUS_ADDRESS", format!("unix:path={}", at("bus").display()))
        .stdin(Stdio::null())
        .stdout(log.try_clone().expect("a file"))
        .stderr(log)
        .spawn()
        .unwrap_or_else(|fault| panic!("ippeveprinter: {fault}: {REMEDY}"))
}
