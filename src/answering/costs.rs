//! What the lines of a ticket cost the site.

use super::respond::{Placed, Sent};
use crate::{
    engine::{Build, Line, Verdict, build_line},
    in_force::Editions,
    units::Money,
    wire::{
        BookStamp, CostLineView, CostTotalView, CostView, CostsAnswer, Kind, ModifierCostView,
        Problem, ROUNDING, SiteStamp, Ticket,
    },
};

/// The costs of a ticket's lines, as JSON.
///
/// * Errors: as for an answer; and a site whose sheet says nothing of costs.
pub fn costs(editions: &Editions, ticket: Ticket, sent: &Sent) -> Result<Vec<u8>, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    let bar = placed.bar;
    if bar.site.costs.is_none() {
        let detail = format!("The sheet of `{}` has no `costs`.", bar.site.id);
        return Err(Kind::NoCosts.with(detail));
    }
    let decimals = usize::from(bar.book.currency_places);
    let verdicts: Vec<Verdict<'_>> = placed.lines.iter().map(|line| placed.verdict(line)).collect();
    let (mut cost, mut net) = (Money::ZERO, Money::ZERO);
    let mut lines = Vec::with_capacity(verdicts.len());
    for (at, (line, verdict)) in placed.lines.iter().zip(&verdicts).enumerate() {
        let (word, view) = match verdict {
            Verdict::Accept { build, canonical, .. } => {
                let of_cup = build.cost(bar);
                if let Some(of_cup) = &of_cup {
                    cost = cost + of_cup.total.times(line.quantity.into());
                    net = net + of_cup.net.times(line.quantity.into());
                }
                let view = of_cup.map(|of_cup| {
                    let modifiers = modifiers(&placed, canonical, build, of_cup.total, decimals);
                    CostView::of(&of_cup, modifiers, decimals)
                });
                ("accept", view)
            }
            Verdict::Ask { .. } => ("ask", None),
            Verdict::Refuse { .. } => ("refuse", None),
        };
        let instead = placed.instead(at, line, verdict);
        lines.push(CostLineView { line: line.id.clone(), verdict: word, cost: view, instead });
    }
    let answer = CostsAnswer {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        currency: &bar.book.currency,
        rounding: ROUNDING,
        lines,
        total: CostTotalView {
            cost: cost.with_places(decimals),
            net_price: net.with_places(decimals),
            margin: (net - cost).with_places(decimals),
        },
    };
    serde_json::to_vec(&answer).map_err(|fault| Kind::Internal.with(fault))
}

/// What each modifier adds: the cup as it is less the same cup without it.
fn modifiers<'b>(
    placed: &Placed<'b>,
    line: &Line,
    build: &Build<'b>,
    total: Money,
    decimals: usize,
) -> Vec<ModifierCostView<'b>> {
    let bar = placed.bar;
    let one = |held: &crate::engine::order::Held<'b>| {
        let id = held.modifier.id();
        let rest = line.modifiers.iter().filter(|given| given.id != **id).cloned().collect();
        let without = Line { modifiers: rest, ..line.clone() };
        let before = build_line(bar, &without, &placed.moment).ok();
        // Another size or way of serving has another price of its own; what cannot be made without the
        // modifier has no price without it.
        let surcharge = match &before {
            Some(before) => build.order.price - before.order.price,
            None => held.price(bar, build.order.cup),
        };
        let before = before.and_then(|before| Some(before.cost(bar)?.total));
        ModifierCostView {
            modifier: id,
            surcharge: surcharge.with_places(decimals),
            cost: before.map(|before| (total - before).with_places(decimals)),
        }
    };
    build.order.held.iter().map(one).collect()
}
