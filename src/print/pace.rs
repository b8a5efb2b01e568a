//! How long anything may take.

use std::time::Duration;

/// How long anything about one sticker may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pace {
    /// Until a connection stands.
    pub connect: Duration,
    /// Until a request is answered whole.
    pub answer: Duration,
    /// Between two looks at a job or a printer.
    pub look: Duration,
    /// For a printer that is busy or stopped, before another of the same labels is asked.
    pub patience: Duration,
    /// For a printer that no longer answers about a job that it has.
    pub silence: Duration,
    /// Until a printer surely lists a job that it has taken.
    pub settle: Duration,
    /// For a sender to send a request again: as long after a start, a key may be an earlier process's.
    pub resent: Duration,
    /// For one sticker in all, from its turn on.
    pub within: Duration,
}

impl Pace {
    /// As cafés need it.
    ///
    /// * `within`: for one sticker in all.
    pub const fn usual(within: Duration) -> Self {
        Self {
            connect: Duration::from_secs(3),
            answer: Duration::from_secs(10),
            look: Duration::from_millis(300),
            patience: Duration::from_secs(12),
            silence: Duration::from_secs(10),
            settle: Duration::from_secs(2),
            // Common practice, no source.
            resent: Duration::from_mins(15),
            within,
        }
    }
}
