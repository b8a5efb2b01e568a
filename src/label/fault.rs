//! Why something cannot be drawn.

/// Why a sticker or a card cannot be drawn. None is drawn in part.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The font lacks a character.
    #[error("the font has no `{char}` (U+{:04X}) for \"{text}\"", u32::from(*char))]
    NoGlyph {
        /// The character.
        char: char,
        /// The word that it stands in.
        text: String,
    },
    /// A text has no room on the label, on however many.
    #[error("{text} has no room on a label of {width_mm} × {height_mm} mm")]
    NoRoom {
        /// Which text; nothing of a guest's words.
        text: String,
        /// Width of the label, in millimetres.
        width_mm: i64,
        /// Height of the label, in millimetres.
        height_mm: i64,
    },
    /// A text or line would leave its sheet; a fault of the layout.
    #[error("{text} leaves its place")]
    Leaves {
        /// Which text; nothing of a guest's words.
        text: String,
    },
    /// A picture or document cannot be written.
    #[error("it cannot be written: {0}")]
    Unwritten(String),
}
