//! Labels: what a printer says it has and takes, held to the size that the site's sheet names.

use ipp::value::{IppKeyword, IppValue};

use super::message::{Attributes, collection};
use crate::{book::Media, units::Length};

/// How far a size may be from the wanted one, in hundredths of a millimetre: drivers count in points,
/// and a point is 0.353 mm.
const NEAR: i32 = 35;

/// Sizes that a printer knows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct KnownMedia {
    /// What is in it now.
    ready: Vec<Known>,
    /// What may be put into it.
    known: Vec<Known>,
}

/// One size, or a range of sizes.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Known {
    /// Width and height, lowest and highest, in hundredths of a millimetre.
    width: [i32; 2],
    height: [i32; 2],
    /// Its name, where the printer knows it by name alone.
    name: Option<IppKeyword>,
}

/// Which labels to ask for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum MediaChoice {
    /// The printer says nothing of sizes, as queues without a driver do.
    Unsaid,
    /// These, as the job's `media` or `media-col`.
    These(IppValue),
    /// It has none of this size, but one of that.
    Wrong(Media),
}

impl KnownMedia {
    pub(super) fn of(told: Attributes<'_>) -> Self {
        let mut ready = in_columns(told, "media-col-ready");
        ready.extend(by_name(told, "media-ready"));
        let mut known = in_columns(told, "media-col-database");
        known.extend(told.all("media-size-supported").filter_map(size_of));
        known.extend(by_name(told, "media-supported"));
        known.extend(custom(told));
        Self { ready, known }
    }

    /// The labels of the wanted size: what lies in the printer counts, where it says so, and then what
    /// it takes.
    pub(super) fn choose(&self, wanted: Media) -> MediaChoice {
        let size = [wanted.width_mm, wanted.height_mm].map(hundredths);
        let first = self.ready.first().or_else(|| self.known.first());
        let Some(first) = first else { return MediaChoice::Unsaid };
        let fit = |one: &&Known| one.fits(size);
        if !self.ready.is_empty() && !self.ready.iter().any(|one| fit(&one)) {
            return MediaChoice::Wrong(first.lowest());
        }
        let of_size = self.known.iter().chain(&self.ready).filter(fit);
        let nearest = of_size.min_by_key(|one| (one.name.is_some(), one.off_by(size)));
        let chosen = nearest.and_then(|one| one.asked(size));
        chosen.map_or_else(|| MediaChoice::Wrong(first.lowest()), MediaChoice::These)
    }
}

impl Known {
    fn fits(&self, [width, height]: [i32; 2]) -> bool {
        let holds = |[low, high]: [i32; 2], side: i32| (low - NEAR..=high + NEAR).contains(&side);
        holds(self.width, width) && holds(self.height, height)
    }

    fn off_by(&self, size: [i32; 2]) -> u32 {
        let [width, height] = self.nearest(size);
        width.abs_diff(size[0]) + height.abs_diff(size[1])
    }

    /// The size of this range that is nearest.
    fn nearest(&self, [width, height]: [i32; 2]) -> [i32; 2] {
        let within = |[low, high]: [i32; 2], side: i32| side.clamp(low, high.max(low));
        [within(self.width, width), within(self.height, height)]
    }

    fn lowest(&self) -> Media {
        let length = |hundredths: i32| Length::from_um(i64::from(hundredths) * 10);
        Media { width_mm: length(self.width[0]), height_mm: length(self.height[0]) }
    }

    /// As a job asks for it.
    fn asked(&self, size: [i32; 2]) -> Option<IppValue> {
        if let Some(name) = &self.name {
            return Some(IppValue::Keyword(name.clone()));
        }
        let [width, height] = self.nearest(size).map(IppValue::Integer);
        let size = collection(vec![("x-dimension", width), ("y-dimension", height)])?;
        collection(vec![("media-size", size)])
    }
}

fn hundredths(length: Length) -> i32 {
    i32::try_from(length.um() / 10).unwrap_or(i32::MAX / 2)
}

/// The sizes of an attribute whose values are media collections.
fn in_columns(told: Attributes<'_>, name: &str) -> Vec<Known> {
    let columns = told.all(name).filter_map(IppValue::as_collection);
    columns.filter_map(|members| size_of(member(members, "media-size")?)).collect()
}

type Members = std::collections::BTreeMap<ipp::value::IppName, IppValue>;

fn member<'m>(members: &'m Members, name: &str) -> Option<&'m IppValue> {
    members.iter().find(|(one, _)| one.as_str() == name).map(|(_, value)| value)
}

fn size_of(value: &IppValue) -> Option<Known> {
    let members = value.as_collection()?;
    let side = |name| {
        let value = member(members, name)?;
        let range = value.as_range_of_integer().map(|(low, high)| [*low, *high]);
        range.or(value.as_integer().map(|side| [*side; 2]))
    };
    let (width, height) = (side("x-dimension")?, side("y-dimension")?);
    let is_sane = |[low, high]: [i32; 2]| (1..=10_000_000).contains(&low) && high <= 10_000_000;
    (is_sane(width) && is_sane(height)).then_some(Known { width, height, name: None })
}

/// Sizes by names that describe themselves, such as `om_label-58x40_58x40mm` (PWG 5101.1, section 5).
fn by_name(told: Attributes<'_>, attribute: &str) -> Vec<Known> {
    let names = told.words(attribute).filter(|name| !name.starts_with("custom_m"));
    let known = |name: &str| {
        let [width, height] = named_size(name)?;
        let name = Some(IppKeyword::new(name).ok()?);
        Some(Known { width: [width; 2], height: [height; 2], name })
    };
    names.filter_map(known).collect()
}

/// The range of sizes between `custom_min_…` and `custom_max_…`.
fn custom(told: Attributes<'_>) -> Option<Known> {
    let named = |start: &str| {
        let found = told.words("media-supported").find(|name| name.starts_with(start));
        named_size(found?)
    };
    let [low, high] = [named("custom_min_")?, named("custom_max_")?];
    Some(Known { width: [low[0], high[0]], height: [low[1], high[1]], name: None })
}

fn named_size(name: &str) -> Option<[i32; 2]> {
    let last = name.rsplit('_').next()?;
    // Hundredths of a millimetre in a thousandth of the unit, as a fraction.
    let (dimensions, by, over) = match last.strip_suffix("mm") {
        Some(dimensions) => (dimensions, 1, 10),
        None => (last.strip_suffix("in")?, 254, 100),
    };
    let side = |text: &str| {
        let (whole, part) = text.split_once('.').unwrap_or((text, ""));
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        if whole.is_empty() || whole.len() > 4 || !digits(whole) || !digits(part) {
            return None;
        }
        let part = format!("{part:0<3}");
        let thousandths: i64 = format!("{whole}{}", part.get(..3)?).parse().ok()?;
        i32::try_from((thousandths * by + over / 2) / over).ok().filter(|side| *side > 0)
    };
    let (width, height) = dimensions.split_once('x')?;
    Some([side(width)?, side(height)?])
}

#[cfg(test)]
mod tests {
    use super::{IppValue, Known, KnownMedia, Media, MediaChoice, named_size};
    use crate::units::Length;

    fn label(width_mm: f64, height_mm: f64) -> Media {
        Media { width_mm: Length::from_mm(width_mm), height_mm: Length::from_mm(height_mm) }
    }

    fn known(width: [i32; 2], height: [i32; 2]) -> Known {
        Known { width, height, name: None }
    }

    /// PWG 5101.1-2013, section 5 and its tables: names, and what they say in millimetres.
    #[test]
    fn sizes_are_read_off_names_that_describe_themselves() {
        assert_eq!(named_size("iso_a4_210x297mm"), Some([21_000, 29_700]));
        assert_eq!(named_size("na_letter_8.5x11in"), Some([21_590, 27_940]));
        assert_eq!(named_size("na_index-4x6_4x6in"), Some([10_160, 15_240]));
        assert_eq!(named_size("om_label-58x40_58x40mm"), Some([5_800, 4_000]));
        for odd in ["labels", "a_1x", "a_x1mm", "a_-1x2mm", "a_1e3x2mm", "a_0x2mm", "unknown"] {
            assert_eq!(named_size(odd), None, "{odd}");
        }
    }

    #[test]
    fn what_lies_in_the_printer_counts_first() {
        let mut media = KnownMedia::default();
        assert_eq!(media.choose(label(58.0, 40.0)), MediaChoice::Unsaid);
        media.known = vec![known([2_000, 6_200], [1_000, 100_000]), known([5_780; 2], [4_000; 2])];
        let MediaChoice::These(asked) = media.choose(label(58.0, 40.0)) else { panic!("it fits") };
        assert!(format!("{asked}").contains("5800"), "{asked}: the range has it exactly");
        media.ready = vec![known([6_200; 2], [10_000; 2])];
        assert_eq!(media.choose(label(58.0, 40.0)), MediaChoice::Wrong(label(62.0, 100.0)));
        media.ready = vec![known([5_786; 2], [4_022; 2])];
        assert!(matches!(media.choose(label(58.0, 40.0)), MediaChoice::These(_)), "in points");
        media.ready = Vec::new();
        assert_eq!(media.choose(label(63.0, 40.0)), MediaChoice::Wrong(label(20.0, 10.0)));
        let name = Some("om_label_50x30mm".to_owned().try_into().unwrap());
        media.known = vec![Known { width: [5_000; 2], height: [3_000; 2], name }];
        let MediaChoice::These(asked) = media.choose(label(50.0, 30.0)) else { panic!("it fits") };
        assert!(matches!(asked, IppValue::Keyword(_)), "{asked}");
    }
}
