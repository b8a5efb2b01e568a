//! Getting files of a repository: from a folder, or over HTTP without redirects and within bounds.
//!
//! The crate takes whatever a transport answers to a request for the next root, unless that is an
//! error in what it returns instead of in the stream, as the end of the roots. So faults are in the
//! stream, where all but "not there" end the update.

use std::{
    io::{self, Read as _},
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
    time::Duration,
};

use futures_util::stream;
use reqwest::{Client, StatusCode, redirect};
use tough::{Bytes, Transport, TransportError, TransportErrorKind, TransportStream, async_trait};
use url::Url;

use super::Fault;
use crate::roots::roots;

/// Most bytes of any file: as many as a document may have.
const MOST: u64 = 8 * 1024 * 1024;
/// How long a connection may take to come about.
const CONNECT: Duration = Duration::from_secs(10);
/// How long a file may take to come whole.
const WHOLE: Duration = Duration::from_mins(1);

/// Gets files.
#[derive(Clone, Debug)]
pub(super) struct Getter {
    web: Client,
    /// Whether something could not be reached, whatever became of it.
    unreached: Arc<AtomicBool>,
}

impl Getter {
    /// One that follows nobody elsewhere.
    pub(super) fn new() -> Result<Self, Fault> {
        let web = Client::builder()
            .tls_certs_only(roots())
            .no_proxy()
            .redirect(redirect::Policy::none())
            .connect_timeout(CONNECT)
            .timeout(WHOLE)
            .build()
            .map_err(|fault| Fault::Unreached(format!("There is no way out: {fault}")))?;
        Ok(Self { web, unreached: Arc::default() })
    }

    /// Whether something could not be reached.
    pub(super) fn was_unreached(&self) -> bool {
        self.unreached.load(Ordering::Relaxed)
    }

    async fn get(&self, url: &Url) -> Result<Vec<u8>, TransportError> {
        match url.scheme() {
            "file" => file(url),
            "http" | "https" => self.web(url).await,
            _ => Err(TransportError::new(TransportErrorKind::UnsupportedUrlScheme, url)),
        }
    }

    async fn web(&self, url: &Url) -> Result<Vec<u8>, TransportError> {
        let fault = |fault: reqwest::Error| {
            self.unreached.store(true, Ordering::Relaxed);
            other(url, fault.without_url())
        };
        let mut answer = self.web.get(url.clone()).send().await.map_err(fault)?;
        match answer.status() {
            StatusCode::OK => {}
            StatusCode::NOT_FOUND => {
                return Err(TransportError::new(TransportErrorKind::FileNotFound, url));
            }
            status => {
                self.unreached.store(true, Ordering::Relaxed);
                return Err(other(url, format!("the answer is {status}")));
            }
        }
        if answer.content_length().is_some_and(|length| length > MOST) {
            return Err(too_large(url));
        }
        let mut bytes = Vec::new();
        while let Some(piece) = answer.chunk().await.map_err(fault)? {
            if (bytes.len() + piece.len()) as u64 > MOST {
                return Err(too_large(url));
            }
            bytes.extend_from_slice(&piece);
        }
        Ok(bytes)
    }
}

/// A file of a folder.
fn file(url: &Url) -> Result<Vec<u8>, TransportError> {
    let path = url.to_file_path().map_err(|()| other(url, "this names no file"))?;
    let read = || -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        std::fs::File::open(&path)?.take(MOST + 1).read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    let bytes = read().map_err(|fault| {
        if fault.kind() == io::ErrorKind::NotFound {
            TransportError::new(TransportErrorKind::FileNotFound, url)
        } else {
            other(url, fault)
        }
    })?;
    if bytes.len() as u64 > MOST { Err(too_large(url)) } else { Ok(bytes) }
}

fn too_large(url: &Url) -> TransportError {
    other(url, format!("more than {MOST} bytes"))
}

fn other(url: &Url, why: impl Into<Box<dyn std::error::Error + Send + Sync>>) -> TransportError {
    TransportError::new_with_cause(TransportErrorKind::Other, url, why)
}

#[async_trait]
impl Transport for Getter {
    async fn fetch(&self, url: Url) -> Result<TransportStream, TransportError> {
        let got = self.get(&url).await.map(Bytes::from);
        Ok(Box::pin(stream::iter([got])))
    }
}
