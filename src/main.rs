//! The program's door: everything is in `cli`.

mod cli;

fn main() -> std::process::ExitCode {
    cli::run()
}
