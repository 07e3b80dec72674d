//! The page's files, built into the program, and the policy that lets it load nothing else.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use base64::Engine;
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};
use std::sync::OnceLock;

/// The page.
pub const INDEX: &str = "index.html";

#[derive(RustEmbed)]
#[folder = "../../web"]
#[exclude = "*.d.ts"]
#[exclude = "node_modules/*"]
#[exclude = "*.md"]
struct Files;

/// A file of the page.
pub fn asset(path: &str) -> Response {
    match Files::get(path) {
        Some(file) => ([(header::CONTENT_TYPE, content_type(path))], file.data).into_response(),
        None => (StatusCode::NOT_FOUND, [(header::CONTENT_TYPE, "text/plain")], "not found").into_response(),
    }
}

fn content_type(path: &str) -> &'static str {
    match path.rsplit_once('.').map_or("", |(_, end)| end) {
        "html" => "text/html; charset=utf-8",
        "js" | "mjs" => "text/javascript; charset=utf-8",
        "css" => "text/css; charset=utf-8",
        "svg" => "image/svg+xml",
        "woff2" => "font/woff2",
        "json" => "application/json",
        _ => "text/plain; charset=utf-8",
    }
}

/// The page may load its own files and nothing else; the one script written into it is named by its hash.
pub fn content_security_policy() -> &'static str {
    static POLICY: OnceLock<String> = OnceLock::new();
    POLICY.get_or_init(|| {
        let page = Files::get(INDEX).map(|f| f.data).unwrap_or_default();
        let page = String::from_utf8_lossy(&page).into_owned();
        let map = page
            .split_once("<script type=\"importmap\">")
            .and_then(|(_, rest)| rest.split_once("</script>"))
            .map_or("", |(map, _)| map);
        let hash = base64::engine::general_purpose::STANDARD.encode(Sha256::digest(map.as_bytes()));
        format!(
            "default-src 'none'; script-src 'self' 'sha256-{hash}'; style-src 'self'; font-src 'self'; \
             img-src 'self' data: blob:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
    })
}
