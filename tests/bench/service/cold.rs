//! Cold starts: from the start of the process to the first answer.

use crate::{
    Effort,
    cores::Cores,
    server::{Kind, Server},
};

/// The time of each start in milliseconds, ours and nginx's in turn.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cold {
    /// Ours.
    pub(crate) ours: Vec<f64>,
    /// nginx.
    pub(crate) nginx: Vec<f64>,
}

/// Starts both in turn.
pub(crate) fn starts(answer: &[u8], effort: Effort, cores: Cores) -> Cold {
    eprintln!("Cold starts …");
    let millis = |kind| Server::start(kind, answer, cores.server).started_in.as_secs_f64() * 1e3;
    let mut cold = Cold::default();
    for _ in 0..effort.starts {
        cold.ours.push(millis(Kind::Ours));
        cold.nginx.push(millis(Kind::NginxReturn));
    }
    cold
}
