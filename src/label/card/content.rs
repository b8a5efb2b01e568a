//! What a card says: sentences and numbers, finished.

use super::{cone::Cone, hatch::Hatch};
use crate::units::Volume;

/// A card of one drink.
#[derive(Clone, Debug)]
pub struct Card {
    /// Language of its texts, as BCP 47 writes it.
    pub lang: String,
    /// What whoever makes it must know of this order; empty for a drink as it comes.
    pub asked: Asked,
    /// The drink.
    pub title: String,
    /// The cup, the way of serving and the size.
    pub cup: String,
    /// What is different from the book, in the order of a sticker.
    pub changes: Vec<String>,
    /// The section of the cup.
    pub section: Section,
    /// That what is stirred does not stay in layers, where something is.
    pub stirred: Option<String>,
    /// Numbers of the work.
    pub figures: Vec<Row>,
    /// The work, in order; each is one numbered line.
    pub steps: Vec<String>,
    /// What the ingredients contain; set in bold.
    pub contains: Vec<String>,
    /// What may be contained, and what is on shared equipment.
    pub may_contain: Vec<String>,
    /// That it is hot enough to scald; set in bold, before other cautions.
    pub scalds: Vec<String>,
    /// Other cautions.
    pub cautions: Vec<String>,
    /// What the drink allows when a guest asks for another.
    pub allows: Option<String>,
    /// What it was worked from, and from when it holds.
    pub stamps: Vec<String>,
    /// Headings.
    pub headings: Headings,
}

/// What whoever makes a cup must know of the order that it is of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asked {
    /// What it is stamped with.
    pub stamps: Vec<String>,
    /// The declared allergies.
    pub allergy: Option<String>,
    /// What to beware of.
    pub notices: Vec<String>,
    /// What was written for the barista, cleaned.
    pub note: Option<String>,
}

impl Asked {
    /// What stands in a frame above everything else.
    pub(super) fn framed(&self) -> impl Iterator<Item = &String> {
        self.allergy.iter().chain(&self.stamps)
    }

    /// What stands under the name of the drink.
    pub(super) fn told(&self) -> impl Iterator<Item = &String> {
        self.notices.iter().chain(&self.note)
    }
}

/// Headings of the parts of a card.
#[derive(Clone, Debug)]
pub struct Headings {
    /// Of the section; its scale follows.
    pub section: String,
    /// Of the numbers.
    pub figures: String,
    /// Of the steps.
    pub steps: String,
    /// Of the allergens.
    pub allergens: String,
    /// Of the cautions.
    pub cautions: String,
}

/// A cup, cut open.
#[derive(Clone, Debug)]
pub struct Section {
    /// Its inside.
    pub cone: Cone,
    /// What is in it, from the floor upwards.
    pub layers: Vec<Layer>,
    /// What is said of the serving line, which stands where the layers end.
    pub fill: Caption,
    /// What is said of its edge.
    pub brim: Caption,
    /// What is on top of it and takes no room.
    pub on_top: Vec<Caption>,
    /// What stands beside it.
    pub beside: Vec<Caption>,
}

/// A layer of what is in a cup.
#[derive(Clone, Debug)]
pub struct Layer {
    /// How it is drawn.
    pub hatch: Hatch,
    /// Its volume.
    pub volume: Volume,
    /// What is said of it.
    pub label: Caption,
}

/// A number with what it is of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caption {
    /// The number with its unit; it may be empty.
    pub figure: String,
    /// What it is of.
    pub name: String,
}

/// Numbers that belong together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What they are of.
    pub name: String,
    /// The numbers.
    pub figures: Vec<Figure>,
}

/// A number of the work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// The number with its unit.
    pub value: String,
    /// What it says, and how far it may be off.
    pub name: String,
}

impl Section {
    /// Volume of everything in the cup.
    pub fn fill_volume(&self) -> Volume {
        self.layers.iter().map(|layer| layer.volume).sum()
    }

    /// Everything that it says, from the top.
    pub fn said(&self) -> Vec<String> {
        let Self { cone: _, layers, fill, brim, on_top, beside } = self;
        let labels = [brim].into_iter().chain(on_top).chain([fill]);
        let labels = labels.chain(layers.iter().rev().map(|layer| &layer.label)).chain(beside);
        labels.map(Caption::said).collect()
    }
}

impl Caption {
    /// The number and what it is of, as one text.
    pub fn said(&self) -> String {
        format!("{} {}", self.figure, self.name).trim().to_owned()
    }
}

impl Card {
    /// Everything that it says, a sentence each, from top to bottom.
    pub fn said(&self) -> Vec<String> {
        let mut all: Vec<String> = self.asked.framed().cloned().collect();
        all.extend([self.title.clone(), self.cup.clone()]);
        all.extend(self.changes.iter().chain(self.asked.told()).cloned());
        all.extend(self.section.said());
        all.extend(self.stirred.clone());
        for Row { name, figures } in &self.figures {
            let figures = figures.iter().map(|Figure { value, name }| format!("{value} {name}"));
            let figures: Vec<String> = figures.collect();
            all.push(format!("{name}: {}", figures.join(", ")));
        }
        let steps = self.steps.iter().enumerate();
        all.extend(steps.map(|(at, step)| format!("{}. {step}", at + 1)));
        for texts in [&self.contains, &self.may_contain, &self.scalds, &self.cautions] {
            all.extend(texts.iter().cloned());
        }
        all.extend(self.allows.iter().chain(&self.stamps).cloned());
        all
    }
}
