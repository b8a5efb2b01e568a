//! Text on several lines of a width, at the ends of words.

use super::{
    face::Face,
    fault::Fault,
    run::{Run, shape},
};

/// Breaks a text into lines that are no wider than there is room for.
///
/// A word that is wider than a line by itself goes on in the next line, after as many letters as
/// have room; nothing is ever left out.
///
/// * `em_um`: size of an em, in micrometres.
/// * `width`: room in micrometres for each line, by its number from 0.
/// * Errors: a character that the font lacks; a line with no room for a single letter.
pub fn wrapped(
    face: Face,
    em_um: i64,
    text: &str,
    width: impl Fn(usize) -> i64,
) -> Result<Vec<Run>, Fault> {
    let mut lines: Vec<Run> = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        let room = width(lines.len());
        let whole = shape(face, rest)?;
        if whole.width(em_um) <= room {
            lines.push(whole);
            break;
        }
        let (line, after) = first_line(face, em_um, rest, room)?;
        lines.push(line);
        rest = after.trim_start();
    }
    Ok(lines)
}

/// As many words as have room, else as many letters of the first; and what is left.
fn first_line(face: Face, em_um: i64, text: &str, room: i64) -> Result<(Run, &str), Fault> {
    let mut best = None;
    let ends = text.match_indices(' ').map(|(at, _)| at);
    for end in ends {
        let (line, rest) = text.split_at(end);
        if line.trim().is_empty() {
            continue;
        }
        let run = shape(face, line)?;
        if run.width(em_um) > room {
            break;
        }
        best = Some((run, rest));
    }
    if let Some(found) = best {
        return Ok(found);
    }
    let word = text.split(' ').next().unwrap_or(text);
    for (end, _) in word.char_indices().skip(1) {
        let (line, rest) = text.split_at(end);
        let run = shape(face, line)?;
        if run.width(em_um) > room {
            break;
        }
        best = Some((run, rest));
    }
    best.ok_or_else(|| Fault::Leaves { text: text.to_owned() })
}
