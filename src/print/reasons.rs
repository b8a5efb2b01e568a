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
    ("marker-waste-full", Reason::Other),
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
/// A suffix says how grave it is: `-error`, `-warning` or `-report` (RFC 8011, section 5.4.12). What is
/// known counts without one as an error. A printer that has nothing to do says of an open cover or of missing labels
/// no more than `-report`, and stops at the next job: these count however they are said.
pub(super) fn reasons<'w>(words: impl Iterator<Item = &'w str>) -> Vec<Reason> {
    let mut found: Vec<Reason> = words.filter_map(reason).collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// The same of a printer. What has no suffix is an error, though nobody here knows it; since a printer
/// with an error is stopped (RFC 8011, section 5.4.12), it counts at one that is.
pub(super) fn of_printer<'w>(
    words: impl Iterator<Item = &'w str>,
    is_stopped: bool,
) -> Vec<Reason> {
    let (mut is_odd, suffixes) = (false, ["-error", "-warning", "-report"]);
    let words = words.inspect(|word| {
        let has_none = !suffixes.iter().any(|suffix| word.ends_with(suffix));
        is_odd |= has_none && *word != "none" && reason(word).is_none();
    });
    let mut found = reasons(words);
    if is_stopped && is_odd && !found.contains(&Reason::Other) {
        found.push(Reason::Other);
    }
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
    use super::{Reason, of_printer, reasons};

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
        assert_eq!(of(&["marker-waste-full-error"]), [Reason::Other], "nothing is used up");
    }

    /// RFC 8011, section 5.4.12: without a suffix it is an error, and then the printer is stopped.
    #[test]
    fn what_nobody_knows_counts_without_a_suffix_at_a_printer_that_is_stopped() {
        let of = |word: &str, is_stopped| of_printer([word].into_iter(), is_stopped);
        assert_eq!(of("com.example.on-fire", true), [Reason::Other]);
        assert_eq!(of("toner-low", false), []);
        for word in ["none", "com.example.on-fire-report", "com.example.on-fire-warning"] {
            assert_eq!(of(word, true), [], "{word}");
        }
        assert_eq!(of("media-empty", true), [Reason::MediaEmpty]);
    }
}
