//! The binary as a process: exit codes, pipes that close early, completion, several writers at once, a lock that another
//! process holds, a file system that cannot be written.

use std::io::{BufRead, BufReader, Read};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use asfound_tests::json::Entries;
use asfound_tests::{Workshop, plain_git};
use insta::assert_snapshot;

use crate::BINARY;

#[test]
fn exit_codes() {
    let mut shop = Workshop::after_put_back();
    let mut code = |line: &str| shop.run_process(BINARY, line).exit;
    assert_eq!(code("entries wren"), 0);
    assert_eq!(code("--help"), 0);
    assert_eq!(code("--version"), 0);
    assert_eq!(code("compare wren 2 6 --expect-same"), 1);
    assert_eq!(code("entries swallow"), 2);
    assert_eq!(code("entries"), 2);
    assert_eq!(code(""), 2);
    assert_eq!(code("put-back wren 3 --done --sheet CODE --why x --keep body.nothing"), 2);
    assert_eq!(code("change wren brakes.hill_hold=off --why x"), 3);
    shop.write("garage/garage.toml", "format = \"asfound-garage/9\"\n");
    assert_eq!(shop.run_process(BINARY, "entries wren").exit, 4);
}

#[test]
fn a_process_says_what_the_function_says() {
    let mut shop = Workshop::after_put_back();
    for line in ["entries wren", "settings wren --altered", "compare wren 2", "entries swallow", "explain lock"] {
        let (inside, outside) = (shop.run(line), shop.run_process(BINARY, line));
        assert_eq!(inside, outside);
    }
}

#[test]
fn the_time_must_be_one() {
    let mut shop = Workshop::with_wren();
    let output = shop.process(BINARY, "vehicles").env("ASFOUND_NOW", "yesterday").output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_snapshot!(String::from_utf8_lossy(&output.stderr), @"asfound: ASFOUND_NOW is `yesterday`, which is no RFC 3339 time");
}

#[test]
fn every_command_has_help_with_an_example() {
    let mut shop = Workshop::new();
    let help = shop.run_process(BINARY, "--help").done();
    let listed = help.out.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    // Deeper lines go on with a description.
    let named = listed.lines().filter_map(|line| line.strip_prefix("  ")).filter(|line| !line.starts_with(' '));
    let commands: Vec<&str> = named.filter_map(|line| line.split(' ').next()).collect();
    assert!(commands.len() >= 15, "{commands:?}");
    for command in commands {
        let help = shop.run_process(BINARY, &format!("{command} --help")).done();
        let has_example = command == "definition" || help.out.contains(&format!("\n  asfound {command}"));
        assert!(has_example, "no example: {help}");
    }
}

#[test]
fn a_pipe_that_closes_early_is_no_failure() {
    let mut shop = Workshop::after_put_back();
    // More than a pipe holds, so that the program is still writing when the reader leaves.
    let reason = "a long story ".repeat(1000);
    for _ in 0..12 {
        let _ = shop.run(&format!("note wren '{reason}'")).done();
    }
    for line in ["entries wren", "entries wren --json", "entry wren 12"] {
        let mut child = shop.process(BINARY, line).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut first = String::new();
        BufReader::with_capacity(16, child.stdout.take().unwrap()).read_line(&mut first).unwrap();
        let mut said = String::new();
        child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        assert_eq!((child.wait().unwrap().code(), said.as_str()), (Some(0), ""), "{line}");
        assert!(!first.is_empty());
    }
}

#[test]
fn a_demonstration_whose_reader_leaves_is_played_to_the_end() {
    let mut shop = Workshop::new();
    let mut child =
        shop.process(BINARY, "demo --in shown").stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut first = String::new();
    BufReader::with_capacity(16, child.stdout.take().unwrap()).read_line(&mut first).unwrap();
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert_eq!((child.wait().unwrap().code(), said.as_str()), (Some(0), ""));
    let entries = shop.run("--garage ./shown/garage entries wren").done();
    assert!(entries.out.contains("put-back"), "{entries}");
}

/// What the shell's own script asks the program for, with the cursor at the last word.
fn completions(shop: &mut Workshop, words: &[&str]) -> Vec<String> {
    let output = shop
        .process(BINARY, "")
        .arg("--")
        .arg("asfound")
        .args(words)
        .env("COMPLETE", "bash")
        .env("_CLAP_COMPLETE_INDEX", words.len().to_string())
        .env("_CLAP_COMPLETE_COMP_TYPE", "9")
        .env("_CLAP_COMPLETE_SPACE", "true")
        .env("_CLAP_IFS", "\n")
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect()
}

#[test]
fn the_shell_is_offered_commands_tags_and_settings() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("enrol plover").done();
    let script = shop.process(BINARY, "").env("COMPLETE", "bash").output().unwrap();
    assert!(script.status.success());
    assert!(String::from_utf8_lossy(&script.stdout).contains("complete -o nospace"), "a script for bash");
    assert_eq!(completions(&mut shop, &["put"]), ["put-back"]);
    assert_eq!(completions(&mut shop, &["entries", ""])[..2], ["plover", "wren"]);
    assert_eq!(completions(&mut shop, &["entries", "w"]), ["wren"]);
    let settings = completions(&mut shop, &["change", "wren", "body.lock_"]);
    assert_eq!(settings, ["body.lock_at_speed", "body.lock_by_horn", "body.lock_speed"]);
    assert_eq!(completions(&mut shop, &["explain", "cluster."]), ["cluster.needle_sweep"]);
}

/// What a real bash offers for the last of these words, which it hands over as they are typed.
fn offered_by_bash(shop: &mut Workshop, words: &[&str]) -> Vec<String> {
    let script = r#"eval "$(COMPLETE=bash "$0")"
complete=$(complete -p asfound | sed 's/.*-F \([^ ]*\).*/\1/')
COMP_WORDS=(asfound "$@") COMP_CWORD=$# COMP_TYPE=9 COMPREPLY=()
"$complete" asfound "${COMP_WORDS[COMP_CWORD]}" "${COMP_WORDS[COMP_CWORD-1]}"
printf '%s\n' "${COMPREPLY[@]}""#;
    let process = shop.process(BINARY, "");
    let mut bash = Command::new("bash");
    bash.args(["--norc", "--noprofile", "-c", script, BINARY]).args(words);
    bash.current_dir(process.get_current_dir().expect("the workshop has a directory"));
    for (name, value) in process.get_envs() {
        if let Some(value) = value {
            bash.env(name, value);
        }
    }
    bash.env("HOME", process.get_current_dir().expect("the workshop has a directory"));
    let output = bash.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect()
}

#[test]
fn bash_offers_the_layers_of_a_package_however_its_name_is_typed() {
    let mut shop = Workshop::with_wren();
    let package = include_bytes!("../../../crates/asfound-odx/tests/data/aviary.pdx");
    for name in ["aviary.pdx", "my package.pdx", "LOUD.PDX"] {
        shop.write(name, package);
    }
    let typed = ["aviary.pdx", "./aviary.pdx", "my\\ package.pdx", "'my package.pdx'", "~/aviary.pdx", "LOUD.PDX"];
    for typed in typed {
        let offered = offered_by_bash(&mut shop, &["definition", "from", typed, "--layer", "WrenBody_"]);
        assert_eq!(offered, ["WrenBody_1", "WrenBody_2", "WrenBody_3"], "{typed}");
    }
    let nothing = offered_by_bash(&mut shop, &["definition", "from", "there-is-none.pdx", "--layer", ""]);
    assert!(nothing.iter().all(String::is_empty), "{nothing:?}");
}

#[test]
fn eight_processes_file_forty_notes_without_a_gap() {
    let mut shop = Workshop::with_wren();
    let writers: Vec<Vec<Command>> = (0..8)
        .map(|writer| {
            let note = |number| format!("note wren 'note {number} of writer {writer}'");
            (0..5).map(|number| shop.process(BINARY, &note(number))).collect()
        })
        .collect();
    let outputs: Vec<_> = thread::scope(|scope| {
        let run = |mut commands: Vec<Command>| {
            move || commands.iter_mut().map(|command| command.output().unwrap()).collect::<Vec<_>>()
        };
        let threads: Vec<_> = writers.into_iter().map(|commands| scope.spawn(run(commands))).collect();
        threads.into_iter().flat_map(|thread| thread.join().unwrap()).collect()
    });
    for output in &outputs {
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    }
    // The mirror makes sure that numbers have no gap; every note is there once, each writer's in its order.
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries.len(), 42);
    for writer in 0..8 {
        let notes: Vec<&str> = entries
            .entries
            .iter()
            .map(|entry| entry.why.as_str())
            .filter(|why| why.ends_with(&format!("of writer {writer}")))
            .collect();
        let expected: Vec<String> = (0..5).map(|number| format!("note {number} of writer {writer}")).collect();
        assert_eq!(notes, expected);
    }
    // What a process said it filed is what the journal has.
    let numbers: Vec<bool> = outputs
        .iter()
        .map(|output| {
            let text = String::from_utf8_lossy(&output.stdout);
            let said =
                text.lines().find_map(|line| line.strip_prefix("Filed as entry ")).unwrap().trim_end_matches('.');
            let entry = &entries.entries[said.parse::<usize>().unwrap() - 1];
            text.contains(&entry.why)
        })
        .collect();
    assert!(numbers.iter().all(|right| *right));
    assert!(plain_git::git(&shop.repository(), &["fsck", "--strict"]).status.success());
}

#[test]
fn two_processes_enrol_one_tag() {
    let mut shop = Workshop::equipped();
    let mut commands: Vec<Command> = (0..4).map(|_| shop.process(BINARY, "enrol wren")).collect();
    let codes: Vec<_> = thread::scope(|scope| {
        let threads: Vec<_> =
            commands.iter_mut().map(|command| scope.spawn(|| command.output().unwrap().status.code())).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    assert_eq!(codes.iter().filter(|code| **code == Some(0)).count(), 1, "{codes:?}");
    assert_eq!(codes.iter().filter(|code| **code == Some(3)).count(), 3, "{codes:?}");
    assert_eq!(plain_git::line(&shop.repository(), "wren").len(), 1);
}

/// `flock` is util-linux's.
#[cfg(target_os = "linux")]
#[test]
fn a_lock_that_another_process_holds() {
    let mut shop = Workshop::with_wren();
    let lock = shop.garage().join("locks/wren");
    assert!(lock.exists(), "filing leaves the lock file behind");
    let mut holder = Command::new("flock")
        // Without a process in between, so that killing it gives the lock back.
        .args(["--no-fork", "--exclusive"])
        .arg(&lock)
        .args(["sh", "-c", "echo held; exec sleep 60"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = String::new();
    BufReader::new(holder.stdout.take().unwrap()).read_line(&mut said).unwrap();
    assert_eq!(said, "held\n");
    // Other vehicles are not held up, and reading is not either.
    let _ = shop.run("enrol plover").done();
    let _ = shop.run("entries wren").done();
    let since = Instant::now();
    let ran = shop.refused("note wren 'is it there?'");
    let waited = since.elapsed();
    holder.kill().unwrap();
    holder.wait().unwrap();
    assert_eq!(ran.exit, 4, "{ran}");
    let said = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.starts_with("asfound: the journal of `wren` is being written by process "), "{ran}");
    assert!(said.contains("; gave up after 10"), "{ran}");
    assert!(said.ends_with("hint: wait until it is done, then try again; nothing was filed"), "{ran}");
    assert!(waited >= Duration::from_secs(10) && waited < Duration::from_secs(30), "{waited:?}");
    let _ = shop.run("note wren 'it is there'").done();
}

/// In a namespace of its own a process may mount a folder on itself and make that read-only, also as root, whom file
/// permissions do not stop.
#[cfg(target_os = "linux")]
#[test]
fn a_file_system_that_cannot_be_written() {
    const SCRIPT: &str = "mount --bind \"$0\" \"$0\" && mount -o remount,ro,bind \"$0\" && exec \"$@\"";
    let mut shop = Workshop::after_work();
    let garage = shop.garage();
    let in_read_only = |command: &mut Command| {
        let mut outer = Command::new("unshare");
        outer.args(["--mount", "--map-root-user", "sh", "-c", SCRIPT]).arg(&garage);
        outer.arg(command.get_program()).args(command.get_args());
        outer.current_dir(command.get_current_dir().unwrap_or(&garage));
        outer.env_clear().envs(command.get_envs().filter_map(|(name, value)| Some((name, value?))));
        outer.env("PATH", "/usr/sbin:/usr/bin:/sbin:/bin");
        outer.output().unwrap()
    };
    if !in_read_only(&mut Command::new("true")).status.success() {
        // Namespaces are closed here: `locks_that_cannot_be_taken` is what is left of this.
        return;
    }
    let before = plain_git::tips(&shop.repository());
    for line in [
        "note wren 'is it there?'",
        "change wren body.lane_change_flashes=2 --why two",
        "enrol plover",
        "definition keep body-1.toml",
    ] {
        let output = in_read_only(&mut shop.process(BINARY, line));
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(4), "{line}: {said}");
        assert!(said.contains("Read-only file system") && said.contains("hint: "), "{line}: {said}");
    }
    for line in ["entries wren", "settings wren", "compare wren 2"] {
        let output = in_read_only(&mut shop.process(BINARY, line));
        assert!(output.status.success(), "{line}: {}", String::from_utf8_lossy(&output.stderr));
    }
    assert_eq!(plain_git::tips(&shop.repository()), before);
}
