//! The bench's server as another program on this machine, or a page of another site, would meet it.
#![allow(clippy::unwrap_used)]

#[path = "support/running.rs"]
mod running;

use std::process::Command;

use running::{Running, state};

#[test]
fn only_its_own_page_is_answered() {
    let bench = Running::start(&state("own"), &[]);
    let own = bench.own();
    let (status, page) = bench.get("/", &own, "");
    assert_eq!(status, 200);
    let lower = page.to_lowercase();
    for part in ["default-src 'none'", "script-src 'self' 'sha256-", "frame-ancestors 'none'", "nosniff", "no-referrer"]
    {
        assert!(lower.contains(part), "{part} is missing: {page}");
    }
    assert_eq!(bench.get("/", &format!("localhost:{}", bench.port), "").0, 200);
    assert_eq!(bench.get("/", "example.org", "").0, 403);
    assert_eq!(bench.get("/", &format!("127.0.0.1:{}", bench.port ^ 1), "").0, 403);
    assert_eq!(bench.get("/", &own, "Origin: http://example.org\r\n").0, 403);
    assert_eq!(bench.get("/", &own, &format!("Origin: http://{own}\r\n")).0, 200);
    assert_eq!(bench.get("/no-such-file.js", &own, "").0, 404);
    assert_eq!(bench.get("/../Cargo.toml", &own, "").0, 404);
}

#[test]
fn what_was_opened_is_told_with_the_token_only() {
    let movement = state("begin").join("mine.toml");
    std::fs::write(&movement, "format = 1\nname = \"mine\"\n").unwrap();
    let bench = Running::start(&state("begin"), &[movement.to_str().unwrap()]);
    let own = bench.own();
    assert_eq!(bench.get("/begin.json", &own, "").0, 403);
    assert_eq!(bench.get("/begin.json?token=00000000000000000000000000000000", &own, "").0, 403);
    let (status, text) = bench.get(&format!("/begin.json?token={}", bench.token), &own, "");
    assert_eq!(status, 200);
    assert!(text.contains("mine.toml") && text.contains("name = \\\"mine\\\""), "{text}");
    let upgrade = "Upgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n";
    let with = |origin: &str| format!("Connection: Upgrade\r\n{upgrade}{origin}");
    let socket = format!("/socket?token={}", bench.token);
    assert_eq!(bench.get("/socket", &own, &with(&format!("Origin: http://{own}\r\n"))).0, 403);
    assert_eq!(bench.get(&socket, &own, &with("")).0, 403, "a socket without an origin is none of a page");
    assert_eq!(bench.get(&socket, &own, &with("Origin: http://example.org\r\n")).0, 403);
}

/// A page that is open finds the bench again after a new start, since the secret is the same; it is nobody else's.
#[test]
fn the_secret_is_kept_for_this_user_alone() {
    let folder = state("secret");
    let first = Running::start(&folder, &[]).token.clone();
    let second = Running::start(&folder, &[]).token.clone();
    assert_eq!(first, second);
    assert_eq!(first.len(), 32);
    assert_ne!(first, Running::start(&state("another"), &[]).token);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let file = folder.join("beatwright").join("bench-token");
        assert_eq!(std::fs::metadata(file).unwrap().permissions().mode() & 0o777, 0o600);
    }
}

#[test]
fn a_port_that_is_taken_is_said() {
    let bench = Running::start(&state("taken"), &[]);
    let o = Command::new(env!("CARGO_BIN_EXE_beatwright"))
        .args(["--no-open", "--port", &bench.port.to_string()])
        .output()
        .unwrap();
    assert_eq!(o.status.code(), Some(2));
    let said = String::from_utf8(o.stderr).unwrap();
    assert!(said.contains(&bench.port.to_string()) && said.contains("hint: "), "{said}");
}
