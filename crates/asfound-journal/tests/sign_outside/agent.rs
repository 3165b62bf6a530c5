//! Keys in a real ssh-agent, which is started for one test and ended with it.

use std::path::{Path, PathBuf};
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use asfound_journal::sign::{AgentKey, SignError, SignatureState, agent_keys};

use crate::support::{NOON, Place, command, has, open, text};

struct Agent {
    child: Child,
    socket: PathBuf,
}

impl Agent {
    fn start(socket: PathBuf) -> Self {
        let mut agent = command("ssh-agent");
        let child = agent.arg("-D").arg("-a").arg(&socket).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let started = Self { child, socket };
        let begun = Instant::now();
        while agent_keys(&started.socket).is_err() {
            assert!(begun.elapsed() < Duration::from_secs(20), "the agent does not answer");
            std::thread::sleep(Duration::from_millis(20));
        }
        started
    }

    fn add(&self, arguments: &[&str], key: &Path) {
        text(command("ssh-add").env("SSH_AUTH_SOCK", &self.socket).arg("-q").args(arguments).arg(key));
    }
}

impl Drop for Agent {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn keys_in_an_agent_sign() {
    if !has("ssh-keygen") || !has("ssh-agent") || !has("ssh-add") {
        return;
    }
    let place = Place::new();
    let agent = Agent::start(place.at("agent"));
    assert!(agent_keys(&agent.socket).unwrap().is_empty());
    for kind in ["ed25519", "ecdsa", "rsa"] {
        let path = place.keygen(kind, &["-t", kind], "");
        agent.add(&[], &path);
        let public = asfound_journal::sign::KeyFile::open(&path).unwrap().public_key().clone();
        std::fs::remove_file(&path).unwrap();
        let signer = AgentKey::find(Some(&agent.socket), &public.fingerprint()).unwrap();
        place.trust(&signer);
        let commit = place.sign(NOON, &signer);
        assert!(matches!(place.state(&commit), SignatureState::Good { .. }), "{kind}: {:?}", place.state(&commit));
        place.git_verifies(commit.as_str()).unwrap();
    }
    let held = agent_keys(&agent.socket).unwrap();
    let held: Vec<_> = held.iter().map(|key| (key.kind(), key.comment())).collect();
    let comment = "edda in the workshop";
    assert_eq!(held, [("Ed25519", comment), ("ECDSA P-256", comment), ("RSA", comment)]);
}

#[test]
fn an_agent_that_has_not_the_key_or_lost_it_files_nothing() {
    let place = Place::new();
    let path = place.seeded(1);
    let key = asfound_journal::sign::Signer::public_key(&open(&path, None)).clone();
    let find = |socket: Option<&Path>| AgentKey::find(socket, &key.fingerprint());
    assert!(matches!(find(None), Err(SignError::NoAgent { .. })));
    let nobody = find(Some(&place.at("nobody"))).unwrap_err();
    assert!(matches!(nobody, SignError::NoAgent { .. }) && nobody.hint().contains("ssh-add"), "{nobody}");
    if !has("ssh-agent") || !has("ssh-add") {
        return;
    }
    let agent = Agent::start(place.at("agent"));
    assert!(matches!(find(Some(&agent.socket)), Err(SignError::NotInAgent { .. })));
    text(command("chmod").arg("600").arg(&path));
    std::fs::write(path.with_extension("pub"), key.to_line()).unwrap();
    agent.add(&[], &path);
    let signer = find(Some(&agent.socket)).unwrap();
    place.sign(NOON, &signer);
    // It is taken away between the look and the signature.
    agent.add(&["-d"], &path);
    let signing = asfound_journal::journal::Signing { signer: &signer, meaning: None };
    let error = place.file(NOON, Some(signing)).unwrap_err();
    assert!(error.to_string().contains("the agent refused"), "{error}");
    assert_eq!(
        asfound_journal::journal::Journal::new(
            asfound_journal::garage::Garage::store(&place.garage),
            crate::support::tag()
        )
        .entries()
        .unwrap()
        .len(),
        1
    );
}
