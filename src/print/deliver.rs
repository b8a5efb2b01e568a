//! One sticker: the printers that may print it are tried in turn, until one has, or until nobody can
//! know.

use std::{thread::sleep, time::Instant};

use super::{
    address::Address,
    attempt::{Attempt, Ended},
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
    /// The printers that may print it, the first one first.
    pub(super) targets: &'d [Target],
    pub(super) document: &'d dyn Document,
}

/// Prints a sticker, or finds out why not.
///
/// A printer that is busy is waited for; one that cannot be reached, or with which something is the
/// matter, is passed over for the next one at once, and asked again if none of them prints. What may
/// have been printed is never sent again.
///
/// * `tell`: is told where it stands whenever that changes.
pub(super) fn deliver(
    client: &Client,
    pace: &Pace,
    delivery: &Delivery<'_>,
    tell: &mut dyn FnMut(Standing),
) {
    let until = Instant::now() + pace.within;
    let mut passed: Vec<(Id, Trouble)> = Vec::new();
    if delivery.may_be_there {
        for target in delivery.targets {
            let mut attempt = Attempt::new(client, pace, delivery, target, until);
            if let Some(ended) = attempt.already(&mut |stage, trouble| {
                tell(at(target, stage, trouble, &passed));
            }) && let Some(standing) = settled(target, ended, &mut passed)
            {
                return tell(standing);
            }
        }
    }
    loop {
        let mut another = false;
        for target in delivery.targets {
            let is_out = |(id, trouble): &(Id, Trouble)| *id == target.printer && is_final(trouble);
            if passed.iter().any(is_out) {
                continue;
            }
            let mut attempt = Attempt::new(client, pace, delivery, target, until);
            let before = passed.clone();
            let ended =
                attempt.run(&mut |stage, trouble| tell(at(target, stage, trouble, &before)));
            if let Some(standing) = settled(target, ended, &mut passed) {
                return tell(standing);
            }
            another |= passed.iter().any(|(id, why)| *id == target.printer && why.may_pass());
            let waiting = passed.iter().find(|(id, _)| *id == target.printer);
            tell(at(target, Stage::Waiting, waiting.map(|(_, why)| why.clone()), &passed));
        }
        if !another || Instant::now() >= until {
            return tell(failed(passed));
        }
        sleep(pace.look);
    }
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

/// No printer prints it: the first one's reason stands for all.
fn failed(mut passed: Vec<(Id, Trouble)>) -> Standing {
    let first = if passed.is_empty() { None } else { Some(passed.remove(0)) };
    let (printer, trouble) = match first {
        Some((printer, trouble)) => (Some(printer), trouble),
        None => (None, Trouble::NotTried),
    };
    Standing { stage: Stage::Failed, printer, trouble: Some(trouble), passed }
}
