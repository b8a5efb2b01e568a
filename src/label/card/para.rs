//! Texts that are tried at several sizes: words are measured once.

use std::{cell::RefCell, collections::HashMap};

use crate::label::{Face, Fault, Mark, Paint, Path, Text, shape, wrapped};

/// Measures of words, kept from one card to the next.
#[derive(Debug, Default)]
pub(super) struct Ruler(RefCell<HashMap<(bool, String), i64>>);

thread_local! {
    static RULER: Ruler = Ruler::default();
}

/// Most words that are kept; a book has a few thousand.
const MOST: usize = 20_000;

/// Works with the measures that this thread has kept.
pub(super) fn with_ruler<T>(work: impl FnOnce(&Ruler) -> T) -> T {
    RULER.with(|ruler| {
        if ruler.0.borrow().len() > MOST {
            ruler.0.borrow_mut().clear();
        }
        work(ruler)
    })
}

/// An em at which measures are exact enough to be scaled.
const FINE: i64 = 100_000;

impl Ruler {
    /// Width of a word or line at an em of [`FINE`].
    fn fine(&self, face: Face, text: &str) -> Result<i64, Fault> {
        let key = (face == Face::Bold, text.to_owned());
        if let Some(width) = self.0.borrow().get(&key) {
            return Ok(*width);
        }
        let width = shape(face, text)?.width(FINE);
        self.0.borrow_mut().insert(key, width);
        Ok(width)
    }

    /// Width of a text on one line, in micrometres.
    pub(super) fn width(&self, face: Face, em: i64, text: &str) -> Result<i64, Fault> {
        Ok(self.fine(face, text)? * em / FINE + 1)
    }

    /// The lines of a text in a width, at the ends of words.
    ///
    /// * Errors: a character that the font lacks.
    pub(super) fn lines(
        &self,
        face: Face,
        em: i64,
        text: &str,
        width: i64,
    ) -> Result<Vec<String>, Fault> {
        // Letters are set closer or further apart across a space than words are by themselves.
        let room = width - width / 64;
        let space = self.fine(face, "n n")? - self.fine(face, "nn")?;
        let (mut lines, mut line, mut used) = (Vec::new(), String::new(), 0);
        for (word, apart) in self.tokens(face, text, room * FINE / em)? {
            let own = self.fine(face, word)?;
            if own * em / FINE > room {
                let (runs, _) = wrapped(&shape(face, text)?, em, |_| width)?;
                return Ok(runs.into_iter().map(|run| run.text).collect());
            }
            let between = if apart { space } else { 0 };
            let longer = if line.is_empty() { own } else { used + between + own };
            if longer * em / FINE > room && !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                used = own;
            } else {
                used = longer;
            }
            if apart && !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        if !line.is_empty() {
            lines.push(line);
        }
        Ok(lines)
    }

    /// The words of a text, each with whether a space stands before it; a word that is wider than
    /// `widest` may end after each of its hyphens.
    fn tokens<'t>(
        &self,
        face: Face,
        text: &'t str,
        widest: i64,
    ) -> Result<Vec<(&'t str, bool)>, Fault> {
        let mut all = Vec::new();
        for word in together(text) {
            if self.fine(face, word)? > widest {
                let parts = word.split_inclusive('-').enumerate();
                all.extend(parts.map(|(at, part)| (part, at == 0)));
            } else {
                all.push((word, true));
            }
        }
        Ok(all)
    }
}

/// The words of a text; a number stays with its unit.
fn together(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = text.trim();
    std::iter::from_fn(move || {
        let mut end = 0;
        loop {
            let after = rest.get(end..).unwrap_or_default();
            end += after.find(' ').unwrap_or(after.len());
            let (word, next) = rest.split_at(end);
            let next = next.trim_start();
            let unit = next.split(' ').next().unwrap_or_default();
            let is_number = word.ends_with(|c: char| c.is_ascii_digit());
            if next.is_empty() || !is_number || unit.chars().count() > 3 {
                let word = word.trim();
                rest = next;
                return (!word.is_empty()).then_some(word);
            }
            end += rest.len() - end - next.len();
        }
    })
}

/// A line of text at a place that is not shaped yet.
#[derive(Clone, Debug)]
pub(super) struct Line {
    pub(super) face: Face,
    pub(super) em: i64,
    /// Its left end.
    pub(super) x: i64,
    pub(super) baseline: i64,
    pub(super) text: String,
}

/// A part of a card, drawn from (0, 0) downwards.
#[derive(Clone, Debug, Default)]
pub(super) struct Piece {
    pub(super) shapes: Vec<(Path, Paint)>,
    pub(super) lines: Vec<Line>,
    pub(super) height: i64,
}

impl Piece {
    /// Adds a line of text.
    pub(super) fn line(&mut self, face: Face, em: i64, (x, baseline): (i64, i64), text: String) {
        self.lines.push(Line { face, em, x, baseline, text });
    }

    /// Its marks, moved to a place.
    ///
    /// * Errors: a character that the font lacks.
    pub(super) fn at(&self, (dx, dy): (i64, i64)) -> Result<Vec<Mark>, Fault> {
        let shape_at =
            |(path, paint): &(Path, Paint)| Mark::Shape(path.clone(), *paint).moved(dx, dy);
        let mut marks: Vec<Mark> = self.shapes.iter().map(shape_at).collect();
        for Line { face, em, x, baseline, text } in &self.lines {
            let run = shape(*face, text)?;
            marks.push(Mark::Text(Text { run, em: *em, x: x + dx, baseline: baseline + dy }));
        }
        Ok(marks)
    }
}

/// From one baseline to the next.
pub(super) fn line_step(face: Face, em: i64) -> i64 {
    (face.cap(em) + face.descent(em)) * 23 / 20 + face.cap(em) / 10
}
