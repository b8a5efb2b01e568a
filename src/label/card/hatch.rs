//! Hatches: each kind of substance has one of its own, which shows in black on white.

use super::clip::Band;
use crate::label::{Ink, Paint, Path, Seg};

/// How a substance is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hatch {
    /// Coffee: lines both ways, close together.
    Coffee,
    /// Milk: thin slanting lines, far apart.
    Milk,
    /// Foam: small rings.
    Foam,
    /// Water: broken level lines.
    Water,
    /// Tea and what else is steeped: whole level lines.
    Infusion,
    /// Ice: tilted blocks.
    Ice,
    /// A powder, dissolved: dots.
    Powder,
    /// Syrup: upright lines.
    Syrup,
    /// Cream, ice cream and what else is thick: scales.
    Thick,
}

type Drawing = Vec<(Path, Paint)>;

impl Hatch {
    /// The hatch within a band.
    ///
    /// * `grain`: what one millimetre of the pattern is on the paper, in micrometres.
    pub(super) fn marks(self, band: &Band, grain: i64) -> Drawing {
        let of = |tenths: i64| tenths * grain / 10;
        let pen = |hundredths: i64| Paint::Stroke { width: hundredths * grain / 100, dash: None };
        match self {
            Self::Coffee => {
                let mut path = slanting(band, of(11), true);
                path.0.extend(slanting(band, of(11), false).0);
                vec![(path, pen(19))]
            }
            Self::Milk => vec![(slanting(band, of(26), true), pen(11))],
            Self::Foam => vec![(rings(band, of(17), of(5)), pen(12))],
            Self::Water => vec![(level(band, of(13), Some((of(20), of(12)))), pen(13))],
            Self::Infusion => vec![(level(band, of(10), None), pen(13))],
            Self::Ice => blocks(band, of(47), pen(14)),
            Self::Powder => vec![(dots(band, of(9), of(2)), Paint::Fill(Ink::Black))],
            Self::Syrup => vec![(upright(band, of(8)), pen(14))],
            Self::Thick => vec![(scales(band, of(24)), pen(13))],
        }
    }
}

/// Whole multiples of a step from one number to another, the ends left out.
fn multiples(from: i64, to: i64, step: i64) -> impl Iterator<Item = i64> {
    let first = from.div_euclid(step) + 1;
    (first..).map(move |n| n * step).take_while(move |at| *at < to)
}

fn add(path: &mut Path, ((ax, ay), (bx, by)): ((i64, i64), (i64, i64))) {
    path.0.extend([Seg::Move(ax, ay), Seg::Line(bx, by)]);
}

/// Lines at 45°.
fn slanting(band: &Band, step: i64, rising: bool) -> Path {
    let (left, top, right, bottom) = band.extent();
    let height = bottom - top;
    let mut path = Path::default();
    // Seen along the level through the paper's upper edge, so that layers do not continue in steps.
    let lean = if rising { bottom } else { -top };
    for at in multiples(left + lean - height, right + lean + height, step) {
        let x = at - lean;
        let line = if rising {
            ((x, bottom), (x + height, top))
        } else {
            ((x, top), (x + height, bottom))
        };
        path.0.extend(band.cut(line.0, line.1).into_iter().flat_map(|(a, b)| segs(a, b)));
    }
    path
}

fn segs((ax, ay): (i64, i64), (bx, by): (i64, i64)) -> [Seg; 2] {
    [Seg::Move(ax, ay), Seg::Line(bx, by)]
}

/// Level lines, whole or broken.
fn level(band: &Band, step: i64, broken: Option<(i64, i64)>) -> Path {
    let (left, top, right, bottom) = band.extent();
    let mut path = Path::default();
    for y in multiples(top, bottom, step) {
        let Some((from, to)) = band.cut((left - 1, y), (right + 1, y)) else { continue };
        let Some((on, off)) = broken else {
            add(&mut path, (from, to));
            continue;
        };
        // Every other row begins half a length later.
        let shift = if (y / step) % 2 == 0 { 0 } else { i64::midpoint(on, off) };
        for x in multiples(left - on - off, right, on + off) {
            let dash = band.cut((x + shift, y), (x + shift + on, y));
            path.0.extend(dash.into_iter().flat_map(|(a, b)| segs(a, b)));
        }
    }
    path
}

/// Upright lines.
fn upright(band: &Band, step: i64) -> Path {
    let (left, top, right, bottom) = band.extent();
    let lines = multiples(left, right, step);
    let cut = lines.filter_map(|x| band.cut((x, top - 1), (x, bottom + 1)));
    Path(cut.flat_map(|(a, b)| segs(a, b)).collect())
}

/// Places in staggered rows, each at least `room` from every wall.
fn places(band: &Band, step: i64, room: i64) -> Vec<(i64, i64)> {
    let (left, top, right, bottom) = band.extent();
    let rows = ((bottom - top - 2 * room) / (step * 7 / 8).max(1)).max(0);
    // What is left over is shared between top and bottom.
    let first = top + (bottom - top - rows * (step * 7 / 8)) / 2;
    let middle = i64::midpoint(left, right);
    let mut all = Vec::new();
    for row in 0..=rows {
        let y = first + row * (step * 7 / 8);
        let shift = if row % 2 == 0 { 0 } else { step / 2 };
        for x in multiples(left - middle - step, right - middle, step).map(|x| x + middle + shift) {
            let corners = [(x - room, y), (x + room, y), (x, y - room), (x, y + room)];
            if corners.iter().all(|corner| band.holds(*corner)) {
                all.push((x, y));
            }
        }
    }
    all
}

/// A twelfth of a turn at a time, in thousandths of the radius.
const ROUND: [(i64, i64); 12] = [
    (1_000, 0),
    (866, 500),
    (500, 866),
    (0, 1_000),
    (-500, 866),
    (-866, 500),
    (-1_000, 0),
    (-866, -500),
    (-500, -866),
    (0, -1_000),
    (500, -866),
    (866, -500),
];

/// A circle as a shape of twelve corners, which is round at this size.
pub(super) fn circle((x, y): (i64, i64), radius: i64) -> Path {
    let corner = |(dx, dy): (i64, i64)| (x + dx * radius / 1_000, y + dy * radius / 1_000);
    Path::polygon(&ROUND.map(corner))
}

fn rings(band: &Band, step: i64, radius: i64) -> Path {
    let all = places(band, step, radius * 5 / 4);
    Path(all.into_iter().flat_map(|at| circle(at, radius).0).collect())
}

fn dots(band: &Band, step: i64, radius: i64) -> Path {
    let all = places(band, step, radius);
    Path(all.into_iter().flat_map(|at| circle(at, radius).0).collect())
}

/// Half circles in staggered rows, open below.
fn scales(band: &Band, step: i64) -> Path {
    let radius = step * 2 / 5;
    let arc = |(x, y): (i64, i64)| {
        let upper = ROUND.iter().skip(6).chain(ROUND.iter().take(1));
        let points: Vec<(i64, i64)> = upper
            .map(|(dx, dy)| (x + dx * radius / 1_000, y + radius / 2 + dy * radius / 1_000))
            .collect();
        Path::line(&points).0
    };
    Path(places(band, step, radius).into_iter().flat_map(arc).collect())
}

/// A row of dots on a level, as what is dusted on shows from the side.
pub(super) fn dusting((left, right): (i64, i64), y: i64, grain: i64) -> Path {
    let row = multiples(left, right, grain * 11 / 10);
    Path(row.flat_map(|x| circle((x, y), grain / 4).0).collect())
}

/// Blocks that lean to either side in turn, each with a shaded corner.
fn blocks(band: &Band, step: i64, pen: Paint) -> Drawing {
    let (_, top, _, bottom) = band.extent();
    // As many rows as keep a block from growing too large; they then fill the height.
    let filled = |rows: i64| (bottom - top) * 100 / (88 * rows + 12);
    let step = (1..=99).map(filled).find(|filled| *filled <= step).unwrap_or(step);
    let half = step * 3 / 8;
    if half < 100 {
        return Vec::new();
    }
    let mut path = Path::default();
    // The half diagonal of a block, with its lean, stays within this.
    for (n, (x, y)) in places(band, step, half * 6 / 5).into_iter().enumerate() {
        let (cos, sin) = if n % 2 == 0 { (966, 259) } else { (985, -174) };
        let turned = |dx: i64, dy: i64| {
            (x + (dx * cos - dy * sin) / 1_000, y + (dx * sin + dy * cos) / 1_000)
        };
        let corners =
            [turned(-half, -half), turned(half, -half), turned(half, half), turned(-half, half)];
        path.0.extend(Path::polygon(&corners).0);
        for part in [half / 2, half] {
            add(&mut path, (turned(half - part, half), turned(half, half - part)));
        }
    }
    vec![(path, pen)]
}
