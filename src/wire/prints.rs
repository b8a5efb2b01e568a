//! Prints: what became of each sticker that was sent to a printer.

use serde::Serialize;
use utoipa::ToSchema;

/// Stickers that were taken to be printed together, and how each stands. All of it is kept in the
/// memory of the process that took them: when that ends, stickers that wait are lost, and nothing is
/// known of any.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct PrintAnswer {
    /// Id, by which `/v1/prints/{id}` tells how they stand.
    #[schema(examples("6f0f7f0c-4d0f-4c43-8a1f-2f1c9bfb8a11"))]
    pub print_id: String,
    /// The site, by id.
    pub site: String,
    /// Language of the texts.
    pub lang: String,
    /// Where the queue is kept: always `memory`, which ends with the process.
    #[schema(examples("memory"))]
    pub kept_in: &'static str,
    /// Whether every sticker is `printed`, `failed` or `unknown`, so that nothing more will change.
    pub over: bool,
    /// The stickers, in the order in which they are printed.
    pub stickers: Vec<PrintedSticker>,
}

/// One sticker, and how it stands.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct PrintedSticker {
    /// Line of the ticket.
    pub line: String,
    /// Which of the ticket's cups it is, from 1.
    pub n: usize,
    /// How many cups the ticket has.
    pub of: usize,
    /// Which of the cup's stickers it is, from 1.
    pub part: usize,
    /// How many stickers the cup has.
    pub parts: usize,
    /// `waiting`, `sending`, `printing`, `printed`, `failed`, or `unknown`: it may be printed, and is
    /// not sent again.
    #[schema(examples("printed"))]
    pub state: &'static str,
    /// The printer that it is at, by id; null before the first.
    pub printer: Option<String>,
    /// Why it is not printed, or not known to be: `unreachable`, `not-understood`, `locked`,
    /// `no-path`, `unsaid`, `busy`, `not-accepting`, `matter`, `wrong-media`, `no-form`, `wrong-dpi`,
    /// `not-made`, `declined`, `cancelled`, `aborted`, `too-slow`, `answer-lost`, `not-asked`, `silent`,
    /// `kept`, `half-out` or `not-tried`; null where nothing is the matter.
    pub reason: Option<&'static str>,
    /// What the printer says is the matter, such as `media-empty` or `cover-open`.
    pub matters: Vec<&'static str>,
    /// The same in words; null where nothing is the matter.
    pub text: Option<String>,
    /// Printers that did not print it, and why.
    pub passed_over: Vec<PassedOver>,
}

/// A printer that did not print a sticker.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct PassedOver {
    /// The printer, by id.
    pub printer: String,
    /// Why, as for the sticker.
    pub reason: &'static str,
    /// The same in words.
    pub text: String,
}
