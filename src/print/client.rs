//! Asking a printer: one request, one answer, over a connection of its own.

use std::{
    cell::RefCell,
    collections::HashMap,
    io::Read,
    time::{Duration, Instant},
};

use ipp::{
    model::{JobState, Operation, StatusCode},
    value::IppValue,
};
use reqwest::{
    blocking,
    header::{ACCEPT, CONTENT_TYPE, HeaderValue},
    redirect, retry,
};

use super::{
    address::Address,
    capabilities::Capabilities,
    form::Form,
    message::{Attributes, Message, Reply},
    naming::{Named, named},
    pace::Pace,
    reasons::{Reason, of_printer, reasons},
};

use crate::roots::roots;

/// Most bytes of an answer that are read: a printer that lists hundreds of media takes a tenth.
const ANSWER_MOST: u64 = 1_048_576;
/// Most jobs that a printer is asked to list.
const JOBS_MOST: i32 = 200;
const IPP: HeaderValue = HeaderValue::from_static("application/ipp");

/// Why a printer gave no answer of use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// Nobody is there: nothing was sent.
    Unreachable,
    /// Something was sent, and no answer came that can be read: whether it was taken is not known.
    Lost,
    /// The printer answers that it does not do it.
    Declined(StatusCode),
    /// Who stands at its address wants a password, or lets nobody in. Nothing was taken.
    Locked,
    /// There is nothing at the path of its address. Nothing was taken.
    NoPath,
    /// What answers does not take IPP. Nothing was taken.
    NotIpp,
    /// What had to be said could not be written: nothing was sent.
    Unsaid,
}

/// What a printer says of a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct JobTold {
    pub(super) id: i32,
    pub(super) state: Option<JobState>,
    pub(super) reasons: Vec<Reason>,
    /// Whether something of it has come out.
    pub(super) has_begun: bool,
    /// Whether its document has not come whole.
    pub(super) lacks_document: bool,
}

/// The jobs of a name that a printer lists.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Listed {
    pub(super) jobs: Vec<JobTold>,
    /// Whether it lists some that are over.
    pub(super) keeps: bool,
    /// Whether it lists some without a name, or with too little of it: ours may be one of them.
    pub(super) hides: bool,
}

/// What a printer says of itself now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PrinterTold {
    pub(super) reasons: Vec<Reason>,
    pub(super) is_stopped: bool,
    pub(super) is_accepting: bool,
}

/// How long a printer that was not there is taken not to be.
const ABSENT_FOR: Duration = Duration::from_secs(30);

/// Asks printers, and remembers for a while which were not there.
#[derive(Debug)]
pub(super) struct Client {
    http: blocking::Client,
    /// Time for an answer, from the question on.
    answer: Duration,
    /// Addresses, and when nobody was there.
    absent: RefCell<HashMap<String, Instant>>,
}

impl Client {
    /// A client that follows nobody elsewhere and never sends anything twice of its own accord.
    ///
    /// Not to be made on a thread that runs an asynchronous program.
    pub(super) fn new(pace: &Pace) -> Result<Self, reqwest::Error> {
        let client = blocking::Client::builder()
            .tls_certs_only(roots())
            .no_proxy()
            .redirect(redirect::Policy::none())
            .retry(retry::never())
            .http1_only()
            // A connection that was kept may be gone, and then it is not known what was sent.
            .pool_max_idle_per_host(0)
            .connect_timeout(pace.connect)
            .timeout(pace.answer)
            .build()?;
        Ok(Self { http: client, answer: pace.answer, absent: RefCell::default() })
    }

    /// Whether the printer was not there when it was last asked, a short while ago.
    pub(super) fn was_absent(&self, address: &Address) -> bool {
        let absent = self.absent.borrow();
        absent.get(&address.url).is_some_and(|since| since.elapsed() < ABSENT_FOR)
    }

    fn ask(&self, address: &Address, message: &Message, document: &[u8]) -> Result<Reply, Fault> {
        let asked = self.ask_once(address, message, document);
        let mut absent = self.absent.borrow_mut();
        if asked.as_ref().is_err_and(|fault| *fault == Fault::Unreachable) {
            absent.insert(address.url.clone(), Instant::now());
        } else {
            absent.remove(&address.url);
        }
        asked
    }

    fn ask_once(
        &self,
        address: &Address,
        message: &Message,
        document: &[u8],
    ) -> Result<Reply, Fault> {
        let until = Instant::now() + self.answer;
        let Some(mut body) = message.bytes() else {
            return Err(Fault::Unsaid);
        };
        body.extend_from_slice(document);
        let request = self.http.post(&address.url).header(CONTENT_TYPE, IPP).header(ACCEPT, IPP);
        let answered = request.body(body).send().map_err(|fault| {
            if fault.is_connect() || fault.is_builder() { Fault::Unreachable } else { Fault::Lost }
        })?;
        // What stands in front of the printer speaks for it where it says that it does not do it.
        match answered.status().as_u16() {
            200..=299 => {}
            401 | 403 => return Err(Fault::Locked),
            404 => return Err(Fault::NoPath),
            400..=499 => return Err(Fault::NotIpp),
            _ => return Err(Fault::Lost),
        }
        let bytes = whole(answered.take(ANSWER_MOST + 1), until).ok_or(Fault::Lost)?;
        let reply = Reply::read(bytes).ok_or(Fault::Lost)?;
        if reply.status.is_success() { Ok(reply) } else { Err(Fault::Declined(reply.status)) }
    }

    /// What the printer can do, and how it is now (Get-Printer-Attributes).
    pub(super) fn capabilities(
        &self,
        address: &Address,
    ) -> Result<(Capabilities, PrinterTold), Fault> {
        let mut wanted = Capabilities::WANTED.to_vec();
        wanted.extend(PrinterTold::WANTED);
        let message = Message::new(Operation::GetPrinterAttributes, address).wanting(&wanted);
        let reply = self.ask(address, &message, &[])?;
        Ok((Capabilities::of(reply.of_printer()), PrinterTold::of(reply.of_printer())))
    }

    /// How the printer is now.
    pub(super) fn printer(&self, address: &Address) -> Result<PrinterTold, Fault> {
        let message = Message::new(Operation::GetPrinterAttributes, address);
        let reply = self.ask(address, &message.wanting(&PrinterTold::WANTED), &[])?;
        Ok(PrinterTold::of(reply.of_printer()))
    }

    /// Makes a job without a document, of which nothing is printed yet (Create-Job).
    pub(super) fn create(
        &self,
        address: &Address,
        name: &str,
        media: Option<&IppValue>,
    ) -> Result<i32, Fault> {
        let message = with_name(Message::new(Operation::CreateJob, address), name);
        let reply = self.ask(address, &on_media(message, media), &[])?;
        reply.of_job().number("job-id").ok_or(Fault::Lost)
    }

    /// Gives a job its only document (Send-Document), from which on it prints.
    pub(super) fn send(
        &self,
        address: &Address,
        job: i32,
        form: Form,
        document: &[u8],
    ) -> Result<(), Fault> {
        let message = of_job(Operation::SendDocument, address, job);
        let message = message
            .with("document-format", IppValue::new_mime_media_type(form.mime()))
            .with::<()>("last-document", Ok(IppValue::Boolean(true)));
        self.ask(address, &message, document).map(|_| ())
    }

    /// Makes a job and gives it its document at once (Print-Job).
    pub(super) fn print(
        &self,
        address: &Address,
        name: &str,
        (form, media): (Form, Option<&IppValue>),
        document: &[u8],
    ) -> Result<i32, Fault> {
        let message = with_name(Message::new(Operation::PrintJob, address), name)
            .with("document-format", IppValue::new_mime_media_type(form.mime()));
        let reply = self.ask(address, &on_media(message, media), document)?;
        reply.of_job().number("job-id").ok_or(Fault::Lost)
    }

    /// How a job is (Get-Job-Attributes).
    ///
    /// * `name`: a printer that was started again may give its number to another job.
    pub(super) fn job(&self, address: &Address, job: i32, name: &str) -> Result<JobTold, Fault> {
        let message = of_job(Operation::GetJobAttributes, address, job).wanting(&JobTold::WANTED);
        let reply = self.ask(address, &message, &[])?;
        let told = reply.of_job();
        if told.words("job-name").any(|one| named(one, name) == Named::Other) {
            return Err(Fault::Lost);
        }
        JobTold::of(told).ok_or(Fault::Lost)
    }

    /// Takes a job back (Cancel-Job).
    pub(super) fn cancel(&self, address: &Address, job: i32) -> Result<(), Fault> {
        self.ask(address, &of_job(Operation::CancelJob, address, job), &[]).map(|_| ())
    }

    /// The jobs of this name that the printer has or had (Get-Jobs), and what the lists are good for.
    ///
    /// Both lists are asked for, which every printer has; `all` together is of some alone.
    pub(super) fn jobs_named(&self, address: &Address, name: &str) -> Result<Listed, Fault> {
        let (mut found, mut keeps, mut hides) = (Vec::new(), false, false);
        for which in ["not-completed", "completed"] {
            let message = Message::new(Operation::GetJobs, address)
                .with::<()>("limit", Ok(IppValue::Integer(JOBS_MOST)))
                .with("which-jobs", IppValue::new_keyword(which))
                .wanting(&JobTold::WANTED);
            let reply = self.ask(address, &message, &[])?;
            for job in reply.of_jobs() {
                let listed = job.words("job-name").next().unwrap_or_default();
                keeps |= which == "completed" && !listed.is_empty();
                match named(listed, name) {
                    Named::Ours => found.extend(JobTold::of(job)),
                    Named::Hidden => hides = true,
                    Named::Other => {}
                }
            }
        }
        Ok(Listed { jobs: found, keeps, hides })
    }
}

fn of_job(operation: Operation, address: &Address, job: i32) -> Message {
    Message::new(operation, address).with::<()>("job-id", Ok(IppValue::Integer(job)))
}

fn with_name(message: Message, name: &str) -> Message {
    message.with("job-name", IppValue::new_name_without_language(name))
}

fn on_media(message: Message, media: Option<&IppValue>) -> Message {
    match media {
        Some(IppValue::Keyword(name)) => {
            message.with_of_job::<()>("media", Ok(IppValue::Keyword(name.clone())))
        }
        Some(media) => message.with_of_job::<()>("media-col", Ok(media.clone())),
        None => message,
    }
}

impl PrinterTold {
    const WANTED: [&'static str; 3] =
        ["printer-state", "printer-state-reasons", "printer-is-accepting-jobs"];

    fn of(told: Attributes<'_>) -> Self {
        // RFC 8011, section 5.4.11: 5 is stopped.
        let is_stopped = told.number("printer-state") == Some(5);
        Self {
            reasons: of_printer(told.words("printer-state-reasons"), is_stopped),
            is_stopped,
            is_accepting: told.switch("printer-is-accepting-jobs").unwrap_or(true),
        }
    }
}

impl JobTold {
    const WANTED: [&'static str; 6] = [
        "job-id",
        "job-name",
        "job-state",
        "job-state-reasons",
        "job-impressions-completed",
        "job-media-sheets-completed",
    ];

    fn of(told: Attributes<'_>) -> Option<Self> {
        let state = told.number("job-state");
        let sheets = ["job-impressions-completed", "job-media-sheets-completed"];
        Some(Self {
            id: told.number("job-id")?,
            state: state.and_then(job_state),
            reasons: reasons(told.words("job-state-reasons")),
            lacks_document: told
                .words("job-state-reasons")
                .any(|word| word == "job-incoming" || word == "job-data-insufficient"),
            has_begun: sheets.iter().any(|name| told.number(name).is_some_and(|n| n > 0)),
        })
    }
}

/// RFC 8011, section 5.3.7.
const fn job_state(number: i32) -> Option<JobState> {
    Some(match number {
        3 => JobState::Pending,
        4 => JobState::PendingHeld,
        5 => JobState::Processing,
        6 => JobState::ProcessingStopped,
        7 => JobState::Canceled,
        8 => JobState::Aborted,
        9 => JobState::Completed,
        _ => return None,
    })
}

/// All bytes of an answer that come in time and are not too many: the time that the client has starts
/// anew with each piece, so one that comes in drops would never end.
fn whole(mut answer: impl Read, until: Instant) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut piece = [0; 8_192];
    loop {
        let read = answer.read(&mut piece).ok().filter(|_| Instant::now() < until)?;
        if read == 0 {
            let is_short = u64::try_from(bytes.len()).is_ok_and(|length| length <= ANSWER_MOST);
            return is_short.then_some(bytes);
        }
        bytes.extend_from_slice(piece.get(..read)?);
    }
}
