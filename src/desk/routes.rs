//! Addresses and what answers them. Everything passes [`guard`] first.

use std::sync::Arc;
use std::time::Instant;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{DefaultBodyLimit, Path, Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, Method, Response, StatusCode, header};
use axum::middleware::{self, Next};
use axum::routing::{get, post, put};
use serde::{Deserialize, Serialize};

use super::access::{Access, Admission, Asked, TOKEN_HEADER};
use super::after::{self, Readings};
use super::answer::{self, Question};
use super::answer_routes;
use super::change::Change;
use super::columns::{self, FirstFiles, Sheets};
use super::desk::{Desk, FarmShare};
use super::edit::Reason;
use super::home::{ListedFile, file_name, readable_name};
use super::page;
use super::refused::Refused;
use super::reply;
use super::served::{MOST_UPLOADS, Served, Shared, ask, asked, nothing_here, text_of, work};
use super::take::{self, Taking};
use super::today::today;

/// Largest body of a request that is no file.
pub(super) const LARGEST_REQUEST: usize = 2 << 20;
/// Largest file that is taken.
const LARGEST_FILE: usize = 256 << 20;

/// All routes.
pub fn router(served: Arc<Served>) -> Router {
    let mut router = Router::new();
    for file in page::FILES {
        let answer = move || async move { reply::bytes(StatusCode::OK, file.kind, file.bytes) };
        router = router.route(file.address, get(answer));
    }
    let files = put(upload).layer(DefaultBodyLimit::max(LARGEST_FILE));
    router
        .merge(answer_routes::router())
        .route("/api/state", get(state))
        .route("/api/words", get(words))
        .route("/api/files/{name}", files)
        .route("/api/columns", post(of_columns))
        .route("/api/first", post(first))
        .route("/api/answer", post(of_plan))
        .route("/api/keep", post(keep))
        .route("/api/back", post(back))
        .route("/api/take", post(taken))
        .route("/api/after", post(of_season))
        .fallback(|| async { nothing_here() })
        .layer(DefaultBodyLimit::max(LARGEST_REQUEST))
        .layer(middleware::from_fn_with_state(Arc::clone(&served), guard))
        .with_state(served)
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
        if let Some(why) = desk.home.own_file(&name) {
            return Err(Refused::Malformed(format!("\"{name}\" {why}")));
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
    let question = match asked::<Question>(&body) {
        Ok(question) => question,
        Err(refused) => return reply::refusal(&refused),
    };
    // Written to JSON there too: an answer is long, and this thread serves everybody.
    let written = work(served, move |desk| {
        let answer = answer::answer(desk, &question, &turn)?;
        let start = Instant::now();
        let text = reply::text(&answer)?;
        Ok((text, answer.spent, start.elapsed()))
    });
    match written.await {
        Ok((text, spent, writing)) => reply::timed(text, spent, writing),
        Err(refused) => reply::refusal(&refused),
    }
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
