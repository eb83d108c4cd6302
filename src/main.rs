//! The program's door: everything is in `cli`.

#![cfg_attr(not(test), deny(clippy::unwrap_used, clippy::expect_used))]

mod cli;

/// Pictures come and go in pieces of tens of megabytes; the system's allocator gives each back to the system
/// and pays for every page again.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> std::process::ExitCode {
    cli::run()
}
