//! The bench: the page in the browser, served on this machine's own address.

mod answer;
mod assets;
mod curve;
mod definitions;
mod handles;
mod live;
mod outlines;
mod played;
mod recording;
mod running;
mod server;
mod sheet;
mod sound;
mod wire;

use std::io::{ErrorKind, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::bench::server::{Bench, serve};
use crate::cli::BenchArgs;
use crate::input::DEMO;
use crate::output::{Status, Stop, emit};

/// Port of the bench unless another is asked for or it is taken: the page's undo store belongs to its address.
const PORT: u16 = 7381;

/// Opens the bench and serves it until the program is stopped.
pub fn open_bench(args: &BenchArgs) -> Result<Status, Stop> {
    let begin = match &args.file {
        Some(path) => (path.display().to_string(), read_text(path)?),
        None => ("demo.toml".to_owned(), DEMO.to_owned()),
    };
    let listener = listen(args.port)?;
    let port = listener.local_addr().map_err(|e| Stop::from_error(&e))?.port();
    let token = token()?;
    let address = format!("http://127.0.0.1:{port}/?token={token}");
    emit(&format!("The bench is open at {address}\nCtrl-C closes it."))?;
    if !args.no_open && open::that_detached(&address).is_err() {
        eprintln!("note: no browser could be opened; open the address yourself");
    }
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(|e| Stop::from_error(&e))?;
    let served = runtime.block_on(async {
        let listener = tokio::net::TcpListener::from_std(listener)?;
        tokio::select! {
            ended = serve(listener, Bench { token, begin, port, lines: Arc::new(()) }) => ended,
            stopped = tokio::signal::ctrl_c() => stopped,
        }
    });
    // A question that is being answered is not waited for.
    runtime.shutdown_background();
    served.map(|()| Status::Ok).map_err(|e| Stop::from_error(&e))
}

fn read_text(path: &Path) -> Result<String, Stop> {
    std::fs::read_to_string(path).map_err(|e| {
        Stop::problem(format!("could not read {}: {e}", path.display()), "give the path of a movement file (TOML text)")
    })
}

/// Listens on the port asked for; on the usual one, or any, where none is.
fn listen(asked: Option<u16>) -> Result<TcpListener, Stop> {
    let at = |port| {
        let listener = TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port)))?;
        listener.set_nonblocking(true)?;
        Ok::<_, std::io::Error>(listener)
    };
    let failed = |port: u16, e: &std::io::Error| {
        Stop::problem(format!("could not listen on port {port}: {e}"), "choose another with --port")
    };
    match asked {
        Some(port) => at(port).map_err(|e| failed(port, &e)),
        None => at(PORT)
            .or_else(|e| if e.kind() == ErrorKind::AddrInUse { at(0) } else { Err(e) })
            .map_err(|e| failed(PORT, &e)),
    }
}

/// The secret that opens the socket. It is kept in the user's own folder, so that a page that is open finds the bench
/// again after a new start; where that cannot be written, it is a new one each time.
fn token() -> Result<String, Stop> {
    let kept = token_file();
    if let Some(path) = &kept
        && let Ok(text) = std::fs::read_to_string(path)
        && text.len() == 32
        && text.bytes().all(|b| b.is_ascii_hexdigit())
    {
        return Ok(text);
    }
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(|e| Stop::problem(format!("could not make a secret: {e}"), "try again"))?;
    let token: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
    if let Some(path) = kept {
        let _ = keep_secret(&path, &token); // only costs an open page its way back
    }
    Ok(token)
}

fn token_file() -> Option<PathBuf> {
    use etcetera::BaseStrategy;
    let base = etcetera::choose_base_strategy().ok()?;
    Some(base.state_dir().unwrap_or_else(|| base.data_dir()).join("beatwright").join("bench-token"))
}

fn keep_secret(path: &Path, token: &str) -> std::io::Result<()> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)?;
    }
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)?.write_all(token.as_bytes())
}
