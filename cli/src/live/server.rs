//! The page's server.

use serde::Serialize;
use std::io;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;
use thiserror::Error;
use tiny_http::{Header, Method, Request, Response, Server};

const PAGE: &str = include_str!("page.html");
/// Between two looks at whether to stop.
const PAUSE: Duration = Duration::from_millis(200);

/// Why there is no page.
#[derive(Debug, Error)]
pub enum LiveError {
    /// The port is taken, or the system gives none.
    #[error("no page on port {port} of 127.0.0.1: {why}")]
    NoPort {
        /// Which; 0 for any.
        port: u16,
        /// The system's words.
        why: String,
    },
    /// The system has no random numbers.
    #[error("the system gives no random numbers for the page's address: {0}")]
    NoRandom(String),
}

/// What the page shows.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Shown {
    /// Grows with each good result.
    pub version: u64,
    /// "solving", "solved" or "refused".
    pub state: &'static str,
    /// What is being done, or what is wrong, where, and the mend.
    pub message: String,
    #[serde(skip)]
    report: Arc<str>,
}

/// A running page.
#[derive(Debug)]
pub struct Live {
    shown: Arc<Mutex<Shown>>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
    address: String,
}

impl Live {
    /// Serves the page on a port of the loopback address, 0 for any free one.
    ///
    /// # Errors
    /// A port that is taken; a system without random numbers.
    pub fn start(port: u16) -> Result<Self, LiveError> {
        let mut bytes = [0_u8; 16];
        getrandom::fill(&mut bytes).map_err(|e| LiveError::NoRandom(e.to_string()))?;
        let token: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
        let no_port = |why: String| LiveError::NoPort { port, why };
        let server = Server::http(("127.0.0.1", port)).map_err(|e| no_port(e.to_string()))?;
        let at = server.server_addr().to_ip().ok_or_else(|| no_port("no address".into()))?;
        let address = format!("http://{at}/{token}/");
        let shown = Arc::new(Mutex::new(Shown::default()));
        let stop = Arc::new(AtomicBool::new(false));
        let (for_thread, stopped) = (Arc::clone(&shown), Arc::clone(&stop));
        let host = at.to_string();
        let thread = std::thread::spawn(move || {
            while !stopped.load(Ordering::Relaxed) {
                if let Ok(Some(request)) = server.recv_timeout(PAUSE) {
                    // A reader that went away is no trouble of ours.
                    let _ = answer(request, &host, &token, &for_thread);
                }
            }
        });
        Ok(Self { shown, stop, thread: Some(thread), address })
    }

    /// Where it is.
    #[must_use]
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Tells what is being done.
    pub fn tell(&self, state: &'static str, message: String) {
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        shown.state = state;
        shown.message = message;
    }

    /// Shows new results.
    pub fn show(&self, report: &str, message: String) {
        let mut shown = self.shown.lock().unwrap_or_else(PoisonError::into_inner);
        shown.version += 1;
        shown.state = "solved";
        shown.message = message;
        shown.report = report.into();
    }
}

impl Drop for Live {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// Answers one request.
fn answer(request: Request, host: &str, token: &str, shown: &Mutex<Shown>) -> io::Result<()> {
    let named = request.headers().iter().find(|h| h.field.equiv("Host")).map(|h| h.value.as_str());
    // A page elsewhere may point a name of its own at this address; its name tells it apart.
    let port = host.rsplit(':').next().unwrap_or_default();
    let is_ours = named.is_some_and(|n| n == host || n == format!("localhost:{port}"));
    let path = request.url().split('?').next().unwrap_or_default();
    let path = path.strip_prefix('/').and_then(|p| p.strip_prefix(token));
    let (status, kind, body) = match (is_ours, request.method(), path) {
        (false, ..) => (403, "text/plain", "not for this name".to_owned()),
        (_, Method::Get | Method::Head, Some("/")) => (200, "text/html", PAGE.to_owned()),
        (_, Method::Get | Method::Head, Some("/state")) => {
            let shown = shown.lock().unwrap_or_else(PoisonError::into_inner);
            (200, "application/json", serde_json::to_string(&*shown).unwrap_or_default())
        }
        (_, Method::Get | Method::Head, Some("/report")) => {
            let shown = shown.lock().unwrap_or_else(PoisonError::into_inner);
            match &*shown.report {
                "" => (404, "text/plain", "nothing is solved yet".to_owned()),
                report => (200, "text/html", report.to_owned()),
            }
        }
        (_, Method::Get | Method::Head, _) => {
            (404, "text/plain", "there is nothing here".to_owned())
        }
        _ => (405, "text/plain", "this page can only be read".to_owned()),
    };
    let mut response = Response::from_string(body).with_status_code(status);
    let type_of = format!("{kind}; charset=utf-8");
    for (name, value) in [
        ("Content-Type", type_of.as_str()),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cross-Origin-Resource-Policy", "same-origin"),
        ("X-Frame-Options", "SAMEORIGIN"),
    ] {
        if let Ok(header) = Header::from_bytes(name, value) {
            response.add_header(header);
        }
    }
    request.respond(response)
}
