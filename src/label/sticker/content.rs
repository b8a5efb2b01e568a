//! What a sticker says, as finished sentences.

use super::code::Code;

/// What the stickers of one cup say.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Content {
    /// The declared allergies, in words; stands first, in a frame.
    pub allergy: Option<String>,
    /// Where the declared allergies are read, for stickers of the cup on which they have no room.
    pub see_allergy: Option<String>,
    /// Words that say what kind of sticker it is, such as that it was printed before.
    pub stamps: Vec<String>,
    /// The drink by its name, and then by shorter ones.
    pub drink: Vec<String>,
    /// How a cup for declared allergies is made.
    pub procedure: Vec<String>,
    /// The cup.
    pub cup: String,
    /// What is different from the book, each by itself.
    pub changes: Vec<String>,
    /// What was noted.
    pub note: Option<String>,
    /// Whose it is: name, reference, which of how many, time.
    pub who: Vec<String>,
    /// Which of how many cups, for a sticker that is not the only one of its cup.
    pub which: Option<String>,
    /// That it is hot.
    pub hot: Option<String>,
    /// Sentences about allergens.
    pub allergens: Vec<Sentence>,
    /// The word before which of several stickers for one cup it is.
    pub part: String,
    /// The code, where there is one.
    pub code: Option<Code>,
    /// Language of all that.
    pub lang: String,
}

/// A sentence in small print.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sentence {
    /// The sentence.
    pub text: String,
    /// Whether it names what was declared, and so stands out.
    pub stressed: bool,
}

/// A place on a sticker, by what stands there, from top to bottom.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Zone {
    /// Declared allergies.
    Allergy,
    /// What kind of sticker it is.
    Stamp,
    /// The drink.
    Drink,
    /// The cup.
    Cup,
    /// How a cup for declared allergies is made.
    Procedure,
    /// What is different.
    Change,
    /// What was noted.
    Note,
    /// Whose it is.
    Who,
    /// That it is hot.
    Hot,
    /// Allergens in words.
    Allergens,
    /// The code.
    Code,
}

impl Zone {
    /// All of them, from top to bottom.
    pub const ALL: &[Self] = &[
        Self::Allergy,
        Self::Stamp,
        Self::Drink,
        Self::Cup,
        Self::Procedure,
        Self::Change,
        Self::Note,
        Self::Who,
        Self::Hot,
        Self::Allergens,
        Self::Code,
    ];

    /// As the contract writes it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Allergy => "allergy",
            Self::Stamp => "stamp",
            Self::Drink => "drink",
            Self::Cup => "cup",
            Self::Procedure => "procedure",
            Self::Change => "change",
            Self::Note => "note",
            Self::Who => "who",
            Self::Hot => "hot",
            Self::Allergens => "allergens",
            Self::Code => "code",
        }
    }
}

impl Content {
    /// Everything in one text, for whoever cannot see it.
    pub(super) fn spoken(&self) -> String {
        let Self { allergy, stamps, drink, procedure, cup, .. } = self;
        let Self { changes, note, who, hot, allergens, .. } = self;
        let who = (!who.is_empty()).then(|| who.join(" · "));
        let parts = allergy
            .iter()
            .chain(stamps)
            .chain(drink.first())
            .chain(std::iter::once(cup))
            .chain(procedure)
            .chain(changes)
            .chain(note)
            .chain(&who)
            .chain(hot)
            .chain(allergens.iter().map(|one| &one.text));
        let parts: Vec<&str> = parts.map(String::as_str).collect();
        parts.join(". ")
    }
}
