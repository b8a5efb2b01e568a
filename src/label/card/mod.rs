//! Build cards: one drink on a sheet, with a section of its cup that is to scale.
//!
//! What a card says comes as finished sentences and numbers; this module decides where they stand.

mod chart;
mod clip;
mod cone;
mod content;
mod hatch;
mod html;
mod leaders;
mod page;
mod para;
mod parts;
mod section;

pub use chart::{Chart, ChartCup, chart};
pub use cone::Cone;
pub use content::{Asked, Caption, Card, Figure, Headings, Layer, Row, Section};
pub use hatch::Hatch;
pub use html::html;
pub use page::{Drawn, Paper, drawn, stacked};
pub use section::{Ratio, SectionDrawn};
