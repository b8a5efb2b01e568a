//! The trace that a request belongs to, as W3C Trace Context (level 1, section 3.2) hands it on.

use std::fmt;

/// A trace and the span in it that called.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parent {
    /// The trace.
    pub trace: u128,
    /// The caller's span.
    pub span: u64,
    /// Whether the caller records it.
    pub sampled: bool,
}

impl Parent {
    /// Reads a `traceparent`; one that does not follow the standard is none.
    ///
    /// ```
    /// use cupwright::observe::Parent;
    ///
    /// let told = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01";
    /// let parent = Parent::read(told).unwrap();
    /// assert!(parent.sampled && parent.to_string() == told);
    /// assert_eq!(Parent::read("00-0-0-01"), None);
    /// ```
    pub fn read(text: &str) -> Option<Self> {
        let plain = |part: &str| part.bytes().all(|c| matches!(c, b'0'..=b'9' | b'a'..=b'f'));
        let mut parts = text.split('-');
        let mut next = |length: usize| parts.next().filter(|one| one.len() == length && plain(one));
        let (version, trace, span, flags) = (next(2)?, next(32)?, next(16)?, next(2)?);
        // Version 255 is forbidden; version 0 has four parts, a later one may have more.
        if version == "ff" || (version == "00" && parts.next().is_some()) {
            return None;
        }
        let trace = u128::from_str_radix(trace, 16).ok().filter(|id| *id != 0)?;
        let span = u64::from_str_radix(span, 16).ok().filter(|id| *id != 0)?;
        let flags = u8::from_str_radix(flags, 16).ok()?;
        Some(Self { trace, span, sampled: flags & 1 == 1 })
    }
}

impl fmt::Display for Parent {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "00-{:032x}-{:016x}-{:02x}", self.trace, self.span, u8::from(self.sampled))
    }
}
