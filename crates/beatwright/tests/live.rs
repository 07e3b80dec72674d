//! Recordings and live sound at the bench's server: the same figures as the command's, bounds, and strangers turned away.
#![allow(clippy::unwrap_used)]

#[path = "support/running.rs"]
mod running;

use std::f64::consts::TAU;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::process::Command;
use std::time::Duration;

use running::{Running, state};
use serde_json::{Value, json};

const RECORDING: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../listen/tests/recordings/esc_4-194711-A.ogg");
const RATE_HZ: u32 = 16_000;
/// Figures and their standard errors.
const FIGURES: [(&str, &str); 3] = [
    ("rate_s_per_day", "rate_se_s_per_day"),
    ("amplitude_deg", "amplitude_se_deg"),
    ("beat_error_ms", "beat_error_se_ms"),
];
const NOTHING: &str = "lift_deg=&beats_per_hour=&clock_ppm=";

/// Status and body of a POST.
fn post(bench: &Running, path: &str, body: &[u8], more: &str) -> (u16, String) {
    let mut stream = TcpStream::connect(("127.0.0.1", bench.port)).unwrap();
    let length = body.len();
    write!(
        stream,
        "POST {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Length: {length}\r\n{more}\r\n",
        bench.own()
    )
    .unwrap();
    // One that is turned away is not read to its end.
    let _ = stream.write_all(body);
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    let answer = String::from_utf8_lossy(&answer).into_owned();
    let status = answer.split(' ').nth(1).unwrap().parse().unwrap();
    (status, answer.split_once("\r\n\r\n").unwrap().1.to_owned())
}

fn origin(bench: &Running) -> String {
    format!("Origin: http://{}\r\n", bench.own())
}

fn recording(bench: &Running, name: &str, stated: &str, body: &[u8]) -> (u16, Value) {
    let path = format!("/recording?token={}&name={name}&{stated}", bench.token);
    let (status, text) = post(bench, &path, body, &origin(bench));
    let told: Value = serde_json::from_str(&text).unwrap();
    (status, if told["told"] == "sounded" { told["sounded"].clone() } else { told })
}

/// Noises that ring and die away, two for each beat: 18,000 an hour that lose 30 s a day, sides 1 ms apart, 12 ms from the
/// first noise to the drop. Invented.
fn ticking(lasts_s: f64) -> Vec<f32> {
    let rate = f64::from(RATE_HZ);
    let beat_s = 0.2 / (1.0 - 30.0 / 86_400.0);
    let mut out: Vec<f64> = (0..(lasts_s * rate) as u32).map(|i| 1e-3 * (f64::from(i) * 1.7).sin()).collect();
    for n in 0..((lasts_s - 0.2) / beat_s) as u32 {
        let at_s = 0.1 + f64::from(n) * beat_s + if n % 2 == 0 { 0.5e-3 } else { -0.5e-3 };
        for (later_s, loud) in [(0.0, 0.15), (12e-3, 0.6)] {
            let from = (at_s + later_s) * rate;
            let begin = from.ceil() as usize;
            let hz = if n % 2 == 0 { 3_100.0 } else { 4_300.0 };
            for (i, value) in out[begin..begin + (0.006 * rate) as usize].iter_mut().enumerate() {
                let s = ((begin + i) as f64 - from) / rate;
                *value += loud * (-s / 8e-4).exp() * (TAU * hz * s).sin();
            }
        }
    }
    out.into_iter().map(|v| v as f32).collect()
}

/// A WAV file of 32 bits, floating point, one channel.
fn wav(samples: &[f32]) -> Vec<u8> {
    let bytes = 4 * samples.len() as u32;
    let mut out = b"RIFF".to_vec();
    out.extend((36 + bytes).to_le_bytes());
    out.extend(b"WAVEfmt ");
    for part in [16_u32.to_le_bytes(), [3, 0, 1, 0], RATE_HZ.to_le_bytes(), (4 * RATE_HZ).to_le_bytes(), [4, 0, 32, 0]]
    {
        out.extend(part);
    }
    out.extend(b"data");
    out.extend(bytes.to_le_bytes());
    out.extend(samples.iter().flat_map(|s| s.to_le_bytes()));
    out
}

/// A line of live sound (RFC 6455, with a mask of zeros).
struct Line(TcpStream);

impl Line {
    fn open(bench: &Running) -> Line {
        let mut stream = TcpStream::connect(("127.0.0.1", bench.port)).unwrap();
        stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
        write!(
            stream,
            "GET /sound?token={} HTTP/1.1\r\nHost: {}\r\n{}Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: \
             13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n",
            bench.token,
            bench.own(),
            origin(bench)
        )
        .unwrap();
        let mut head = Vec::new();
        while !head.ends_with(b"\r\n\r\n") {
            let mut byte = [0];
            stream.read_exact(&mut byte).unwrap();
            head.push(byte[0]);
        }
        let head = String::from_utf8(head).unwrap();
        assert!(head.starts_with("HTTP/1.1 101"), "{head}");
        Line(stream)
    }

    fn frame(&mut self, kind: u8, payload: &[u8]) {
        let mut out = vec![0x80 | kind, 0x80 | 127];
        out.extend((payload.len() as u64).to_be_bytes());
        out.extend([0; 4]);
        out.extend(payload);
        self.0.write_all(&out).unwrap();
    }

    fn say(&mut self, what: &Value) {
        self.frame(1, what.to_string().as_bytes());
    }

    fn sound(&mut self, samples: &[f32]) {
        let bytes: Vec<u8> = samples.iter().flat_map(|s| s.to_le_bytes()).collect();
        self.frame(2, &bytes);
    }

    fn begin(&mut self, stated: &Value) {
        self.say(&json!({ "hear": "begin", "rate_hz": RATE_HZ, "stated": stated }));
    }

    /// What is told next; nothing where the line was closed.
    fn told(&mut self) -> Option<Value> {
        let mut head = [0; 2];
        self.0.read_exact(&mut head).ok()?;
        let mut long = [0; 8];
        let length = match head[1] {
            126 => {
                self.0.read_exact(&mut long[6..]).ok()?;
                u64::from_be_bytes(long)
            }
            127 => {
                self.0.read_exact(&mut long).ok()?;
                u64::from_be_bytes(long)
            }
            short => u64::from(short),
        };
        let mut payload = vec![0; length as usize];
        self.0.read_exact(&mut payload).ok()?;
        (head[0] & 0xf == 1).then(|| serde_json::from_slice(&payload).unwrap())
    }
}

fn stated(lift_deg: &str) -> Value {
    json!({ "lift_deg": lift_deg, "beats_per_hour": "", "clock_ppm": "" })
}

#[test]
fn a_recording_has_the_figures_of_the_command() {
    let bench = Running::start(&state("recording"), &[]);
    let sound = std::fs::read(RECORDING).unwrap();
    let (status, sounded) = recording(&bench, RECORDING, "lift_deg=52&beats_per_hour=&clock_ppm=12.5%2B-0.4", &sound);
    assert_eq!(status, 200, "{sounded}");
    let o = Command::new(env!("CARGO_BIN_EXE_beatwright"))
        .args(["listen", RECORDING, "--json", "--lift-deg", "52", "--clock-ppm", "12.5+-0.4"])
        .output()
        .unwrap();
    let mut told: Value = serde_json::from_slice(&o.stdout).unwrap();
    // Flags are none of the page's.
    told["missing"] = sounded["report"]["missing"].clone();
    assert_eq!(sounded["report"], told);
    assert!(!sounded["report"]["missing"].to_string().contains("--"), "{sounded}");
    assert_eq!(sounded["sides"].as_array().unwrap().len(), 2);
    let deviation = &sounded["deviation"];
    let count = deviation["at_s"].as_array().unwrap().len();
    assert!(count > 10 && count <= 120, "{count}");
    for column in ["late_ms", "se_ms"] {
        assert_eq!(deviation[column].as_array().unwrap().len(), count);
    }
}

#[test]
fn what_cannot_be_heard_is_told_from_what_bears_nothing_out() {
    let bench = Running::start(&state("refusals"), &[]);
    let (status, problem) = recording(&bench, "letter.wav", NOTHING, b"Dear Sir, ");
    assert_eq!((status, &problem["code"]), (200, &json!("unreadable")), "{problem}");
    assert!(problem["message"].as_str().unwrap().contains("WAV, FLAC"), "{problem}");
    let (status, problem) = recording(&bench, "a.wav", "lift_deg=500&beats_per_hour=&clock_ppm=", b"");
    assert_eq!((status, &problem["code"]), (200, &json!("bad-lift")), "{problem}");
    assert!(problem["message"].as_str().unwrap().contains("10 to 120 deg"), "{problem}");
    let (status, sounded) = recording(&bench, "short.wav", NOTHING, &wav(&ticking(1.0)));
    assert_eq!((status, &sounded["report"]["refusal"]), (200, &json!("too-short")), "{sounded}");
    assert_eq!((&sounded["sides"], &sounded["deviation"]), (&json!([]), &Value::Null));
}

#[test]
fn strangers_are_not_listened_to() {
    let bench = Running::start(&state("strangers"), &[]);
    let path = format!("/recording?token={}&name=a.wav&{NOTHING}", bench.token);
    assert_eq!(post(&bench, &path, b"", "").0, 403, "without an origin");
    assert_eq!(post(&bench, &path, b"", "Origin: http://example.org\r\n").0, 403);
    assert_eq!(
        post(&bench, &format!("/recording?name=a.wav&{NOTHING}"), b"", &origin(&bench)).0,
        403,
        "without the token"
    );
    let own = bench.own();
    let upgrade = "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: \
                   dGhlIHNhbXBsZSBub25jZQ==\r\n";
    let sound = format!("/sound?token={}", bench.token);
    assert_eq!(bench.get(&sound, &own, upgrade).0, 403, "without an origin");
    assert_eq!(bench.get(&sound, &own, &format!("{upgrade}Origin: http://example.org\r\n")).0, 403);
    assert_eq!(bench.get("/sound", &own, &format!("{upgrade}{}", origin(&bench))).0, 403, "without the token");
}

/// Two lines at once, and the same sound as a file: three times the same figures, near what was made.
#[test]
fn live_sound_has_the_figures_of_the_file() {
    let bench = Running::start(&state("live"), &[]);
    let samples = ticking(26.0);
    let (status, file) = recording(&bench, "", "lift_deg=52&beats_per_hour=&clock_ppm=", &wav(&samples));
    assert_eq!(status, 200, "{file}");
    let figure = |name: &str| file["report"][name].as_f64().unwrap_or_else(|| panic!("{name}: {file}"));
    assert!((figure("rate_s_per_day") + 30.0).abs() < 4.0 * figure("rate_se_s_per_day").max(0.05), "{file}");
    assert!((figure("beat_error_ms") - 1.0).abs() < 0.05, "{file}");
    // 26 deg / sin(pi 12 ms / 400 ms), by the period that was made.
    assert!((figure("amplitude_deg") - 276.3).abs() < 3.0, "{file}");
    let mut lines = [Line::open(&bench), Line::open(&bench)];
    let last: Vec<Value> = lines
        .iter_mut()
        .zip([1_600, 777])
        .map(|(line, block)| {
            line.begin(&stated("52"));
            let (mut answers, mut sent) = (0, 0);
            for part in samples.chunks(block) {
                line.sound(part);
                sent += part.len();
                // Told each time 0.3 s more have come.
                if sent >= (0.3 * f64::from(RATE_HZ)) as usize {
                    sent = 0;
                    let told = line.told().unwrap();
                    assert_eq!(
                        (&told["told"], &told["sounded"]["ended"]),
                        (&json!("sounded"), &json!(false)),
                        "{told}"
                    );
                    answers += 1;
                }
            }
            assert!(answers >= 2 * 26, "{answers} answers in 26 s");
            line.say(&json!({ "hear": "end" }));
            line.told().unwrap()["sounded"].clone()
        })
        .collect();
    for live in last {
        assert_eq!(live["ended"], json!(true));
        let count = |of: &Value| of["report"]["beats_heard"].as_u64().unwrap();
        // Blocks end elsewhere: one beat, and what a tenth of its error can change is the same.
        assert!(count(&live).abs_diff(count(&file)) <= 1, "{live}");
        for (name, error) in FIGURES {
            let (own, se) = (live["report"][name].as_f64().unwrap(), figure(error));
            assert!(
                (own - figure(name)).abs() < 0.1 * se,
                "{name}: {own} live, {} of the file, error {se}",
                figure(name)
            );
        }
        assert_eq!(live["sides"].as_array().unwrap().len(), 2);
    }
}

#[test]
fn a_line_says_what_is_wrong_with_what_it_is_sent() {
    let bench = Running::start(&state("lines"), &[]);
    let mut line = Line::open(&bench);
    let mut problem = |act: &mut dyn FnMut(&mut Line), code: &str, words: &str| {
        act(&mut line);
        let told = line.told().unwrap();
        assert_eq!((&told["told"], &told["code"]), (&json!("problem"), &json!(code)), "{told}");
        assert!(told["message"].as_str().unwrap().contains(words), "{words}: {told}");
    };
    problem(&mut |l| l.sound(&[0.0]), "bad-sound", "before it was said");
    problem(&mut |l| l.say(&json!({ "hear": "what" })), "bad-question", "unknown variant");
    problem(&mut |l| l.begin(&stated("5")), "bad-lift", "10 to 120 deg");
    problem(
        &mut |l| l.say(&json!({ "hear": "begin", "rate_hz": 4_000, "stated": stated("") })),
        "bad-rate",
        "8000 to 192000",
    );
    problem(
        &mut |l| {
            l.begin(&stated(""));
            l.begin(&stated(""));
        },
        "bad-question",
        "begun already",
    );
    problem(&mut |l| l.frame(2, &[0; 7]), "bad-sound", "7 bytes");
    problem(&mut |l| l.sound(&[0.0, f32::NAN]), "bad-sound", "sample 1");
    // It goes on all the same; another lift is heard with at once.
    line.say(&json!({ "hear": "state", "stated": stated("53") }));
    assert_eq!(line.told().unwrap()["sounded"]["report"]["lift_deg"], json!(53.0));
    line.say(&json!({ "hear": "end" }));
    assert_eq!(line.told().unwrap()["sounded"]["report"]["refusal"], json!("silent"));
    // A block beyond all bounds closes the line.
    let mut other = Line::open(&bench);
    other.begin(&stated(""));
    let _ = other.0.write_all(&[0x82, 0xff, 0, 0, 0, 1, 0, 0, 0, 0, 0, 0, 0, 0]);
    assert!(other.told().is_none());
}

#[test]
fn no_more_lines_than_there_is_memory_for() {
    let bench = Running::start(&state("many"), &[]);
    let lines: Vec<Line> = (0..8).map(|_| Line::open(&bench)).collect();
    let upgrade = format!(
        "{}Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\nSec-WebSocket-Key: \
         dGhlIHNhbXBsZSBub25jZQ==\r\n",
        origin(&bench)
    );
    let (status, said) = bench.get(&format!("/sound?token={}", bench.token), &bench.own(), &upgrade);
    assert_eq!(status, 429, "{said}");
    assert!(said.contains("close one"), "{said}");
    drop(lines);
}
