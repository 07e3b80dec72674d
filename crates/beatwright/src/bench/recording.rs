//! A recording in the body of a request: spooled to a file of its own, listened to, forgotten.

use std::collections::HashMap;
use std::fs::File;
use std::future::poll_fn;
use std::io::{Seek, SeekFrom, Write};
use std::path::Path;
use std::pin::Pin;

use axum::body::{Body, HttpBody};
use axum::http::StatusCode;
use listen::{Recording, listen};
use tokio::task::block_in_place;

use crate::bench::sound::{settings, sounded};
use crate::bench::wire::{Stated, Told};

/// Largest recording that is taken: an hour and a half at 48 kHz and 16 bits, uncompressed.
pub const MOST_BYTES: u64 = 512 << 20;

/// Why a recording was not taken.
pub struct Refused {
    /// How the request is answered.
    pub status: StatusCode,
    /// Stable name.
    pub code: &'static str,
    /// What is wrong and what to do.
    pub message: String,
}

impl Refused {
    fn new(status: StatusCode, code: &'static str, message: impl Into<String>) -> Refused {
        Refused { status, code, message: message.into() }
    }
}

/// Takes a recording and listens to it; its name and what is stated of it are in the query.
pub async fn take(query: &HashMap<String, String>, body: Body) -> Result<Told, Refused> {
    let text = |key: &str| query.get(key).cloned().unwrap_or_default();
    let stated =
        Stated { lift_deg: text("lift_deg"), beats_per_hour: text("beats_per_hour"), clock_ppm: text("clock_ppm") };
    let name = text("name");
    let file = spooled(body).await?;
    let settings = match settings(&stated) {
        Ok(settings) => settings,
        Err(why) => return Ok(Told::Problem { code: why.code.to_owned(), message: why.message }),
    };
    let extension = Path::new(&name).extension().and_then(|e| e.to_str());
    let heard = block_in_place(|| {
        let mut recording = Recording::open(Box::new(file), extension)?;
        listen(&mut recording)
    });
    Ok(match heard {
        Err(why) => Told::Problem { code: "unreadable".to_owned(), message: why.to_string() },
        heard => Told::Sounded { sounded: Box::new(sounded(&name, &heard, &settings, 0.0, true)) },
    })
}

/// A body as a file without a name, which is gone when it is read.
async fn spooled(mut body: Body) -> Result<File, Refused> {
    let failed = |e: std::io::Error| {
        let message =
            format!("could not keep the recording while it is heard: {e}; make room for it where temporary files lie");
        Refused::new(StatusCode::INSUFFICIENT_STORAGE, "no-room", message)
    };
    let mut file = tempfile::tempfile().map_err(failed)?;
    let mut taken = 0_u64;
    while let Some(frame) = poll_fn(|cx| Pin::new(&mut body).poll_frame(cx)).await {
        let broken =
            |e| Refused::new(StatusCode::BAD_REQUEST, "cut-off", format!("the recording did not come whole: {e}"));
        let Ok(data) = frame.map_err(broken)?.into_data() else { continue };
        taken += data.len() as u64;
        if taken > MOST_BYTES {
            let message = format!(
                "could not take the recording: it has more than {} MB; cut it, or give it to the command `beatwright listen`",
                MOST_BYTES >> 20
            );
            return Err(Refused::new(StatusCode::PAYLOAD_TOO_LARGE, "too-large", message));
        }
        block_in_place(|| file.write_all(&data)).map_err(failed)?;
    }
    file.seek(SeekFrom::Start(0)).map_err(failed)?;
    Ok(file)
}
