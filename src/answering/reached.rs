//! The set-points with which a ticket's drinks are served at a wanted temperature.

use super::respond::{Placed, Sent};
use crate::{
    engine::{
        Line,
        phrase::{Gap, Phrase},
        reach::{Reach, reach},
    },
    in_force::Editions,
    units::Temperature,
    wire::{BookStamp, Kind, Problem, SetPointLine, SetPoints, SiteStamp, Ticket},
    words,
};

/// The set-points of a ticket's lines.
///
/// * `wanted`: temperature of the drinks as served.
/// * Errors: as for an answer; and a temperature at which nobody serves a drink with steamed milk.
pub fn set_points(
    editions: &Editions,
    ticket: Ticket,
    wanted: Temperature,
    sent: &Sent,
) -> Result<SetPoints, Problem> {
    if !(Temperature::from_mc(20_000)..=Temperature::from_mc(90_000)).contains(&wanted) {
        let detail = format!("{wanted} is not between 20 °C and 90 °C.");
        return Err(Kind::InvalidQuery.with(detail));
    }
    let placed = Placed::of(editions, ticket, sent)?;
    let (bar, catalogue) = (placed.bar, placed.catalogue);
    let line = |line: &Line| {
        let found = reach(bar, line, &placed.moment, wanted);
        let (outcome, at, phrase) = match found {
            Ok(Reach::At { set_point, serve }) => {
                ("reached", Some((set_point, serve)), Phrase::SetPointReached)
            }
            Ok(Reach::TooHot { most, serve }) => {
                ("above-cap", Some((most, serve)), Phrase::SetPointAboveCap)
            }
            Ok(Reach::TooCool { least, serve }) => {
                ("below-range", Some((least, serve)), Phrase::SetPointBelow)
            }
            Ok(Reach::NoSteamedMilk) => ("no-steamed-milk", None, Phrase::SetPointNoMilk),
            Err(_) => ("not-made", None, Phrase::SetPointNotMade),
        };
        let tenth = |one: Temperature| one.to_nearest(Temperature::from_mc(100));
        let number = |one: Option<Temperature>| Gap::Number(one.map_or(0, Temperature::mc), 1);
        let (set_point, serve) = at.map(|(one, two)| (tenth(one), tenth(two))).unzip();
        let gaps = [("set_point", number(set_point)), ("serve", number(serve))];
        SetPointLine {
            line: line.id.clone(),
            outcome,
            set_point_c: set_point,
            serve_c: serve,
            text: words::gaps(catalogue, phrase, &gaps),
        }
    };
    Ok(SetPoints {
        book: BookStamp::of(bar),
        site: SiteStamp { id: bar.site.id.to_string(), digest: bar.site_digest.to_string() },
        wanted_c: wanted,
        lines: placed.lines.iter().map(line).collect(),
    })
}
