//! The bench's server as another program on this machine, or a page of another site, would meet it.
#![allow(clippy::unwrap_used)]

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

/// A bench that is running; stopped when the test lets go of it.
struct Running {
    child: Child,
    port: u16,
    token: String,
}

impl Running {
    fn start(state: &PathBuf, more: &[&str]) -> Running {
        let mut child = Command::new(env!("CARGO_BIN_EXE_beatwright"))
            .args(["bench", "--no-open", "--port", "0"])
            .args(more)
            .env("XDG_STATE_HOME", state)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
        let (_, rest) = line.split_once("http://127.0.0.1:").unwrap_or_else(|| panic!("no address in {line:?}"));
        let (port, token) = rest.trim().split_once("/?token=").unwrap();
        Running { port: port.parse().unwrap(), token: token.to_owned(), child }
    }

    /// Status and whole answer of a GET with the host given, and further header lines.
    fn get(&self, path: &str, host: &str, more: &str) -> (u16, String) {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).unwrap();
        let close = if more.contains("Connection:") { "" } else { "Connection: close\r\n" };
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {host}\r\n{close}{more}\r\n").unwrap();
        let mut answer = Vec::new();
        // A connection that is kept open ends with the wait.
        stream.set_read_timeout(Some(std::time::Duration::from_secs(2))).unwrap();
        let _ = stream.read_to_end(&mut answer);
        let answer = String::from_utf8_lossy(&answer).into_owned();
        (answer.split(' ').nth(1).unwrap().parse().unwrap(), answer)
    }

    fn own(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn state(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("beatwright-bench-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

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
