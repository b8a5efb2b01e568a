//! Metrics, as Prometheus and OpenMetrics read them. Every label takes few values: routes of the
//! contract, statuses, verdicts, codes.

use std::{fmt::Write as _, sync::atomic::AtomicU64, time::Duration};

use jiff::Timestamp;
use prometheus_client::{
    encoding::{EncodeLabelSet, text::encode},
    metrics::{counter::Counter, family::Family, gauge::Gauge, histogram::Histogram},
    registry::Registry,
};

/// Upper bounds of the times that requests take, in seconds.
const SECONDS: [f64; 11] =
    [0.000_25, 0.000_5, 0.001, 0.002_5, 0.005, 0.01, 0.025, 0.05, 0.1, 0.5, 2.5];

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct OfRequest {
    method: &'static str,
    route: &'static str,
    status: u16,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct OfRoute {
    route: &'static str,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct OfVerdict {
    verdict: &'static str,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct OfCode {
    code: &'static str,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct OfOrigin {
    from: &'static str,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct OfOutcome {
    outcome: &'static str,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, EncodeLabelSet)]
struct OfBook {
    id: String,
    version: String,
    digest: String,
}

/// How a reload ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reload {
    /// Another book, another sheet or another key is in force.
    Taken,
    /// Nothing had changed.
    Unchanged,
    /// What was found has complaints; the last good book stays in force.
    Refused,
}

impl Reload {
    const fn as_str(self) -> &'static str {
        match self {
            Self::Taken => "taken",
            Self::Unchanged => "unchanged",
            Self::Refused => "refused",
        }
    }
}

type Seconds = Family<OfRoute, Histogram, fn() -> Histogram>;
type Instant = Gauge<f64, AtomicU64>;

/// What is counted.
#[derive(Debug)]
pub struct Metrics {
    registry: Registry,
    requests: Family<OfRequest, Counter>,
    seconds: Seconds,
    accepted: Counter,
    asked: Counter,
    refused: Counter,
    codes: Family<OfCode, Counter>,
    builds_kept: Counter,
    builds_made: Counter,
    reloads: Family<OfOutcome, Counter>,
    stickers: Family<OfOutcome, Counter>,
    under_way: Gauge,
    book: Family<OfBook, Gauge>,
    since: Instant,
    checked: Instant,
    sites: Gauge,
}

impl Default for Metrics {
    fn default() -> Self {
        let seconds: Seconds = Family::new_with_constructor(|| Histogram::new(SECONDS));
        let (lines, builds) = (Family::<OfVerdict, Counter>::default(), Family::default());
        let verdict = |verdict| lines.get_or_create_owned(&OfVerdict { verdict });
        let origin = |from| builds.get_or_create_owned(&OfOrigin { from });
        let mut metrics = Self {
            registry: Registry::with_prefix("cupwright"),
            requests: Family::default(),
            seconds,
            accepted: verdict("accept"),
            asked: verdict("ask"),
            refused: verdict("refuse"),
            codes: Family::default(),
            builds_kept: origin("kept"),
            builds_made: origin("made"),
            reloads: Family::default(),
            stickers: Family::default(),
            under_way: Gauge::default(),
            book: Family::default(),
            since: Instant::default(),
            checked: Instant::default(),
            sites: Gauge::default(),
        };
        let Self {
            registry,
            requests,
            seconds,
            codes,
            reloads,
            stickers,
            under_way,
            book,
            since,
            checked,
            sites,
            ..
        } = &mut metrics;
        registry.register("requests", "Requests by route, method and status", requests.clone());
        registry.register(
            "request_seconds",
            "Time from the head of a request to its answer",
            seconds.clone(),
        );
        registry.register("lines", "Ticket lines by verdict", lines);
        registry.register("refusals", "Questions and refusals by code", codes.clone());
        registry.register("builds", "Accepted builds, made anew or kept from before", builds);
        registry.register("reloads", "Reloads of book and sheets by outcome", reloads.clone());
        registry.register("stickers", "Stickers sent to printers by outcome", stickers.clone());
        registry.register("requests_under_way", "Requests being worked on", under_way.clone());
        registry.register("book_info", "The book in force", book.clone());
        registry.register(
            "book_in_force_since_timestamp_seconds",
            "Since when this process has the book and sheets in force",
            since.clone(),
        );
        registry.register(
            "book_checked_timestamp_seconds",
            "When what is in force was last found to be the newest there is",
            checked.clone(),
        );
        registry.register("sites", "Sites in force", sites.clone());
        metrics
    }
}

impl Metrics {
    /// A request was answered.
    ///
    /// * `route`: its path in the contract; `method`, `route` and `status` must take few values.
    pub fn answered(&self, method: &'static str, route: &'static str, status: u16, took: Duration) {
        self.requests.get_or_create(&OfRequest { method, route, status }).inc();
        self.seconds.get_or_create(&OfRoute { route }).observe(took.as_secs_f64());
    }

    /// Lines were judged.
    pub fn judged(&self, accepted: u32, asked: u32, refused: u32, kept: u32) {
        self.accepted.inc_by(accepted.into());
        self.asked.inc_by(asked.into());
        self.refused.inc_by(refused.into());
        self.builds_kept.inc_by(kept.into());
        self.builds_made.inc_by(accepted.saturating_sub(kept).into());
    }

    /// A question or refusal of this code was answered.
    pub fn objected(&self, code: &'static str) {
        self.codes.get_or_create(&OfCode { code }).inc();
    }

    /// Counts stickers by their outcome, of which there must be few.
    pub fn sticker_count(&self) -> impl Fn(&'static str) + Send + Sync + 'static {
        let stickers = self.stickers.clone();
        move |outcome| {
            stickers.get_or_create(&OfOutcome { outcome }).inc();
        }
    }

    /// A request is being worked on until what this gives is dropped.
    pub fn under_way(&self) -> UnderWay<'_> {
        self.under_way.inc();
        UnderWay(&self.under_way)
    }

    /// A book is in force.
    pub fn in_force(&self, id: &str, version: &str, digest: &str, sites: usize, since: Timestamp) {
        self.book.clear();
        let [id, version, digest] = [id, version, digest].map(str::to_owned);
        self.book.get_or_create(&OfBook { id, version, digest }).set(1);
        self.sites.set(i64::try_from(sites).unwrap_or(i64::MAX));
        self.since.set(seconds_of(since));
        self.checked.set(seconds_of(since));
    }

    /// A reload ended.
    pub fn reloaded(&self, outcome: Reload, at: Timestamp) {
        self.reloads.get_or_create(&OfOutcome { outcome: outcome.as_str() }).inc();
        if outcome != Reload::Refused {
            self.checked.set(seconds_of(at));
        }
    }

    /// Everything in the text form of OpenMetrics 1.0.
    pub fn open_metrics(&self) -> String {
        let mut text = String::new();
        // Writing to a string does not fail.
        let _ = encode(&mut text, &self.registry);
        text
    }

    /// Everything in the text form of Prometheus (0.0.4), where a counter's name has its ending in
    /// the heading too.
    pub fn prometheus(&self) -> String {
        let open = self.open_metrics();
        let mut text = String::with_capacity(open.len() + 256);
        let counters: Vec<&str> = open
            .lines()
            .filter_map(|line| line.strip_prefix("# TYPE ")?.strip_suffix(" counter"))
            .collect();
        for line in open.lines().filter(|line| *line != "# EOF") {
            let heading = ["# HELP ", "# TYPE "].into_iter().find(|one| line.starts_with(one));
            let named = heading.and_then(|one| {
                let (name, rest) = line[one.len()..].split_once(' ')?;
                counters.contains(&name).then_some((one, name, rest))
            });
            let _ = match named {
                Some((heading, name, rest)) => writeln!(text, "{heading}{name}_total {rest}"),
                None => writeln!(text, "{line}"),
            };
        }
        text
    }
}

/// A request that is being worked on.
#[derive(Debug)]
pub struct UnderWay<'m>(&'m Gauge);

impl Drop for UnderWay<'_> {
    fn drop(&mut self) {
        self.0.dec();
    }
}

/// Seconds since the epoch of Unix.
fn seconds_of(at: Timestamp) -> f64 {
    at.as_duration().as_secs_f64()
}
