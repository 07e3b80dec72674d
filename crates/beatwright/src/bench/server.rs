//! The bench's server: loopback only, one page, one socket. It keeps no session.

use axum::Router;
use axum::body::Body;
use axum::extract::ws::{Message, WebSocket, WebSocketUpgrade};
use axum::extract::{Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::{Next, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::serve::ListenerExt;
use std::collections::HashMap;
use std::sync::Arc;
use tokio::net::TcpListener;

use crate::bench::answer::answer;
use crate::bench::assets::{INDEX, asset, content_security_policy};
use crate::bench::definitions::tables;
use crate::bench::live::{MOST_BLOCK_BYTES, MOST_LINES, hear};
use crate::bench::recording::take;

/// Largest question: the largest movement file, quoted, and what goes with it.
const MOST_BYTES: usize = 2 * movement::MAX_BYTES + 65_536;

/// What every request needs to know.
pub struct Bench {
    /// Without it the socket stays closed to other programs of the machine.
    pub token: String,
    /// Text of the movement to begin with and its name.
    pub begin: (String, String),
    /// Port listened on.
    pub port: u16,
    /// Held once more by every line of live sound that is open.
    pub lines: Arc<()>,
}

/// Serves until the process ends.
pub async fn serve(listener: TcpListener, bench: Bench) -> std::io::Result<()> {
    let bench = Arc::new(bench);
    let router = Router::new()
        .route("/", get(|| async { asset(INDEX) }))
        .route("/socket", get(socket))
        .route("/recording", post(recording))
        .route("/sound", get(sound))
        .route("/tables.json", get(tables_json))
        .route("/begin.json", get(begin))
        .fallback(get(|request: Request| async move { asset(request.uri().path().trim_start_matches('/')) }))
        .layer(from_fn_with_state(bench.clone(), guard))
        .with_state(bench);
    // An answer is sent in one go: the end of it does not wait until its beginning has been acknowledged.
    let listener = listener.tap_io(|line| drop(line.set_nodelay(true)));
    axum::serve(listener, router).await
}

/// Turns away what does not come from this machine's own page, and adds the headers that keep the page to itself.
async fn guard(State(bench): State<Arc<Bench>>, request: Request, next: Next) -> Response {
    if let Some(why) = stranger(request.headers(), bench.port) {
        return refused(why);
    }
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    let mut put = |name, value: &str| {
        if let Ok(value) = HeaderValue::from_str(value) {
            headers.insert(name, value);
        }
    };
    put(header::CONTENT_SECURITY_POLICY, content_security_policy());
    put(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    put(header::REFERRER_POLICY, "no-referrer");
    put(header::HeaderName::from_static("cross-origin-opener-policy"), "same-origin");
    put(header::HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
    put(header::CACHE_CONTROL, "no-cache");
    response
}

/// Why a request is none of this machine's own page; `None` where it is.
fn stranger(headers: &HeaderMap, port: u16) -> Option<&'static str> {
    let ours = ["127.0.0.1", "localhost", "[::1]"].map(|host| format!("{host}:{port}"));
    let text = |name| headers.get(name).and_then(|v: &HeaderValue| v.to_str().ok());
    if !text(header::HOST).is_some_and(|h| ours.iter().any(|o| o == h)) {
        return Some("the bench answers this machine only");
    }
    let foreign = |origin: &str| !ours.iter().any(|o| origin == format!("http://{o}"));
    text(header::ORIGIN).is_some_and(foreign).then_some("the bench answers its own page only")
}

fn refused(why: &'static str) -> Response {
    problem(StatusCode::FORBIDDEN, "refused", why)
}

fn problem(status: StatusCode, code: &str, message: &str) -> Response {
    let problem = serde_json::json!({ "code": code, "message": message, "diagnostics": [] });
    (status, [(header::CONTENT_TYPE, "application/problem+json")], problem.to_string()).into_response()
}

/// Whether a request carries the token.
fn known(bench: &Bench, query: &HashMap<String, String>) -> bool {
    query.get("token").is_some_and(|t| *t == bench.token)
}

/// Whether a request that may change something comes from the page: one of another site may open sockets and post, but
/// always names its origin.
fn from_page(bench: &Bench, query: &HashMap<String, String>, headers: &HeaderMap) -> bool {
    known(bench, query) && headers.contains_key(header::ORIGIN)
}

async fn tables_json() -> Response {
    json(&tables())
}

async fn begin(State(bench): State<Arc<Bench>>, Query(query): Query<HashMap<String, String>>) -> Response {
    if !known(&bench, &query) {
        return refused("open the bench at the address it printed");
    }
    let (name, text) = &bench.begin;
    json(&serde_json::json!({ "name": name, "text": text }))
}

fn json(value: &impl serde::Serialize) -> Response {
    match serde_json::to_string(value) {
        Ok(text) => ([(header::CONTENT_TYPE, "application/json")], text).into_response(),
        Err(e) => (StatusCode::INTERNAL_SERVER_ERROR, e.to_string()).into_response(),
    }
}

async fn socket(
    State(bench): State<Arc<Bench>>,
    Query(query): Query<HashMap<String, String>>,
    headers: HeaderMap,
    upgrade: WebSocketUpgrade,
) -> Response {
    if !from_page(&bench, &query, &headers) {
        return refused("open the bench at the address it printed");
    }
    upgrade.max_message_size(MOST_BYTES).on_upgrade(talk)
}

/// Answers one question after another.
async fn talk(mut socket: WebSocket) {
    while let Some(Ok(message)) = socket.recv().await {
        let Message::Text(text) = message else { continue };
        let Ok(text) = tokio::task::block_in_place(|| serde_json::to_string(&answer(text.as_str()))) else { break };
        if socket.send(Message::Text(text.into())).await.is_err() {
            break;
        }
    }
}

/// Listens to a recording in the body.
async fn recording(
    State(bench): State<Arc<Bench>>,
    Query(query): Query<HashMap<String, String>>,
    headers: HeaderMap,
    body: Body,
) -> Response {
    if !from_page(&bench, &query, &headers) {
        return refused("open the bench at the address it printed");
    }
    match take(&query, body).await {
        Ok(told) => json(&told),
        Err(why) => problem(why.status, why.code, &why.message),
    }
}

/// Listens to live sound.
async fn sound(
    State(bench): State<Arc<Bench>>,
    Query(query): Query<HashMap<String, String>>,
    headers: HeaderMap,
    upgrade: WebSocketUpgrade,
) -> Response {
    if !from_page(&bench, &query, &headers) {
        return refused("open the bench at the address it printed");
    }
    let own = bench.lines.clone();
    if Arc::strong_count(&own) > MOST_LINES + 1 {
        return problem(StatusCode::TOO_MANY_REQUESTS, "too-many", "too many pages listen at once: close one");
    }
    upgrade.max_message_size(MOST_BLOCK_BYTES).on_upgrade(move |socket| hear(socket, own))
}
