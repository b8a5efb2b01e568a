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
        let digest: &[u8] = key.as_ref().map_or(id.as_bytes(), |key| key);
        let names = job_names(digest, &sheets);
        let mut tasks = VecDeque::with_capacity(sheets.len());
        let mut rows = Vec::with_capacity(sheets.len());
        for (at, (sheet, name)) in sheets.into_iter().zip(names).enumerate() {
            let Sheet { which, document } = sheet;
            rows.push((which, Standing::default()));
            let (targets, may_be_there) = (Arc::clone(&targets), key.is_some());
            tasks.push_back(Task { print: id, at, name, may_be_there, targets, document });
        }
        if is_new {
            let (shared, lane) = (Arc::clone(&self.0), lane.clone());
            let worker = thread::Builder::new().name("prints".to_owned());
            worker.spawn(move || shared.work(&lane)).map_err(|_| Refused::Full)?;
        }
        kept.open += tasks.len();
        kept.lanes.entry(lane).or_default().append(&mut tasks);
        let view = View { id, site, lang, sheets: rows };
        kept.keep(Print { key, asked, view: view.clone() });
        Ok(Taken { view, again: false })
    }

    /// Whether any sticker waits or is under way.
    pub fn is_busy(&self) -> bool {
        self.0.kept().open > 0
    }

    /// How a print stands; none if it is not known, or no longer.
    pub fn view(&self, id: &Uuid) -> Option<View> {
        self.0.kept().prints.get(id).map(|print| print.view.clone())
    }
}

/// The names of jobs: part of a digest, which of the order's lines, which of its cups, and of a cup
/// with several stickers which of these. Nothing of it is a sender's word.
fn job_names(digest: &[u8], sheets: &[Sheet]) -> Vec<String> {
    let first = digest.first_chunk::<NAMED_BY>().copied().unwrap_or_default();
    let hash = format!("{:016x}", u64::from_be_bytes(first));
    let mut lines: Vec<&str> = Vec::new();
    let mut names = Vec::with_capacity(sheets.len());
    for Sheet { which, .. } in sheets {
        let Which { line, cup: [n, of], part: [part, parts] } = which;
        if !lines.contains(&line.as_str()) {
            lines.push(line);
        }
        let at = lines.iter().position(|one| one == line).unwrap_or_default();
        let name = format!("{hash}/{}/{n} of {of}", at + 1);
        names.push(if *parts > 1 { format!("{name}/{part} of {parts}") } else { name });
    }
    names
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
            && let Some(key) = self.prints.remove(&id).and_then(|print| print.key)
        {
            self.keys.remove(&key);
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
    use super::{Sheet, Which, job_names};
    use crate::print::{Document, Form};

    struct Nothing;

    impl Document for Nothing {
        fn in_form(&self, _: Form) -> Option<Vec<u8>> {
            None
        }
    }

    #[test]
    fn a_job_is_named_by_a_digest_and_by_numbers() {
        let sheet = |line: &str, cup, part| Sheet {
            which: Which { line: line.to_owned(), cup, part },
            document: Box::new(Nothing),
        };
        let sheets = [
            sheet("Maria", [1, 3], [1, 1]),
            sheet("Maria", [2, 3], [1, 1]),
            sheet("x", [3, 3], [1, 2]),
            sheet("x", [3, 3], [2, 2]),
        ];
        let hash = "abababababababab";
        let names = ["1/1 of 3", "1/2 of 3", "2/3 of 3/1 of 2", "2/3 of 3/2 of 2"];
        assert_eq!(job_names(&[0xab; 32], &sheets), names.map(|name| format!("{hash}/{name}")));
    }
}
