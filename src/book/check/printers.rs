//! Label printers of a site, and how its stickers are laid out.

use super::Notes;
use crate::{
    book::types::{Site, StickerRules},
    json::child,
};

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
    let StickerRules { read_at_mm, held_at_mm, margin_mm, code: _ } = site.stickers;
    let rules = [
        ("read_at_mm", read_at_mm, 400, 1_000, "at arm's length"),
        ("held_at_mm", held_at_mm, 250, 600, "in the hand"),
        ("margin_mm", margin_mm, 0, 5, "at each edge"),
    ];
    for (field, found, low, high, what) in rules {
        if !(low * 1_000..=high * 1_000).contains(&found.um()) {
            let here = child(&child(root, "stickers"), field);
            notes.note(&here, found, format!("{low} to {high} mm, {what}"));
        }
    }
}
