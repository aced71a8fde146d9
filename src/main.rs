//! The command line program; all of it lives in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    lowstave::cli::main(std::env::args_os())
}
