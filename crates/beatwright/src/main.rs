//! Beatwright: the binary. Arguments, files and display units live here and nowhere else.

mod action_command;
mod argument;
mod bench;
mod check;
mod cli;
mod draw;
mod input;
mod json;
mod listen_command;
mod motion_command;
mod new_file;
mod output;
mod report;
mod sound_command;
mod sweep;
mod tables;

use clap::Parser;
use movement::Diagnostic;
use std::process::ExitCode;

use cli::{BenchArgs, Cli, Command};
use output::{Status, Stop, emit_refusal};

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(shown) => return misused(&shown),
    };
    let json = cli.command.as_ref().is_some_and(Command::wants_json);
    let file = cli.command.as_ref().and_then(Command::file).map(|file| file.display().to_string());
    let done = match cli.command {
        None => bench::open_bench(&BenchArgs { file: None, port: cli.port, no_open: cli.no_open }),
        Some(Command::Bench(args)) => bench::open_bench(&args),
        Some(Command::New(args)) => new_file::write_new(&args),
        Some(Command::Check(args)) => check::check(&args),
        Some(Command::Action(args)) => action_command::show_action(&args),
        Some(Command::Drawing(args)) => draw::draw(&args),
        Some(Command::Sweep(args)) => sweep::sweep(&args),
        Some(Command::Motion(args)) => motion_command::motion(&args),
        Some(Command::Listen(args)) => listen_command::hear(&args),
        Some(Command::Sound(args)) => sound_command::write_sound(&args),
        Some(Command::Schema) => output::emit(&output::pretty(&movement::json_schema())).map(|()| Status::Ok),
        Some(Command::Completions { shell }) => cli::completions(shell),
        Some(Command::Man { directory }) => cli::man_pages(&directory),
    };
    match done {
        Ok(status) => status.into(),
        Err(Stop::Reported) => Status::BadInput.into(),
        Err(Stop::PipeClosed) => ExitCode::SUCCESS,
        Err(Stop::Cancelled) => ExitCode::from(130),
        Err(Stop::Problem { code, message, hint }) => {
            eprintln!("error: {message}");
            if let Some(hint) = &hint {
                eprintln!("hint: {hint}");
            }
            if json {
                refuse(file.as_deref(), Diagnostic { hint, ..Diagnostic::error(code, message) });
            }
            Status::BadInput.into()
        }
    }
}

/// Shows what clap has to say: help and version, or how the command line is wrong.
fn misused(shown: &clap::Error) -> ExitCode {
    // Where nothing can be printed there is nobody to tell.
    let _ = shown.print();
    if !shown.use_stderr() {
        return ExitCode::SUCCESS;
    }
    if std::env::args().any(|argument| argument == "--json") {
        let text = shown.to_string();
        let mut lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
        let first = lines.next().unwrap_or_default().trim_start_matches("error: ");
        let told = lines.take_while(|line| !line.starts_with("Usage:") && !line.starts_with("For more"));
        // Our own parsers say what to give behind the value.
        let (message, own) =
            first.split_once("': ").map_or((first.to_owned(), None), |(a, b)| (format!("{a}'"), Some(b)));
        let hint: Vec<&str> = own.into_iter().chain(told).collect();
        let hint = if hint.is_empty() { "see --help".to_owned() } else { hint.join("; ") };
        refuse(None, Diagnostic::error("bad-use", message).hint(hint));
    }
    Status::BadInput.into()
}

/// The document of a command line that is refused, on standard output.
fn refuse(file: Option<&str>, fault: Diagnostic) {
    // Why it is refused stands on standard error already.
    let _ = emit_refusal(file, &[fault], 1);
}
