//! What a printer or a job says is the matter: keywords of RFC 8011 and of the PWG's registry, as
//! few as a person at the bar has to know apart.

/// Something that is the matter with a printer or a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// The cover is open.
    CoverOpen,
    /// There are no labels in it.
    MediaEmpty,
    /// Labels are jammed.
    MediaJam,
    /// Other labels are wanted.
    MediaNeeded,
    /// Ribbon, ink or toner is used up.
    SupplyEmpty,
    /// A tray or the roll holder is missing.
    TrayMissing,
    /// The output is full.
    OutputFull,
    /// It is too hot or too cold.
    Temperature,
    /// It was paused or shut down.
    Paused,
    /// It does not answer whoever stands in front of it.
    NoConnection,
    /// The job waits to be let go on.
    Held,
    /// The job was not to be made out.
    Unreadable,
    /// Something else.
    Other,
}

/// Keyword and what it stands for (RFC 8011, sections 5.3.8 and 5.4.12, and the IANA registry of IPP).
const KNOWN: [(&str, Reason); 38] = [
    ("cover-open", Reason::CoverOpen),
    ("door-open", Reason::CoverOpen),
    ("interlock-open", Reason::CoverOpen),
    ("input-tray-missing", Reason::TrayMissing),
    ("output-tray-missing", Reason::TrayMissing),
    ("media-empty", Reason::MediaEmpty),
    ("media-jam", Reason::MediaJam),
    ("media-needed", Reason::MediaNeeded),
    ("marker-supply-empty", Reason::SupplyEmpty),
    ("toner-empty", Reason::SupplyEmpty),
    ("marker-supply-missing", Reason::SupplyEmpty),
    ("marker-waste-full", Reason::SupplyEmpty),
    ("output-area-full", Reason::OutputFull),
    ("spool-area-full", Reason::OutputFull),
    ("fuser-over-temp", Reason::Temperature),
    ("fuser-under-temp", Reason::Temperature),
    ("overheated", Reason::Temperature),
    ("paused", Reason::Paused),
    ("moving-to-paused", Reason::Paused),
    ("shutdown", Reason::Paused),
    ("stopped-partly", Reason::Paused),
    ("deactivated", Reason::Paused),
    ("hibernate", Reason::Paused),
    ("connecting-to-device", Reason::NoConnection),
    ("timed-out", Reason::NoConnection),
    ("offline", Reason::NoConnection),
    ("job-hold-until-specified", Reason::Held),
    ("resources-are-not-ready", Reason::MediaNeeded),
    ("cups-held-for-authentication", Reason::Held),
    ("account-authorization-failed", Reason::Held),
    ("compression-error", Reason::Unreadable),
    ("document-format-error", Reason::Unreadable),
    ("document-unprintable-error", Reason::Unreadable),
    ("unsupported-document-format", Reason::Unreadable),
    ("unsupported-attributes-or-values", Reason::Unreadable),
    ("resources-are-not-supported", Reason::Other),
    ("input-cannot-feed-size-selected", Reason::MediaNeeded),
    ("cutter-error", Reason::Other),
];

/// What is the matter, without what merely gives notice; each once, in the order of this list.
///
/// A suffix says how grave it is: `-error`, `-warning` or `-report` (RFC 8011, section 5.4.12); what
/// has none is an error. A printer that has nothing to do says of an open cover or of missing labels
/// no more than `-report`, and stops at the next job: these count however they are said.
pub(super) fn reasons<'w>(words: impl Iterator<Item = &'w str>) -> Vec<Reason> {
    let mut found: Vec<Reason> = words.filter_map(reason).collect();
    found.sort_unstable();
    found.dedup();
    found
}

fn reason(word: &str) -> Option<Reason> {
    let light = word.strip_suffix("-warning").or_else(|| word.strip_suffix("-report"));
    let grave = word.strip_suffix("-error");
    let plain = light.or(grave).unwrap_or(word);
    let known = KNOWN.iter().find(|(name, _)| *name == word || *name == plain);
    let known = known.map(|(_, reason)| *reason);
    let stops = [Reason::CoverOpen, Reason::MediaEmpty, Reason::MediaJam];
    match light {
        Some(_) => known.filter(|reason| stops.contains(reason)),
        None => known.or_else(|| grave.map(|_| Reason::Other)),
    }
}

impl Reason {
    /// As answers and logs name it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::CoverOpen => "cover-open",
            Self::MediaEmpty => "media-empty",
            Self::MediaJam => "media-jam",
            Self::MediaNeeded => "media-needed",
            Self::SupplyEmpty => "supply-empty",
            Self::TrayMissing => "tray-missing",
            Self::OutputFull => "output-full",
            Self::Temperature => "temperature",
            Self::Paused => "paused",
            Self::NoConnection => "no-connection",
            Self::Held => "held",
            Self::Unreadable => "unreadable",
            Self::Other => "other",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Reason, reasons};

    /// RFC 8011, section 5.4.12.
    #[test]
    fn errors_count_and_what_gives_notice_does_not() {
        let of = |words: &[&str]| reasons(words.iter().copied());
        assert_eq!(of(&["none"]), []);
        assert_eq!(
            of(&["media-empty-error", "media-needed"]),
            [Reason::MediaEmpty, Reason::MediaNeeded]
        );
        assert_eq!(of(&["cover-open", "door-open-error"]), [Reason::CoverOpen]);
        assert_eq!(
            of(&["media-low-warning", "toner-empty-report", "toner-low", "job-printing"]),
            []
        );
        assert_eq!(of(&["media-empty-report", "cover-open-warning"]).len(), 2, "they stop it");
        assert_eq!(of(&["com.example.on-fire-error"]), [Reason::Other]);
        assert_eq!(of(&["document-format-error"]), [Reason::Unreadable]);
    }
}
