//! Somebody presses Ctrl-C.

use std::process::{Command, Stdio};
use std::time::Duration;

use asfound_simulated::{Faults, IpServer};
use asfound_tests::plain_git;

use super::{MODULES, READY, read_from, shop, wren};

/// The program as a binary of its own.
const BINARY: &str = env!("CARGO_BIN_EXE_asfound-under-test");

/// What the program says and how it ends when it is stopped once a hundred requests were made.
fn stopped(partial: &str) -> (Option<i32>, String, String) {
    let mut vehicle = wren();
    vehicle.faults = Faults::none().slow(Duration::from_millis(40));
    let server = IpServer::start(vehicle).unwrap();
    let mut shop = shop();
    let mut command = shop.process(BINARY, &format!("{} {READY} {MODULES} {partial}", read_from(&server)));
    let child = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    for _ in 0..500 {
        if server.vehicle().requests().len() > 40 {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    let killed = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(killed.success());
    let output = child.wait_with_output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    (output.status.code(), err, plain_git::line(&shop.repository(), "wren").len().to_string())
}

#[test]
fn a_reading_that_is_stopped_is_dropped_unless_a_part_is_enough() {
    let (code, err, entries) = stopped("");
    assert_eq!((code, entries.as_str()), (Some(3), "1"), "{err}");
    assert!(err.contains("the reading was stopped"), "{err}");
    let (code, err, entries) = stopped("--partial");
    assert_eq!((code, entries.as_str()), (Some(0), "2"), "{err}");
}
