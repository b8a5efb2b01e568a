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
/// A number stays with its unit where it can. A word that is wider than a line by itself goes on in
/// the next line, after a hyphen or else after as many letters as have room. Nothing is left out but
/// spaces, and what stands between two statements, at the end of a line.
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
        let is_cut = text.get(from..).is_some_and(|rest| rest.starts_with(|c| c != ' '));
        broken |= is_cut && !line.text.ends_with('-');
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
    // The best ends first: between statements, between words, within what a number counts, at
    // hyphens, and last between any two letters; of each the farthest that has room.
    let ends = |of: &str, more: usize| -> Vec<usize> {
        let ends = text.rmatch_indices(of).map(|(at, _)| at + more);
        ends.filter(|at| *at > 0 && *at <= most).collect()
    };
    let spaces = ends(" ", 0);
    let free: Vec<usize> = spaces.iter().copied().filter(|at| !counts(text, *at)).collect();
    let word = text.find(' ').unwrap_or(text.len());
    let letters = text.char_indices().map(|(at, _)| at).filter(|at| *at > 0 && *at < word);
    let letters: Vec<usize> = letters.filter(|at| *at <= most).collect();
    let hyphens = ends("-", 1).into_iter().filter(|at| *at < word);
    let all = ends(" · ", 0).into_iter().chain(free).chain(spaces).chain(hyphens);
    for end in all.chain(letters.into_iter().rev()) {
        if let Some(run) = fitting(end)? {
            return Ok(run);
        }
    }
    Err(Fault::Leaves { text: "a letter wider than its line".to_owned() })
}

/// Letters of the longest unit that stays with its number, such as `°C` or `mL`.
const UNIT: usize = 3;

/// Whether the space at a byte of the text parts a number from its unit.
fn counts(text: &str, space: usize) -> bool {
    let (before, after) = text.split_at(space);
    let unit = after.trim_start().split(' ').next().unwrap_or_default();
    before.ends_with(|c: char| c.is_ascii_digit()) && unit.chars().count() <= UNIT
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

#[cfg(test)]
mod tests {
    use super::wrapped;
    use crate::label::{Face, shape};

    fn lines(text: &str, width: i64) -> Vec<String> {
        let run = shape(Face::Regular, text).expect("letters of the font");
        let (lines, _) = wrapped(&run, 3_000, |_| width).expect("room for a letter");
        lines.into_iter().map(|run| run.text).collect()
    }

    #[test]
    fn a_line_ends_between_statements_before_words_and_a_number_keeps_its_unit() {
        assert_eq!(lines("Ada · A-217 · 1 of 2", 22_000), ["Ada · A-217", "1 of 2"]);
        assert_eq!(lines("Serve it at 61 °C", 20_000), ["Serve it at", "61 °C"]);
        assert_eq!(lines("61 °C", 6_500), ["61", "°C"], "where it cannot, it does not");
    }

    #[test]
    fn a_word_wider_than_its_line_ends_after_a_hyphen_or_between_letters() {
        assert_eq!(lines("Wintergewürz-Latte", 24_000), ["Wintergewürz-", "Latte"]);
        assert_eq!(lines("Wintergewürz", 8_000).concat(), "Wintergewürz");
    }
}
