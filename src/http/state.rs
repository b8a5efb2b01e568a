//! What every handler sees: what is in force, keys, what is kept, limits, and what is counted.

use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};

use arc_swap::{ArcSwap, Guard};
use jiff::Timestamp;

use super::{drawing::Drawing, menus::Menus, rate::Rate, slots::Slots};
use crate::{
    answering::{Builds, Sent, StandardCups},
    config::{Queue, Settings, reachable_by_others},
    in_force::{Editions, InForce},
    keys::KeyRing,
    observe::{Metrics, Reload, Traces},
    print::{Pace, Prints, Trouble},
    state::StockOuts,
    wire::NotTaken,
};

/// What every handler sees.
#[derive(Debug)]
pub struct State {
    /// How the service was set.
    pub settings: Settings,
    /// What has run out at each site.
    pub stock: StockOuts,
    /// The clock, by which seasons are judged.
    pub clock: fn() -> Timestamp,
    /// What is counted.
    pub metrics: Metrics,
    /// Where traces go.
    pub traces: Option<Traces>,
    /// Stickers on their way to printers.
    pub prints: Prints,
    editions: ArcSwap<Editions>,
    keys: ArcSwap<KeyRing>,
    /// What was found last and not taken.
    not_taken: ArcSwap<Option<NotTaken>>,
    leaving: AtomicBool,
    pub(super) builds: Option<Builds>,
    pub(super) menus: Menus,
    /// What sites cannot make, kept as menus are.
    pub(super) fits: Menus,
    pub(super) standard_cups: StandardCups,
    pub(super) rate: Option<Rate>,
    pub(super) drawing: Drawing,
    pub(super) at_work: Slots,
    pub(super) reading: Slots,
}

impl State {
    /// What is served from now on: a book, keys, what is kept, and how.
    pub fn new(held: Arc<InForce>, keys: KeyRing, stock: StockOuts, settings: Settings) -> Self {
        let limits = &settings.limits;
        let since = Timestamp::now();
        let metrics = Metrics::default();
        let prints = prints(&settings, metrics.sticker_count());
        let state = Self {
            stock,
            clock: Timestamp::now,
            metrics,
            traces: None,
            prints,
            editions: ArcSwap::from_pointee(Editions::of(held, since)),
            keys: ArcSwap::from_pointee(keys),
            not_taken: ArcSwap::from_pointee(None),
            leaving: AtomicBool::new(false),
            builds: Builds::with_room(limits.cache_mb),
            menus: Menus::default(),
            fits: Menus::default(),
            standard_cups: StandardCups::default(),
            rate: Rate::of(limits.requests_per_s, limits.burst),
            drawing: Drawing::default(),
            at_work: Slots::new(limits.at_once),
            reading: Slots::new(limits.at_once),
            settings,
        };
        state.tell();
        state
    }

    /// The editions that are held, as they are at this moment.
    pub fn editions(&self) -> Guard<Arc<Editions>> {
        self.editions.load()
    }

    /// What is in force at this moment; it stays what it is while the request lasts.
    pub fn held(&self) -> Arc<InForce> {
        Arc::clone(&self.editions.load().now().held)
    }

    /// The keys that are taken at this moment.
    pub fn keys(&self) -> Guard<Arc<KeyRing>> {
        self.keys.load()
    }

    /// Puts another book with its sheets in force, whole, and other keys, if they differ from what
    /// is.
    pub fn take(&self, held: Arc<InForce>, keys: KeyRing) -> Reload {
        let now = (self.clock)();
        self.not_taken.store(Arc::new(None));
        let are_same = **self.keys.load() == keys;
        self.keys.store(Arc::new(keys));
        let before = self.editions.load_full();
        if before.now().held.is_same(&held) {
            let outcome = if are_same { Reload::Unchanged } else { Reload::Taken };
            self.metrics.reloaded(outcome, now);
            return outcome;
        }
        let most = self.settings.held_books;
        self.editions.store(Arc::new(before.followed_by(held, now, most)));
        if let Some(builds) = &self.builds {
            builds.clear();
        }
        self.menus.clear();
        self.fits.clear();
        self.tell();
        self.metrics.reloaded(Reload::Taken, now);
        Reload::Taken
    }

    /// Notes that what was found is not taken, and why; what is in force stays.
    pub fn refuse(&self, complaints: Vec<String>) {
        let now = (self.clock)();
        self.not_taken.store(Arc::new(Some(NotTaken { at: now.to_string(), complaints })));
        self.metrics.reloaded(Reload::Refused, now);
    }

    pub(super) fn not_taken(&self) -> Option<NotTaken> {
        (**self.not_taken.load()).clone()
    }

    /// From now on everybody is told to go elsewhere.
    pub fn leave(&self) {
        self.leaving.store(true, Ordering::Release);
    }

    pub(super) fn is_leaving(&self) -> bool {
        self.leaving.load(Ordering::Acquire)
    }

    /// Whether a request without a key is taken at all.
    pub(super) fn is_open(&self) -> bool {
        let listen = &self.settings.listen;
        listen.open || !reachable_by_others(listen.address)
    }

    /// What is true of a request to the site that carries no key.
    pub(super) fn sent(&self, site: &str) -> Sent {
        let out_of_stock = self.stock.at(site);
        Sent { now: (self.clock)(), out_of_stock, may_override: false }
    }

    /// Tells the metrics what is in force.
    fn tell(&self) {
        let editions = self.editions.load();
        let now = editions.now();
        let (book, digest) = (now.held.book(), now.held.digest().to_string());
        let sites = now.held.bars.len();
        self.metrics.in_force(&book.id, &book.version, &digest, sites, now.since);
    }
}

/// The queue of stickers. How each ends is counted and logged: by its print's id and its printer, which
/// name nobody.
fn prints(settings: &Settings, count: impl Fn(&'static str) + Send + Sync + 'static) -> Prints {
    let Queue { queue, within } = settings.prints;
    Prints::new(queue, Pace::usual(within), move |id, standing| {
        let state = standing.stage.as_str();
        count(state);
        let print_id = id.to_string();
        let printer = standing.printer.as_deref();
        let reason = standing.trouble.as_ref().map(Trouble::as_str);
        if reason.is_some() {
            tracing::warn!(print_id, printer, state, reason, "sticker");
        } else {
            tracing::info!(print_id, printer, state, "sticker");
        }
    })
}
