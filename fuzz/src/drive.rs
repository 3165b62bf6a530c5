//! Hands the program over to libFuzzer.

use std::ffi::{CString, c_char, c_int};
use std::process::ExitCode;

// In the library that libfuzzer-sys compiles; see FuzzerInterface.h there, and
// https://llvm.org/docs/LibFuzzer.html#using-libfuzzer-as-a-library.
unsafe extern "C" {
    fn LLVMFuzzerRunDriver(
        argc: *mut c_int,
        argv: *mut *mut *mut c_char,
        one_input: unsafe extern "C" fn(*const u8, usize) -> c_int,
    ) -> c_int;
    fn LLVMFuzzerTestOneInput(data: *const u8, size: usize) -> c_int;
}

/// Runs the program's fuzz target by the arguments that it was started with.
///
/// libFuzzer could bring its own `main`. This one is Rust's, whose runtime gives the thread a stack of its own for
/// signals: without it, an input that exhausts the stack kills the program before libFuzzer can save the input.
#[must_use]
pub fn drive() -> ExitCode {
    let arguments: Vec<CString> = std::env::args().filter_map(|argument| CString::new(argument).ok()).collect();
    let mut pointers: Vec<*mut c_char> = arguments.iter().map(|argument| argument.as_ptr().cast_mut()).collect();
    let mut count = c_int::try_from(pointers.len()).unwrap_or(c_int::MAX);
    pointers.push(std::ptr::null_mut());
    let mut pointer = pointers.as_mut_ptr();
    // SAFETY: count and pointers are those of a C `main`, ended by a null pointer, and live until the call returns; the
    // driver does not write through the strings. The function is the one that `fuzz_target!` makes.
    let code = unsafe { LLVMFuzzerRunDriver(&raw mut count, &raw mut pointer, LLVMFuzzerTestOneInput) };
    u8::try_from(code).map_or(ExitCode::FAILURE, ExitCode::from)
}
