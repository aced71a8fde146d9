use std::time::Duration;

use axum::body::Body;
use axum::http::{HeaderName, HeaderValue, Response, StatusCode, header};
use serde::Serialize;

use super::answer::Spent;
use super::refused::Refused;

/// What the page may load: itself, from here. Pictures it draws itself.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; frame-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'";
/// A report is shown in a frame without rights: its style and pictures are inside it, and its own policy names its one script.
const REPORT_POLICY: &str = "sandbox allow-modals allow-same-origin; default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'";

/// A refusal, for the page.
#[derive(Debug, Serialize)]
struct Told<'a> {
    /// A word for programs.
    code: &'a str,
    /// What is wrong, one text for each problem.
    problems: Vec<String>,
}

/// A reply of bytes.
pub fn bytes(status: StatusCode, kind: &'static str, bytes: impl Into<Body>) -> Response<Body> {
    let mut reply = Response::new(bytes.into());
    *reply.status_mut() = status;
    let headers = reply.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(POLICY),
    );
    let fixed = [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    reply
}

/// A report that is shown or printed in a frame of the page.
pub fn report(page: Vec<u8>) -> Response<Body> {
    let mut reply = bytes(StatusCode::OK, "text/html; charset=utf-8", page);
    reply.headers_mut().insert(
        header::CONTENT_SECURITY_POLICY,
        HeaderValue::from_static(REPORT_POLICY),
    );
    reply
}

/// Bytes to keep as a file.
pub fn attachment(name: &str, file: Vec<u8>) -> Response<Body> {
    let mut reply = bytes(StatusCode::OK, "application/octet-stream", file);
    let is_plain = |c: &char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    let name: String = name.chars().filter(is_plain).collect();
    if let Ok(value) = HeaderValue::from_str(&format!("attachment; filename=\"{name}\"")) {
        reply
            .headers_mut()
            .insert(header::CONTENT_DISPOSITION, value);
    }
    reply
}

/// A value, or why there is none.
pub fn json<T: Serialize>(result: Result<T, Refused>) -> Response<Body> {
    match result.and_then(|value| text(&value)) {
        Ok(text) => bytes(StatusCode::OK, "application/json", text),
        Err(refused) => refusal(&refused),
    }
}

/// Bytes, or why there are none.
pub fn made(
    result: Result<Vec<u8>, Refused>,
    reply: impl FnOnce(Vec<u8>) -> Response<Body>,
) -> Response<Body> {
    match result {
        Ok(bytes) => reply(bytes),
        Err(refused) => refusal(&refused),
    }
}

/// Why a request was not done.
pub fn refusal(refused: &Refused) -> Response<Body> {
    let told = Told {
        code: refused.code(),
        problems: refused.stories(),
    };
    let status = StatusCode::from_u16(refused.status());
    let status = status.unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    let text = text(&told).unwrap_or_default();
    bytes(status, "application/json", text)
}

/// An answer in JSON, and in a header of its own where its time went: <https://www.w3.org/TR/server-timing/>.
pub fn timed(text: Vec<u8>, spent: Spent, writing: Duration) -> Response<Body> {
    let mut reply = bytes(StatusCode::OK, "application/json", text);
    let milliseconds = |time: Duration| time.as_secs_f64() * 1e3;
    let desk = spent.all.saturating_sub(spent.engine);
    let told = format!(
        "engine;dur={:.1}, desk;dur={:.1}, json;dur={:.1}",
        milliseconds(spent.engine),
        milliseconds(desk),
        milliseconds(writing)
    );
    if let Ok(value) = HeaderValue::from_str(&told) {
        let headers = reply.headers_mut();
        headers.insert(HeaderName::from_static("server-timing"), value);
    }
    reply
}

/// A value in JSON.
///
/// # Errors
/// Where it has no form in JSON.
pub fn text(value: &impl Serialize) -> Result<Vec<u8>, Refused> {
    serde_json::to_vec(value)
        .map_err(|error| Refused::Malformed(format!("the answer has no form in JSON: {error}")))
}
