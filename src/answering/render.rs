//! The answer to a ticket as bytes: finished builds are taken as they are, the rest is made.

use std::sync::Arc;

use super::{
    builds::{Builds, Kept, add, add_line, may_keep},
    respond::Placed,
};
use crate::{
    engine::{Line, Verdict},
    wire::{AllergensOfOrder, Answer, CaffeineView, Kind, Problem, answer_line},
};

/// An answer, and how its lines fare.
#[derive(Clone, Debug)]
pub struct Answered {
    /// The answer, as JSON.
    pub bytes: Vec<u8>,
    /// How the lines fare.
    pub tally: Tally,
}

/// How lines fare, for whoever counts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Lines that are accepted.
    pub accepted: u32,
    /// Lines about which something is asked.
    pub asked: u32,
    /// Lines that are refused.
    pub refused: u32,
    /// Accepted lines whose build was kept from before.
    pub kept: u32,
    /// The codes of questions and refusals.
    pub codes: Vec<&'static str>,
}

impl Tally {
    /// Whether every line is accepted.
    pub fn all_accepted(&self) -> bool {
        self.asked == 0 && self.refused == 0
    }

    /// Counts one verdict.
    pub(super) fn count(&mut self, verdict: &Verdict<'_>) {
        match verdict {
            Verdict::Accept { .. } => self.accepted += 1,
            Verdict::Ask { objection, .. } => {
                self.asked += 1;
                self.codes.push(objection.code.as_str());
            }
            Verdict::Refuse { objections, .. } => {
                self.refused += 1;
                self.codes.extend(objections.iter().map(|one| one.code.as_str()));
            }
        }
    }
}

/// How every answer ends whose allergens and lines are still to come.
const OPEN: &[u8] =
    br#"{"ingredients":[],"may_contain":[],"shared_equipment":[]},"caffeine":null,"lines":[]}"#;

/// Room for one line of an answer; what is larger makes it grow.
const USUAL_LINE: usize = 3_072;

/// The answer to a ticket.
pub(super) fn render(
    placed: &Placed<'_>,
    with_build: bool,
    builds: Option<&Builds>,
) -> Result<Answered, Problem> {
    let Placed { bar, catalogue, lines, .. } = placed;
    let mut tally = Tally::default();
    let mut allergens = AllergensOfOrder::default();
    let mut caffeine = Some(CaffeineView::default());
    let mut drunk = |cup: Option<CaffeineView>, line: &Line| {
        caffeine = caffeine.zip(cup).map(|(sum, cup)| sum.and(cup, line.quantity));
    };
    let mut last: Option<Arc<Kept>> = None;
    let mut rendered = Vec::with_capacity(lines.len() * USUAL_LINE + 1_024);
    let mut key = key_of(placed, with_build);
    let shared = key.len();
    for (at, line) in lines.iter().enumerate() {
        if at > 0 {
            rendered.push(b',');
        }
        let builds = builds.filter(|_| may_keep(line));
        if let Some(builds) = builds {
            key.truncate(shared);
            add_line(&mut key, line);
            if let Some(kept) = builds.get(&key) {
                head(&mut rendered, line)?;
                rendered.extend_from_slice(&kept.tail);
                drunk(kept.caffeine, line);
                // Most lines of a long order are like the one before.
                if !last.as_ref().is_some_and(|last| Arc::ptr_eq(last, &kept)) {
                    allergens.add(&kept.allergens);
                    last = Some(kept);
                }
                tally.accepted += 1;
                tally.kept += 1;
                continue;
            }
        }
        let verdict = placed.verdict(line);
        tally.count(&verdict);
        let own = AllergensOfOrder::of_verdict(&verdict);
        allergens.add(&own);
        let cup = CaffeineView::of_verdict(bar, &verdict);
        drunk(cup, line);
        let begin = rendered.len();
        let view = answer_line(bar, &line.id, at, &verdict, catalogue, with_build);
        serde_json::to_writer(&mut rendered, &view).map_err(|fault| Kind::Internal.with(fault))?;
        if let (Some(builds), Verdict::Accept { .. }) = (builds, &verdict)
            && let Some(tail) = tail_of(&rendered[begin..], line)?
        {
            builds.keep(&key, Arc::new(Kept { tail: tail.into(), allergens: own, caffeine: cup }));
        }
    }
    allergens.settle();
    let opening = opening(placed, builds)?;
    let mut bytes = Vec::with_capacity(opening.tail.len() + rendered.len() + 512);
    bytes.extend_from_slice(&opening.tail);
    serde_json::to_writer(&mut bytes, &allergens).map_err(|fault| Kind::Internal.with(fault))?;
    bytes.extend_from_slice(b",\"caffeine\":");
    serde_json::to_writer(&mut bytes, &caffeine).map_err(|fault| Kind::Internal.with(fault))?;
    bytes.extend_from_slice(b",\"lines\":[");
    bytes.extend_from_slice(&rendered);
    bytes.extend_from_slice(b"]}");
    Ok(Answered { bytes, tally })
}

/// How the answer begins: what it was worked from and in which language, up to the allergens.
fn opening(placed: &Placed<'_>, builds: Option<&Builds>) -> Result<Arc<Kept>, Problem> {
    let mut key = Vec::with_capacity(96);
    key.extend(placed.edition.number.to_le_bytes());
    // No key of a line has this here.
    key.push(u8::MAX);
    add(&mut key, &placed.bar.site.id);
    add(&mut key, &placed.catalogue.lang);
    if let Some(kept) = builds.and_then(|builds| builds.get(&key)) {
        return Ok(kept);
    }
    let bare = Answer::bare(placed.bar, placed.catalogue, AllergensOfOrder::default());
    let bytes = serde_json::to_vec(&bare).map_err(|fault| Kind::Internal.with(fault))?;
    let Some(begin) = bytes.strip_suffix(OPEN) else {
        return Err(Kind::Internal.with("An answer without lines ends otherwise."));
    };
    let allergens = AllergensOfOrder::default();
    let kept = Arc::new(Kept { tail: begin.into(), allergens, caffeine: None });
    if let Some(builds) = builds {
        builds.keep(&key, Arc::clone(&kept));
    }
    Ok(kept)
}

/// What every line's key begins with.
fn key_of(placed: &Placed<'_>, with_build: bool) -> Vec<u8> {
    let mut key = Vec::with_capacity(256);
    key.extend(placed.edition.number.to_le_bytes());
    key.push(u8::from(with_build));
    add(&mut key, &placed.bar.site.id);
    add(&mut key, &placed.catalogue.lang);
    for list in [&placed.moment.out_of_stock, &placed.moment.out_of_season] {
        key.extend(list.len().to_le_bytes());
        for one in list {
            add(&mut key, one);
        }
    }
    key
}

/// How an accepted line begins: with everything that differs between tickets for one build.
fn head(out: &mut Vec<u8>, line: &Line) -> Result<(), Problem> {
    let text = |out: &mut Vec<u8>, text: &str| {
        serde_json::to_writer(out, text).map_err(|fault| Kind::Internal.with(fault))
    };
    out.extend_from_slice(b"{\"line\":");
    text(out, &line.id)?;
    out.extend_from_slice(b",\"verdict\":\"accept\",\"canonical\":{\"line\":");
    text(out, &line.id)?;
    out.extend_from_slice(b",\"drink\":");
    text(out, &line.drink)?;
    out.extend_from_slice(b",\"quantity\":");
    out.extend_from_slice(line.quantity.to_string().as_bytes());
    Ok(())
}

/// What is behind that beginning; none if the line begins otherwise.
fn tail_of<'a>(rendered: &'a [u8], line: &Line) -> Result<Option<&'a [u8]>, Problem> {
    let mut begin = Vec::with_capacity(128);
    head(&mut begin, line)?;
    Ok(rendered.strip_prefix(begin.as_slice()))
}
