//! What the routes share: the desk behind its secret, and how a question becomes a reply.

use std::sync::Arc;

use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::{HeaderMap, Response};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use tokio::sync::Semaphore;

use super::access::Access;
use super::desk::Desk;
use super::refused::Refused;
use super::reply;
use super::turn::Turn;

/// Files that are taken at the same time.
pub(super) const MOST_UPLOADS: usize = 2;
/// Longest name of a window.
const LONGEST_WINDOW: usize = 64;
/// The header with a window's name.
const WINDOW_HEADER: &str = "x-desk-window";

/// What the routes share.
#[derive(Debug)]
pub struct Served {
    /// The desk.
    pub(super) desk: Desk,
    /// Who may ask.
    pub(super) access: Access,
    /// Room for files that are being taken.
    pub(super) uploads: Semaphore,
}

impl Served {
    /// A desk behind its secret.
    #[must_use]
    pub fn new(desk: Desk, access: Access) -> Self {
        Self {
            desk,
            access,
            uploads: Semaphore::new(MOST_UPLOADS),
        }
    }

    /// The turn of a request.
    pub(super) fn turn(&self, headers: &HeaderMap) -> Turn {
        self.desk.turns.take(&window_of(headers))
    }
}

/// The name of the window that asks.
pub(super) fn window_of(headers: &HeaderMap) -> String {
    let name = text_of(headers, WINDOW_HEADER).unwrap_or_default();
    name.chars().take(LONGEST_WINDOW).collect()
}

/// What a route is handed.
pub(super) type Shared = State<Arc<Served>>;

/// The text of a header.
pub(super) fn text_of<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    headers.get(name)?.to_str().ok()
}

/// Does work that takes time in a thread of its own.
pub(super) async fn work<T: Send + 'static>(
    served: Arc<Served>,
    work: impl FnOnce(&Desk) -> Result<T, Refused> + Send + 'static,
) -> Result<T, Refused> {
    in_a_thread(move || work(&served.desk)).await
}

/// Does work that takes time in a thread of its own, whatever desk it is of.
pub(super) async fn in_a_thread<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Refused> + Send + 'static,
) -> Result<T, Refused> {
    let done = tokio::task::spawn_blocking(work).await;
    done.unwrap_or_else(|_| Err(Refused::Engine(crate::error::Error::Defect.into())))
}

/// A question in JSON.
pub(super) fn asked<T: DeserializeOwned>(body: &Bytes) -> Result<T, Refused> {
    serde_json::from_slice(body)
        .map_err(|error| Refused::Malformed(format!("the request cannot be understood: {error}")))
}

/// Answers a question in JSON with JSON.
pub(super) async fn ask<Q, T>(
    served: Arc<Served>,
    body: Bytes,
    answer: impl FnOnce(&Desk, Q) -> Result<T, Refused> + Send + 'static,
) -> Response<Body>
where
    Q: DeserializeOwned + Send + 'static,
    T: Serialize + Send + 'static,
{
    answered(body, move |question| answer(&served.desk, question)).await
}

/// Answers a question in JSON with JSON, whatever desk is asked.
pub(super) async fn answered<Q, T>(
    body: Bytes,
    answer: impl FnOnce(Q) -> Result<T, Refused> + Send + 'static,
) -> Response<Body>
where
    Q: DeserializeOwned + Send + 'static,
    T: Serialize + Send + 'static,
{
    let question = match asked::<Q>(&body) {
        Ok(question) => question,
        Err(refused) => return reply::refusal(&refused),
    };
    reply::json(in_a_thread(move || answer(question)).await)
}

/// Which file of a result is asked for.
#[derive(Debug, Deserialize)]
pub(super) struct FileOptions {
    /// Its path in the result.
    pub(super) path: String,
}

impl FileOptions {
    /// Its name without the folders.
    pub(super) fn name(&self) -> String {
        let name = self.path.rsplit('/').next();
        name.unwrap_or_default().to_owned()
    }
}

/// The reply where there is nothing.
pub(super) fn nothing_here() -> Response<Body> {
    reply::refusal(&Refused::NotFound("there is nothing here".to_owned()))
}
