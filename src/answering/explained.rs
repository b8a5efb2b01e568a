//! Explanations of the figures of a ticket's builds.

use std::collections::BTreeSet;

use serde_json::Value;

use super::respond::{Placed, Sent};
use crate::{
    engine::{
        Verdict,
        explain::{Figure, explain},
    },
    in_force::Editions,
    wire::{
        BookStamp, ExplainedLine, Explanation, Fault, FigureView, Kind, Problem, SiteStamp, Ticket,
        build_view,
    },
};

/// The figures of a ticket's builds, each with its terms.
///
/// * `only`: pointers of the figures that are wanted, or of what they stand in; all if empty.
/// * Errors: as for an answer; more lines than are explained at once; no figure where one is wanted.
pub fn explained(
    editions: &Editions,
    ticket: Ticket,
    only: &[String],
    sent: &Sent,
) -> Result<Explanation, Problem> {
    if ticket.lines.len() > MOST_LINES {
        let found = format!("found {} lines; expected at most {MOST_LINES}", ticket.lines.len());
        let detail = "So many builds are not explained at once.";
        return Err(Kind::InvalidBody.with(detail).about([Fault::at("/lines", found)]));
    }
    let placed = Placed::of(editions, ticket, sent)?;
    let bar = placed.bar;
    let mut lines = Vec::with_capacity(placed.lines.len());
    let mut known = BTreeSet::new();
    for (at, line) in placed.lines.iter().enumerate() {
        let verdict = placed.verdict(line);
        let (word, figures) = match &verdict {
            Verdict::Accept { build, .. } => {
                let view = build_view(bar, build, placed.catalogue);
                let shown =
                    serde_json::to_value(view).map_err(|fault| Kind::Internal.with(fault))?;
                let all = explain(bar, build);
                known.extend(all.iter().filter_map(|figure| top(&figure.at)).map(str::to_owned));
                let wanted = all.iter().filter(|figure| is_wanted(only, &figure.at));
                let view = |figure: &Figure| {
                    let shown = shown.pointer(&figure.at).and_then(Value::as_f64);
                    FigureView::of(bar, figure, shown)
                };
                ("accept", wanted.map(view).collect())
            }
            Verdict::Ask { .. } => ("ask", Vec::new()),
            Verdict::Refuse { .. } => ("refuse", Vec::new()),
        };
        let instead = placed.instead(at, line, &verdict);
        lines.push(ExplainedLine { line: line.id.clone(), verdict: word, figures, instead });
    }
    if !known.is_empty() && lines.iter().all(|line| line.figures.is_empty()) {
        let known: Vec<String> = known.into_iter().collect();
        let detail = format!(
            "No figure stands at {}; there are figures under {}.",
            only.join(", "),
            known.join(", ")
        );
        return Err(Kind::NoFigure.with(detail));
    }
    Ok(Explanation {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        lines,
    })
}

/// Lines that are explained at once: an explanation is twenty times as long as its build.
const MOST_LINES: usize = 20;

/// Whether a figure is one of those that are wanted, or stands in one of them.
fn is_wanted(only: &[String], at: &str) -> bool {
    let within = |one: &String| {
        at.strip_prefix(one.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    };
    only.is_empty() || only.iter().any(within)
}

/// What a figure stands in, such as `/milk`.
fn top(at: &str) -> Option<&str> {
    let end = at.get(1..)?.find('/').map_or(at.len(), |end| end + 1);
    at.get(..end)
}

/// The same as JSON.
pub fn explained_json(
    editions: &Editions,
    ticket: Ticket,
    only: &[String],
    sent: &Sent,
) -> Result<Vec<u8>, Problem> {
    let explanation = explained(editions, ticket, only, sent)?;
    serde_json::to_vec(&explanation).map_err(|fault| Kind::Internal.with(fault))
}
