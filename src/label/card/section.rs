//! The section of a cup: its walls, what is in it, and labels beside it with leader lines.

use super::{
    clip::Band,
    content::{Caption, Section},
    hatch::{circle, dusting},
    leaders::spread,
    para::{Line, Piece, Ruler, line_step},
};
use crate::{
    label::{Face, Fault, Ink, Mark, Paint, Path},
    units::Volume,
};

impl Laid {
    /// The cup under its labels, with all of it at a place.
    pub(super) fn under(
        &self,
        section: &Section,
        (dx, dy): (i64, i64),
        grain: i64,
    ) -> (Vec<Mark>, SectionDrawn) {
        let drawn = self.drawn.clone().moved(dx, dy);
        let shapes = cup(section, &drawn, self.middle + dx, grain).into_iter();
        (shapes.map(|(path, paint)| Mark::Shape(path, paint)).collect(), drawn)
    }
}

/// A scale: so many units on paper for so many of the cup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ratio {
    /// Units on paper.
    pub paper: i64,
    /// Units of the cup.
    pub cup: i64,
}

/// A section as it was drawn, for whoever measures it; in micrometres of the paper.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SectionDrawn {
    /// Its scale.
    pub ratio: Ratio,
    /// Each layer's corners from the upper left clockwise, from the floor upwards.
    pub layers: Vec<[(i64, i64); 4]>,
    /// Where the floor is.
    pub floor: i64,
    /// Where the serving line is.
    pub fill_line: i64,
}

/// Shapes with how each is drawn.
pub(super) type Drawing = Vec<(Path, Paint)>;

/// Sizes in which a section is drawn, in micrometres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Sizes {
    /// What one millimetre of a pattern or a gap is.
    pub(super) grain: i64,
    /// Height of a figure's capitals.
    pub(super) figure: i64,
    /// Height of a name's capitals.
    pub(super) name: i64,
}

/// The labels of a section with their lines, from (0, 0); the cup itself is drawn once it is known
/// which of several is taken.
pub(super) struct Laid {
    pub(super) piece: Piece,
    pub(super) drawn: SectionDrawn,
    /// The middle of the cup.
    pub(super) middle: i64,
}

impl SectionDrawn {
    /// The same, so far to the right and down.
    #[must_use]
    pub(super) fn moved(mut self, dx: i64, dy: i64) -> Self {
        for corner in self.layers.iter_mut().flatten() {
            *corner = (corner.0 + dx, corner.1 + dy);
        }
        self.floor += dy;
        self.fill_line += dy;
        self
    }
}

impl Ratio {
    /// A length of the cup on paper.
    pub const fn of(self, um: i64) -> i64 {
        um * self.paper / self.cup
    }

    /// As ISO 5455 writes it.
    pub fn said(self) -> String {
        format!("{}:{}", self.paper, self.cup)
    }
}

/// Where the parts of a cup stand whose floor's middle is at (`x`, `floor`).
pub(super) fn measured(section: &Section, ratio: Ratio, (x, floor): (i64, i64)) -> SectionDrawn {
    let cone = &section.cone;
    let half = |height: i64| ratio.of(cone.diameter_at(height)) / 2;
    let level = |height: i64| floor - ratio.of(height);
    let mut layers = Vec::with_capacity(section.layers.len());
    let (mut below, mut low) = (Volume::ZERO, 0);
    for layer in &section.layers {
        below += layer.volume;
        let high = cone.height_of(below);
        let (top, bottom) = (level(high), level(low));
        layers.push([
            (x - half(high), top),
            (x + half(high), top),
            (x + half(low), bottom),
            (x - half(low), bottom),
        ]);
        low = high;
    }
    SectionDrawn { ratio, layers, floor, fill_line: level(low) }
}

/// The cup alone: walls, layers, serving line.
///
/// * `x`: the middle of its floor.
pub(super) fn cup(section: &Section, drawn: &SectionDrawn, x: i64, grain: i64) -> Drawing {
    let SectionDrawn { ratio, layers, floor, fill_line } = drawn;
    let half = |height: i64| ratio.of(section.cone.diameter_at(height)) / 2;
    let stroke = |width: i64| Paint::Stroke { width: width * grain / 100, dash: None };
    let mut marks = Vec::new();
    for (layer, band) in section.layers.iter().zip(layers) {
        marks.extend(layer.hatch.marks(&Band(*band), grain));
        marks.push((Path::line(&[band[0], band[1]]), stroke(20)));
    }
    // The wall stands outside of the inner measures, as thick as its line.
    let wall = WALL * grain / 100;
    let out = wall / 2;
    let brim = section.cone.brim();
    let edge = floor - ratio.of(brim);
    let inside = Path::line(&[
        (x - half(brim) - out, edge),
        (x - half(0) - out, floor + out),
        (x + half(0) + out, floor + out),
        (x + half(brim) + out, edge),
    ]);
    marks.push((inside, stroke(WALL)));
    // The serving line stands out of the cup to the left, with a point on it.
    let (left, right) = layers.last().map_or((x, x), |band| (band[0].0, band[1].0));
    let at = left - wall - 2 * grain / 10;
    let (long, tall) = (18 * grain / 10, 8 * grain / 10);
    let point = [(at, *fill_line), (at - long, fill_line - tall), (at - long, fill_line + tall)];
    marks.push((Path::polygon(&point), Paint::Fill(Ink::Black)));
    marks.push((Path::line(&[(left, *fill_line), (right, *fill_line)]), stroke(35)));
    if !section.on_top.is_empty() {
        let inner = (left + grain, right - grain / 2);
        let row = dusting(inner, fill_line - ABOVE * grain / 10, grain);
        marks.push((row, Paint::Fill(Ink::Black)));
    }
    marks
}

/// Thickness of a wall, in hundredths of a millimetre.
const WALL: i64 = 70;

/// How far above the serving line what lies on top is shown, in tenths of a millimetre.
const ABOVE: i64 = 8;

/// Room to the left of a cup for the point of its serving line.
pub(super) const fn overhang(grain: i64) -> i64 {
    3 * grain
}

/// A label with where it points.
struct Pointed<'a> {
    label: &'a Caption,
    /// Where its line begins: on the wall or above the cup.
    at: (i64, i64),
    /// A dot on what it names: within a layer, or on the wall beside one that is too thin.
    dot: Option<(i64, i64)>,
    /// Whether what it says is set in bold.
    strong: bool,
}

/// The section with its labels, in a width.
///
/// * Result: none if the labels have no room beside the cup.
pub(super) fn laid(
    ruler: &Ruler,
    section: &Section,
    ratio: Ratio,
    width: i64,
    sizes: Sizes,
) -> Result<Option<Laid>, Fault> {
    let Sizes { grain, .. } = sizes;
    let cone = &section.cone;
    let widest = ratio.of(cone.diameter_at(cone.brim()));
    let left = overhang(grain);
    let label_x = left + widest + 7 * grain;
    if width - label_x < 24 * grain {
        return Ok(None);
    }
    let headroom = if section.on_top.is_empty() { grain } else { 4 * grain };
    let mut height = headroom + ratio.of(cone.brim()) + 2 * grain;
    let middle = left + widest / 2;
    let there = measured(section, ratio, (middle, 0));
    let blocks = |pointed: &[Pointed<'_>]| {
        let block = |one: &Pointed<'_>| block(ruler, one.label, one.strong, width - label_x, sizes);
        pointed.iter().map(block).collect::<Result<Vec<Piece>, Fault>>()
    };
    // Labels may need more room than the cup: then the cup stands on the lower edge.
    let needed = |all: &[Piece]| {
        let gaps = i64::try_from(all.len()).unwrap_or_default() * grain * 12 / 10;
        all.iter().map(|one| one.height).sum::<i64>() + gaps
    };
    let first = pointed(section, &there, (middle, widest), grain);
    let all = blocks(&first)?;
    height = height.max(needed(&all));
    let floor = height - 2 * grain;
    let drawn = measured(section, ratio, (middle, floor));
    let (mut shapes, mut lines) = (Vec::new(), Vec::new());
    let pointed = pointed(section, &drawn, (middle, widest), grain);
    let wanted: Vec<(i64, i64)> =
        pointed.iter().zip(&all).map(|(one, block)| (one.at.1, block.height)).collect();
    let Some(tops) = spread(&wanted, grain * 12 / 10, (0, height)) else { return Ok(None) };
    for ((one, block), top) in pointed.iter().zip(&all).zip(tops) {
        let to = (label_x - grain, top + block.height.min(sizes.figure) / 2);
        leader(&mut shapes, one, (left + widest + 2 * grain, to), grain);
        let moved = |line: &Line| Line {
            x: label_x + line.x,
            baseline: top + line.baseline,
            ..line.clone()
        };
        lines.extend(block.lines.iter().map(moved));
    }
    Ok(Some(Laid { piece: Piece { shapes, lines, height }, drawn, middle }))
}

/// The labels of a section with where they point, from the top.
fn pointed<'a>(
    section: &'a Section,
    drawn: &SectionDrawn,
    (middle, widest): (i64, i64),
    grain: i64,
) -> Vec<Pointed<'a>> {
    let SectionDrawn { ratio, layers, floor, fill_line } = drawn;
    let wall = WALL * grain / 100;
    let brim = floor - ratio.of(section.cone.brim());
    let right = |x: i64| x + wall;
    let top = layers.last().map_or((middle, *fill_line), |band| band[1]);
    let plain = |label, at, dot, strong| Pointed { label, at, dot, strong };
    // The edge is pointed at on top of the wall, and the serving line within the cup.
    let edge = middle + widest / 2 + wall / 2;
    let mut all = vec![plain(&section.brim, (edge + wall / 2, brim), Some((edge, brim)), false)];
    for label in &section.on_top {
        let y = fill_line - ABOVE * grain / 10;
        let edge = right(top.0).max(middle);
        all.push(plain(label, (edge, y), Some((top.0 - grain, y)), true));
    }
    let on_line = (top.0 - 6 * grain, *fill_line);
    all.push(plain(&section.fill, (right(top.0), *fill_line), Some(on_line), true));
    for (layer, band) in section.layers.iter().zip(layers).rev() {
        let [_, upper, lower, _] = *band;
        let at = (i64::midpoint(upper.0, lower.0), i64::midpoint(upper.1, lower.1));
        let thick = lower.1 - upper.1 > grain * 18 / 10;
        let dot = if thick { (at.0 - 2 * grain, at.1) } else { (at.0 + wall / 2, at.1) };
        all.push(plain(&layer.label, (right(at.0), at.1), Some(dot), true));
    }
    // What stands beside the cup has no line into it.
    let beside = section.beside.iter();
    all.extend(beside.map(|label| plain(label, (i64::MIN, floor + grain), None, true)));
    // Only what is on top may point from above what comes before it.
    let mut last = i64::MIN;
    for one in &mut all {
        if one.at.0 != i64::MIN {
            one.at.1 = one.at.1.max(last);
            last = one.at.1;
        }
    }
    all
}

/// The line from what is named to its label: level to beside the cup, then to the label.
fn leader(shapes: &mut Drawing, one: &Pointed<'_>, (bend, to): (i64, (i64, i64)), grain: i64) {
    if one.at.0 == i64::MIN {
        return;
    }
    let pen = Paint::Stroke { width: 14 * grain / 100, dash: None };
    let mut points = vec![one.at, (bend, one.at.1), to];
    if let Some(dot) = one.dot {
        shapes.push((circle(dot, 90 * grain / 100), Paint::Fill(Ink::Paper)));
        shapes.push((circle(dot, 55 * grain / 100), Paint::Fill(Ink::Black)));
        points.insert(0, dot);
    }
    shapes.push((Path::line(&points), pen));
}

/// A label set in a width: the figure, and its name after it or in lines under it.
fn block(
    ruler: &Ruler,
    label: &Caption,
    strong: bool,
    width: i64,
    sizes: Sizes,
) -> Result<Piece, Fault> {
    let Caption { figure, name } = label;
    let (cap, face) = if strong { (sizes.figure, Face::Bold) } else { (sizes.name, Face::Regular) };
    let em = face.em_of_cap(cap);
    let small = Face::Regular.em_of_cap(sizes.name);
    let mut piece = Piece::default();
    let mut at = 0;
    if !figure.is_empty() {
        piece.line(face, em, (0, cap), figure.clone());
        at = ruler.width(face, em, figure)? + sizes.name * 2 / 3;
        piece.height = cap;
    }
    if name.is_empty() {
        return Ok(piece);
    }
    if at + ruler.width(Face::Regular, small, name)? <= width {
        piece.height = piece.height.max(sizes.name);
        piece.line(Face::Regular, small, (at, piece.height), name.clone());
    } else {
        for line in ruler.lines(Face::Regular, small, name, width)? {
            let step = line_step(Face::Regular, small);
            piece.height += if piece.height == 0 { sizes.name } else { step };
            piece.line(Face::Regular, small, (0, piece.height), line);
        }
    }
    piece.height += Face::Regular.descent(small);
    Ok(piece)
}
