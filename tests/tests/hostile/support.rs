//! Runs the program on something hostile: it must come to an end by itself.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use asfound_tests::Workshop;

/// The program as a process.
pub(crate) const BINARY: &str = env!("CARGO_BIN_EXE_asfound-under-test");

/// After this long a program is taken to wait for ever.
const LIMIT: Duration = Duration::from_secs(60);

/// What a process wrote, and how it ended.
#[derive(Debug)]
pub(crate) struct Ended {
    pub(crate) out: String,
    pub(crate) err: String,
    pub(crate) exit: i32,
}

impl Ended {
    /// Standard error as one line, however it was wrapped.
    pub(crate) fn said(&self) -> String {
        self.err.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// Runs a command line as a process of its own, which must end within the limit.
#[track_caller]
pub(crate) fn run(shop: &mut Workshop, line: &str) -> Ended {
    end(shop.process(BINARY, line), line)
}

/// Runs a process to its end.
#[track_caller]
pub(crate) fn end(mut command: Command, line: &str) -> Ended {
    let mut child = command
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary can be started");
    let (out, err) = (child.stdout.take(), child.stderr.take());
    let out = thread::spawn(move || text_of(out));
    let err = thread::spawn(move || text_of(err));
    let since = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().expect("a child can be waited for") {
            break status;
        }
        if since.elapsed() > LIMIT {
            child.kill().expect("a child can be ended");
            child.wait().expect("a child can be waited for");
            panic!("`{line}` did not end within {LIMIT:?}");
        }
        thread::sleep(Duration::from_millis(5));
    };
    let (out, err) = (out.join().expect("it is read"), err.join().expect("it is read"));
    Ended { out, err, exit: status.code().unwrap_or(-1) }
}

fn text_of(stream: Option<impl Read>) -> String {
    let mut bytes = Vec::new();
    let _ = stream.map(|mut stream| stream.read_to_end(&mut bytes));
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Every file and folder below one, with what is in it: to see that nothing was altered.
pub(crate) fn everything(folder: &Path) -> Vec<(PathBuf, Option<Vec<u8>>)> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).expect("a folder can be listed") {
            let entry = entry.expect("a folder can be listed");
            if entry.file_type().expect("a kind can be told").is_dir() {
                open.push(entry.path());
                found.push((entry.path(), None));
            } else {
                found.push((entry.path(), Some(fs::read(entry.path()).expect("a file can be read"))));
            }
        }
    }
    found.sort();
    found
}
