//! The commands about keys, run as a user runs them; the real git checks what they sign.

#![allow(clippy::unwrap_used, reason = "all of this is tests, also what they share")]

use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

struct Place {
    folder: TempDir,
    passphrase: Option<&'static str>,
    agent: Option<PathBuf>,
    now: &'static str,
}

impl Place {
    /// A new place; nothing where `ssh-keygen` is missing, which is said.
    fn new() -> Option<Self> {
        if Command::new("ssh-keygen").arg("-?").stdin(Stdio::null()).output().is_err() {
            #[allow(clippy::print_stderr, reason = "whoever runs the tests has to know that this one checked nothing")]
            {
                eprintln!("NOT CHECKED: this test needs ssh-keygen, which is not there");
            }
            return None;
        }
        let now = "2026-03-14T09:20:05+01:00";
        Some(Self { folder: tempfile::tempdir().unwrap(), passphrase: None, agent: None, now })
    }

    fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        command
            .env_clear()
            .envs(std::env::vars_os().filter(|(name, _)| name == "PATH"))
            .env("HOME", self.folder.path())
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("ASFOUND_GARAGE", self.folder.path().join("garage"))
            .env("ASFOUND_AUTHOR", "Edda Brandt <edda@workshop.example>")
            .env("ASFOUND_NOW", self.now)
            .envs(self.passphrase.map(|passphrase| ("ASFOUND_KEY_PASSPHRASE", passphrase)))
            .envs(self.agent.as_ref().map(|socket| ("SSH_AUTH_SOCK", socket)))
            .current_dir(self.folder.path())
            .stdin(Stdio::null());
        command
    }

    fn key(&self, name: &str, passphrase: &str) -> String {
        let made = self.command("ssh-keygen").args(["-q", "-N", passphrase, "-t", "ed25519", "-f", name]).status();
        assert!(made.unwrap().success());
        let shown = self.command("ssh-keygen").args(["-l", "-f", name]).output().unwrap();
        String::from_utf8(shown.stdout).unwrap().split(' ').nth(1).unwrap().to_owned()
    }

    /// The exit code and all that is shown.
    fn run(&self, arguments: &[&str]) -> (i32, String) {
        let output = self.command(env!("CARGO_BIN_EXE_asfound")).args(arguments).output().unwrap();
        let shown = [output.stdout, output.stderr].concat();
        let shown = String::from_utf8(shown).unwrap();
        assert!(!shown.contains("nine lives"), "{shown}");
        (output.status.code().unwrap(), shown)
    }

    fn done(&self, arguments: &[&str]) -> String {
        let (exit, shown) = self.run(arguments);
        assert_eq!(exit, 0, "{arguments:?}: {shown}");
        shown
    }

    fn fails(&self, arguments: &[&str], with: &str) {
        let (exit, shown) = self.run(arguments);
        let joined = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(exit == 2 && joined.contains(with), "{arguments:?}: {exit} {shown}");
    }

    fn signatures(&self) -> Vec<Value> {
        let entries: Value = serde_json::from_str(&self.done(&["entries", "wren", "--json"])).unwrap();
        entries["entries"].as_array().unwrap().iter().map(|entry| entry["signature"].clone()).collect()
    }

    fn states(&self) -> Vec<String> {
        self.signatures().iter().map(|signature| signature["state"].as_str().unwrap().to_owned()).collect()
    }

    fn git_verifies(&self, commit: &str) -> bool {
        let list = "gpg.ssh.allowedSignersFile=garage/allowed_signers";
        let mut git = self.command("git");
        git.args(["--git-dir", "garage/journals.git", "-c", list, "verify-commit", commit]);
        git.output().unwrap().status.success()
    }
}

#[test]
fn a_key_is_used_replaced_and_stopped() {
    let Some(mut place) = Place::new() else { return };
    let (first, second) = (place.key("first", ""), place.key("second", "nine lives"));
    assert!(place.done(&["key", "use", "first"]).contains(&first));
    place.done(&["enrol", "wren"]);
    assert!(place.done(&["entry", "wren", "1"]).contains("good: stated, by edda@workshop.example"));
    let shown = place.done(&["key", "use", "second"]);
    assert!(shown.contains(&first) && shown.contains(&second), "{shown}");

    // The key is not to be had: nothing is filed.
    place.fails(&["note", "wren", "x"], "is locked with a passphrase");
    place.passphrase = Some("ten lives");
    place.fails(&["note", "wren", "x"], "the passphrase does not open the signing key");
    place.passphrase = Some("nine lives");
    std::fs::rename(place.folder.path().join("second"), place.folder.path().join("away")).unwrap();
    place.fails(&["note", "wren", "x"], "cannot be read");
    std::fs::copy(place.folder.path().join("first"), place.folder.path().join("second")).unwrap();
    place.fails(&["note", "wren", "x"], "and this garage signs with");
    std::fs::rename(place.folder.path().join("away"), place.folder.path().join("second")).unwrap();
    assert_eq!(place.states(), ["good"]);

    place.now = "2026-03-15T09:20:05+01:00";
    place.done(&["note", "wren", "checked", "--on", "1", "--released"]);
    // The first key ends with the day before; its entry stays good.
    place.done(&["key", "trust", &first, "--name", "edda@workshop.example", "--until", "2026-03-14"]);
    let list = std::fs::read_to_string(place.folder.path().join("garage/allowed_signers")).unwrap();
    assert!(list.contains("valid-before=\"20260314225959Z\""), "{list}");
    assert_eq!(place.states(), ["good", "good"]);
    assert!(place.git_verifies("wren") && place.git_verifies("wren~1"));
    let released = place.signatures().pop().unwrap();
    assert_eq!(released["meaning"], "released");
    assert_eq!((&released["by_author"], &released["key"]), (&Value::Bool(true), &Value::from(second.clone())));
    // With another end it is not.
    place.done(&["key", "trust", &first, "--name", "edda@workshop.example", "--until", "2026-03-13"]);
    assert_eq!(place.states(), ["unknown", "good"]);
    assert!(!place.git_verifies("wren~1"));
    let listed: Value = serde_json::from_str(&place.done(&["key", "list", "--json"])).unwrap();
    assert_eq!(listed["trusted"][0]["until"], "2026-03-13T22:59:59Z");
    assert_eq!(listed["signing"]["key"], Value::from(second));

    place.done(&["key", "stop"]);
    place.passphrase = None;
    place.done(&["note", "wren", "without"]);
    assert_eq!(place.states(), ["unknown", "good", "missing"]);
    place.fails(&["note", "wren", "x", "--released"], "this garage has no key");
}

#[test]
fn what_is_not_the_right_half_is_refused() {
    let Some(place) = Place::new() else { return };
    place.key("key", "");
    place.fails(&["key", "use", "key.pub"], "that is the public half");
    place.fails(&["key", "trust", "key", "--name", "a@b.example"], "is a private key");
    place.fails(&["key", "trust", "key.pub", "--name", "a,b"], "cannot name a key");
    place.fails(&["key", "use", "nowhere"], "cannot be read");
    place.fails(&["key", "use", "--agent", "SHA256:x"], "invalid fingerprint");
    let span = ["--from", "2026-03-15", "--until", "2026-03-14"];
    place.fails(&[&["key", "trust", "key.pub", "--name", "a@b.example"], &span[..]].concat(), "end before it begins");
    assert!(!place.folder.path().join("garage/allowed_signers").exists());
}

#[test]
fn somebody_elses_signature_is_told_from_the_authors() {
    let Some(place) = Place::new() else { return };
    place.key("key", "");
    place.done(&["key", "use", "key", "--name", "Ole Lund"]);
    let (exit, refused) = place.run(&["enrol", "wren"]);
    assert!(exit == 3 && refused.contains("would sign it is Ole Lund's"), "{exit} {refused}");
    place.done(&["enrol", "wren", "--as-said"]);
    let shown = place.done(&["entry", "wren", "1"]);
    assert!(shown.contains("by Ole Lund, who is not the author"), "{shown}");
    assert_eq!(place.signatures()[0]["by_author"], false);
    assert!(place.git_verifies("wren"));
}

/// An agent that ends with the test.
struct Agent(Child);

impl Drop for Agent {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[test]
fn a_key_in_an_agent_is_used() {
    let Some(mut place) = Place::new() else { return };
    let fingerprint = place.key("key", "");
    place.fails(&["key", "use", "--agent", &fingerprint], "SSH_AUTH_SOCK names none");
    let socket = place.folder.path().join("agent");
    let started = place.command("ssh-agent").args(["-D", "-a"]).arg(&socket).stdout(Stdio::null()).spawn();
    let Ok(started) = started else { return };
    let _agent = Agent(started);
    let begun = Instant::now();
    while !socket.exists() {
        assert!(begun.elapsed() < Duration::from_secs(20), "the agent does not start");
        std::thread::sleep(Duration::from_millis(20));
    }
    place.agent = Some(socket);
    place.fails(&["key", "use", "--agent", &fingerprint], "does not hold the signing key");
    assert!(place.command("ssh-add").args(["-q", "key"]).status().unwrap().success());
    std::fs::remove_file(place.folder.path().join("key")).unwrap();
    // A busy machine's agent may refuse a connection for a moment.
    let begun = Instant::now();
    while place.run(&["key", "use", "--agent", &fingerprint]).0 != 0 && begun.elapsed() < Duration::from_secs(10) {
        std::thread::sleep(Duration::from_millis(100));
    }
    place.done(&["key", "use", "--agent", &fingerprint]);
    assert!(place.done(&["key", "list", "--in-agent"]).matches(&fingerprint).count() == 3);
    place.done(&["enrol", "wren"]);
    assert_eq!(place.states(), ["good"]);
    assert!(place.git_verifies("wren"));
    assert!(place.command("ssh-add").args(["-q", "-D"]).stderr(Stdio::null()).status().unwrap().success());
    place.fails(&["note", "wren", "x"], "does not hold the signing key");
    assert_eq!(place.states(), ["good"]);
}
