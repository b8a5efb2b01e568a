//! What a running service tells of itself: metrics, logs, traces. Never a name, a note, a declared
//! allergy, or anything else of an order.

mod log;
mod metrics;
mod parent;
mod traces;

pub use log::start_log;
pub use metrics::{Metrics, Reload};
pub use parent::Parent;
pub use traces::{Span, Traces, TracesFault};
