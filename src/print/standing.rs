//! Where a sticker stands.

use super::trouble::Trouble;
use crate::book::Id;

/// Where a sticker stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// It waits for its turn, or for a printer.
    Waiting,
    /// It is on its way to a printer.
    Sending,
    /// A printer has it.
    Printing,
    /// It is printed.
    Printed,
    /// It is not printed, and will not be.
    Failed,
    /// Whether it is printed is not known; it is not sent again.
    Unknown,
}

impl Stage {
    /// Every stage.
    pub const ALL: [Self; 6] =
        [Self::Waiting, Self::Sending, Self::Printing, Self::Printed, Self::Failed, Self::Unknown];

    /// As answers and logs name it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Sending => "sending",
            Self::Printing => "printing",
            Self::Printed => "printed",
            Self::Failed => "failed",
            Self::Unknown => "unknown",
        }
    }

    /// Whether nothing more will happen.
    pub const fn is_over(self) -> bool {
        matches!(self, Self::Printed | Self::Failed | Self::Unknown)
    }
}

/// Where a sticker stands, at which printer, and what is the matter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// How far it is.
    pub stage: Stage,
    /// The printer that it is at, by id; none before the first.
    pub printer: Option<Id>,
    /// What is the matter; none if nothing is.
    pub trouble: Option<Trouble>,
    /// Printers that did not print it, and why, in the order in which they were first asked.
    pub passed: Vec<(Id, Trouble)>,
}

impl Default for Standing {
    fn default() -> Self {
        Self { stage: Stage::Waiting, printer: None, trouble: None, passed: Vec::new() }
    }
}
