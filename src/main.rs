//! The door: hands the command line over and ends with its exit code.

use std::process::ExitCode;

use mimalloc::MiMalloc;

#[global_allocator]
static MEMORY: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    baytally::cli::main()
}
