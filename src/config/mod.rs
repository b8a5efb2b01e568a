//! Settings of the service: what may be set, its defaults, and where each value comes from.
//!
//! A flag goes before an environment variable, that before the file, and the file before the
//! default. Nothing here reads a file or the environment; whoever calls hands over what is there.

mod configured;
mod example;
mod field;
mod file;
mod reach;
mod setting;
mod settings;
mod table;
mod web;

pub use configured::{Configured, File, Layers, Whence};
pub use example::example;
pub use reach::reachable_by_others;
pub use setting::Setting;
pub use settings::{Limits, Listen, Log, LogForm, Logged, Queue, Settings, Stop, Traces};
pub use table::SETTINGS;
pub use web::public_base;
