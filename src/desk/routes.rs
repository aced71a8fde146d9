//! Addresses and what answers them. Everything passes [`guard`] first.

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, Path, Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, Response, StatusCode, header};
use axum::middleware::{self, Next};
use axum::routing::{get, post, put};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use tokio::sync::Semaphore;

use super::access::{Access, Admission, Asked, TOKEN_HEADER};
use super::after::{self, Readings};
use super::answer::{self, Question};
use super::change::Change;
use super::columns::{self, FirstFiles, Sheets};
use super::desk::{Desk, FarmShare};
use super::edit::Reason;
use super::home::{ListedFile, file_name, readable_name};
use super::page;
use super::refused::Refused;
use super::reply;
use super::take::{self, Taking};
use super::today::today;
use super::turn::Turn;
use crate::deliver::RasterPart;

/// Largest body of a request that is no file.
pub(super) const LARGEST_REQUEST: usize = 2 << 20;
/// Largest file that is taken.
const LARGEST_FILE: usize = 256 << 20;
/// Files that are taken at the same time.
const MOST_UPLOADS: usize = 2;
/// Longest name of a window.
const LONGEST_WINDOW: usize = 64;
/// The header with a window's name.
const WINDOW_HEADER: &str = "x-desk-window";

/// What the routes share.
#[derive(Debug)]
pub struct Served {
    desk: Desk,
    access: Access,
    uploads: Semaphore,
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
    fn turn(&self, headers: &HeaderMap) -> Turn {
        self.desk.turns.take(&window_of(headers))
    }
}

/// The name of the window that asks.
pub(super) fn window_of(headers: &HeaderMap) -> String {
    let name = text_of(headers, WINDOW_HEADER).unwrap_or_default();
    name.chars().take(LONGEST_WINDOW).collect()
}

type Shared = State<Arc<Served>>;

/// All routes.
pub fn router(served: Arc<Served>) -> Router {
    let mut router = Router::new();
    for file in page::FILES {
        let answer = move || async move { reply::bytes(StatusCode::OK, file.kind, file.bytes) };
        router = router.route(file.address, get(answer));
    }
    let files = put(upload).layer(DefaultBodyLimit::max(LARGEST_FILE));
    router
        .route("/api/state", get(state))
        .route("/api/words", get(words))
        .route("/api/files/{name}", files)
        .route("/api/columns", post(of_columns))
        .route("/api/first", post(first))
        .route("/api/answer", post(of_plan))
        .route("/api/answers/{id}/samples", get(samples))
        .route("/api/answers/{id}/samples/{file}/{at}", get(sample))
        .route("/api/answers/{id}/values/{layer}", get(values))
        .route("/api/answers/{id}/maps/{layer}/{part}", get(map))
        .route("/api/answers/{id}/place", get(place))
        .route("/api/answers/{id}/files", get(listed))
        .route("/api/answers/{id}/file", get(file))
        .route("/api/answers/{id}/report", get(report))
        .route("/api/answers/{id}/zip", get(archive))
        .route("/api/keep", post(keep))
        .route("/api/back", post(back))
        .route("/api/take", post(taken))
        .route("/api/after", post(of_season))
        .fallback(|| async { nothing_here() })
        .layer(DefaultBodyLimit::max(LARGEST_REQUEST))
        .layer(middleware::from_fn_with_state(Arc::clone(&served), guard))
        .with_state(served)
}

fn text_of<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    headers.get(name)?.to_str().ok()
}

/// Lets in who knows the secret and comes from this address; the first page gets the secret out of the address line.
async fn guard(State(served): Shared, request: Request, next: Next) -> Response<Body> {
    admitted(&served.access, request, next).await
}

/// Answers a request that may be answered.
pub(super) async fn admitted(access: &Access, request: Request, next: Next) -> Response<Body> {
    let headers = request.headers();
    let query = request.uri().query().unwrap_or_default();
    let asked = Asked {
        host: text_of(headers, header::HOST.as_str()),
        origin: text_of(headers, header::ORIGIN.as_str()),
        site: text_of(headers, "sec-fetch-site"),
        cookie: text_of(headers, header::COOKIE.as_str()),
        header: text_of(headers, TOKEN_HEADER),
        query: query.strip_prefix("token="),
        is_first_page: request.uri().path() == "/" && request.method() == Method::GET,
    };
    match access.admit(&asked) {
        Admission::Admitted => next.run(request).await,
        Admission::Welcome => welcome(access),
        Admission::Refused => reply::bytes(
            StatusCode::FORBIDDEN,
            "text/plain; charset=utf-8",
            "This page is opened by the address that \"lowstave desk\" prints.\n",
        ),
    }
}

fn welcome(access: &Access) -> Response<Body> {
    let mut reply = reply::bytes(StatusCode::SEE_OTHER, "text/plain; charset=utf-8", "");
    let headers = reply.headers_mut();
    headers.insert(header::LOCATION, HeaderValue::from_static("/"));
    if let Ok(cookie) = HeaderValue::from_str(&access.cookie()) {
        headers.insert(header::SET_COOKIE, cookie);
    }
    reply
}

/// Does work that takes time in a thread of its own.
async fn work<T: Send + 'static>(
    served: Arc<Served>,
    work: impl FnOnce(&Desk) -> Result<T, Refused> + Send + 'static,
) -> Result<T, Refused> {
    let done = tokio::task::spawn_blocking(move || work(&served.desk)).await;
    done.unwrap_or_else(|_| Err(Refused::Engine(crate::error::Error::Defect.into())))
}

pub(super) fn asked<T: DeserializeOwned>(body: &Bytes) -> Result<T, Refused> {
    serde_json::from_slice(body)
        .map_err(|error| Refused::Malformed(format!("the request cannot be understood: {error}")))
}

/// Answers a question in JSON with JSON.
async fn ask<Q, T>(
    served: Arc<Served>,
    body: Bytes,
    answer: impl FnOnce(&Desk, Q) -> Result<T, Refused> + Send + 'static,
) -> Response<Body>
where
    Q: DeserializeOwned + Send + 'static,
    T: Serialize + Send + 'static,
{
    let question = match asked::<Q>(&body) {
        Ok(question) => question,
        Err(refused) => return reply::refusal(&refused),
    };
    reply::json(work(served, move |desk| answer(desk, question)).await)
}

fn nothing_here() -> Response<Body> {
    reply::refusal(&Refused::NotFound("there is nothing here".to_owned()))
}

/// What the page begins with.
#[derive(Debug, Serialize)]
struct DeskState {
    folder: String,
    plan_file: String,
    /// What tells the plan's state; nothing where there is none yet.
    plan: Option<String>,
    text: Option<String>,
    steps: usize,
    files: Vec<ListedFile>,
    version: &'static str,
    /// What the field's farm says and holds for it.
    farm: Option<FarmShare>,
}

async fn state(State(served): Shared) -> Response<Body> {
    let read = |desk: &Desk| {
        let texts = desk.home.texts()?;
        Ok(DeskState {
            folder: desk.home.folder().display().to_string(),
            plan_file: desk.home.plan_file().to_owned(),
            plan: texts.as_ref().map(super::texts::Texts::hash),
            text: texts.map(|texts| texts.plan),
            steps: desk.steps(),
            files: desk.home.list(),
            version: env!("CARGO_PKG_VERSION"),
            farm: desk.farm.clone(),
        })
    };
    reply::json(work(served, read).await)
}

async fn words(State(served): Shared) -> Response<Body> {
    reply::json(work(served, |_| Ok(columns::words())).await)
}

#[derive(Debug, Deserialize)]
struct UploadOptions {
    #[serde(default)]
    replace: u8,
}

async fn upload(
    State(served): Shared,
    Path(name): Path<String>,
    Query(options): Query<UploadOptions>,
    request: Request,
) -> Response<Body> {
    if let Err(refused) = file_name(&name) {
        return reply::refusal(&refused);
    }
    let Ok(_permit) = served.uploads.try_acquire() else {
        let what = format!("{MOST_UPLOADS} files are being taken already; drop one after another");
        return reply::refusal(&Refused::TooMuch(what));
    };
    if length_of(request.headers()).is_some_and(|length| length > LARGEST_FILE) {
        return reply::refusal(&too_large());
    }
    let body = axum::body::to_bytes(request.into_body(), LARGEST_FILE).await;
    let Ok(body) = body else {
        return reply::refusal(&too_large());
    };
    let shared = Arc::clone(&served);
    let write = move |desk: &Desk| {
        if name == desk.home.plan_file() {
            let what =
                format!("\"{name}\" is the plan itself; open the desk on its folder instead");
            return Err(Refused::Malformed(what));
        }
        readable_name(&name)?;
        desk.home.write(&name, &body, options.replace == 1)?;
        Ok(desk.home.list())
    };
    reply::json(work(shared, write).await)
}

/// What the header says of a body's length.
fn length_of(headers: &HeaderMap) -> Option<usize> {
    text_of(headers, header::CONTENT_LENGTH.as_str())?
        .parse()
        .ok()
}

fn too_large() -> Refused {
    let what = format!("a file may have at most {} MB", LARGEST_FILE >> 20);
    Refused::TooLarge(what)
}

async fn of_columns(State(served): Shared, headers: HeaderMap, body: Bytes) -> Response<Body> {
    let turn = served.turn(&headers);
    ask(served, body, move |desk, sheets: Sheets| {
        columns::columns(desk, &sheets, &turn)
    })
    .await
}

/// A first plan with changes, to be written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FirstPlan {
    first: FirstFiles,
    #[serde(default)]
    changes: Vec<Change>,
    /// What tells the plan that it takes the place of.
    #[serde(default)]
    replaces: Option<String>,
}

/// The plan's state after it was written.
#[derive(Debug, Serialize)]
struct Written {
    plan: String,
    steps: usize,
}

async fn first(State(served): Shared, body: Bytes) -> Response<Body> {
    ask(served, body, |desk, first: FirstPlan| {
        let sheets = Sheets {
            plan: None,
            first: Some(first.first),
            changes: first.changes,
        };
        let texts = columns::texts(desk, &sheets)?;
        desk.write_first(&texts, first.replaces.as_deref())?;
        Ok(Written {
            plan: texts.hash(),
            steps: desk.steps(),
        })
    })
    .await
}

async fn of_plan(State(served): Shared, headers: HeaderMap, body: Bytes) -> Response<Body> {
    let turn = served.turn(&headers);
    ask(served, body, move |desk, question: Question| {
        answer::answer(desk, &question, &turn)
    })
    .await
}

async fn samples(State(served): Shared, Path(id): Path<u64>) -> Response<Body> {
    let found = work(served, move |desk| Ok(answer::samples(&desk.answered(id)?)));
    reply::json(found.await)
}

async fn sample(
    State(served): Shared,
    Path((id, file, at)): Path<(u64, usize, usize)>,
) -> Response<Body> {
    let found = work(served, move |desk| {
        answer::sample(&desk.answered(id)?, file, at)
    });
    reply::json(found.await)
}

async fn values(State(served): Shared, Path((id, layer)): Path<(u64, usize)>) -> Response<Body> {
    let found = work(served, move |desk| {
        answer::values(&desk.answered(id)?, layer)
    });
    reply::json(found.await)
}

async fn map(
    State(served): Shared,
    Path((id, layer, part)): Path<(u64, usize, String)>,
) -> Response<Body> {
    let part = match part.as_str() {
        "values" => RasterPart::Values,
        "uncertainty" => RasterPart::Uncertainty,
        _ => return nothing_here(),
    };
    let made = work(served, move |desk| {
        answer::map(&desk.answered(id)?, layer, part)
    });
    reply::made(made.await, |map| {
        reply::bytes(StatusCode::OK, "application/octet-stream", map)
    })
}

#[derive(Debug, Deserialize)]
struct PlaceOptions {
    x: f64,
    y: f64,
}

async fn place(
    State(served): Shared,
    Path(id): Path<u64>,
    Query(at): Query<PlaceOptions>,
) -> Response<Body> {
    let found = work(served, move |desk| {
        answer::place(&desk.answered(id)?, at.x, at.y)
    });
    reply::json(found.await)
}

async fn listed(State(served): Shared, Path(id): Path<u64>) -> Response<Body> {
    reply::json(work(served, move |desk| take::listed(desk, id)).await)
}

#[derive(Debug, Deserialize)]
struct FileOptions {
    path: String,
}

async fn file(
    State(served): Shared,
    Path(id): Path<u64>,
    Query(options): Query<FileOptions>,
) -> Response<Body> {
    let name = options
        .path
        .rsplit('/')
        .next()
        .unwrap_or_default()
        .to_owned();
    let made = work(served, move |desk| take::file(desk, id, &options.path));
    reply::made(made.await, |file| reply::attachment(&name, file))
}

async fn report(State(served): Shared, Path(id): Path<u64>) -> Response<Body> {
    let made = work(served, move |desk| take::file(desk, id, "report.html"));
    reply::made(made.await, reply::report)
}

async fn archive(State(served): Shared, Path(id): Path<u64>) -> Response<Body> {
    let made = work(served, move |desk| take::archive(desk, id));
    reply::made(made.await, |zip| reply::attachment("result.zip", zip))
}

/// Changes to be written with their reason.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Keeping {
    plan: String,
    changes: Vec<Change>,
    #[serde(default)]
    why: String,
}

async fn keep(State(served): Shared, headers: HeaderMap, body: Bytes) -> Response<Body> {
    let turn = served.turn(&headers);
    ask(served, body, move |desk, keeping: Keeping| {
        let needs_reason = !keeping.changes.iter().all(Change::has_reason);
        if needs_reason && keeping.why.trim().is_empty() {
            let what = "say why: the reason is written into the plan beside what changed";
            return Err(Refused::Malformed(what.to_owned()));
        }
        let day = today();
        let reason = Reason {
            day: &day,
            why: keeping.why.trim(),
        };
        let kept = desk.keep(&keeping.plan, &keeping.changes, reason, &turn)?;
        Ok(Written {
            plan: kept.hash(),
            steps: desk.steps(),
        })
    })
    .await
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Back {
    plan: String,
}

async fn back(State(served): Shared, body: Bytes) -> Response<Body> {
    ask(served, body, |desk, back: Back| {
        let before = desk.step_back(&back.plan)?;
        Ok(Written {
            plan: before.hash(),
            steps: desk.steps(),
        })
    })
    .await
}

async fn taken(State(served): Shared, body: Bytes) -> Response<Body> {
    ask(served, body, |desk, taking: Taking| {
        take::write(desk, &taking)
    })
    .await
}

async fn of_season(State(served): Shared, body: Bytes) -> Response<Body> {
    ask(served, body, |desk, readings: Readings| {
        after::after(desk, &readings)
    })
    .await
}
