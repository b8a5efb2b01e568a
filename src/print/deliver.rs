//! One sticker: the printers that may print it are tried in turn, until one has, or until nobody can
//! know.

use std::{thread::sleep, time::Instant};

use super::{
    address::Address,
    attempt::{Already, Attempt, Ended},
    client::Client,
    form::Document,
    pace::Pace,
    standing::{Stage, Standing},
    trouble::Trouble,
};
use crate::book::{Id, Media};

/// A printer that a sticker may go to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// Its id at the site.
    pub printer: Id,
    /// Where it takes jobs.
    pub address: Address,
    /// The size of its labels.
    pub media: Media,
    /// Its dots per inch.
    pub dpi: u16,
}

/// A sticker to be printed.
pub(super) struct Delivery<'d> {
    /// The name of its job, the same each time that it is sent.
    pub(super) name: &'d str,
    /// Whether an earlier process may have sent it under this name.
    pub(super) may_be_there: bool,
    /// Whether it may be there, and nobody has looked: then no printer prints it before every other has
    /// said that it does not have it.
    pub(super) must_ask: bool,
    /// The printers that may print it, the first one first.
    pub(super) targets: &'d [Target],
    pub(super) document: &'d dyn Document,
}

/// Prints a sticker, or finds out why not.
///
/// A printer that is busy is waited for; one that cannot be reached, or with which something is the
/// matter, is passed over for the next one at once, and asked again if none of them prints. What may
/// have been printed is not sent again: where an earlier process may have sent it to a printer that
/// cannot be asked, no other prints it, and its outcome is unknown.
///
/// * `tell`: is told where it stands whenever that changes.
pub(super) fn deliver(
    client: &Client,
    pace: &Pace,
    delivery: &Delivery<'_>,
    tell: &mut dyn FnMut(Standing),
) {
    let until = Instant::now() + pace.within;
    let (absent, present) = by_presence(client, delivery.targets);
    let mut passed: Vec<(Id, Trouble)> = Vec::new();
    if !present.is_empty() {
        let gone = absent.iter().map(|target| (target.printer.clone(), Trouble::Unreachable));
        passed.extend(gone);
    }
    // Printers that may have it from before, and could not be asked.
    let mut unasked: Vec<&Target> =
        absent.iter().copied().filter(|_| delivery.may_be_there).collect();
    for target in present.iter().copied().filter(|_| delivery.may_be_there) {
        let attempt = Attempt::new(client, pace, delivery, target, until);
        let has = attempt.already(&mut |stage, trouble| tell(at(target, stage, trouble, &passed)));
        match has {
            Already::Ended(ended) => {
                if let Some(standing) = settled(target, ended, &mut passed) {
                    return tell(standing);
                }
            }
            Already::No => {}
            Already::NotAsked => unasked.push(target),
        }
    }
    loop {
        let mut another = false;
        for target in present.iter().chain(&absent) {
            let is_out = |(id, trouble): &(Id, Trouble)| *id == target.printer && is_final(trouble);
            if passed.iter().any(is_out) {
                continue;
            }
            let attempt = Attempt::new(client, pace, delivery, target, until);
            let before = passed.clone();
            let mut told = |stage, trouble| tell(at(target, stage, trouble, &before));
            let has =
                if unasked.contains(target) { attempt.already(&mut told) } else { Already::No };
            if has != Already::NotAsked {
                unasked.retain(|one| one != target);
            }
            let barred = unasked.iter().find(|one| delivery.must_ask && *one != target);
            let ended = match (has, barred) {
                (Already::Ended(ended), _) => ended,
                (Already::NotAsked, _) if client.was_absent(&target.address) => {
                    Ended::Passed(Trouble::Unreachable)
                }
                (_, None) => attempt.run(&mut told),
                (_, Some(other)) => match attempt.would_not() {
                    Some(trouble) => Ended::Passed(trouble),
                    None => return tell(not_asked(other, passed)),
                },
            };
            if let Some(standing) = settled(target, ended, &mut passed) {
                return tell(standing);
            }
            let waits = passed.iter().find(|(id, _)| *id == target.printer);
            let why = waits.map(|(_, why)| why.clone());
            another |= why.as_ref().is_some_and(Trouble::may_pass);
            tell(at(target, Stage::Waiting, why, &passed));
        }
        if !another || Instant::now() >= until {
            return tell(failed(passed));
        }
        sleep(pace.look);
    }
}

/// Printers that were not there a moment ago, which are asked last, and those that were: each try
/// takes as long as a connection may.
fn by_presence<'t>(client: &Client, targets: &'t [Target]) -> (Vec<&'t Target>, Vec<&'t Target>) {
    targets.iter().partition(|target| client.was_absent(&target.address))
}

/// Whether the printer is not asked again about this sticker.
const fn is_final(trouble: &Trouble) -> bool {
    !trouble.may_pass() && !matches!(trouble, Trouble::Unreachable)
}

fn at(
    target: &Target,
    stage: Stage,
    trouble: Option<Trouble>,
    passed: &[(Id, Trouble)],
) -> Standing {
    Standing { stage, printer: Some(target.printer.clone()), trouble, passed: passed.to_vec() }
}

/// Where a sticker stands for good; none if the next printer may try, and why is noted.
fn settled(target: &Target, ended: Ended, passed: &mut Vec<(Id, Trouble)>) -> Option<Standing> {
    let (stage, trouble) = match ended {
        Ended::Printed => (Stage::Printed, None),
        Ended::Failed(trouble) => (Stage::Failed, Some(trouble)),
        Ended::Unknown(trouble) => (Stage::Unknown, Some(trouble)),
        Ended::Passed(trouble) => {
            match passed.iter_mut().find(|(id, _)| *id == target.printer) {
                Some((_, why)) => *why = trouble,
                None => passed.push((target.printer.clone(), trouble)),
            }
            return None;
        }
    };
    passed.retain(|(id, _)| *id != target.printer);
    Some(at(target, stage, trouble, passed))
}

/// It may be at a printer that cannot be asked, so that nobody can know.
fn not_asked(at: &Target, mut passed: Vec<(Id, Trouble)>) -> Standing {
    passed.retain(|(id, _)| *id != at.printer);
    let (stage, trouble) = (Stage::Unknown, Some(Trouble::NotAsked));
    Standing { stage, printer: Some(at.printer.clone()), trouble, passed }
}

/// No printer prints it: the first one's reason stands for all.
fn failed(mut passed: Vec<(Id, Trouble)>) -> Standing {
    let first = if passed.is_empty() { None } else { Some(passed.remove(0)) };
    let (printer, trouble) = match first {
        Some((printer, trouble)) => (Some(printer), trouble),
        None => (None, Trouble::NotTried),
    };
    Standing { stage: Stage::Failed, printer, trouble: Some(trouble), passed }
}
