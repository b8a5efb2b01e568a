//! A site's sheet: what one café has, and where it differs from the book.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

use super::{
    bench::{Jug, Vessel},
    cost::Costs,
    id::{Id, Lang, Words},
    printer::{Printer, StickerRules},
    usage::Usage,
};
use crate::units::{Flow, Mass, Pressure, Share, Volume};

/// One café.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Site {
    /// `drink-site/` and the version of this schema.
    #[schema(pattern = "^drink-site/0\\.1\\.[0-9]+$")]
    pub schema: String,
    /// Oldest contract that can read this document.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(pattern = "^[0-9]{1,9}\\.[0-9]{1,9}\\.[0-9]{1,9}$")]
    pub min_reader: Option<String>,
    /// Id, which tickets name.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// Region, by the book's region ids.
    pub region: Id,
    /// Languages spoken and printed here; the first is used when a ticket names none.
    #[schema(min_items = 1, max_items = 8)]
    pub languages: Vec<Lang>,
    /// IANA time zone.
    #[schema(max_length = 64)]
    pub time_zone: String,
    /// Opening hours in local time.
    #[serde(default)]
    pub opening_hours: Vec<Opening>,
    /// How drinks are served here when a ticket does not say.
    pub default_service: Service,
    /// Cups here; one that is not listed is not here.
    pub vessels: Vec<SiteVessel>,
    /// Jugs here.
    pub jugs: Vec<SiteJug>,
    /// Ingredients in stock, by id.
    pub stock: Vec<Id>,
    /// Baskets here.
    #[schema(min_items = 1)]
    pub baskets: Vec<Basket>,
    /// Groups of the machine.
    #[schema(minimum = 0, maximum = 12)]
    pub groups: u8,
    /// Steam wands.
    pub wands: Vec<Wand>,
    /// Grinders, with what is in them.
    pub grinders: Vec<Grinder>,
    /// Beans that are at hand in measured doses, without a grinder.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub pre_dosed: Vec<Id>,
    /// What fills the room when a customer wants less ice.
    #[serde(default, skip_serializing_if = "IcePolicy::is_fill")]
    pub ice_policy: IcePolicy,
    /// Steam at the wands.
    pub steam: Steam,
    /// Step to which the pour mark of cold milk is rounded.
    pub pour_mark_ml: Volume,
    /// Milk that stays in a jug after pouring.
    pub film_g: Mass,
    /// What the site pays; without it, nothing is said of costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub costs: Option<Costs>,
    /// Label printers; the first is used when nobody names one.
    #[serde(default)]
    pub printers: Vec<Printer>,
    /// How stickers are laid out here.
    #[serde(default, skip_serializing_if = "StickerRules::is_usual")]
    pub stickers: StickerRules,
    /// What this site does when an allergy is declared.
    pub allergy_route: AllergyRoute,
    /// Allergens, or groups of them, for which the equipment of the route `dedicated` is kept.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub dedicated_for: Vec<Id>,
    /// What is used here beside what goes into cups, and how long things keep.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usage: Option<Usage>,
    /// Fields of the book that this site replaces: a path by ids, and the value.
    #[serde(default)]
    #[schema(value_type = BTreeMap<String, Value>)]
    pub replace: BTreeMap<String, Value>,
}

/// A way of serving.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Service {
    /// In the house's cups.
    Here,
    /// In a cup to take away.
    Takeaway,
    /// In the customer's own cup.
    Own,
}

impl Service {
    /// As documents and tickets write it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Here => "here",
            Self::Takeaway => "takeaway",
            Self::Own => "own",
        }
    }
}

/// Opening hours on some days of the week.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// The days.
    #[schema(min_items = 1, max_items = 7)]
    pub days: Vec<Day>,
    /// Opens at, local time.
    #[schema(pattern = "^([01][0-9]|2[0-3]):[0-5][0-9]$")]
    pub from: String,
    /// Closes at, local time; earlier than `from` means after midnight.
    #[schema(pattern = "^([01][0-9]|2[0-3]):[0-5][0-9]$")]
    pub to: String,
}

/// A day of the week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Day {
    /// Monday.
    Mon,
    /// Tuesday.
    Tue,
    /// Wednesday.
    Wed,
    /// Thursday.
    Thu,
    /// Friday.
    Fri,
    /// Saturday.
    Sat,
    /// Sunday.
    Sun,
}

/// A cup at a site: one of the book's, or the site's own in place of one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SiteVessel {
    /// The book's vessel.
    pub id: Id,
    /// The site's own vessel that stands in for it; drinks keep their share of the serving line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaced_by: Option<Vessel>,
}

/// A jug at a site: one of the book's, or the site's own in place of one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SiteJug {
    /// The book's jug.
    pub id: Id,
    /// The site's own jug that stands in for it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaced_by: Option<Jug>,
}

/// A size of basket.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Basket {
    /// Halves that it gives.
    #[schema(minimum = 1, maximum = 2)]
    pub halves: u8,
    /// How many of them there are.
    #[schema(minimum = 1, maximum = 24)]
    pub count: u8,
}

/// A steam wand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Wand {
    /// Id within the site.
    pub id: Id,
    /// Steam that it gives, from one timed jug.
    pub steam_g_s: Flow,
    /// The only milks that it ever touches; empty for any.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub only: Vec<Id>,
    /// The cloth that it is wiped with, by a name within the site; wands of the same name share
    /// one, and so do all wands that name none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloth: Option<Id>,
}

/// A grinder.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Grinder {
    /// Id within the site.
    pub id: Id,
    /// Beans that it grinds, by the book's bean ids.
    pub beans: Vec<Id>,
}

/// Steam at the wands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Steam {
    /// Absolute pressure: what a gauge shows plus about 1 bar.
    pub pressure_bar_abs: Pressure,
    /// Share of the steam that is vapour when it reaches the milk.
    pub dryness: Share,
}

/// What fills the room when a customer wants less ice.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum IcePolicy {
    /// More of the drink, up to the same line.
    #[default]
    Fill,
    /// Nothing: the cup stays shorter by the ice.
    Short,
}

impl IcePolicy {
    /// Whether it is the usual one, which sheets need not write.
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde calls it so")]
    const fn is_fill(&self) -> bool {
        matches!(self, Self::Fill)
    }
}

/// What a site does when an allergy is declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum AllergyRoute {
    /// Refuse.
    None,
    /// Make it first, straight after a full clean.
    AfterFullClean,
    /// Make it with equipment that nothing else touches.
    Dedicated,
}
