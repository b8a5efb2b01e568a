//! Label printers of a site, and how its stickers are laid out.

use super::Notes;
use crate::{book::types::Site, json::child, units::Length};

/// Complains about labels that no sticker fits on, and distances that letters are not made for.
pub(super) fn check(notes: &mut Notes<'_>, site: &Site, root: &str) {
    let printers = child(root, "printers");
    notes.once(&printers, site.printers.iter().map(|printer| &printer.id));
    for (at, printer) in site.printers.iter().enumerate() {
        let sides = [
            ("width_mm", printer.media.width_mm, 30, 210),
            ("height_mm", printer.media.height_mm, 20, 300),
        ];
        for (side, found, low, high) in sides {
            if !(low * 1_000..=high * 1_000).contains(&found.um()) {
                let here = format!("{printers}/{at}/media/{side}");
                notes.note(&here, found, format!("{low} to {high} mm"));
            }
        }
    }
    let read_at = site.stickers.read_at_mm;
    if !(Length::from_um(400_000)..=Length::from_um(1_000_000)).contains(&read_at) {
        let here = child(&child(root, "stickers"), "read_at_mm");
        notes.note(&here, read_at, "400 to 1000 mm, at arm's length");
    }
}
