//! The compiled index: a book as it holds at one site, ready for lines.

use std::{
    collections::{BTreeMap, HashSet},
    hash::Hash,
    sync::Arc,
};

use rustc_hash::{FxHashMap, FxHashSet};
use serde_json::Value;

use super::{
    allergen_set::{AllergenSet, Brings},
    document::{BookDocument, SiteDocument, book_schema},
    equipment::Equipment,
    layers::{Layer, Provenance, Replacements, replaced},
    lexicon::Lexicon,
    overlay::Overlay,
    types::{
        Allergen, AllergenTable, Bean, Book, Drink, Extraction, Id, Ingredient, Jug, Material,
        Modifier, Region, Season, Service, Site, SiteJug, Size, Texture, Vessel,
    },
};
use crate::{
    json::{Complaint, Complaints, Digest},
    units::Volume,
};

/// A cup as it stands at the site.
#[derive(Clone, Copy, Debug)]
pub struct CupHere<'a> {
    /// The vessel that the drink is served in.
    pub vessel: &'a Vessel,
    /// The book's vessel that it stands in for; the same vessel where nothing was replaced.
    pub of_book: &'a Vessel,
}

/// A jug as it stands at the site.
#[derive(Clone, Debug)]
pub struct JugHere {
    /// The jug.
    pub jug: Jug,
    /// Its material.
    pub material: Material,
}

/// A bar: the book as it holds at one site, with everything found by id.
#[derive(Debug)]
pub struct Bar {
    /// The book with all layers resolved.
    pub book: Arc<Book>,
    /// The site's sheet.
    pub site: Arc<Site>,
    /// Digest of the book as written.
    pub book_digest: Digest,
    /// Digest of the overlay in force, if there is one.
    pub overlay_digest: Option<Digest>,
    /// Digest of the site's sheet.
    pub site_digest: Digest,
    /// Which layer each replaced field came from.
    pub from: Provenance,
    /// Jugs of the site, the smallest first.
    pub jugs: Vec<JugHere>,
    vessels: FxHashMap<Id, Option<Vessel>>,
    stock: FxHashSet<Id>,
    recalled: HashSet<Id>,
    brings: Arc<[Brings]>,
    equipment: Equipment,
    lexicon: Arc<Lexicon>,
    at: Arc<Positions>,
}

/// Where each id stands in the book's lists.
#[derive(Debug, Default)]
struct Positions {
    allergens: FxHashMap<Id, usize>,
    ingredients: FxHashMap<Id, usize>,
    beans: FxHashMap<Id, usize>,
    drinks: FxHashMap<Id, usize>,
    extractions: FxHashMap<Id, usize>,
    materials: FxHashMap<Id, usize>,
    modifiers: FxHashMap<Id, usize>,
    sizes: FxHashMap<Id, usize>,
    textures: FxHashMap<Id, usize>,
    vessels: FxHashMap<Id, usize>,
    /// Drinks that have a season.
    seasonal: Vec<usize>,
}

/// Each element's key with its position.
fn positions<T, K: Hash + Eq + Clone>(list: &[T], key: impl Fn(&T) -> &K) -> FxHashMap<K, usize> {
    list.iter().enumerate().map(|(at, element)| (key(element).clone(), at)).collect()
}

impl Positions {
    fn of(book: &Book) -> Self {
        Self {
            allergens: positions(&book.allergens, |one| &one.id),
            ingredients: positions(&book.ingredients, |one| &one.id),
            beans: positions(&book.beans, |one| &one.id),
            drinks: positions(&book.drinks, |one| &one.id),
            extractions: positions(&book.extractions, |one| &one.id),
            materials: positions(&book.materials, |one| &one.id),
            modifiers: positions(&book.modifiers, Modifier::id),
            sizes: positions(&book.sizes, |one| &one.id),
            textures: positions(&book.textures, |one| &one.id),
            vessels: positions(&book.vessels, |one| &one.id),
            seasonal: (0..book.drinks.len())
                .filter(|at| book.drinks[*at].season.is_some())
                .collect(),
        }
    }
}

impl Bar {
    /// Resolves `document` for `site` and compiles it.
    ///
    /// * `wave`: replacements of the rollout wave that the site is in.
    /// * `overlay`: the recall overlay in force, with its digest.
    /// * Errors: every complaint about the replacements and about the book as they make it.
    pub fn compile(
        document: &BookDocument,
        site: &SiteDocument,
        wave: Option<&BTreeMap<String, Value>>,
        overlay: Option<(&Overlay, Digest)>,
    ) -> Result<Self, Complaints> {
        let (book, mut from) = resolved(document, site, wave)?;
        let (book, recalled) = match overlay {
            Some((overlay, _)) => {
                let mut own = Book::clone(&book);
                let recalled = overlay.apply(&mut own, &mut from);
                (Arc::new(own), recalled)
            }
            None => (book, HashSet::new()),
        };
        for one in site.site.vessels.iter().filter(|one| one.replaced_by.is_some()) {
            from.note(format!("/vessels/{}", one.id), Layer::Site);
        }
        for one in site.site.jugs.iter().filter(|one| one.replaced_by.is_some()) {
            from.note(format!("/jugs/{}", one.id), Layer::Site);
        }
        let at = Positions::of(&book);
        let sheet = Arc::clone(&site.site);
        let (jugs, vessels) = (jugs_of(&book, &sheet, &at), vessels_of(&sheet));
        let region = book.regions.iter().find(|region| region.id == sheet.region);
        let brings =
            Brings::of_all(&book, region.and_then(|region| region.allergen_table.as_ref()));
        let equipment = Equipment::of(&book, &sheet, &brings);
        let lexicon = Lexicon::of(&book);
        Ok(Self {
            stock: sheet.stock.iter().cloned().collect(),
            book_digest: document.digest,
            overlay_digest: overlay.map(|(_, digest)| digest),
            site_digest: site.digest,
            site: sheet,
            book,
            from,
            jugs,
            vessels,
            recalled,
            brings: brings.into(),
            equipment,
            lexicon: Arc::new(lexicon),
            at: Arc::new(at),
        })
    }

    /// The same bar with another sheet, to try what a change of its equipment would come to.
    ///
    /// The book stays as it is resolved here: what the sheet says of its region and of fields that
    /// it replaces is not looked at, and the digests stay those of this bar.
    #[must_use]
    pub fn equipped(&self, sheet: Site) -> Self {
        Self {
            stock: sheet.stock.iter().cloned().collect(),
            equipment: Equipment::of(&self.book, &sheet, &self.brings),
            jugs: jugs_of(&self.book, &sheet, &self.at),
            vessels: vessels_of(&sheet),
            site: Arc::new(sheet),
            book: Arc::clone(&self.book),
            book_digest: self.book_digest,
            overlay_digest: self.overlay_digest,
            site_digest: self.site_digest,
            from: self.from.clone(),
            recalled: self.recalled.clone(),
            brings: Arc::clone(&self.brings),
            lexicon: Arc::clone(&self.lexicon),
            at: Arc::clone(&self.at),
        }
    }

    /// Drinks that are offered on some days of the year only, each with those days.
    pub fn seasonal(&self) -> impl Iterator<Item = (&Drink, Season)> {
        let drinks = self.at.seasonal.iter().filter_map(|at| self.book.drinks.get(*at));
        drinks.filter_map(|drink| Some((drink, drink.season?)))
    }

    /// The drink with this id.
    pub fn drink(&self, id: &str) -> Option<&Drink> {
        self.at.drinks.get(id).map(|at| &self.book.drinks[*at])
    }

    /// The drink's position in the book.
    pub fn drink_position(&self, id: &str) -> Option<usize> {
        self.at.drinks.get(id).copied()
    }

    /// The ingredient with this id.
    pub fn ingredient(&self, id: &str) -> Option<&Ingredient> {
        self.at.ingredients.get(id).map(|at| &self.book.ingredients[*at])
    }

    /// The bean with this id.
    pub fn bean(&self, id: &str) -> Option<&Bean> {
        self.at.beans.get(id).map(|at| &self.book.beans[*at])
    }

    /// The extraction style with this id.
    pub fn extraction(&self, id: &str) -> Option<&Extraction> {
        self.at.extractions.get(id).map(|at| &self.book.extractions[*at])
    }

    /// The material with this id.
    pub fn material(&self, id: &str) -> Option<&Material> {
        self.at.materials.get(id).map(|at| &self.book.materials[*at])
    }

    /// The modifier with this id, and its position in the book.
    pub fn modifier(&self, id: &str) -> Option<(usize, &Modifier)> {
        self.at.modifiers.get(id).map(|at| (*at, &self.book.modifiers[*at]))
    }

    /// The size with this id.
    pub fn size(&self, id: &str) -> Option<&Size> {
        self.at.sizes.get(id).map(|at| &self.book.sizes[*at])
    }

    /// The texture with this id.
    pub fn texture(&self, id: &str) -> Option<&Texture> {
        self.at.textures.get(id).map(|at| &self.book.textures[*at])
    }

    /// The allergen with this id.
    pub fn allergen(&self, id: &str) -> Option<&Allergen> {
        self.at.allergens.get(id).map(|at| &self.book.allergens[*at])
    }

    /// The book's vessel `id` as it stands here, if the site has it.
    pub fn cup_here(&self, id: &str) -> Option<CupHere<'_>> {
        let own = self.vessels.get(id)?;
        let of_book = self.at.vessels.get(id).map(|at| &self.book.vessels[*at])?;
        Some(CupHere { vessel: own.as_ref().unwrap_or(of_book), of_book })
    }

    /// What a customer's own cup holds when it is just the one that stands for its size.
    pub fn usual_capacity(&self, service: Service, vessel: &str) -> Option<Volume> {
        let own = (service == Service::Own).then(|| self.cup_here(vessel)).flatten();
        own.map(|cup| cup.vessel.brim_ml)
    }

    /// The book's vessel with this id, whether the site has it or not.
    pub fn vessel_of_book(&self, id: &str) -> Option<&Vessel> {
        self.at.vessels.get(id).map(|at| &self.book.vessels[*at])
    }

    /// What the ingredient brings with it.
    pub fn brings(&self, ingredient: &str) -> Brings {
        self.at.ingredients.get(ingredient).map_or_else(Brings::default, |at| self.brings[*at])
    }

    /// The allergens of `ids`, and whatever those cover.
    pub fn covered(&self, ids: &[&Id]) -> AllergenSet {
        AllergenSet::covered(&self.book, ids)
    }

    /// The site's region.
    pub fn region(&self) -> Option<&Region> {
        self.book.regions.iter().find(|region| region.id == self.site.region)
    }

    /// The allergens that must be declared in the site's region, if the book says.
    pub fn allergen_table(&self) -> Option<&AllergenTable> {
        self.region().and_then(|region| region.allergen_table.as_ref())
    }

    /// Groups that cover any of these allergens: a record that names one of them may mean it.
    pub fn groups_of(&self, allergens: AllergenSet) -> AllergenSet {
        AllergenSet::covering(&self.book, allergens)
    }

    /// What meets the equipment that cups share at this site.
    pub fn equipment(&self) -> &Equipment {
        &self.equipment
    }

    /// The words of notes that mean a field.
    pub fn lexicon(&self) -> &Lexicon {
        &self.lexicon
    }

    /// Whether the ingredient is `wanted`, or has it among what it is made of.
    pub fn holds(&self, ingredient: &str, wanted: &str) -> bool {
        let mut seen: Vec<&str> = vec![ingredient];
        let mut at = 0;
        while let Some(id) = seen.get(at).copied() {
            if id == wanted {
                return true;
            }
            let made_of = self.ingredient(id).map_or(&[][..], |one| &one.made_of);
            for part in made_of.iter().filter(|part| !seen.contains(&&***part)).collect::<Vec<_>>()
            {
                seen.push(part);
            }
            at += 1;
        }
        false
    }

    /// Whether the site stocks the ingredient.
    pub fn stocks(&self, ingredient: &str) -> bool {
        self.stock.contains(ingredient)
    }

    /// Whether the ingredient is recalled.
    pub fn is_recalled(&self, ingredient: &str) -> bool {
        self.recalled.contains(ingredient)
    }

    /// Every drink id, in the order of the book.
    pub fn drink_ids(&self) -> impl Iterator<Item = &Id> {
        self.book.drinks.iter().map(|drink| &drink.id)
    }
}

/// The jugs of a sheet, the smallest first.
fn jugs_of(book: &Book, sheet: &Site, at: &Positions) -> Vec<JugHere> {
    let here = |one: &SiteJug| {
        let of_book = || book.jugs.iter().find(|jug| jug.id == one.id).cloned();
        let jug = one.replaced_by.clone().or_else(of_book)?;
        let material = at.materials.get(&jug.material).map(|at| &book.materials[*at])?;
        Some(JugHere { material: material.clone(), jug })
    };
    let mut jugs: Vec<JugHere> = sheet.jugs.iter().filter_map(here).collect();
    jugs.sort_by(|a, b| (a.jug.brim_ml, &a.jug.id).cmp(&(b.jug.brim_ml, &b.jug.id)));
    jugs
}

/// The cups of a sheet: the book's own, or the site's that stands in for it.
fn vessels_of(sheet: &Site) -> FxHashMap<Id, Option<Vessel>> {
    sheet.vessels.iter().map(|one| (one.id.clone(), one.replaced_by.clone())).collect()
}

/// The book as wave, region and site make it; shared with the document where nothing is replaced.
fn resolved(
    document: &BookDocument,
    site: &SiteDocument,
    wave: Option<&BTreeMap<String, Value>>,
) -> Result<(Arc<Book>, Provenance), Complaints> {
    let book = &document.book;
    let found = book.regions.iter().enumerate().find(|(_, one)| one.id == site.site.region);
    let region = found.map(|(at, region)| (format!("/regions/{at}/replace"), region));
    let mut layers = Vec::new();
    if let Some(replace) = wave {
        let (layer, document) = (Layer::Wave, ("the wave", ""));
        layers.push(Replacements { layer, replace, allowed: None, document, pointer: "" });
    }
    if let Some((pointer, region)) = &region {
        let allowed = Some(book.region_may_replace.as_slice());
        let replace = &region.replace;
        let (layer, document) = (Layer::Region, (&*document.name, &*document.text));
        layers.push(Replacements { layer, replace, allowed, document, pointer });
    }
    let allowed = Some(book.site_may_replace.as_slice());
    let replace = &site.site.replace;
    let pointer = format!("{}/replace", site.root);
    let own = (&*site.name, &*site.text);
    layers.push(Replacements {
        layer: Layer::Site,
        replace,
        allowed,
        document: own,
        pointer: &pointer,
    });
    if layers.iter().all(|layer| layer.replace.is_empty()) {
        return Ok((Arc::clone(book), Provenance::default()));
    }
    let (value, from) = replaced(&document.value, &layers)?;
    let named = format!("{} as it holds at {}", document.name, site.site.id);
    let fail = |all: Vec<Complaint>| Complaints { document: named.clone(), all };
    let faults = book_schema().complaints(&value);
    if !faults.is_empty() {
        return Err(fail(faults));
    }
    let own: Book = serde_json::from_value(value).map_err(|fault| {
        fail(vec![Complaint::at("", fault.to_string(), "the published schema")])
    })?;
    let complaints = super::check_book(&own);
    if complaints.is_empty() { Ok((Arc::new(own), from)) } else { Err(fail(complaints)) }
}
