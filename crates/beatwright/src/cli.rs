//! The command line: its words and its help.

use clap::{Args, CommandFactory, Parser, Subcommand};
use std::path::{Path, PathBuf};

use crate::argument;
use crate::output::{Status, Stop, emit, write_file};

const AFTER: &str = "\
Without a command, the bench opens in the browser with the built-in demo movement.

Exit status: 0 sound, 1 something was found, 2 bad input or use, 130 stopped.
Data goes to standard output, messages to standard error. The figures are estimates from geometry, not a certificate.";

/// A workbench for lever escapements: writes and reads movement files, draws the parts to scale, and finds by contact
/// whether every tooth locks, draws, lifts and drops safely on both pallets.
#[derive(Parser, Debug)]
#[command(name = "beatwright", version, args_conflicts_with_subcommands = true, after_help = AFTER, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// Without a command: port of the bench.
    #[arg(long)]
    pub port: Option<u16>,
    /// Without a command: do not open a browser.
    #[arg(long)]
    pub no_open: bool,
}

/// The commands.
#[derive(Subcommand, Debug)]
pub enum Command {
    /// Open the bench in the browser: the escapement drawn as computed, turned by hand, changed by dragging.
    #[command(after_help = "Example: beatwright bench mine.toml --no-open")]
    Bench(BenchArgs),
    /// Write a commented movement file to begin with.
    #[command(after_help = "Example: beatwright new mine.toml --teeth 15 --radius-mm 2.5")]
    New(NewArgs),
    /// Say whether a movement is sound: verdict, findings ranked, tables.
    #[command(after_help = "Example: beatwright check mine.toml --set pallets.exit.stone_out_mm=0.01")]
    Check(CheckArgs),
    /// Show the whole action: tables, phases of the lift, contact curves.
    #[command(after_help = "Example: beatwright action mine.toml --curve --csv > curve.csv")]
    Action(ActionArgs),
    /// Draw the assembly or a part to scale, dimensioned, at any moment of the beat (SVG).
    #[command(after_help = "Example: beatwright drawing mine.toml -o pallets.svg --part pallets --scale 20")]
    Drawing(DrawingArgs),
    /// Vary one or more parameters over a grid and read any figures of the action or of the motion.
    #[command(
        after_help = "Example: beatwright sweep mine.toml pallets.entry.stone_out_mm=-0.02:0.02:41 --figure entry.lock_deg --figure exit.lock_deg --csv"
    )]
    Sweep(SweepArgs),
    /// Play the escapement in time: steady amplitude, rate, the five shocks of a beat, where the energy goes.
    #[command(after_help = "Example: beatwright motion mine.toml --set wheel.torque_un_m=0.9")]
    Motion(MotionArgs),
    /// Hear recordings of ticking watches: rate, amplitude, beat error, each with its standard error, or why there are none.
    #[command(after_help = "Example: beatwright listen dial-up.wav --lift-deg 52 --clock-ppm -11.5")]
    Listen(ListenArgs),
    /// Write what the escapement sounds like (WAV), of its computed steady motion; the truth about it is printed.
    #[command(after_help = "Example: beatwright sound demo -o demo.wav --noise-db 30 --json > truth.json")]
    Sound(SoundArgs),
    /// Print the JSON Schema of the movement file, for editors.
    Schema,
    /// Print the completions of a shell.
    Completions {
        /// The shell.
        shell: clap_complete::Shell,
    },
    /// Write the man pages into a folder.
    Man {
        /// The folder; made if it is missing.
        directory: PathBuf,
    },
}

impl Command {
    /// Whether its answer is to be JSON.
    pub fn wants_json(&self) -> bool {
        match self {
            Command::Check(args) => args.json,
            Command::Action(args) => args.json,
            Command::Drawing(args) => args.json,
            Command::Sweep(args) => args.json,
            Command::Motion(args) => args.json,
            Command::Listen(args) => args.json,
            Command::Sound(args) => args.json,
            Command::Bench(_)
            | Command::New(_)
            | Command::Schema
            | Command::Completions { .. }
            | Command::Man { .. } => false,
        }
    }

    /// The movement it works on.
    pub fn file(&self) -> Option<&Path> {
        match self {
            Command::Check(args) => Some(&args.movement.file),
            Command::Action(args) => Some(&args.movement.file),
            Command::Drawing(args) => Some(&args.movement.file),
            Command::Sweep(args) => Some(&args.movement.file),
            Command::Motion(args) => Some(&args.movement.file),
            Command::Sound(args) => Some(&args.movement.file),
            Command::Bench(args) => args.file.as_deref(),
            Command::Listen(_)
            | Command::New(_)
            | Command::Schema
            | Command::Completions { .. }
            | Command::Man { .. } => None,
        }
    }
}

/// The movement a command works on.
#[derive(Args, Debug)]
pub struct MovementArgs {
    /// Movement file; `-` reads standard input, `demo` is the built-in demo movement.
    #[arg(value_name = "MOVEMENT")]
    pub file: PathBuf,
    /// Override a parameter: `key=value`, by its path in the movement file; `key=` takes it away. May be repeated.
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub set: Vec<String>,
}

/// Arguments of `motion`.
#[derive(Args, Debug)]
pub struct MotionArgs {
    /// The movement.
    #[command(flatten)]
    pub movement: MovementArgs,
    /// Play so many beats from an amplitude of 270 deg instead of seeking the steady motion; one line for each.
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = argument::beats)]
    pub beats: Option<u32>,
    /// Begin with everything at rest: does it start itself? Of a tooth on the entry and on the exit stone, the one that
    /// does worse is shown; 40 beats when --beats is left out.
    #[arg(long)]
    pub from_rest: bool,
    /// Also write the angles and speeds of wheel, lever and balance, at everything that happens and at even times, as CSV.
    #[arg(long, value_name = "OUT.csv")]
    pub history: Option<PathBuf>,
    /// Time between the even times of the history; a thousandth of an oscillation when left out.
    #[arg(long, value_name = "MS", requires = "history", allow_hyphen_values = true, value_parser = argument::every_ms)]
    pub every_ms: Option<f64>,
    /// Replace a file that exists and is no history of a motion.
    #[arg(long, requires = "history")]
    pub force: bool,
    /// JSON instead of text.
    #[arg(long, conflicts_with = "csv")]
    pub json: bool,
    /// CSV instead of text: one line per figure, or with --beats or --from-rest one line per beat.
    #[arg(long)]
    pub csv: bool,
}

/// Arguments of `listen`.
#[derive(Args, Debug)]
pub struct ListenArgs {
    /// Recordings: WAV, FLAC, Ogg Vorbis, MP3, M4A, AIFF or CAF, from 8 to 192 kHz; `-` reads standard input.
    #[arg(required = true)]
    pub recordings: Vec<PathBuf>,
    /// Lift at the balance, from the first noise to the drop; without it there is no amplitude.
    #[arg(long, value_name = "DEG", allow_hyphen_values = true, value_parser = argument::lift_deg)]
    pub lift_deg: Option<f64>,
    /// Nominal beats an hour; without it the usual count that it is near.
    #[arg(long, value_name = "N", allow_hyphen_values = true, value_parser = argument::beats_per_hour)]
    pub beats_per_hour: Option<f64>,
    /// Error of the recorder's clock in parts of a million, positive where it is fast; its standard error may follow: 12.5+-0.4.
    #[arg(long, value_name = "PPM", allow_hyphen_values = true, value_parser = argument::clock_ppm)]
    pub clock_ppm: Option<(f64, Option<f64>)>,
    /// One JSON object for each recording, on a line of its own.
    #[arg(long)]
    pub json: bool,
}

/// Arguments of `sound`.
#[derive(Args, Debug)]
pub struct SoundArgs {
    /// The movement.
    #[command(flatten)]
    pub movement: MovementArgs,
    /// File to write; `-` writes to standard output.
    #[arg(short, long, value_name = "OUT.wav")]
    pub output: PathBuf,
    /// How long it lasts.
    #[arg(long, value_name = "S", default_value_t = 30.0, allow_hyphen_values = true, value_parser = argument::lasts_s)]
    pub lasts_s: f64,
    /// Samples a second.
    #[arg(long, value_name = "HZ", default_value_t = 48_000, allow_hyphen_values = true, value_parser = argument::rate_hz)]
    pub rate_hz: u32,
    /// Whole numbers of 16 or 24 bits, or floating point of 32 bits.
    #[arg(long, default_value = "16", ignore_case = true, value_parser = argument::bits())]
    pub bits: String,
    /// Microphone: one that touches the case, or one in the air.
    #[arg(long, default_value = "contact", ignore_case = true, value_parser = argument::microphones())]
    pub microphone: String,
    /// Level of the beats over white noise: their energies, while the beats sound, from 2 to 20 kHz. No noise when left out.
    #[arg(long, value_name = "DB", allow_hyphen_values = true, value_parser = argument::noise_db)]
    pub noise_db: Option<f64>,
    /// Hum of the mains, 20 dB below the beats. None when left out.
    #[arg(long, value_name = "HZ", allow_hyphen_values = true, value_parser = argument::hum_hz)]
    pub hum_hz: Option<f64>,
    /// Seed of the noise.
    #[arg(long, value_name = "N", default_value_t = 1, allow_hyphen_values = true, value_parser = argument::seed)]
    pub seed: u64,
    /// Slow motion: shocks so many times farther apart, each sounding as it is, so that those of a beat are heard apart.
    #[arg(long, value_name = "TIMES", default_value_t = 1.0, allow_hyphen_values = true, value_parser = argument::slower)]
    pub slower: f64,
    /// Print what was written, and the truth about it, as JSON.
    #[arg(long)]
    pub json: bool,
    /// Replace a file that exists.
    #[arg(long)]
    pub force: bool,
}

/// Arguments of `bench`.
#[derive(Args, Debug, Default)]
pub struct BenchArgs {
    /// Movement file to begin with; the built-in demo movement when left out.
    pub file: Option<PathBuf>,
    /// Port on this machine; 7381 when left out, or any other if that is taken.
    #[arg(long)]
    pub port: Option<u16>,
    /// Do not open a browser; only print the address.
    #[arg(long)]
    pub no_open: bool,
}

/// Arguments of `new`.
#[derive(Args, Debug)]
pub struct NewArgs {
    /// File to write; `-` writes to standard output.
    pub file: PathBuf,
    /// Name of the movement; the file's own name when left out.
    #[arg(long)]
    pub name: Option<String>,
    /// Number of teeth of the escape wheel.
    #[arg(long, default_value_t = 15, allow_hyphen_values = true, value_parser = argument::teeth)]
    pub teeth: u32,
    /// Distance of the teeth's locking corner from the wheel centre.
    #[arg(long, default_value_t = 2.5, value_name = "MM", allow_hyphen_values = true, value_parser = argument::radius_mm)]
    pub radius_mm: f64,
    /// Replace a file that exists.
    #[arg(long)]
    pub force: bool,
}

/// Arguments of `check`.
#[derive(Args, Debug)]
pub struct CheckArgs {
    /// The movement.
    #[command(flatten)]
    pub movement: MovementArgs,
    /// JSON instead of text.
    #[arg(long)]
    pub json: bool,
    /// Also list every parameter with its value and where it comes from.
    #[arg(long)]
    pub parameters: bool,
}

/// Arguments of `action`.
#[derive(Args, Debug)]
pub struct ActionArgs {
    /// The movement.
    #[command(flatten)]
    pub movement: MovementArgs,
    /// JSON instead of text.
    #[arg(long, conflicts_with = "csv")]
    pub json: bool,
    /// CSV instead of text: one line per beat, or with --curve one line per point.
    #[arg(long)]
    pub csv: bool,
    /// The contact curves of tooth and stone instead of the tables.
    #[arg(long)]
    pub curve: bool,
    /// Points per stretch of a contact curve.
    #[arg(long, default_value_t = 9, allow_hyphen_values = true, value_parser = argument::points)]
    pub points: u16,
}

/// Arguments of `drawing`.
#[derive(Args, Debug)]
pub struct DrawingArgs {
    /// The movement.
    #[command(flatten)]
    pub movement: MovementArgs,
    /// File to write; `-` writes to standard output.
    #[arg(short, long, value_name = "OUT.svg")]
    pub output: PathBuf,
    /// What to draw: the assembly or a part; or a plate on which figures are measured, on the side of the moment's
    /// pallet.
    #[arg(long, default_value = "assembly", ignore_case = true, value_parser = argument::parts())]
    pub part: String,
    /// Drawn size over true size, such as 20 or 20:1; the largest of the usual series that fits when left out.
    #[arg(long, value_name = "RATIO", allow_hyphen_values = true, value_parser = argument::scale)]
    pub scale: Option<f64>,
    /// Sheet; page has no frame.
    #[arg(long, default_value = "a4", ignore_case = true, value_parser = argument::sheets())]
    pub sheet: String,
    /// Moment of the beat: entry- or exit- with drop, banked, unlocking, lift, change or let-off; or a pallet and a
    /// lever angle in degrees, such as entry:-2.5. When left out, entry-banked, or the lever on its entry banking where
    /// there is no such moment.
    #[arg(long, allow_hyphen_values = true)]
    pub moment: Option<String>,
    /// Leave the dimensions out.
    #[arg(long)]
    pub plain: bool,
    /// Date for the title block.
    #[arg(long, default_value = "")]
    pub date: String,
    /// Print what was written as JSON.
    #[arg(long)]
    pub json: bool,
    /// Replace a file that exists and is no SVG drawing.
    #[arg(long)]
    pub force: bool,
}

/// Arguments of `sweep`.
#[derive(Args, Debug)]
pub struct SweepArgs {
    /// The movement.
    #[command(flatten)]
    pub movement: MovementArgs,
    /// Parameter and its values: `key=first:last:count`. Several make a grid, the last one varying fastest.
    #[arg(required = true, value_name = "KEY=A:B:N")]
    pub axes: Vec<String>,
    /// Figure to read, by its path; may be repeated. Locks, drops, lifts and runs when left out. Those of the motion, such
    /// as amplitude_deg or rate_s_per_day, take longer.
    #[arg(long = "figure", value_name = "PATH")]
    pub figures: Vec<String>,
    /// JSON instead of text.
    #[arg(long, conflicts_with = "csv")]
    pub json: bool,
    /// CSV instead of text.
    #[arg(long)]
    pub csv: bool,
    /// Number of threads; as many as processors when left out.
    #[arg(long, allow_hyphen_values = true, value_parser = argument::threads)]
    pub threads: Option<std::num::NonZeroUsize>,
}

/// Prints completions.
pub fn completions(shell: clap_complete::Shell) -> Result<Status, Stop> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "beatwright", &mut text);
    emit(&String::from_utf8_lossy(&text)).map(|()| Status::Ok)
}

/// Writes one man page per command.
pub fn man_pages(directory: &Path) -> Result<Status, Stop> {
    std::fs::create_dir_all(directory).map_err(|e| {
        Stop::problem(format!("could not make {}: {e}", directory.display()), "choose a folder that may be written to")
    })?;
    let mut command = Cli::command();
    command.build();
    let mut pages = vec![("beatwright".to_owned(), command.clone())];
    pages.extend(command.get_subcommands().map(|c| (format!("beatwright-{}", c.get_name()), c.clone())));
    for (name, command) in pages {
        let mut page = Vec::new();
        clap_mangen::Man::new(command.name(name.clone())).render(&mut page).map_err(|e| Stop::from_error(&e))?;
        write_file(&directory.join(format!("{name}.1")), &page)?;
    }
    eprintln!("wrote the man pages into {}", directory.display());
    Ok(Status::Ok)
}
