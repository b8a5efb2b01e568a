//! What a printer can do: the forms it takes, the resolution of its raster, how it makes jobs.

use ipp::{model::Operation, value::IppValue};

use super::{
    form::{Dots, Form},
    media::{KnownMedia, MediaChoice},
    message::{Attributes, number},
    trouble::Trouble,
};
use crate::book::Media;

/// What a printer says that it can do.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Capabilities {
    formats: Vec<String>,
    /// Resolutions of raster that are the same both ways, in dots per inch.
    raster_dpi: Vec<u16>,
    raster_types: Vec<String>,
    media: KnownMedia,
    /// Whether a job can be made before its document is sent.
    pub(super) makes_jobs_first: bool,
    /// Whether it lists jobs.
    pub(super) lists_jobs: bool,
}

impl Capabilities {
    pub(super) const WANTED: [&'static str; 10] = [
        "document-format-supported",
        "pwg-raster-document-resolution-supported",
        "pwg-raster-document-type-supported",
        "operations-supported",
        "media-col-database",
        "media-size-supported",
        "media-supported",
        "media-col-ready",
        "media-ready",
        "media-col-supported",
    ];

    pub(super) fn of(told: Attributes<'_>) -> Self {
        let words = |name| told.words(name).map(str::to_owned).collect();
        let operations: Vec<i32> = told.all("operations-supported").filter_map(number).collect();
        let has = |operation: Operation| operations.contains(&(operation as i32));
        Self {
            formats: words("document-format-supported"),
            raster_dpi: told
                .all("pwg-raster-document-resolution-supported")
                .filter_map(square_dpi)
                .collect(),
            raster_types: words("pwg-raster-document-type-supported"),
            media: KnownMedia::of(told),
            makes_jobs_first: has(Operation::CreateJob) && has(Operation::SendDocument),
            lists_jobs: has(Operation::GetJobs),
        }
    }

    /// The form to send: PWG raster, else PDF, else PNG.
    ///
    /// * `dpi`: of the site's sheet, for which it is laid out: a raster has this resolution.
    /// * Errors: it takes none of them, or a raster of another resolution alone.
    pub(super) fn form(&self, dpi: u16) -> Result<Form, Trouble> {
        let takes = |form: Form| self.formats.iter().any(|one| one == form.mime());
        let nearest = self.raster_dpi.iter().copied().min_by_key(|one| one.abs_diff(dpi));
        let has = |name: &str| self.raster_types.iter().any(|one| one == name);
        let dots = match () {
            () if has("black_1") => Some(Dots::Black),
            () if has("sgray_8") => Some(Dots::Grey),
            () => None,
        };
        let raster = nearest.zip(dots).map(|(dpi, dots)| Form::PwgRaster { dpi, dots });
        let raster = raster.filter(|raster| takes(*raster));
        // 118 dots per centimetre are 299.7 to the inch.
        let exact = nearest.is_some_and(|one| one.abs_diff(dpi) <= 1);
        let forms = [raster.filter(|_| exact), Some(Form::Pdf), Some(Form::Png { dpi })];
        let found = forms.into_iter().flatten().find(|form| takes(*form));
        found.ok_or_else(|| {
            let other = raster.and(nearest);
            other.map_or(Trouble::NoForm, |found| Trouble::WrongDpi { wanted: dpi, found })
        })
    }

    /// The labels of the wanted size.
    pub(super) fn media(&self, wanted: Media) -> MediaChoice {
        self.media.choose(wanted)
    }
}

/// Dots per inch of a resolution that is the same both ways and that a label may have.
fn square_dpi(value: &IppValue) -> Option<u16> {
    // RFC 8011, section 5.1.16: 3 is dots per inch, 4 dots per centimetre.
    let (across, along, units) = value.as_resolution()?;
    let dpi = match units {
        3 => i64::from(*across),
        4 => i64::from(*across) * 254 / 100,
        _ => return None,
    };
    let dpi = u16::try_from(dpi).ok().filter(|dpi| (100..=1_200).contains(dpi));
    dpi.filter(|_| across == along)
}

#[cfg(test)]
mod tests {
    use super::{Capabilities, Dots, Form, KnownMedia, Trouble};

    fn printer(formats: &[&str], dpi: &[u16], types: &[&str]) -> Capabilities {
        let owned = |all: &[&str]| all.iter().map(|one| (*one).to_owned()).collect();
        Capabilities {
            formats: owned(formats),
            raster_dpi: dpi.to_vec(),
            raster_types: owned(types),
            media: KnownMedia::default(),
            makes_jobs_first: true,
            lists_jobs: true,
        }
    }

    #[test]
    fn raster_goes_before_pdf_and_pdf_before_png() {
        let all = ["image/png", "application/pdf", "image/pwg-raster"];
        let raster = |dpi, dots| Ok(Form::PwgRaster { dpi, dots });
        let of =
            |formats: &[&str], dpi: &[u16], types: &[&str]| printer(formats, dpi, types).form(203);
        assert_eq!(of(&all, &[300, 203], &["sgray_8", "black_1"]), raster(203, Dots::Black));
        assert_eq!(of(&all, &[204, 600], &["sgray_8", "srgb_8"]), raster(204, Dots::Grey));
        assert_eq!(of(&all, &[300, 600], &["black_1"]), Ok(Form::Pdf), "it is laid out for 203");
        let other = Trouble::WrongDpi { wanted: 203, found: 300 };
        assert_eq!(of(&all[2..], &[300, 600], &["black_1"]), Err(other));
        assert_eq!(of(&all, &[203], &["srgb_8"]), Ok(Form::Pdf), "colour is not what is drawn");
        assert_eq!(of(&all, &[], &["black_1"]), Ok(Form::Pdf), "no resolution is told");
        assert_eq!(of(&all[..1], &[203], &["black_1"]), Ok(Form::Png { dpi: 203 }));
        assert_eq!(of(&["image/urf"], &[203], &["black_1"]), Err(Trouble::NoForm));
    }
}
