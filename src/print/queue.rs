//! The queue of stickers: in memory, bounded, one thread for each printer that has work.

use std::{
    collections::{HashMap, VecDeque},
    fmt,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    thread,
    time::Instant,
};

use uuid::Uuid;

use super::{
    client::Client,
    deliver::{Delivery, Target, deliver},
    form::Document,
    naming::{job_names, order_digest},
    pace::Pace,
    standing::{Stage, Standing},
    trouble::Trouble,
};

/// Most prints that are kept, so that their outcome can be asked for.
const KEPT_MOST: usize = 1_000;
/// Most printers that have work at once.
const LANES_MOST: usize = 64;

/// A digest (SHA-256).
pub type Digested = [u8; 32];

/// Stickers to be printed together, and what identifies them.
pub struct Order {
    /// Digest of the sender's own key for this request, if it gave one.
    pub key: Option<Digested>,
    /// Digest of everything that was asked, by which a second request of that key is known to be the
    /// same.
    pub asked: Digested,
    /// Whether somebody says that they were printed before, and so has looked what came of that.
    pub reprint: bool,
    /// The site, by id.
    pub site: String,
    /// Language in which its outcome is told.
    pub lang: String,
    /// Printers that may print them, the first one first.
    pub targets: Arc<[Target]>,
    /// The stickers.
    pub sheets: Vec<Sheet>,
}

/// One sticker.
pub struct Sheet {
    /// Which one it is.
    pub which: Which,
    /// What is printed.
    pub document: Box<dyn Document>,
}

/// Which sticker of an order one is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Which {
    /// Id of its line, as its outcome names it.
    pub line: String,
    /// Which of the order's cups, from 1, and how many there are.
    pub cup: [usize; 2],
    /// Which of the cup's stickers, from 1, and how many there are.
    pub part: [usize; 2],
}

/// Why stickers were not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// There is no room now.
    Full,
    /// More at once than there is ever room for: this many.
    TooMany(usize),
    /// The sender's key stood for other stickers before.
    OtherBody,
    /// The system gives nothing to print with.
    NoThread,
}

/// Stickers that were taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Taken {
    /// How they stand, with the id by which that is asked for again.
    pub view: View,
    /// Whether they had been taken before, by the same key.
    pub again: bool,
}

/// How a print stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct View {
    /// Its id.
    pub id: Uuid,
    /// The site, by id.
    pub site: String,
    /// Language in which it is told.
    pub lang: String,
    /// Each sticker, and where it stands.
    pub sheets: Vec<(Which, Standing)>,
}

impl View {
    /// Whether nothing more will happen.
    pub fn is_over(&self) -> bool {
        self.sheets.iter().all(|(_, standing)| standing.stage.is_over())
    }
}

/// Is told of each sticker that is over.
type Told = dyn Fn(Uuid, &Standing) + Send + Sync;

/// The queue, and the outcomes that are kept.
#[derive(Clone)]
pub struct Prints(Arc<Shared>);

struct Shared {
    most: usize,
    pace: Pace,
    told: Box<Told>,
    began: Instant,
    kept: Mutex<Kept>,
}

#[derive(Default)]
struct Kept {
    prints: HashMap<Uuid, Print>,
    /// Their ids, the oldest first.
    ages: VecDeque<Uuid>,
    keys: HashMap<Digested, Uuid>,
    lanes: HashMap<Lane, VecDeque<Task>>,
    /// Stickers that are not over.
    open: usize,
    /// When the newest print was taken whose key has been let go of.
    let_go: Option<Instant>,
}

struct Print {
    key: Option<Digested>,
    asked: Digested,
    taken: Instant,
    view: View,
}

/// A site and its printer.
type Lane = (String, String);

/// One sticker that waits for its turn. Its document goes when it does.
struct Task {
    print: Uuid,
    at: usize,
    name: String,
    may_be_there: bool,
    must_ask: bool,
    targets: Arc<[Target]>,
    document: Box<dyn Document>,
}

impl fmt::Debug for Prints {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Prints").field("most", &self.0.most).finish_non_exhaustive()
    }
}

impl Prints {
    /// An empty queue.
    ///
    /// * `most`: stickers that may wait or be under way at once.
    /// * `told`: is told of each sticker that is over.
    pub fn new(
        most: usize,
        pace: Pace,
        told: impl Fn(Uuid, &Standing) + Send + Sync + 'static,
    ) -> Self {
        let (told, began, kept) = (Box::new(told), Instant::now(), Mutex::default());
        Self(Arc::new(Shared { most, pace, told, began, kept }))
    }

    /// The print that a sender's key stands for already.
    ///
    /// * Errors: it stood for something else.
    pub fn known(&self, key: &Digested, asked: &Digested) -> Result<Option<Taken>, Refused> {
        self.0.kept().known(key, asked)
    }

    /// Takes stickers into the queue.
    ///
    /// * Errors: no room, or the sender's key stood for others.
    pub fn take(&self, order: Order) -> Result<Taken, Refused> {
        let Order { key, asked, reprint, site, lang, targets, sheets } = order;
        let mut kept = self.0.kept();
        if let Some(key) = &key
            && let Some(taken) = kept.known(key, &asked)?
        {
            return Ok(taken);
        }
        if sheets.len() > self.0.most {
            return Err(Refused::TooMany(self.0.most));
        }
        let first = targets.first().map(|one| one.printer.to_string()).unwrap_or_default();
        let lane = (site.clone(), first);
        let is_new = !kept.lanes.contains_key(&lane);
        if kept.open + sheets.len() > self.0.most || (is_new && kept.lanes.len() >= LANES_MOST) {
            return Err(Refused::Full);
        }
        let id = Uuid::new_v4();
        // Without a key of the sender's, the name is this print's alone.
        let names = match &key {
            Some(key) => job_names(&order_digest(key, &asked), &sheets),
            None => job_names(id.as_bytes(), &sheets),
        };
        let may_be_there = key.is_some();
        let must_ask = may_be_there && !reprint && self.0.may_have_forgotten(&kept);
        let mut tasks = VecDeque::with_capacity(sheets.len());
        let mut rows = Vec::with_capacity(sheets.len());
        for (at, (sheet, name)) in sheets.into_iter().zip(names).enumerate() {
            let Sheet { which, document } = sheet;
            rows.push((which, Standing::default()));
            let targets = Arc::clone(&targets);
            tasks.push_back(Task {
                print: id,
                at,
                name,
                may_be_there,
                must_ask,
                targets,
                document,
            });
        }
        if is_new {
            let (shared, lane) = (Arc::clone(&self.0), lane.clone());
            let worker = thread::Builder::new().name("prints".to_owned());
            worker.spawn(move || shared.work(&lane)).map_err(|_| Refused::NoThread)?;
        }
        kept.open += tasks.len();
        kept.lanes.entry(lane).or_default().append(&mut tasks);
        let view = View { id, site, lang, sheets: rows };
        kept.keep(Print { key, asked, taken: Instant::now(), view: view.clone() });
        Ok(Taken { view, again: false })
    }

    /// Whether any sticker waits or is under way.
    pub fn is_busy(&self) -> bool {
        self.0.kept().open > 0
    }

    /// Prints that are not over, and how many stickers of each are not.
    pub fn left(&self) -> Vec<(Uuid, usize)> {
        let kept = self.0.kept();
        let open = |print: &Print| {
            print.view.sheets.iter().filter(|(_, standing)| !standing.stage.is_over()).count()
        };
        let all = kept.ages.iter().filter_map(|id| Some((*id, open(kept.prints.get(id)?))));
        all.filter(|(_, count)| *count > 0).collect()
    }

    /// How a print stands; none if it is not known, or no longer.
    pub fn view(&self, id: &Uuid) -> Option<View> {
        self.0.kept().prints.get(id).map(|print| print.view.clone())
    }
}

impl Kept {
    fn known(&self, key: &Digested, asked: &Digested) -> Result<Option<Taken>, Refused> {
        let Some(print) = self.keys.get(key).and_then(|id| self.prints.get(id)) else {
            return Ok(None);
        };
        if print.asked != *asked {
            return Err(Refused::OtherBody);
        }
        Ok(Some(Taken { view: print.view.clone(), again: true }))
    }

    /// Keeps a print, and lets go of the oldest that is over where there are too many.
    fn keep(&mut self, print: Print) {
        let id = print.view.id;
        if let Some(key) = print.key {
            self.keys.insert(key, id);
        }
        self.prints.insert(id, print);
        self.ages.push_back(id);
        if self.ages.len() <= KEPT_MOST {
            return;
        }
        let is_over = |id: &Uuid| self.prints.get(id).is_none_or(|print| print.view.is_over());
        let oldest = self.ages.iter().position(is_over);
        if let Some(id) = oldest.and_then(|at| self.ages.remove(at))
            && let Some(print) = self.prints.remove(&id)
            && let Some(key) = print.key
        {
            self.keys.remove(&key);
            self.let_go = self.let_go.max(Some(print.taken));
        }
    }

    /// Notes where a sticker stands.
    fn note(&mut self, task: &Task, standing: Standing) {
        let print = self.prints.get_mut(&task.print);
        let row = print.and_then(|print| print.view.sheets.get_mut(task.at));
        let Some((_, stands)) = row else { return };
        if standing.stage.is_over() && !stands.stage.is_over() {
            self.open = self.open.saturating_sub(1);
        }
        *stands = standing;
    }
}

impl Shared {
    /// A thread that failed while it held this left nothing half done.
    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Whether a key that is not known may have come before, to an earlier process or so many prints ago
    /// that it was let go of, and comes again now.
    fn may_have_forgotten(&self, kept: &Kept) -> bool {
        let since = kept.let_go.map_or(self.began, |let_go| let_go.max(self.began));
        since.elapsed() < self.pace.resent
    }

    /// Prints what waits for a printer, until nothing does.
    fn work(&self, lane: &Lane) {
        let client = Client::new(&self.pace).ok();
        loop {
            let task = {
                let mut kept = self.kept();
                let next = kept.lanes.get_mut(lane).and_then(VecDeque::pop_front);
                if next.is_none() {
                    kept.lanes.remove(lane);
                }
                next
            };
            let Some(task) = task else { return };
            self.print(client.as_ref(), &task);
        }
    }

    fn print(&self, client: Option<&Client>, task: &Task) {
        let mut last = Standing::default();
        let mut tell = |standing: Standing| {
            if standing != last {
                last = standing;
                self.kept().note(task, last.clone());
            }
        };
        let Task { name, may_be_there, must_ask, targets, document, .. } = task;
        let (may_be_there, must_ask, document) = (*may_be_there, *must_ask, &**document);
        let delivery = Delivery { name, may_be_there, must_ask, targets, document };
        let done = client.is_some_and(|client| {
            let work = || deliver(client, &self.pace, &delivery, &mut tell);
            catch_unwind(AssertUnwindSafe(work)).is_ok()
        });
        if !done || !last.stage.is_over() {
            // What was on its way when this program failed may have been printed.
            let is_out = matches!(last.stage, Stage::Sending | Stage::Printing);
            let (stage, trouble) = if is_out {
                (Stage::Unknown, Trouble::Silent)
            } else {
                (Stage::Failed, Trouble::NotTried)
            };
            last = Standing { stage, trouble: Some(trouble), ..last };
            self.kept().note(task, last.clone());
        }
        (self.told)(task.print, &last);
    }
}
