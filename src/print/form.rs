//! Forms in which a printer may take a document.

/// A form of a document.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// PWG raster (PWG 5102.4) of so many dots per inch.
    PwgRaster {
        /// Dots per inch, both ways.
        dpi: u16,
        /// What a dot is.
        dots: Dots,
    },
    /// PDF.
    Pdf,
    /// PNG of so many dots per inch.
    Png {
        /// Dots per inch, both ways.
        dpi: u16,
    },
}

/// What a dot of a raster is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dots {
    /// One bit, black if set (`black_1`).
    Black,
    /// A byte, from black to white (`sgray_8`).
    Grey,
}

impl Form {
    /// Its media type, as printers list it.
    pub const fn mime(self) -> &'static str {
        match self {
            Self::PwgRaster { .. } => "image/pwg-raster",
            Self::Pdf => "application/pdf",
            Self::Png { .. } => "image/png",
        }
    }
}

/// What is printed: made in the form that the printer takes, when its turn comes.
pub trait Document: Send {
    /// The document's bytes in a form.
    ///
    /// * Errors: why it cannot be made in it, with nobody's words.
    fn in_form(&self, form: Form) -> Result<Vec<u8>, String>;
}
