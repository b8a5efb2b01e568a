//! The set-points with which a ticket's drinks are served at a wanted temperature.

use super::respond::{Placed, Sent};
use crate::{
    engine::{
        Line, Verdict,
        phrase::{Gap, Phrase},
        reach::{Reach, at_set_point, reach},
    },
    in_force::Editions,
    units::Temperature,
    wire::{BookStamp, Problem, SetPointLine, SetPoints, SiteStamp, Ticket, caution_views},
    words,
};

/// The set-points of a ticket's lines.
///
/// * `wanted`: temperature of the drinks as served, 20 °C to 90 °C.
/// * Errors: as for an answer.
pub fn set_points<'e>(
    editions: &'e Editions,
    ticket: Ticket,
    wanted: Temperature,
    sent: &Sent,
) -> Result<SetPoints<'e>, Problem> {
    let placed = Placed::of(editions, ticket, sent)?;
    let (bar, catalogue) = (placed.bar, placed.catalogue);
    let line = |(at, line): (usize, &Line)| {
        let verdict = placed.verdict(line);
        let found = match &verdict {
            Verdict::Accept { canonical, .. } => reach(bar, canonical, &placed.moment, wanted).ok(),
            Verdict::Ask { .. } | Verdict::Refuse { .. } => None,
        };
        let (outcome, phrase) = named(found);
        let with = found.and_then(|found| found.at());
        let tenth = |one: Temperature| one.to_nearest(Temperature::from_mc(100));
        let number = |one: Option<Temperature>| Gap::Number(one.map_or(0, Temperature::mc), 1);
        let (set_point, serve) = with.map(|(one, two)| (tenth(one), tenth(two))).unzip();
        let gaps = [("set_point", number(set_point)), ("serve", number(serve))];
        let cautions = match (&verdict, set_point) {
            (Verdict::Accept { canonical, .. }, Some(set_point)) => {
                let build = at_set_point(bar, canonical, &placed.moment, set_point);
                build
                    .map(|build| caution_views(&build.cautions(bar), catalogue))
                    .unwrap_or_default()
            }
            _ => Vec::new(),
        };
        SetPointLine {
            line: line.id.clone(),
            outcome,
            set_point_c: set_point,
            serve_c: serve,
            text: words::gaps(catalogue, phrase, &gaps),
            cautions,
            instead: placed.instead(at, line, &verdict),
        }
    };
    Ok(SetPoints {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        wanted_c: wanted,
        lines: placed.lines.iter().enumerate().map(line).collect(),
    })
}

/// An outcome as programs and people have it.
const fn named(found: Option<Reach>) -> (&'static str, Phrase) {
    match found {
        Some(Reach::At { .. }) => ("reached", Phrase::SetPointReached),
        Some(Reach::TooHot { .. }) => ("above-cap", Phrase::SetPointAboveCap),
        Some(Reach::TooCool { .. }) => ("below-range", Phrase::SetPointBelow),
        Some(Reach::NoSteamedMilk) => ("no-steamed-milk", Phrase::SetPointNoMilk),
        None => ("not-made", Phrase::SetPointNotMade),
    }
}
