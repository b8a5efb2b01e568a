//! A real CUPS of a test's own: its own configuration, its own port, no service of the system.

use std::{
    fs,
    net::TcpStream,
    path::Path,
    process::{Child, Command, Stdio},
};

use tempfile::TempDir;

use super::{
    printer::{end, free_port, until},
    tools::run,
};

/// A scheduler with queues.
pub(crate) struct Cups {
    folder: TempDir,
    child: Child,
    port: u16,
}

impl Drop for Cups {
    fn drop(&mut self) {
        end(&mut self.child);
    }
}

impl Cups {
    /// Starts one on a free port of this machine alone.
    pub(crate) fn start() -> Self {
        let folder = TempDir::new().expect("a folder");
        let port = free_port();
        configure(folder.path(), port);
        let child = Command::new("/usr/sbin/cupsd")
            .arg("-f")
            .arg("-c")
            .arg(folder.path().join("cupsd.conf"))
            .arg("-s")
            .arg(folder.path().join("cups-files.conf"))
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap_or_else(|fault| panic!("cupsd: {fault}: run ./tests/run, which installs it"));
        let cups = Self { folder, child, port };
        until("cupsd", || TcpStream::connect(("127.0.0.1", port)).is_ok());
        cups
    }

    /// A queue in front of a device; where jobs are sent to it.
    ///
    /// * `model`: `raw`, or `everywhere` for what the device says of itself.
    pub(crate) fn queue(&self, name: &str, device: &str, model: &str) -> String {
        let mut lpadmin = Command::new("lpadmin");
        let server = format!("127.0.0.1:{}", self.port);
        lpadmin.args(["-h", &server, "-p", name, "-E", "-v", device, "-m", model]);
        run(lpadmin);
        // What the device says of itself is asked for while the command has ended already.
        let driver = self.folder.path().join(format!("root/ppd/{name}.ppd"));
        if model == "everywhere" {
            until("the driver", || driver.exists());
        }
        format!("ipp://127.0.0.1:{}/printers/{name}", self.port)
    }
}

fn configure(folder: &Path, port: u16) {
    let at = |name: &str| folder.join(name).display().to_string();
    for name in ["root", "state", "spool", "cache", "tmp", "log"] {
        fs::create_dir(folder.join(name)).expect("a folder");
    }
    let scheduler = format!(
        "Listen 127.0.0.1:{port}\nBrowsing No\nWebInterface No\nDefaultAuthType None\n\
         PreserveJobHistory Yes\n\
         <Location />\nOrder allow,deny\nAllow from 127.0.0.1\n</Location>\n\
         <Policy default>\n<Limit All>\nOrder allow,deny\nAllow all\n</Limit>\n</Policy>\n"
    );
    let files = format!(
        "ServerRoot {}\nStateDir {}\nRequestRoot {}\nCacheDir {}\nTempDir {}\nServerKeychain {}\n\
         AccessLog {log}/access\nErrorLog {log}/error\nPageLog {log}/page\nSystemGroup root\n",
        at("root"),
        at("state"),
        at("spool"),
        at("cache"),
        at("tmp"),
        at("root/ssl"),
        log = at("log"),
    );
    fs::write(folder.join("cupsd.conf"), scheduler).expect("a file");
    fs::write(folder.join("cups-files.conf"), files).expect("a file");
    // Filters run as another user, who must get this far.
    let open = std::os::unix::fs::PermissionsExt::from_mode(0o755);
    fs::set_permissions(folder, open).expect("an open folder");
}
