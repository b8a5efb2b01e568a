//! A sheet: a label or card with marks on it, ready to be drawn in any form.

use super::run::Run;

/// A label or card with everything that is on it; measures in micrometres from its upper left corner.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// Width.
    pub width: i64,
    /// Height.
    pub height: i64,
    /// What is on it, the lowest first.
    pub marks: Vec<Mark>,
    /// What it is, in a few words.
    pub title: String,
    /// Everything that it says, for whoever cannot see it.
    pub spoken: String,
    /// Language of its texts, as BCP 47 writes it.
    pub lang: String,
}

/// One thing on a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A line of text.
    Text(Text),
    /// A shape.
    Shape(Path, Paint),
}

/// A line of text on a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Text {
    /// Its glyphs.
    pub run: Run,
    /// Size of an em, in micrometres.
    pub em: i64,
    /// Left end of its ink and room.
    pub x: i64,
    /// Its baseline.
    pub baseline: i64,
}

/// A shape's outline.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Path(pub Vec<Seg>);

/// A part of an outline; points in micrometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seg {
    /// Begins here.
    Move(i64, i64),
    /// A straight line to here.
    Line(i64, i64),
    /// Back to where it began.
    Close,
}

/// How a shape is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paint {
    /// Filled.
    Fill(Ink),
    /// Its outline alone, with square ends.
    Stroke {
        /// Width of the line, in micrometres.
        width: i64,
        /// Lengths of line and gap in turn, in micrometres; none for a whole line.
        dash: Option<(i64, i64)>,
    },
}

/// What it is filled with: labels are printed in black, and nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    /// Black.
    Black,
    /// The paper, over what lies under it.
    Paper,
}

impl Path {
    /// A rectangle.
    pub fn rect(x: i64, y: i64, width: i64, height: i64) -> Self {
        Self::polygon(&[(x, y), (x + width, y), (x + width, y + height), (x, y + height)])
    }

    /// A closed shape with these corners.
    pub fn polygon(corners: &[(i64, i64)]) -> Self {
        let mut path = Self::line(corners);
        path.0.push(Seg::Close);
        path
    }

    /// An open line through these points.
    pub fn line(points: &[(i64, i64)]) -> Self {
        let seg = |(at, (x, y)): (usize, &(i64, i64))| {
            if at == 0 { Seg::Move(*x, *y) } else { Seg::Line(*x, *y) }
        };
        Self(points.iter().enumerate().map(seg).collect())
    }

    /// Its corners.
    pub fn points(&self) -> impl Iterator<Item = (i64, i64)> {
        self.0.iter().filter_map(|seg| match seg {
            Seg::Move(x, y) | Seg::Line(x, y) => Some((*x, *y)),
            Seg::Close => None,
        })
    }
}

impl Text {
    /// Left, top, right and bottom of its ink and room.
    pub fn extent(&self) -> (i64, i64, i64, i64) {
        let Self { run, em, x, baseline } = self;
        (*x, baseline - run.top(*em), x + run.width(*em), baseline + run.depth(*em))
    }
}

impl Mark {
    /// The same, so far to the right and down.
    #[must_use]
    pub fn moved(self, dx: i64, dy: i64) -> Self {
        match self {
            Self::Text(text) => {
                Self::Text(Text { x: text.x + dx, baseline: text.baseline + dy, ..text })
            }
            Self::Shape(Path(segs), paint) => {
                let moved = segs.into_iter().map(|seg| match seg {
                    Seg::Move(x, y) => Seg::Move(x + dx, y + dy),
                    Seg::Line(x, y) => Seg::Line(x + dx, y + dy),
                    Seg::Close => Seg::Close,
                });
                Self::Shape(Path(moved.collect()), paint)
            }
        }
    }

    /// Left, top, right and bottom of what it covers.
    pub fn extent(&self) -> (i64, i64, i64, i64) {
        match self {
            Self::Text(text) => text.extent(),
            Self::Shape(path, paint) => {
                let half = match paint {
                    Paint::Fill(_) => 0,
                    Paint::Stroke { width, .. } => width / 2,
                };
                let fold = |(l, t, r, b): (i64, i64, i64, i64), (x, y): (i64, i64)| {
                    (l.min(x - half), t.min(y - half), r.max(x + half), b.max(y + half))
                };
                path.points().fold((i64::MAX, i64::MAX, i64::MIN, i64::MIN), fold)
            }
        }
    }
}

impl Sheet {
    /// The marks that leave the sheet.
    pub fn leaving(&self) -> impl Iterator<Item = &Mark> {
        self.marks.iter().filter(|mark| {
            let (left, top, right, bottom) = mark.extent();
            left < 0 || top < 0 || right > self.width || bottom > self.height
        })
    }
}
