//! The book: everything a roaster lays down, in one document.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

use super::{
    allergen_table::AllergenTable,
    bench::{Jug, Material, ServiceRow, Size, Texture, Vessel},
    caffeine::{BeanCaffeine, CaffeineBook},
    caution::Caution,
    drink::Drink,
    example::{Example, ExampleModifier},
    extraction::Extraction,
    id::{Id, Lang, Words},
    ingredient::Ingredient,
    modifier::Modifier,
    nutrition::NutritionRule,
    site::Site,
};
use crate::units::Temperature;

/// A roaster's drink standards.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Book {
    /// `drink-book/` and the version of this schema.
    #[schema(pattern = "^drink-book/0\\.1\\.[0-9]+$")]
    pub schema: String,
    /// Oldest contract that can read this document.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(pattern = "^[0-9]{1,9}\\.[0-9]{1,9}\\.[0-9]{1,9}$")]
    pub min_reader: Option<String>,
    /// Id of the book, the same in all its versions.
    pub id: Id,
    /// Version (Semantic Versioning).
    #[schema(pattern = "^[0-9]{1,9}\\.[0-9]{1,9}\\.[0-9]{1,9}$")]
    pub version: String,
    /// Name in each language.
    pub names: Words,
    /// Languages in which every text of the book stands.
    #[schema(min_items = 1, max_items = 8)]
    pub languages: Vec<Lang>,
    /// Currency of the prices (ISO 4217).
    #[schema(pattern = "^[A-Z]{3}$")]
    pub currency: String,
    /// Decimal places in which prices are shown.
    #[schema(minimum = 0, maximum = 3)]
    pub currency_places: u8,
    /// Temperature above which a drink is handed over with the caution that it is hot.
    pub caution_hot_above_c: Temperature,
    /// Allergens that ingredients may name, and groups of them that people declare.
    #[schema(max_items = 128)]
    pub allergens: Vec<Allergen>,
    /// Diets that ingredients may suit.
    pub diets: Vec<Named>,
    /// Ways of serving.
    pub services: Vec<ServiceRow>,
    /// Sizes, from the smallest.
    #[schema(min_items = 1, max_items = 16)]
    pub sizes: Vec<Size>,
    /// Materials of cups and jugs.
    pub materials: Vec<Material>,
    /// Milk textures.
    pub textures: Vec<Texture>,
    /// Ingredients.
    #[schema(max_items = 5000)]
    pub ingredients: Vec<Ingredient>,
    /// Beans.
    pub beans: Vec<Bean>,
    /// Pulls; the first is the usual one, which steps do not name.
    pub pulls: Vec<Named>,
    /// Caffeine in coffee; without it, builds say nothing of caffeine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caffeine: Option<CaffeineBook>,
    /// Extraction styles.
    pub extractions: Vec<Extraction>,
    /// Cups.
    pub vessels: Vec<Vessel>,
    /// Jugs.
    pub jugs: Vec<Jug>,
    /// Drinks.
    #[schema(max_items = 5000)]
    pub drinks: Vec<Drink>,
    /// Modifiers, in the order in which lists show them.
    #[schema(max_items = 500)]
    pub modifiers: Vec<Modifier>,
    /// Regions.
    #[schema(min_items = 1, max_items = 64)]
    pub regions: Vec<Region>,
    /// Paths of fields that a region may replace; `*` stands for any one id.
    #[serde(default)]
    pub region_may_replace: Vec<String>,
    /// Paths of fields that a site may replace; `*` stands for any one id.
    #[serde(default)]
    pub site_may_replace: Vec<String>,
    /// Words that stand for an allergy, a diet or a modifier when they are found in a note; the
    /// names of all these are such words without being listed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 500)]
    pub note_words: Vec<NoteWords>,
    /// Cautions, in the order in which they are said.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 200)]
    pub cautions: Vec<Caution>,
    /// Sentences of steps and verdicts in further languages, or worded otherwise.
    #[serde(default)]
    pub phrases: BTreeMap<Lang, BTreeMap<String, String>>,
    /// The roaster's own bar, which has everything; worked examples are made there.
    pub training_bar: Site,
    /// Worked examples.
    #[serde(default)]
    pub examples: Vec<Example>,
}

/// A thing with an id and a name.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Named {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
}

/// An allergen, or a group of allergens by which people declare an allergy.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Allergen {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// The allergens that this one stands for, as tree nuts stand for each nut.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub covers: Vec<Id>,
}

/// Words of a note that mean a field: an allergy, a diet, or a modifier; give exactly one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NoteWords {
    /// The words, in each language; a phrase of several words must stand whole.
    pub words: BTreeMap<Lang, Vec<String>>,
    /// The allergen, or the ingredient, that they declare an allergy to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allergy: Option<Id>,
    /// The diet that they declare.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub diet: Option<Id>,
    /// The modifier that they ask for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub modifier: Option<ExampleModifier>,
}

/// A bean.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Bean {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// The roasted coffee, by ingredient id.
    pub ingredient: Id,
    /// Whether it is decaffeinated.
    pub decaf: bool,
    /// Its caffeine; a mixture without any of its own has half of each of its two beans. Decaf has
    /// some too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caffeine: Option<BeanCaffeine>,
    /// The two beans of which it is half and half. Where no grinder holds the mixture itself, each
    /// gives half of the halves.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 2)]
    pub half_of: Vec<Id>,
}

/// A region: where names, cups or prices differ.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Region {
    /// Id.
    pub id: Id,
    /// Name in each language.
    pub names: Words,
    /// How energy is worked out and figures are rounded here; without it, builds say nothing of
    /// nutrition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub nutrition_rule: Option<NutritionRule>,
    /// Fields of the book that this region replaces: a path by ids, and the value.
    #[serde(default)]
    #[schema(value_type = BTreeMap<String, Value>)]
    pub replace: BTreeMap<String, Value>,
    /// The allergens that must be declared here, by which names; without it, answers use the book's
    /// names, and none is said to be required or not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allergen_table: Option<AllergenTable>,
}
