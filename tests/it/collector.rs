//! A receiver of traces that is not ours: Python with the messages that OpenTelemetry publishes.

use std::{
    io::{BufRead as _, BufReader},
    process::{Child, Stdio},
    sync::{Arc, Mutex},
    thread::{self, JoinHandle},
};

use serde_json::Value;

use crate::support::tools::{python, tool_file};

/// A receiver; it ends when the test does.
pub(crate) struct Collector {
    child: Child,
    address: String,
    told: Arc<Mutex<Vec<Value>>>,
    reader: Option<JoinHandle<()>>,
}

impl Drop for Collector {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to do.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Collector {
    pub(crate) fn start() -> Self {
        let mut child = python()
            .arg(tool_file("otlp.py"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut lines = BufReader::new(child.stdout.take().expect("a pipe")).lines();
        let port = lines.next().and_then(Result::ok);
        let port = port.expect("a port: run ./tests/run, which installs what it needs");
        let told = Arc::new(Mutex::new(Vec::new()));
        let kept = Arc::clone(&told);
        let reader = thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                kept.lock().unwrap().push(serde_json::from_str(&line).expect("JSON"));
            }
        });
        Self { child, address: format!("http://127.0.0.1:{port}"), told, reader: Some(reader) }
    }

    /// Where it listens, as `--otlp` takes it.
    pub(crate) fn address(&self) -> &str {
        &self.address
    }

    /// Ends it; every span that it ever got.
    pub(crate) fn end(&mut self) -> Vec<Value> {
        // It ends when its standard input does.
        drop(self.child.stdin.take());
        self.child.wait().expect("it ends");
        self.reader.take().map(JoinHandle::join);
        let told = self.told.lock().unwrap();
        told.iter().filter(|one| one["raw"].is_null()).cloned().collect()
    }

    /// Every request that it ever got, headers and body.
    pub(crate) fn requests(&self) -> Vec<String> {
        let told = self.told.lock().unwrap();
        told.iter().filter(|one| !one["raw"].is_null()).map(Value::to_string).collect()
    }
}
