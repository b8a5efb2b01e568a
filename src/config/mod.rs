//! Settings of the service: what may be set, its defaults, and where each value comes from.

mod settings;

pub use settings::{Limits, Listen, Log, LogForm, Logged, Settings, Stop, Traces};
