//! How far long work is.

use indicatif::{ProgressBar, ProgressStyle};

/// A bar on standard error, which hides by itself where nobody looks on.
pub(super) fn progress(steps: usize) -> ProgressBar {
    let bar = ProgressBar::new(u64::try_from(steps).unwrap_or(u64::MAX));
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len}, about {eta} left  {msg}");
    if let Ok(style) = style {
        bar.set_style(style);
    }
    bar
}
