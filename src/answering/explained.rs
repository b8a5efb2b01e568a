//! Explanations of the figures of a ticket's builds.

use super::respond::{Placed, Sent};
use crate::{
    engine::{Verdict, explain::explain},
    in_force::Editions,
    wire::{BookStamp, ExplainedLine, Explanation, FigureView, Kind, Problem, SiteStamp, Ticket},
};

/// The figures of a ticket's builds, each with its terms.
///
/// * `only`: pointers of the figures that are wanted, or of what they stand in; all if empty.
/// * Errors: as for an answer.
pub fn explained(
    editions: &Editions,
    ticket: Ticket,
    only: &[String],
    sent: &Sent,
) -> Result<Explanation, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    let bar = placed.bar;
    let wanted = |at: &str| {
        let within = |one: &String| {
            at.strip_prefix(one.as_str())
                .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
        };
        only.is_empty() || only.iter().any(within)
    };
    let line = |line: &crate::engine::Line| {
        let (verdict, figures) = match placed.verdict(line) {
            Verdict::Accept { build, .. } => {
                let all = explain(bar, &build);
                let wanted = all.iter().filter(|figure| wanted(&figure.at));
                ("accept", wanted.map(|figure| FigureView::of(bar, figure)).collect())
            }
            Verdict::Ask { .. } => ("ask", Vec::new()),
            Verdict::Refuse { .. } => ("refuse", Vec::new()),
        };
        ExplainedLine { line: line.id.clone(), verdict, figures }
    };
    Ok(Explanation {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        lines: placed.lines.iter().map(line).collect(),
    })
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
