//! The document types of a book and of a site's sheet, as they are written.
//!
//! The JSON Schemas of both documents are made from these types; every number names its unit.

mod allergen_table;
mod bench;
mod book;
mod caffeine;
mod caution;
mod cost;
mod drink;
mod effect;
mod example;
mod extraction;
mod id;
mod ingredient;
mod modifier;
mod nutrition;
mod part;
mod printer;
mod season;
mod shot_check;
mod site;
mod usage;

pub use allergen_table::{AllergenGroup, AllergenRow, AllergenTable};
pub use bench::{Jug, Material, ServiceRow, Size, Texture, Vessel};
pub use book::{Allergen, Bean, Book, Named, NoteWords, Region};
pub use caffeine::{
    BeanCaffeine, CaffeineBook, CaffeineGuide, CurvePoint, IngredientCaffeine, Milligrams,
};
pub use caution::{Caution, CautionWhen};
pub use cost::{Costs, Purchase};
pub use drink::{Cup, Drink, Envelope, Remainder};
pub use effect::{Addition, AppliesTo, Effect, Exclusion};
pub use example::{
    Example, ExampleLine, ExampleModifier, ExampleValue, Expected, Near, VerdictName,
};
pub use extraction::{Extraction, ExtractionRow, Seconds};
pub use id::{Id, Lang, Words};
pub use ingredient::{Composition, HotDensity, Ingredient, IngredientKind, Steaming};
pub use modifier::{
    Anchor, CountLimit, CounterModifier, FlagModifier, Modifier, Otherwise, OtherwiseVerdict,
    Phase, SlotModifier, SlotValue,
};
pub use nutrition::{Energy, Nutrient, Nutrition, NutritionRule, RoundingRow};
pub use part::{
    Amount, BrewPart, CoffeePart, Foam, IcePart, IngredientPart, MilkPart, Part, PastePart,
    SetPoint, Stage, SteepPart, SteepStage, WaterPart,
};
pub use printer::{Media, Printer, StickerRules};
pub use season::{MonthDay, Season};
pub use shot_check::ShotCheck;
pub use site::{
    AllergyRoute, Basket, Day, Grinder, IcePolicy, Opening, Service, Site, SiteJug, SiteVessel,
    Steam, Wand,
};
pub use usage::Usage;
