//! Label printers of a site, and how its stickers are laid out.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::id::Id;
use crate::units::Length;

/// A label printer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Printer {
    /// Id within the site.
    pub id: Id,
    /// Label size.
    pub media: Media,
    /// Dots per inch.
    #[schema(minimum = 100, maximum = 1200)]
    pub dpi: u16,
    /// Where it takes jobs by the Internet Printing Protocol (RFC 8011), `ipp` or `ipps`; without
    /// it, stickers are laid out for it and not sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false, max_length = 256, pattern = "^ipps?://[^ @]+$")]
    pub uri: Option<String>,
    /// The station it stands at, by a name within the site: printers of one station stand in for each
    /// other before those of another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub station: Option<Id>,
}

/// How stickers are laid out at a site.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StickerRules {
    /// Distance from which the drink and what is different are read; letters grow with it.
    #[serde(default = "StickerRules::usual_distance")]
    pub read_at_mm: Length,
    /// Distance from which whose cup it is is read, in the hand.
    #[serde(default = "StickerRules::usual_in_hand")]
    pub held_at_mm: Length,
    /// White at each edge: what the printers may be off by.
    #[serde(default = "StickerRules::usual_margin")]
    pub margin_mm: Length,
    /// Whether each sticker has a 2-D code from which its build can be asked for again.
    #[serde(default)]
    pub code: bool,
}

impl StickerRules {
    const fn usual_distance() -> Length {
        Length::from_um(600_000)
    }

    const fn usual_in_hand() -> Length {
        Length::from_um(400_000)
    }

    const fn usual_margin() -> Length {
        Length::from_um(1_500)
    }

    /// Whether they are the usual ones, which sheets need not write.
    pub(super) fn is_usual(&self) -> bool {
        *self == Self::default()
    }
}

impl Default for StickerRules {
    fn default() -> Self {
        Self {
            read_at_mm: Self::usual_distance(),
            held_at_mm: Self::usual_in_hand(),
            margin_mm: Self::usual_margin(),
            code: false,
        }
    }
}

/// A label size.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Media {
    /// Width across the print head.
    pub width_mm: Length,
    /// Height.
    pub height_mm: Length,
}
