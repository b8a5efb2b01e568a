//! A whole ticket: each line to a verdict.

use super::{
    build_line::{Build, build_line},
    derive::Noticed,
    line::{Line, Moment},
    neighbours::{Alternative, NoneBecause, alternatives},
    objection::{Manner, Objection},
};
use crate::book::Bar;

/// What becomes of a line.
#[derive(Debug)]
pub enum Verdict<'b> {
    /// It can be made as asked.
    Accept {
        /// The line in normal form.
        canonical: Box<Line>,
        /// The build of one cup.
        build: Box<Build<'b>>,
        /// What the reader must know.
        notices: Vec<Noticed<'b>>,
    },
    /// It needs an answer first.
    Ask {
        /// What is asked.
        objection: Box<Objection>,
        /// Complete lines to choose from; may be empty, and then says why.
        choices: Result<Vec<Alternative<'b>>, NoneBecause>,
    },
    /// It cannot be made.
    Refuse {
        /// Every reason that could be seen.
        objections: Vec<Objection>,
        /// Lines that can be made, or why there are none.
        alternatives: Result<Vec<Alternative<'b>>, NoneBecause>,
    },
}

/// The verdict on each line, in the order of the ticket.
pub fn expand<'b>(bar: &'b Bar, lines: &[Line], moment: &Moment) -> Vec<Verdict<'b>> {
    lines.iter().map(|line| verdict(bar, line, moment)).collect()
}

/// The verdict on one line.
pub fn verdict<'b>(bar: &'b Bar, line: &Line, moment: &Moment) -> Verdict<'b> {
    let objections = match build_line(bar, line, moment) {
        Ok(build) => {
            let (canonical, notices) = (build.canonical(line), build.notices(bar, line));
            return Verdict::Accept {
                canonical: Box::new(canonical),
                build: Box::new(build),
                notices,
            };
        }
        Err(objections) => objections,
    };
    let others = alternatives(bar, line, moment, &objections);
    let refused = |one: &Objection| one.manner == Manner::Refuse;
    if objections.iter().any(refused) {
        let objections = objections.into_iter().filter(refused).collect();
        return Verdict::Refuse { objections, alternatives: others };
    }
    match objections.into_iter().next() {
        Some(objection) => Verdict::Ask { objection: Box::new(objection), choices: others },
        None => Verdict::Refuse { objections: Vec::new(), alternatives: others },
    }
}
