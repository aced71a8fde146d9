//! Addresses of the farm's desk. A field's own desk answers below `/fields/NAME/`, with the same addresses as the desk of a field alone.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, Path, Query, Request, State};
use axum::http::{HeaderMap, Response, StatusCode, Uri};
use axum::middleware::{self, Next};
use axum::routing::{any, get, post};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use tower_service::Service as _;

use super::answer::{FarmQuestion, TriedBudget};
use super::farm_desk::FarmDesk;
use super::take::{self, FarmTaking};
use crate::desk::access::Access;
use crate::desk::edit::Reason;
use crate::desk::page;
use crate::desk::refused::Refused;
use crate::desk::reply;
use crate::desk::routes::{self, LARGEST_REQUEST, admitted};
use crate::desk::served::{FileOptions, Served, answered, in_a_thread, nothing_here, window_of};
use crate::desk::today::today;
use crate::desk::turn::{Turn, Turns};

/// Where fields have their own desks.
const FIELDS: &str = "/fields/";
/// Most fields' desks that are kept open; the one with the least name is closed first.
const MOST_OPEN: usize = 24;

/// What the routes share.
#[derive(Debug)]
pub struct FarmServed {
    desk: FarmDesk,
    access: Access,
    /// Desks of fields that were opened, by the field's name, each with what tells it from an older one.
    open: Mutex<BTreeMap<String, (String, Router)>>,
}

impl FarmServed {
    /// A farm's desk behind its secret.
    #[must_use]
    pub fn new(desk: FarmDesk, access: Access) -> Self {
        Self {
            desk,
            access,
            open: Mutex::default(),
        }
    }

    fn turn(&self, headers: &HeaderMap) -> Turn {
        self.desk.turns.take(&window_of(headers))
    }

    /// The desk of a field.
    fn field(&self, id: &str) -> Result<Router, Refused> {
        // Nobody stops this: the page waits for the field.
        let turn = Turns::default().take(id);
        let (state, desk) = self.desk.field(id, &turn)?;
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, router)) = open.get(id).filter(|(known, _)| *known == state) {
            return Ok(router.clone());
        }
        if open.len() >= MOST_OPEN {
            open.pop_first();
        }
        let served = Served::new(desk, self.access.clone());
        let router = routes::router(Arc::new(served));
        open.insert(id.to_owned(), (state, router.clone()));
        Ok(router)
    }
}

type Shared = State<Arc<FarmServed>>;

/// All routes.
pub fn router(served: Arc<FarmServed>) -> Router {
    let mut router = Router::new();
    let of_fields = page::FILES.iter().filter(|file| file.address != "/");
    for file in page::FARM_FILES.iter().chain(of_fields) {
        let answer = move || async move { reply::bytes(StatusCode::OK, file.kind, file.bytes) };
        router = router.route(file.address, get(answer));
    }
    router
        .route("/api/farm/state", get(state))
        .route("/api/farm/answer", post(answer))
        .route("/api/farm/progress", get(progress))
        .route("/api/farm/stop", post(stop))
        .route("/api/farm/keep", post(keep))
        .route("/api/farm/back", post(back))
        .route("/api/farm/take", post(taken))
        .route("/api/farm/file", get(file))
        .route("/api/farm/zip", get(archive))
        .route("/fields/{id}/", any(of_field))
        .route("/fields/{id}/{*rest}", any(of_field))
        .fallback(|| async { nothing_here() })
        .layer(DefaultBodyLimit::max(LARGEST_REQUEST))
        .layer(middleware::from_fn_with_state(Arc::clone(&served), guard))
        .with_state(served)
}

async fn guard(State(served): Shared, request: Request, next: Next) -> Response<Body> {
    admitted(&served.access, request, next).await
}

/// Does work that takes time in a thread of its own.
async fn work<T: Send + 'static>(
    served: Arc<FarmServed>,
    work: impl FnOnce(&FarmServed) -> Result<T, Refused> + Send + 'static,
) -> Result<T, Refused> {
    in_a_thread(move || work(&served)).await
}

/// Answers a question in JSON with JSON.
async fn ask<Q, T>(
    served: Arc<FarmServed>,
    body: Bytes,
    answer: impl FnOnce(&FarmDesk, Q) -> Result<T, Refused> + Send + 'static,
) -> Response<Body>
where
    Q: DeserializeOwned + Send + 'static,
    T: Serialize + Send + 'static,
{
    answered(body, move |question| answer(&served.desk, question)).await
}

/// What the page begins with.
#[derive(Debug, Serialize)]
struct FarmState {
    folder: String,
    file: String,
    /// What tells the farm file's state.
    farm: String,
    steps: usize,
    version: &'static str,
}

async fn state(State(served): Shared) -> Response<Body> {
    let read = |served: &FarmServed| {
        let home = &served.desk.home;
        Ok(FarmState {
            folder: home.folder().display().to_string(),
            file: home.file().to_owned(),
            farm: home.text()?.hash(),
            steps: served.desk.steps(),
            version: env!("CARGO_PKG_VERSION"),
        })
    };
    reply::json(work(served, read).await)
}

async fn answer(State(served): Shared, headers: HeaderMap, body: Bytes) -> Response<Body> {
    let turn = served.turn(&headers);
    ask(served, body, move |desk, question: FarmQuestion| {
        desk.answer(&question, &turn)
    })
    .await
}

async fn progress(State(served): Shared) -> Response<Body> {
    reply::json(Ok(served.desk.progress.told()))
}

/// Stops what this window asked for.
async fn stop(State(served): Shared, headers: HeaderMap) -> Response<Body> {
    drop(served.turn(&headers));
    reply::json(Ok(served.desk.progress.told()))
}

/// A budget to be written with its reason.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Keeping {
    farm: String,
    budget: TriedBudget,
    why: String,
}

/// The farm file's state after it was written.
#[derive(Debug, Serialize)]
struct Written {
    farm: String,
    steps: usize,
}

async fn keep(State(served): Shared, body: Bytes) -> Response<Body> {
    ask(served, body, |desk, keeping: Keeping| {
        let why = keeping.why.trim();
        if why.is_empty() {
            let what = "say why: the reason is written into the farm file beside what changed";
            return Err(Refused::Malformed(what.to_owned()));
        }
        let day = today();
        let kept = desk.keep(&keeping.farm, keeping.budget, Reason { day: &day, why })?;
        Ok(Written {
            farm: kept.hash(),
            steps: desk.steps(),
        })
    })
    .await
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Back {
    farm: String,
}

async fn back(State(served): Shared, body: Bytes) -> Response<Body> {
    ask(served, body, |desk, back: Back| {
        let before = desk.step_back(&back.farm)?;
        Ok(Written {
            farm: before.hash(),
            steps: desk.steps(),
        })
    })
    .await
}

async fn taken(State(served): Shared, headers: HeaderMap, body: Bytes) -> Response<Body> {
    let turn = served.turn(&headers);
    ask(served, body, move |desk, taking: FarmTaking| {
        take::write(desk, &taking, &turn)
    })
    .await
}

async fn file(
    State(served): Shared,
    headers: HeaderMap,
    Query(options): Query<FileOptions>,
) -> Response<Body> {
    let turn = served.turn(&headers);
    let name = options.name();
    let made = work(served, move |served| served.desk.file(&options.path, &turn));
    reply::made(made.await, |file| reply::attachment(&name, file))
}

async fn archive(State(served): Shared, headers: HeaderMap) -> Response<Body> {
    let turn = served.turn(&headers);
    let made = work(served, move |served| take::archive(&served.desk, &turn));
    reply::made(made.await, |zip| reply::attachment("farm.zip", zip))
}

/// Hands a request on to the desk of its field, under the address that it has there.
async fn of_field(
    State(served): Shared,
    Path(parts): Path<Vec<(String, String)>>,
    request: Request,
) -> Response<Body> {
    let id = parts.into_iter().next().unwrap_or_default().1;
    let Some(uri) = below(request.uri()) else {
        return nothing_here();
    };
    let router = work(served, move |served| served.field(&id)).await;
    match router {
        Ok(mut router) => {
            let (mut parts, body) = request.into_parts();
            parts.uri = uri;
            // What this router found in the address is not for the next one.
            parts.extensions.clear();
            let Ok(reply) = router.call(Request::from_parts(parts, body)).await;
            reply
        }
        Err(refused) => reply::refusal(&refused),
    }
}

/// The address below that of a field.
fn below(uri: &Uri) -> Option<Uri> {
    let whole = uri.path_and_query()?.as_str().strip_prefix(FIELDS)?;
    let (_, rest) = whole.split_once('/')?;
    format!("/{rest}").parse().ok()
}
