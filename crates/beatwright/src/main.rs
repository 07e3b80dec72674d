//! Beatwright: the binary. Arguments, files and display units live here and nowhere else.

mod action_command;
mod bench;
mod check;
mod cli;
mod draw;
mod input;
mod json;
mod new_file;
mod output;
mod sweep;
mod tables;

use clap::Parser;
use std::process::ExitCode;

use cli::{BenchArgs, Cli, Command};
use output::{Status, Stop};

fn main() -> ExitCode {
    let cli = Cli::parse();
    let done = match cli.command {
        None => bench::open_bench(&BenchArgs { file: None, port: cli.port, no_open: cli.no_open }),
        Some(Command::Bench(args)) => bench::open_bench(&args),
        Some(Command::New(args)) => new_file::write_new(&args),
        Some(Command::Check(args)) => check::check(&args),
        Some(Command::Action(args)) => action_command::show_action(&args),
        Some(Command::Drawing(args)) => draw::draw(&args),
        Some(Command::Sweep(args)) => sweep::sweep(&args),
        Some(Command::Schema) => output::emit(&output::pretty(&movement::json_schema())).map(|()| Status::Ok),
        Some(Command::Completions { shell }) => cli::completions(shell),
        Some(Command::Man { directory }) => cli::man_pages(&directory),
    };
    match done {
        Ok(status) => status.into(),
        Err(Stop::Reported) => Status::BadInput.into(),
        Err(Stop::PipeClosed) => ExitCode::SUCCESS,
        Err(Stop::Cancelled) => ExitCode::from(130),
        Err(Stop::Problem { message, hint }) => {
            eprintln!("error: {message}");
            if let Some(hint) = hint {
                eprintln!("hint: {hint}");
            }
            Status::BadInput.into()
        }
    }
}
