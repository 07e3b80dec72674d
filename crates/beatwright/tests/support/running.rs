//! A bench that is running, as another program on this machine would meet it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};

/// A bench that is running; stopped when the test lets go of it.
pub struct Running {
    child: Child,
    pub port: u16,
    pub token: String,
}

impl Running {
    pub fn start(state: &PathBuf, more: &[&str]) -> Running {
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
    pub fn get(&self, path: &str, host: &str, more: &str) -> (u16, String) {
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

    pub fn own(&self) -> String {
        format!("127.0.0.1:{}", self.port)
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A folder for what the bench keeps.
pub fn state(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("beatwright-bench-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    folder
}
