//! A disk that is full or read-only, a garage that belongs to another user or was moved away, no locks, a clock that jumps.

use std::process::{Command, Output};

use asfound_tests::{Workshop, plain_git};

use crate::{BINARY, say, shim};

/// In a namespace of its own a process may mount a small file system.
const SMALL: &str = r#"
set -e
mount -t tmpfs -o size=900k none "$1"
cp -r "$2" "$1/garage"
set +e
filed=0
while :; do
    "$3" --garage "$1/garage" note wren "note $filed: $4" >"$1/../said" 2>"$1/../failed"
    code=$?
    if [ $code != 0 ]; then break; fi
    filed=$((filed + 1))
done
echo "exit $code"
echo "filed $filed"
git --git-dir "$1/garage/journals.git" fsck --strict --no-dangling >/dev/null 2>&1 && echo sound
echo "there $(git --git-dir "$1/garage/journals.git" rev-list --count wren)"
mount -o remount,size=16m "$1"
"$3" --garage "$1/garage" note wren 'there is room again' >/dev/null && echo goes-on
"$3" --garage "$1/garage" audit >/dev/null && echo audited
"#;

#[test]
fn a_full_disk_costs_nothing_that_was_filed() {
    let mut shop = Workshop::with_wren();
    let (small, garage) = (shop.folder().join("small"), shop.garage());
    std::fs::create_dir(&small).expect("a folder can be made");
    let given = shop.process(BINARY, "");
    let mut command = Command::new("unshare");
    command.args(["--mount", "--map-root-user", "sh", "-c", SMALL, "sh"]).arg(&small).arg(&garage).arg(BINARY);
    command.arg("word ".repeat(200));
    command.env_clear().envs(given.get_envs().filter_map(|(name, value)| Some((name, value?))));
    command.env("PATH", "/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin");
    let Output { stdout, stderr, .. } = command.output().expect("it can be started");
    let said = String::from_utf8_lossy(&stdout).into_owned();
    if !said.contains("exit ") {
        say(&format!("skipped: nothing can be mounted here: {}", String::from_utf8_lossy(&stderr)));
        return;
    }
    let number = |what: &str| -> usize {
        let line = said.lines().find_map(|line| line.strip_prefix(what)).unwrap_or_else(|| panic!("{what}: {said}"));
        line.trim().parse().unwrap_or_else(|_| panic!("{what}: {said}"))
    };
    let failed = shop.text("failed");
    assert_eq!(number("exit "), 4, "{said}{failed}");
    assert!(failed.contains("room") || failed.contains("No space left"), "{failed}");
    assert!(number("filed ") > 3, "{said}");
    // What was acknowledged is there, and nothing else.
    assert_eq!(number("there "), 2 + number("filed "), "{said}{failed}");
    for what in ["sound", "goes-on", "audited"] {
        assert!(said.lines().any(|line| line == what), "not {what}: {said}{failed}");
    }
}

#[test]
fn a_garage_of_another_user_can_be_read_and_not_written() {
    let mut shop = Workshop::with_wren();
    let (folder, before) = (shop.folder().to_owned(), plain_git::tips(&shop.repository()));
    let mut as_nobody = |line: &str| {
        let given = shop.process(BINARY, line);
        let mut command = Command::new("setpriv");
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]);
        command.arg(given.get_program()).args(given.get_args()).current_dir("/");
        command.env_clear().envs(given.get_envs().filter_map(|(name, value)| Some((name, value?))));
        command.output()
    };
    match as_nobody("--version") {
        Ok(output) if output.status.success() => {}
        other => return say(&format!("skipped: the program cannot be run as another user here: {other:?}")),
    }
    let opened = Command::new("chmod").args(["-R", "a+rX"]).arg(&folder).status();
    assert!(opened.is_ok_and(|status| status.success()));
    let output = as_nobody("entries wren").expect("it can be started");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let output = as_nobody("note wren 'not mine'").expect("it can be started");
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains("belongs to another account") && said.contains("hint: "), "{said}");
    assert_eq!(plain_git::tips(&shop.repository()), before);
}

const READ_ONLY: &str = r#"
mount --bind "$1" "$1" && mount -o remount,ro,bind "$1" || exit 9
"$2" --garage "$1" entries wren >/dev/null && echo read
"$2" --garage "$1" audit >/dev/null && echo audited
"$2" --garage "$1" note wren 'is it there?'
echo "exit $?"
umount "$1"
"$2" --garage "$1" note wren 'it can be written again' >/dev/null && echo goes-on
"#;

#[test]
fn a_read_only_disk_is_read_and_not_written() {
    let mut shop = Workshop::with_wren();
    let (before, garage) = (plain_git::tips(&shop.repository()), shop.garage());
    let given = shop.process(BINARY, "");
    let mut command = Command::new("unshare");
    command.args(["--mount", "--map-root-user", "sh", "-c", READ_ONLY, "sh"]).arg(&garage).arg(BINARY);
    command.env_clear().envs(given.get_envs().filter_map(|(name, value)| Some((name, value?))));
    command.env("PATH", "/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin");
    let Output { stdout, stderr, .. } = command.output().expect("it can be started");
    let (said, failed) = (String::from_utf8_lossy(&stdout), String::from_utf8_lossy(&stderr));
    if !said.contains("exit ") {
        say(&format!("skipped: nothing can be mounted here: {failed}"));
        return;
    }
    for what in ["read", "audited", "exit 4", "goes-on"] {
        assert!(said.lines().any(|line| line == what), "not {what}: {said}{failed}");
    }
    assert!(failed.contains("read-only"), "{failed}");
    assert_eq!(plain_git::line(&shop.repository(), "wren").len(), before.lines().count() + 2, "one note is there");
}

#[test]
fn a_file_system_without_locks_is_named_and_nothing_is_filed() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let Some(shim) = shim(&folder) else { return };
    let mut shop = Workshop::with_wren();
    let before = plain_git::tips(&shop.repository());
    let mut run = |line: &str| {
        let mut command = shop.process(BINARY, line);
        command.env("LD_PRELOAD", &shim).env("FAULT_MODE", "lockless").output().expect("it can be started")
    };
    let output = run("note wren 'is it there?'");
    let said = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(
        said.starts_with("asfound: cannot lock ") && said.contains("hint: this file system does not let"),
        "{said}"
    );
    let output = run("entries wren");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(plain_git::tips(&shop.repository()), before);
}

#[test]
fn a_file_system_on_which_no_file_has_two_names_takes_entries_all_the_same() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let Some(shim) = shim(&folder) else { return };
    let mut shop = crate::workshop();
    let before = plain_git::line(&shop.repository(), "wren").len();
    for line in ["note wren 'on a stick'", "enrol plover", "import ./in --enrol --partial", "note plover 'on a stick'"]
    {
        let mut command = shop.process(BINARY, line);
        let output = command.env("LD_PRELOAD", &shim).env("FAULT_MODE", "linkless").output();
        let output = output.expect("it can be started");
        assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    }
    for (tag, entries) in [("wren", before + 2), ("rook", 2), ("plover", 2)] {
        assert_eq!(plain_git::line(&shop.repository(), tag).len(), entries, "{tag}");
    }
    let audit = shop.run("audit");
    assert_eq!(audit.exit, 0, "{audit}");
}

#[test]
fn a_garage_that_was_moved_away_is_missed_and_works_where_it_is() {
    let mut shop = Workshop::with_wren();
    let (old, new) = (shop.garage(), shop.folder().join("elsewhere"));
    std::fs::rename(&old, &new).expect("it can be moved");
    let output = shop.process(BINARY, "note wren 'is it there?'").output().expect("it can be started");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("there is no garage") && said.contains("hint: "), "{said}");
    assert!(!old.exists(), "nothing was made in its place");
    let _ = shop.run("--garage ./elsewhere note wren 'it is here'").done();
    let _ = shop.run("--garage ./elsewhere audit").done();
}

#[test]
fn a_clock_that_jumps_is_remarked_on_and_costs_nothing() {
    let mut shop = Workshop::with_wren();
    for (now, why) in [("2031-01-01T00:00:00Z", "far ahead"), ("1999-12-31T23:59:59Z", "far behind")] {
        let output = shop.process(BINARY, &format!("note wren '{why}'")).env("ASFOUND_NOW", now).output();
        let output = output.expect("it can be started");
        assert!(output.status.success(), "{why}: {}", String::from_utf8_lossy(&output.stderr));
    }
    let _ = shop.run("note wren 'the clock is right again'").done();
    let entries = shop.run("entries wren").done();
    assert!(entries.out.contains("far behind") && entries.out.contains("right again"), "{entries}");
    // It is said, and costs no trust.
    let audit = shop.run("audit").done();
    assert!(audit.out.contains("a clock was wrong") && audit.out.contains("1 doubt"), "{audit}");
}
