//! Text from outside, made fit to stand between the service's own words.

use skrifa::MetadataProvider;
use unicode_bidi::{BidiClass, bidi_class};
use unicode_normalization::char::is_combining_mark;

use super::face::{Face, face};

/// A text in which nothing steers what stands around it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cleaned {
    /// The text: one line, words parted by single spaces.
    pub text: String,
    /// Characters that the font lacks; each is shown as an empty box.
    pub boxed: Vec<char>,
}

/// Most marks over and under one letter; no language needs more, and a heap of them has no room.
const MOST_MARKS: usize = 3;

/// What is shown for a character that the font lacks: its absence is seen.
const BOX: char = '\u{25a1}';

/// Cleans a text that people wrote, such as a name.
///
/// Controls, ends of lines and marks of direction (UAX #9, section 2) become spaces, so that a name
/// stays where a name stands. What joins or varies characters and has no shape of its own is left
/// out with the shapes that it joins in view. What the font lacks becomes a box.
///
/// ```
/// let name = cupwright::label::cleaned("Ada\n\u{202e}xyz");
/// assert_eq!(name.text, "Ada xyz");
/// ```
pub fn cleaned(text: &str) -> Cleaned {
    let mut boxed = Vec::new();
    let mut marks = 0;
    let characters = text.chars().filter(|c| !is_joiner(*c)).filter_map(|c| {
        marks = if is_combining_mark(c) { marks + 1 } else { 0 };
        if marks > MOST_MARKS {
            if !boxed.contains(&c) {
                boxed.push(c);
            }
            return None;
        }
        Some(if steers(c) || c.is_whitespace() {
            ' '
        } else if has_glyph(c) {
            c
        } else {
            if !boxed.contains(&c) {
                boxed.push(c);
            }
            BOX
        })
    });
    let line: String = characters.collect();
    // What parts the service's own statements parts none of a guest's.
    let words: Vec<&str> =
        line.split(' ').filter(|word| !word.is_empty() && *word != "\u{b7}").collect();
    let text = words.join(" ");
    Cleaned { text, boxed }
}

/// A text among others: what runs from right to left turns nothing that stands beside it (UAX #9,
/// section 2.4).
pub fn isolated(text: String) -> String {
    let turns = |c: char| matches!(bidi_class(c), BidiClass::R | BidiClass::AL | BidiClass::AN);
    if text.chars().any(turns) { format!("\u{2068}{text}\u{2069}") } else { text }
}

/// A text without the marks that [`isolated`] puts round it, which have no shape.
pub fn plain(text: &str) -> String {
    text.replace(['\u{2068}', '\u{2069}'], "")
}

/// Whether a character could end a line or turn what stands around it.
pub(crate) fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{2028}' | '\u{2029}' | '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{feff}')
        || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Whether a character only joins or varies its neighbours.
fn is_joiner(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{ad}')
        || matches!(c, '\u{fe00}'..='\u{fe0f}' | '\u{e0000}'..='\u{e01ef}' | '\u{1f3fb}'..='\u{1f3ff}')
}

/// Whether both faces have a shape for it.
fn has_glyph(c: char) -> bool {
    [Face::Regular, Face::Bold].into_iter().all(|one| {
        let map = face(one).map(|face| face.font.charmap());
        map.is_some_and(|map| map.map(c).is_some_and(|id| id.to_u32() != 0))
    })
}
