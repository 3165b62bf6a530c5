//! What a failing exit code says is true: what was filed is filed, whether or not it could be shown.

use std::fs::{self, File};
use std::os::unix::fs::PermissionsExt;
use std::process::Stdio;

use asfound_tests::{Workshop, plain_git};

use crate::support::BINARY;

#[test]
fn an_entry_is_filed_though_its_screen_cannot_be_written() {
    for (line, files) in [
        ("note wren 'a note'", true),
        ("note wren 'a note' --json", true),
        ("change wren body.lane_change_flashes=5 --why five", true),
        ("read wren ./as-found.toml --again --why again", true),
        ("enrol rook", true),
        ("entries wren", false),
        ("settings wren --json", false),
    ] {
        let mut shop = Workshop::with_wren();
        let before = plain_git::tips(&shop.repository());
        let full = File::options().write(true).open("/dev/full").expect("the system has a full device");
        let mut command = shop.process(BINARY, line);
        let output = command.stdout(Stdio::from(full)).output().expect("the binary can be started");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let moved = plain_git::tips(&shop.repository()) != before;
        assert_eq!(moved, files, "{line}: {said}");
        assert_eq!(output.status.code(), Some(if files { 0 } else { 4 }), "{line}: {said}");
        assert!(said.contains("No space left"), "{line}: {said}");
        assert_eq!(said.contains("could not be shown"), files, "{line}: {said}");
    }
}

#[test]
fn a_file_is_written_whole_or_not_at_all() {
    let mut shop = Workshop::with_wren();
    // A limit on the size of files stands in for a full disk: what is written ends in the middle.
    let limited = |shop: &mut Workshop, line: &str| {
        let program = shop.process(BINARY, line);
        let words: Vec<_> = program.get_args().map(|word| word.to_string_lossy().into_owned()).collect();
        let quoted: Vec<String> = words.iter().map(|word| format!("'{word}'")).collect();
        let mut command = std::process::Command::new("sh");
        command.arg("-c").arg(format!("trap '' XFSZ; ulimit -f 1; exec '{BINARY}' {}", quoted.join(" ")));
        command.current_dir(shop.folder()).env_clear();
        for (name, value) in program.get_envs() {
            let _ = value.map(|value| command.env(name, value));
        }
        command.output().expect("the shell is there")
    };
    for name in ["book.html", "again.html"] {
        let output = limited(&mut shop, &format!("logbook wren --out ./{name}"));
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success() && said.contains("large"), "{name}: the limit did not bite: {said}");
        assert!(!shop.folder().join(name).exists(), "{name}");
    }
    let parts: Vec<_> = fs::read_dir(shop.folder())
        .unwrap()
        .filter_map(|entry| entry.unwrap().file_name().into_string().ok())
        .filter(|name| name.starts_with(".asfound-"))
        .collect();
    assert!(parts.is_empty(), "{parts:?}");
    let ran = shop.run_process(BINARY, "logbook wren --out ./book.html");
    assert_eq!(ran.exit, 0, "{ran}");
    // As any new file, and not for its owner alone.
    let mode = fs::metadata(shop.folder().join("book.html")).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode & 0o600, 0o600);
    assert_eq!(mode & 0o044, 0o666 & !umask() & 0o044, "{mode:o}");
}

fn umask() -> u32 {
    let output = std::process::Command::new("sh").args(["-c", "umask"]).output().expect("the shell is there");
    u32::from_str_radix(String::from_utf8_lossy(&output.stdout).trim(), 8).expect("it is an octal number")
}
