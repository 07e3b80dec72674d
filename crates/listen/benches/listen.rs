//! Listening on one core: `cargo bench -p listen`, against a plain analysis in numpy and scipy in the same run
//! (`benches/peers/scipy_listen.py`; `PYTHON` names another Python).
//!
//! Asked for of ten minutes at 48 kHz, one channel: 1,000 times as fast as the sound. The sound is that of the checks' own
//! generator.

#[path = "../tests/support/made.rs"]
#[allow(dead_code)]
mod made;

use std::io::Cursor;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use listen::{Detector, Recording, listen};
use made::Made;

const LASTS_S: f64 = 600.0;
const TRIES: usize = 5;

/// Samples of 16 bits as a WAV file (RIFF, PCM).
fn wav(rate_hz: u32, sound: &[f32]) -> Vec<u8> {
    let bytes = 2 * sound.len() as u32;
    let mut out = Vec::with_capacity(44 + bytes as usize);
    out.extend_from_slice(b"RIFF");
    out.extend_from_slice(&(36 + bytes).to_le_bytes());
    out.extend_from_slice(b"WAVEfmt ");
    out.extend_from_slice(&16_u32.to_le_bytes());
    out.extend_from_slice(&1_u16.to_le_bytes());
    out.extend_from_slice(&1_u16.to_le_bytes());
    out.extend_from_slice(&rate_hz.to_le_bytes());
    out.extend_from_slice(&(2 * rate_hz).to_le_bytes());
    out.extend_from_slice(&2_u16.to_le_bytes());
    out.extend_from_slice(&16_u16.to_le_bytes());
    out.extend_from_slice(b"data");
    out.extend_from_slice(&bytes.to_le_bytes());
    sound.iter().for_each(|x| out.extend_from_slice(&((32_767.0 * x) as i16).to_le_bytes()));
    out
}

fn best_s(mut run: impl FnMut()) -> f64 {
    let one = |_| {
        let start = Instant::now();
        run();
        start.elapsed().as_secs_f64()
    };
    (0..TRIES).map(one).fold(f64::INFINITY, f64::min)
}

fn main() {
    let made = Made { lasts_s: LASTS_S, over_noise_db: 20.0, ..Made::default() };
    let sound = made.sound();
    let file = wav(made.rate_hz, &sound);
    let whole_s = best_s(|| {
        let mut recording = Recording::open(Box::new(Cursor::new(file.clone())), Some("wav")).expect("a WAV file");
        let heard = listen(&mut recording).expect("whole").heard.expect("a watch");
        assert!(heard.beats.len() > 4_700, "{}", heard.beats.len());
    });
    println!(
        "ten minutes at 48 kHz, WAV of 16 bits: {:.0} ms, {:.0} times real time",
        1e3 * whole_s,
        LASTS_S / whole_s
    );
    let read_s = best_s(|| {
        let mut recording = Recording::open(Box::new(Cursor::new(file.clone())), Some("wav")).expect("a WAV file");
        let mut piece = vec![Vec::new()];
        while recording.read_on(&mut piece).expect("whole") {
            piece[0].clear();
        }
    });
    println!("  of these read and decoded: {:.0} ms", 1e3 * read_s);
    let first_s = best_s(|| {
        let mut detector = Detector::new(made.rate_hz);
        detector.push(&sound[..20 * made.rate_hz as usize]);
    });
    println!("  and to find the beats in the first 20 s: {:.0} ms", 1e3 * first_s);
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../benches/peers/scipy_listen.py");
    let path = std::env::temp_dir().join("beatwright-bench.wav");
    std::fs::write(&path, &file).expect("a folder for it");
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".to_owned());
    match Command::new(&python).arg(script).arg(&path).output() {
        Ok(out) if out.status.success() => {
            let said = String::from_utf8_lossy(&out.stdout);
            print!("{said}");
            let own = said.split("in ").nth(1).and_then(|s| s.split(' ').next()?.parse::<f64>().ok());
            if let Some(ms) = own {
                println!("  that is {:.1} times as long", 1e-3 * ms / whole_s);
            }
        }
        Ok(out) => println!("the peer did not run: {}", String::from_utf8_lossy(&out.stderr).trim()),
        Err(e) => println!("the peer did not run: {python}: {e}"),
    }
    // The file is in a folder for such files: one that stays does no harm.
    std::fs::remove_file(&path).ok();
}
