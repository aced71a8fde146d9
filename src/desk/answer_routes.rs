//! Addresses of one answer: its samples, values, maps, chapters and files.

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, Bytes};
use axum::extract::{Path, Query, State};
use axum::http::{Response, StatusCode};
use axum::routing::{get, post};
use serde::Deserialize;

use super::refused::Refused;
use super::served::{FileOptions, Served, Shared, ask, nothing_here, work};
use super::{answer, reply, take};
use crate::deliver::RasterPart;

/// The routes of answers.
pub(super) fn router() -> Router<Arc<Served>> {
    Router::new()
        .route("/api/answers/{id}/samples", get(samples))
        .route("/api/answers/{id}/samples/{file}/{at}", get(sample))
        .route("/api/answers/{id}/values/{layer}", get(values))
        .route("/api/answers/{id}/maps/{layer}/{part}", get(map))
        .route("/api/answers/{id}/zones/{zone}", get(chapter))
        .route("/api/answers/{id}/cones", get(cones))
        .route("/api/answers/{id}/place", get(place))
        .route("/api/answers/{id}/places", post(places))
        .route("/api/answers/{id}/files", get(listed))
        .route("/api/answers/{id}/file", get(file))
        .route("/api/answers/{id}/report", get(report))
        .route("/api/answers/{id}/zip", get(archive))
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

async fn chapter(State(served): Shared, Path((id, zone)): Path<(u64, u32)>) -> Response<Body> {
    let found = work(served, move |desk| {
        answer::chapter(&desk.answered(id)?, zone)
    });
    reply::json(found.await)
}

async fn cones(State(served): Shared, Path(id): Path<u64>) -> Response<Body> {
    let found = work(served, move |desk| answer::cones(&desk.answered(id)?));
    reply::json(found.await)
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
        let places = answer::places(&desk.answered(id)?, &[[at.x, at.y]])?;
        let place = places.first().copied();
        place.ok_or_else(|| Refused::NotFound("there is no such place".to_owned()))
    });
    reply::json(found.await)
}

async fn places(State(served): Shared, Path(id): Path<u64>, body: Bytes) -> Response<Body> {
    ask(served, body, move |desk, places: Vec<[f64; 2]>| {
        answer::places(&desk.answered(id)?, &places)
    })
    .await
}

async fn listed(State(served): Shared, Path(id): Path<u64>) -> Response<Body> {
    reply::json(work(served, move |desk| take::listed(desk, id)).await)
}

async fn file(
    State(served): Shared,
    Path(id): Path<u64>,
    Query(options): Query<FileOptions>,
) -> Response<Body> {
    let name = options.name();
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
