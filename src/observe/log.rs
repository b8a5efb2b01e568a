//! The log: one record a line on standard error.

use std::{
    io,
    panic::{self, Location},
};

use tracing_subscriber::{EnvFilter, fmt, layer::SubscriberExt as _, util::SubscriberInitExt as _};

use crate::config::{Log, LogForm};

/// Starts the log of this process; a second call changes nothing.
pub fn start_log(log: &Log) {
    // The level binds this program; of its libraries only warnings are of use to anybody, and of the
    // layer that reads heads not even those: strangers could fill the log with what is no request.
    let filter = EnvFilter::new(format!("warn,actix_http=off,cupwright={}", log.level));
    let base = tracing_subscriber::registry().with(filter);
    let started = match log.form {
        LogForm::Json => {
            base.with(fmt::layer().json().flatten_event(true).with_writer(io::stderr)).try_init()
        }
        LogForm::Text => base
            .with(fmt::layer().with_ansi(false).with_target(false).with_writer(io::stderr))
            .try_init(),
    };
    // Only a second log in one process fails, and the first goes on.
    drop(started);
    panic::set_hook(Box::new(|fault| place_alone(fault.location())));
}

/// The record of a panic: where, not what it says, since that may quote an order.
fn place_alone(place: Option<&Location<'_>>) {
    let place = place.map(ToString::to_string);
    tracing::error!(place, "a fault of the program");
}

#[cfg(test)]
mod tests {
    use std::{env, process::Command, thread};

    use super::start_log;
    use crate::config::Settings;

    const ALONE: &str = "A_PROCESS_OF_ITS_OWN";

    /// The log and the hook are the whole process's, so it is done in another.
    #[test]
    fn a_panic_is_a_record_with_its_place_and_without_its_words() {
        let name = "observe::log::tests::a_panic_is_a_record_with_its_place_and_without_its_words";
        if env::var_os(ALONE).is_some() {
            start_log(&Settings::default().log);
            let broken = thread::spawn(|| panic!("Mira Peculiar, no {}", "hazelnuts"));
            assert!(broken.join().is_err());
            return;
        }
        let mut own = Command::new(env::current_exe().expect("this program"));
        own.args(["--exact", name, "--nocapture"]).env(ALONE, "1").env("RUST_BACKTRACE", "1");
        let output = own.output().expect("it runs");
        assert!(output.status.success(), "{output:?}");
        let told = String::from_utf8(output.stderr).expect("text");
        let record = told.lines().find(|line| line.starts_with('{')).expect("a record");
        let record: serde_json::Value = serde_json::from_str(record).expect("JSON");
        assert_eq!(
            (&record["level"], &record["message"]),
            (&"ERROR".into(), &"a fault of the program".into())
        );
        assert!(
            record["place"].as_str().is_some_and(|place| place.starts_with("src/observe/log.rs:"))
        );
        let all = format!("{told}{}", String::from_utf8_lossy(&output.stdout));
        assert!(!all.contains("Mira") && !all.contains("hazelnuts"), "{all}");
    }
}
