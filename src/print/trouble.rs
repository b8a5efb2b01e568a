//! Why a sticker is not printed, or not known to be.

use super::reasons::Reason;
use crate::book::Media;

/// Why a sticker is not printed yet, was not printed, or is not known to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// The printer cannot be reached.
    Unreachable,
    /// What answers at its address is no printer, or none that can be understood.
    NotUnderstood,
    /// Who stands at its address wants a password, or lets nobody in.
    Locked,
    /// There is nothing at the path of its address.
    NoPath,
    /// What it has to be told could not be written.
    Unsaid,
    /// It prints something else.
    Busy,
    /// It takes no jobs.
    NotAccepting,
    /// Something is the matter with it.
    Matter(Vec<Reason>),
    /// It has no labels of the site's size.
    WrongMedia {
        /// The size of the site's sheet.
        wanted: Media,
        /// A size that it has.
        found: Media,
    },
    /// It takes none of the forms that a sticker comes in.
    NoForm,
    /// Of what it takes nothing but a raster is made here, and of that it takes other resolutions.
    WrongDpi {
        /// Dots per inch of the site's sheet.
        wanted: u16,
        /// The nearest that it takes.
        found: u16,
    },
    /// The sticker could not be made in the form that it takes, and why.
    NotMade(String),
    /// It declined the job, with this status of IPP.
    Declined(u16),
    /// The job was cancelled at the printer.
    Cancelled,
    /// The printer gave the job up.
    Aborted(Vec<Reason>),
    /// It did not print in time, and the job was taken back.
    TooSlow,
    /// Whether it took the job is not known: its answer was lost, and it cannot be asked.
    AnswerLost,
    /// It may have it from an earlier request of the same key, and could not be asked.
    NotAsked,
    /// It had the job and no longer says what became of it.
    Silent,
    /// The printer was told to give the job back and has not: it may print it yet.
    Kept(Vec<Reason>),
    /// The job ended after something of it had come out.
    HalfOut,
    /// The service ended, or failed, before it was its turn.
    NotTried,
}

impl Trouble {
    /// As answers and logs name it.
    pub const fn as_str(&self) -> &'static str {
        match self {
            Self::Unreachable => "unreachable",
            Self::NotUnderstood => "not-understood",
            Self::Locked => "locked",
            Self::NoPath => "no-path",
            Self::Unsaid => "unsaid",
            Self::Busy => "busy",
            Self::NotAccepting => "not-accepting",
            Self::Matter(_) => "matter",
            Self::WrongMedia { .. } => "wrong-media",
            Self::NoForm => "no-form",
            Self::WrongDpi { .. } => "wrong-dpi",
            Self::NotMade(_) => "not-made",
            Self::Declined(_) => "declined",
            Self::Cancelled => "cancelled",
            Self::Aborted(_) => "aborted",
            Self::TooSlow => "too-slow",
            Self::AnswerLost => "answer-lost",
            Self::NotAsked => "not-asked",
            Self::Silent => "silent",
            Self::Kept(_) => "kept",
            Self::HalfOut => "half-out",
            Self::NotTried => "not-tried",
        }
    }

    /// What is the matter with the printer or the job.
    pub fn reasons(&self) -> &[Reason] {
        match self {
            Self::Matter(reasons) | Self::Aborted(reasons) | Self::Kept(reasons) => reasons,
            Self::Unreachable
            | Self::NotUnderstood
            | Self::Locked
            | Self::NoPath
            | Self::Unsaid
            | Self::Busy
            | Self::NotAccepting
            | Self::WrongMedia { .. }
            | Self::NoForm
            | Self::WrongDpi { .. }
            | Self::NotMade(_)
            | Self::Declined(_)
            | Self::Cancelled
            | Self::TooSlow
            | Self::AnswerLost
            | Self::NotAsked
            | Self::Silent
            | Self::HalfOut
            | Self::NotTried => &[],
        }
    }

    /// Whether it may be over in a moment, so that the printer is worth another try.
    pub(super) const fn may_pass(&self) -> bool {
        matches!(self, Self::Busy | Self::NotAccepting | Self::Matter(_) | Self::TooSlow)
    }
}
