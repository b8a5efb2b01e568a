//! A site as it is: what it makes, what it does not, and why.

use super::tries::{Thing, cup_lines, takes, values};
use crate::{
    book::Bar,
    engine::{
        Given, Line, Moment, build_line,
        objection::{Code, Objection},
    },
};

/// Something that is not made or offered here.
#[derive(Debug)]
pub struct Unmade<'b> {
    /// What.
    pub thing: Thing<'b>,
    /// Why; of a value, on the first drink that takes it elsewhere.
    pub why: Vec<Objection>,
    /// Each line by which it was tried, with why it was refused.
    pub(super) tried: Vec<(Line, Vec<Objection>)>,
    /// What is added to each of those lines; nothing for a cup.
    pub(super) given: Option<Given>,
}

/// What a site makes and what it does not.
#[derive(Debug)]
pub struct Survey<'b> {
    /// Cups and values that are made or offered here.
    pub made: Vec<Thing<'b>>,
    /// Those that are not, cups first, each in the order of the book.
    pub unmade: Vec<Unmade<'b>>,
}

/// Tries everything at the bar.
///
/// A value that no drink takes even where nothing is missing is not the site's to offer, and is left
/// out.
///
/// * `whole`: the same bar with everything that the book has.
pub fn survey<'b>(bar: &'b Bar, whole: &Bar) -> Survey<'b> {
    let moment = Moment::default();
    let (mut made, mut unmade) = (Vec::new(), Vec::new());
    let lines: Vec<(Thing<'b>, Line)> =
        bar.book.drinks.iter().flat_map(|drink| cup_lines(bar, drink)).collect();
    let mut here: Vec<&Line> = Vec::new();
    for (thing, line) in &lines {
        match build_line(bar, line, &moment) {
            Ok(_) => {
                made.push(*thing);
                here.push(line);
            }
            Err(why) => unmade.push(Unmade {
                thing: *thing,
                tried: vec![(line.clone(), why.clone())],
                why,
                given: None,
            }),
        }
    }
    let others: Vec<&Line> = lines.iter().map(|(_, line)| line).collect();
    for (thing, given) in values(bar) {
        if here.iter().any(|line| takes(bar, line, given.clone(), &moment).is_ok()) {
            made.push(thing);
        } else {
            unmade.extend(unoffered(bar, whole, (&here, &others), thing, &given));
        }
    }
    Survey { made, unmade }
}

/// Whether a reason is that something is missing here.
fn is_of_site(why: &Objection) -> bool {
    let of_site =
        [Code::NoSuchCupHere, Code::NotStocked, Code::NoGrinder, Code::NoJug, Code::NoWand];
    of_site.contains(&why.code)
}

/// A value that is not offered here, if some drink takes it where nothing is missing.
///
/// * `here`: the lines that are made here; `all`: every line.
fn unoffered<'b>(
    bar: &Bar,
    whole: &Bar,
    (here, all): (&[&Line], &[&Line]),
    thing: Thing<'b>,
    given: &Given,
) -> Option<Unmade<'b>> {
    let moment = Moment::default();
    let there = |line: &&&Line| takes(whole, line, given.clone(), &moment).is_ok();
    // The reason is best told on a drink that is made here.
    let first = here.iter().find(there).or_else(|| all.iter().find(there))?;
    let refused = |line: &Line| takes(bar, line, given.clone(), &moment).err().unwrap_or_default();
    Some(Unmade {
        thing,
        why: refused(first),
        tried: all
            .iter()
            .map(|line| (Line::clone(line), refused(line)))
            .filter(|(_, why)| why.iter().any(is_of_site))
            .collect(),
        given: Some(given.clone()),
    })
}
