//! The queue of stickers: in memory, bounded, one thread for each printer that has work.

use std::{
    collections::{HashMap, VecDeque},
    fmt,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    thread,
};

use uuid::Uuid;

use super::{
    client::Client,
    deliver::{Delivery, Target, deliver},
    form::Document,
    pace::Pace,
    standing::{Stage, Standing},
    trouble::Trouble,
};

/// Most prints that are kept, so that their outcome can be asked for.
const KEPT_MOST: usize = 1_000;
/// Most printers that have work at once.
const LANES_MOST: usize = 64;
/// Bytes of a digest that stand in the name of a job.
const NAMED_BY: usize = 8;

/// A digest (SHA-256).
pub type Digested = [u8; 32];

/// Stickers to be printed together, and what identifies them.
pub struct Order {
    /// Digest of the sender's own key for this request, if it gave one.
    pub key: Option<Digested>,
    /// Digest of everything that was asked, by which a second request of that key is known to be the
    /// same.
    pub asked: Digested,
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
    /// Id of its line, as its outcome names it.
    pub line: String,
    /// Which of the line's stickers it is, from 1.
    pub n: u32,
    /// How many stickers the line has.
    pub of: u32,
    /// What is printed.
    pub document: Box<dyn Document>,
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
}

/// Stickers that were taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Taken {
    /// By which their outcome is asked for.
    pub id: Uuid,
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
    /// Each sticker: id of its line, which of how many, and where it stands.
    pub sheets: Vec<(String, [u32; 2], Standing)>,
}

impl View {
    /// Whether nothing more will happen.
    pub fn is_over(&self) -> bool {
        self.sheets.iter().all(|(_, _, standing)| standing.stage.is_over())
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
}

struct Print {
    key: Option<Digested>,
    asked: Digested,
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
        Self(Arc::new(Shared { most, pace, told: Box::new(told), kept: Mutex::default() }))
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
        let Order { key, asked, site, lang, targets, sheets } = order;
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
        let digest = key.as_ref().map_or_else(|| id.as_bytes().as_slice(), |key| key);
        let mut lines: Vec<&str> = Vec::new();
        let mut tasks = VecDeque::with_capacity(sheets.len());
        let mut rows = Vec::with_capacity(sheets.len());
        let names: Vec<String> = sheets
            .iter()
            .map(|sheet| {
                if !lines.contains(&&*sheet.line) {
                    lines.push(&sheet.line);
                }
                job_name(digest, lines.len(), [sheet.n, sheet.of])
            })
            .collect();
        for (at, (sheet, name)) in sheets.into_iter().zip(names).enumerate() {
            let Sheet { line, n, of, document } = sheet;
            rows.push((line, [n, of], Standing::default()));
            let targets = Arc::clone(&targets);
            let may_be_there = key.is_some();
            tasks.push_back(Task { print: id, at, name, may_be_there, targets, document });
        }
        if is_new {
            let (shared, lane) = (Arc::clone(&self.0), lane.clone());
            let worker = thread::Builder::new().name("prints".to_owned());
            worker.spawn(move || shared.work(&lane)).map_err(|_| Refused::Full)?;
        }
        kept.open += tasks.len();
        kept.lanes.entry(lane).or_default().append(&mut tasks);
        kept.keep(Print { key, asked, view: View { id, site, lang, sheets: rows } });
        Ok(Taken { id, again: false })
    }

    /// How a print stands; none if it is not known, or no longer.
    pub fn view(&self, id: &Uuid) -> Option<View> {
        self.0.kept().prints.get(id).map(|print| print.view.clone())
    }
}

/// The name of a job: part of a digest, which of the ticket's lines, which of the line's stickers.
/// Nothing of it is a sender's word.
fn job_name(digest: &[u8], line: usize, [n, of]: [u32; 2]) -> String {
    let hash: String = digest.iter().take(NAMED_BY).map(|byte| format!("{byte:02x}")).collect();
    format!("{hash}/{line}/{n} of {of}")
}

impl Kept {
    fn known(&self, key: &Digested, asked: &Digested) -> Result<Option<Taken>, Refused> {
        let Some(id) = self.keys.get(key) else { return Ok(None) };
        let is_same = self.prints.get(id).is_some_and(|print| print.asked == *asked);
        if is_same { Ok(Some(Taken { id: *id, again: true })) } else { Err(Refused::OtherBody) }
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
            && let Some(key) = self.prints.remove(&id).and_then(|print| print.key)
        {
            self.keys.remove(&key);
        }
    }

    /// Notes where a sticker stands.
    fn note(&mut self, task: &Task, standing: Standing) {
        let print = self.prints.get_mut(&task.print);
        let row = print.and_then(|print| print.view.sheets.get_mut(task.at));
        let Some((_, _, stands)) = row else { return };
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
        let Task { name, may_be_there, targets, document, .. } = task;
        let (may_be_there, document) = (*may_be_there, &**document);
        let delivery = Delivery { name, may_be_there, targets, document };
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

#[cfg(test)]
mod tests {
    use super::job_name;

    #[test]
    fn a_job_is_named_by_a_digest_and_by_numbers() {
        assert_eq!(job_name(&[0xab; 32], 2, [1, 3]), "abababababababab/2/1 of 3");
    }
}
