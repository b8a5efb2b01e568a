//! The log: one record a line on standard error.

use std::io;

use tracing_subscriber::{EnvFilter, fmt, layer::SubscriberExt as _, util::SubscriberInitExt as _};

use crate::config::{Log, LogForm};

/// Starts the log of this process; a second call changes nothing.
pub fn start_log(log: &Log) {
    // The level binds this program; of its libraries only warnings are of use to anybody.
    let filter = EnvFilter::new(format!("warn,cupwright={}", log.level));
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
}
