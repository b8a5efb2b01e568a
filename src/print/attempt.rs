//! One sticker at one printer: asked, sent, followed, and where it must be taken back.
//!
//! A job is made first and gets its document then, where the printer can do that: as long as it has
//! none, nothing is printed, and from then on it has a number by which it can be asked about. Else
//! both go at once, and a lost answer is looked for among the printer's jobs by name.

use std::{
    thread::sleep,
    time::{Duration, Instant},
};

use ipp::{
    model::{JobState, StatusCode},
    value::IppValue,
};

use super::{
    capabilities::Capabilities,
    client::{Client, Fault, JobTold, Listed, PrinterTold},
    deliver::{Delivery, Target},
    form::Form,
    media::MediaChoice,
    pace::Pace,
    standing::Stage,
    trouble::Trouble,
};

/// How an attempt ended.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Ended {
    Printed,
    /// It is not printed, and shall not be elsewhere.
    Failed(Trouble),
    /// It is not printed here; another printer may try.
    Passed(Trouble),
    /// Nobody can know.
    Unknown(Trouble),
}

/// Whether a printer has a sticker already.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Already {
    /// It has or had it, and this became of it.
    Ended(Ended),
    /// It knows nothing of it.
    No,
    /// It could not be asked.
    NotAsked,
}

/// Is told how far it is.
type Tell<'t> = &'t mut dyn FnMut(Stage, Option<Trouble>);

/// One sticker at one printer.
pub(super) struct Attempt<'a> {
    client: &'a Client,
    pace: &'a Pace,
    delivery: &'a Delivery<'a>,
    target: &'a Target,
    /// When the sticker must be done.
    until: Instant,
}

/// What is sent.
struct Ready {
    capabilities: Capabilities,
    form: Form,
    media: Option<IppValue>,
    document: Vec<u8>,
}

impl<'a> Attempt<'a> {
    pub(super) const fn new(
        client: &'a Client,
        pace: &'a Pace,
        delivery: &'a Delivery<'a>,
        target: &'a Target,
        until: Instant,
    ) -> Self {
        Self { client, pace, delivery, target, until }
    }

    /// Whether the printer has the sticker already, and what became of it.
    pub(super) fn already(&self, tell: Tell<'_>) -> Already {
        let listed =
            self.while_lost(|| self.client.jobs_named(&self.target.address, self.delivery.name));
        let Ok(listed) = listed else { return Already::NotAsked };
        let found = listed.jobs;
        if found.is_empty() && listed.hides {
            return Already::NotAsked;
        }
        self.of_found(&found, tell).map_or(Already::No, Already::Ended)
    }

    /// What became of the jobs of the sticker that the printer has; none if it can be sent.
    fn of_found(&self, found: &[JobTold], tell: Tell<'_>) -> Option<Ended> {
        let is = |state: JobState| move |job: &&JobTold| job.state == Some(state);
        if found.iter().any(|job| is(JobState::Completed)(&job)) {
            return Some(Ended::Printed);
        }
        if found.iter().any(|job| job.is_over() && job.has_begun) {
            return Some(Ended::Unknown(Trouble::HalfOut));
        }
        let active = found.iter().find(|job| !job.is_over())?;
        if active.lacks_document {
            // Nothing of it was printed; it would keep the printer busy.
            let _ = self.client.cancel(&self.target.address, active.id);
            return None;
        }
        Some(self.follow(active.id, tell))
    }

    /// Tries the printer.
    pub(super) fn run(&self, tell: Tell<'_>) -> Ended {
        let ready = match self.ready() {
            Ok(ready) => ready,
            Err(trouble) => return Ended::Passed(trouble),
        };
        tell(Stage::Sending, None);
        let sent = if ready.capabilities.makes_jobs_first {
            self.make_and_send(&ready, tell)
        } else {
            self.send_at_once(&ready, tell)
        };
        match sent {
            Ok(job) => self.follow(job, tell),
            Err(ended) => ended,
        }
    }

    /// Why the printer would not print it now; none if it would.
    pub(super) fn would_not(&self) -> Option<Trouble> {
        self.ready().err()
    }

    /// Everything that must be known before anything is sent.
    fn ready(&self) -> Result<Ready, Trouble> {
        let asked = self.while_lost(|| self.client.capabilities(&self.target.address));
        let (capabilities, told) = asked.map_err(passed)?;
        let media = match capabilities.media(self.target.media) {
            MediaChoice::Unsaid => None,
            MediaChoice::These(media) => Some(media),
            MediaChoice::Wrong(found) => {
                return Err(Trouble::WrongMedia { wanted: self.target.media, found });
            }
        };
        let form = capabilities.form(self.target.dpi)?;
        if let Some(trouble) = told.trouble() {
            return Err(trouble);
        }
        let document = self.delivery.document.in_form(form).map_err(Trouble::NotMade)?;
        Ok(Ready { capabilities, form, media, document })
    }

    /// Makes a job, then sends its document.
    fn make_and_send(&self, ready: &Ready, tell: Tell<'_>) -> Result<i32, Ended> {
        let address = &self.target.address;
        let mut lost = 0;
        let job = self.while_busy(tell, || {
            match self.client.create(address, self.delivery.name, ready.media.as_ref()) {
                // It has no document yet, so nothing was printed: it is found by its name, or made again.
                Err(Fault::Lost) if lost < 3 => {
                    lost += 1;
                    sleep(self.pace.look);
                    match self.client.jobs_named(address, self.delivery.name) {
                        Ok(listed) => listed
                            .jobs
                            .iter()
                            .find(|job| job.lacks_document && !job.is_over())
                            .map_or(Err(Fault::Declined(StatusCode::ServerErrorBusy)), |job| {
                                Ok(job.id)
                            }),
                        Err(_) => Err(Fault::Unreachable),
                    }
                }
                answered => answered,
            }
        });
        let job = job.map_err(|fault| Ended::Passed(passed(fault)))?;
        match self.client.send(address, job, ready.form, &ready.document) {
            Ok(()) => Ok(job),
            // Nothing was sent, and without its document the job never prints.
            Err(Fault::Unreachable) => Err(Ended::Passed(Trouble::Unreachable)),
            Err(Fault::Lost) => self.has_arrived(job),
            Err(fault) => {
                let _ = self.client.cancel(address, job);
                Err(Ended::Passed(passed(fault)))
            }
        }
    }

    /// Whether the document of a job has arrived, when the answer was lost.
    fn has_arrived(&self, job: i32) -> Result<i32, Ended> {
        let settled = Instant::now() + self.pace.settle;
        loop {
            match self.job(job) {
                Ok(told) if !told.lacks_document => return Ok(job),
                // The one who follows it finds out, or says that nobody can.
                Err(_) => return Ok(job),
                Ok(_) if Instant::now() >= settled => break,
                Ok(_) => sleep(self.pace.look),
            }
        }
        // Once it is taken back, no late document can make it print.
        Err(self.take_back(job, Trouble::TooSlow))
    }

    /// Sends a job with its document.
    fn send_at_once(&self, ready: &Ready, tell: Tell<'_>) -> Result<i32, Ended> {
        let (address, name) = (&self.target.address, self.delivery.name);
        let with = (ready.form, ready.media.as_ref());
        // What it had of this name before is not what is sent now.
        let before = if ready.capabilities.lists_jobs {
            self.client.jobs_named(address, name).ok()
        } else {
            None
        };
        let sent =
            self.while_busy(tell, || self.client.print(address, name, with, &ready.document));
        match sent {
            Ok(job) => return Ok(job),
            Err(Fault::Lost) => {}
            Err(fault) => return Err(Ended::Passed(passed(fault))),
        }
        let unknown = || Ended::Unknown(Trouble::AnswerLost);
        let Some(before) = before else { return Err(unknown()) };
        let (settled, silent) =
            (Instant::now() + self.pace.settle, Instant::now() + self.pace.silence);
        loop {
            match self.client.jobs_named(address, name) {
                Ok(Listed { jobs, keeps, hides }) => {
                    if let Some(job) = newest_but(&jobs, &before.jobs) {
                        return Ok(job.id);
                    }
                    // One that forgets what is over cannot say that this is not.
                    if Instant::now() >= settled {
                        return Err(if keeps && !hides {
                            Ended::Passed(Trouble::TooSlow)
                        } else {
                            unknown()
                        });
                    }
                }
                Err(_) if Instant::now() >= silent => return Err(unknown()),
                Err(_) => {}
            }
            sleep(self.pace.look);
        }
    }

    /// What `ask` gives; as long as the printer is busy, it is asked again for a while.
    fn while_busy(
        &self,
        tell: Tell<'_>,
        mut ask: impl FnMut() -> Result<i32, Fault>,
    ) -> Result<i32, Fault> {
        let patience = (Instant::now() + self.pace.patience).min(self.until);
        loop {
            match ask() {
                Err(Fault::Declined(StatusCode::ServerErrorBusy)) if Instant::now() < patience => {
                    tell(Stage::Waiting, Some(Trouble::Busy));
                    sleep(self.pace.look);
                }
                answered => return answered,
            }
        }
    }

    /// What `ask` gives, which changes nothing; when its answer is lost it is asked again for a while.
    fn while_lost<T>(&self, ask: impl Fn() -> Result<T, Fault>) -> Result<T, Fault> {
        let patience = (Instant::now() + self.pace.patience).min(self.until);
        loop {
            match ask() {
                Err(Fault::Lost) if Instant::now() < patience => sleep(self.pace.look),
                answered => return answered,
            }
        }
    }

    fn job(&self, job: i32) -> Result<JobTold, Fault> {
        self.client.job(&self.target.address, job, self.delivery.name)
    }

    /// Follows a job that the printer has to its end.
    fn follow(&self, job: i32, tell: Tell<'_>) -> Ended {
        let address = &self.target.address;
        let others = self.delivery.targets.len() > 1;
        let (mut silent, mut troubled) = (None::<Instant>, None::<Instant>);
        tell(Stage::Printing, None);
        loop {
            let now = Instant::now();
            match self.job(job) {
                Ok(told) => {
                    silent = None;
                    if let Some(ended) = told.ended() {
                        return ended;
                    }
                    let printer = self.client.printer(address).ok();
                    let trouble = told.trouble(printer.as_ref());
                    troubled = trouble.as_ref().and(troubled.or(Some(now)));
                    tell(Stage::Printing, trouble.clone());
                    let is_long = |since: Instant| now - since >= self.pace.patience;
                    if now >= self.until || (others && troubled.is_some_and(is_long)) {
                        return self.take_back(job, trouble.unwrap_or(Trouble::TooSlow));
                    }
                }
                Err(_) if is_over(silent, now, self.pace.silence) => {
                    return Ended::Unknown(Trouble::Silent);
                }
                Err(_) => silent = silent.or(Some(now)),
            }
            sleep(self.pace.look);
        }
    }

    /// Takes a job back, and makes sure that it is.
    fn take_back(&self, job: i32, trouble: Trouble) -> Ended {
        let address = &self.target.address;
        let until = Instant::now() + self.pace.silence;
        let _ = self.client.cancel(address, job);
        loop {
            if let Ok(told) = self.job(job) {
                match told.ended() {
                    Some(Ended::Failed(_) | Ended::Passed(_)) => return Ended::Passed(trouble),
                    Some(ended) => return ended,
                    None => {}
                }
            }
            if Instant::now() >= until {
                return Ended::Unknown(Trouble::Kept(trouble.reasons().to_vec()));
            }
            sleep(self.pace.look);
        }
    }
}

/// Whether `since` is longer ago than `most`.
fn is_over(since: Option<Instant>, now: Instant, most: Duration) -> bool {
    since.is_some_and(|since| now - since >= most)
}

/// The newest of the jobs that were not there before.
fn newest_but<'j>(jobs: &'j [JobTold], before: &[JobTold]) -> Option<&'j JobTold> {
    let is_new = |job: &&JobTold| !before.iter().any(|one| one.id == job.id);
    jobs.iter().filter(is_new).max_by_key(|job| job.id)
}

/// Why a printer that took nothing is passed over.
fn passed(fault: Fault) -> Trouble {
    let status = match fault {
        Fault::Unreachable => return Trouble::Unreachable,
        Fault::Lost | Fault::NotIpp => return Trouble::NotUnderstood,
        Fault::Locked => return Trouble::Locked,
        Fault::NoPath => return Trouble::NoPath,
        Fault::Unsaid => return Trouble::Unsaid,
        Fault::Declined(status) => status,
    };
    let locked = [
        StatusCode::ClientErrorForbidden,
        StatusCode::ClientErrorNotAuthenticated,
        StatusCode::ClientErrorNotAuthorized,
    ];
    let passing = [
        StatusCode::ServerErrorNotAcceptingJobs,
        StatusCode::ServerErrorServiceUnavailable,
        StatusCode::ServerErrorTemporaryError,
        StatusCode::ServerErrorDeviceError,
    ];
    if status == StatusCode::ServerErrorBusy {
        Trouble::Busy
    } else if locked.contains(&status) {
        Trouble::Locked
    } else if passing.contains(&status) {
        Trouble::NotAccepting
    } else {
        Trouble::Declined(u16::try_from(status as i32).unwrap_or_default())
    }
}

impl PrinterTold {
    /// Why it would not print now.
    fn trouble(&self) -> Option<Trouble> {
        if !self.reasons.is_empty() {
            return Some(Trouble::Matter(self.reasons.clone()));
        }
        (self.is_stopped || !self.is_accepting).then_some(Trouble::NotAccepting)
    }
}

impl JobTold {
    fn is_over(&self) -> bool {
        self.ended().is_some()
    }

    /// How it ended; none if it has not.
    fn ended(&self) -> Option<Ended> {
        let half = || Ended::Unknown(Trouble::HalfOut);
        match self.state? {
            JobState::Completed => Some(Ended::Printed),
            JobState::Canceled | JobState::Aborted if self.has_begun => Some(half()),
            JobState::Canceled => Some(Ended::Failed(Trouble::Cancelled)),
            JobState::Aborted => Some(Ended::Passed(Trouble::Aborted(self.reasons.clone()))),
            JobState::Pending
            | JobState::PendingHeld
            | JobState::Processing
            | JobState::ProcessingStopped => None,
        }
    }

    /// What keeps it from being printed.
    fn trouble(&self, printer: Option<&PrinterTold>) -> Option<Trouble> {
        let mut reasons = self.reasons.clone();
        reasons.extend(printer.into_iter().flat_map(|told| &told.reasons));
        reasons.sort_unstable();
        reasons.dedup();
        if !reasons.is_empty() {
            return Some(Trouble::Matter(reasons));
        }
        let is_stopped = self.state == Some(JobState::ProcessingStopped)
            || printer.is_some_and(|told| told.is_stopped);
        is_stopped.then_some(Trouble::NotAccepting)
    }
}
