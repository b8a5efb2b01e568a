//! Text on several lines of a width, at the ends of words.

use std::ops::Range;

use super::{
    fault::Fault,
    run::{Run, shape},
};

/// Stands between short statements in one line, with a space at each side. A line ends there rather
/// than within a statement, and then without it.
const DOT: char = '·';

/// Breaks a text into lines that are no wider than there is room for.
///
/// A word that is wider than a line by itself goes on in the next line, after as many letters as
/// have room; nothing is ever left out.
///
/// * `em_um`: size of an em, in micrometres.
/// * Result: the lines, and whether a word had to be broken.
/// * `width`: room in micrometres for each line, by its number from 0.
/// * Errors: a line with no room for a single letter.
pub fn wrapped(
    whole: &Run,
    em_um: i64,
    width: impl Fn(usize) -> i64,
) -> Result<(Vec<Run>, bool), Fault> {
    let mut lines: Vec<Run> = Vec::new();
    let text = whole.text.as_str();
    let (mut from, mut broken) = (0, false);
    loop {
        let begins = |c: char| c == ' ' || c == DOT;
        from +=
            text.get(from..).map_or(0, |rest| rest.len() - rest.trim_start_matches(begins).len());
        let Some(rest) = text.get(from..).map(str::trim_end).filter(|rest| !rest.is_empty()) else {
            return Ok((lines, broken));
        };
        let line = line(whole, from..from + rest.len(), em_um, width(lines.len()))?;
        from += line.text.len();
        broken |= text.get(from..).is_some_and(|rest| rest.starts_with(|c| c != ' '));
        lines.push(line);
    }
}

/// As many words of the rest as have room, else as many letters of the first.
fn line(whole: &Run, rest: Range<usize>, em_um: i64, room: i64) -> Result<Run, Fault> {
    let text = whole.text.get(rest.clone()).unwrap_or_default();
    let fitting = |end: usize| {
        let range = rest.start..rest.start + end;
        let run = if whole.is_plain() {
            whole.cut(range)
        } else {
            shape(whole.face, text.get(..end).unwrap_or_default())?
        };
        Ok(Some(run).filter(|run| run.width(em_um) <= room))
    };
    if let Some(run) = fitting(text.len())? {
        return Ok(run);
    }
    // No line is tried that cannot fit: its letters alone are wider.
    let most = reach(whole, &rest, em_um, room);
    let ends = |of: &str| -> Vec<usize> {
        let ends = text.match_indices(of).map(|(at, _)| at);
        ends.filter(|at| *at > 0 && *at <= most).collect()
    };
    for end in ends(" · ").into_iter().rev().chain(ends(" ").into_iter().rev()) {
        if let Some(run) = fitting(end)? {
            return Ok(run);
        }
    }
    let word = text.find(' ').unwrap_or(text.len());
    let letters = text.char_indices().map(|(at, _)| at).filter(|at| *at > 0 && *at < word);
    for end in letters.filter(|at| *at <= most).collect::<Vec<_>>().into_iter().rev() {
        if let Some(run) = fitting(end)? {
            return Ok(run);
        }
    }
    Err(Fault::Leaves { text: "a letter wider than its line".to_owned() })
}

/// The end, among the bytes of the rest, beyond which no line of it has room.
fn reach(whole: &Run, rest: &Range<usize>, em_um: i64, room: i64) -> usize {
    if !whole.is_plain() {
        return rest.len();
    }
    let mut along = 0;
    let within = whole.glyphs.iter().filter(|glyph| rest.contains(&glyph.text.start));
    for glyph in within {
        if along * em_um > room * whole.units() {
            return glyph.text.start - rest.start;
        }
        along += glyph.advance;
    }
    rest.len()
}
