//! The binary: hands the program its arguments and surroundings.

use std::process::ExitCode;

/// What one thread reads another drops, all the time: the usual allocators let them wait for each other.
#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    asfound::complete();
    let (mut out, mut err) = (std::io::stdout().lock(), std::io::stderr().lock());
    asfound::run(std::env::args_os(), None, &mut out, &mut err).into()
}
