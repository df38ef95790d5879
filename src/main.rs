//! The door: hands the command line over and ends with its exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    baytally::cli::main()
}
