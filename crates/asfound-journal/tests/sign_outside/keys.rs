//! Every kind of key that is made by `ssh-keygen`, checked by git and by `ssh-keygen`.

use std::fs::File;
use std::path::Path;

use asfound_journal::garage::{Garage, SigningKey};
use asfound_journal::journal::{Journal, Signing};
use asfound_journal::sign::{
    BadSignature, KeyFile, Meaning, Passphrase, PublicKey, SignError, SignatureState, TrustDoubt, verify,
};
use asfound_journal::store::{MemoryStore, Store};

use crate::support::{EDDA, NOON, Place, apart, command, file_in, has, open, said, tag, text};

const KINDS: [(&str, &[&str]); 6] = [
    ("Ed25519", &["-t", "ed25519"]),
    ("ECDSA P-256", &["-t", "ecdsa", "-b", "256"]),
    ("ECDSA P-384", &["-t", "ecdsa", "-b", "384"]),
    ("ECDSA P-521", &["-t", "ecdsa", "-b", "521"]),
    ("RSA", &["-t", "rsa", "-b", "2048"]),
    ("RSA", &["-t", "rsa", "-b", "3072"]),
];

/// `ssh-keygen -Y verify` on a signature and the text under it.
fn keygen_verifies(place: &Place, list: &Path, signature: &str, payload: &str) -> Result<String, String> {
    let (signature_file, payload_file) = (place.at("signature"), place.at("payload"));
    std::fs::write(&signature_file, signature).unwrap();
    std::fs::write(&payload_file, payload).unwrap();
    let mut keygen = command("ssh-keygen");
    keygen.args(["-Y", "verify", "-n", "git", "-I", EDDA, "-f"]).arg(list).arg("-s").arg(&signature_file);
    let output = keygen.stdin(File::open(payload_file).unwrap()).output().unwrap();
    if output.status.success() { Ok(said(&output)) } else { Err(said(&output)) }
}

#[test]
fn git_and_openssh_accept_every_kind_of_key_and_refuse_what_is_altered() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    let list = place.at("garage/allowed_signers");
    let stranger =
        PublicKey::parse(&std::fs::read_to_string(place.keygen("x", &[], "").with_extension("pub")).unwrap());
    let strangers_list = place.at("strangers");
    std::fs::write(&strangers_list, format!("{EDDA} {}\n", stranger.unwrap().to_line())).unwrap();
    for (index, (kind, arguments)) in KINDS.iter().enumerate() {
        let path = place.keygen(&format!("key-{index}"), arguments, "");
        let signer = open(&path, None);
        let commit = place.sign(NOON, &signer);
        let raw = place.garage.store().commit_text(&commit).unwrap();
        let (signature, payload) = apart(&raw);
        let fingerprint = text(command("ssh-keygen").args(["-l", "-f"]).arg(&path));
        let fingerprint = fingerprint.split(' ').nth(1).unwrap();

        // Nobody is trusted yet: the signature holds, and is by nobody known.
        let why = TrustDoubt::NotListed;
        assert_eq!(place.state(&commit), SignatureState::Unknown { fingerprint: fingerprint.parse().unwrap(), why });
        assert!(keygen_verifies(&place, &strangers_list, &signature, &payload).is_err(), "{kind}");

        place.trust(&signer);
        let good = SignatureState::Good { principal: EDDA.to_owned(), fingerprint: fingerprint.parse().unwrap() };
        assert_eq!(place.state(&commit), good, "{kind}");
        assert_eq!(
            PublicKey::parse(&std::fs::read_to_string(path.with_extension("pub")).unwrap()).unwrap().kind(),
            *kind
        );
        let said = place.git_verifies(commit.as_str()).unwrap();
        assert!(
            said.contains(&format!("Good \"git\" signature for {EDDA} with ")) && said.contains(fingerprint),
            "{said}"
        );
        let said = keygen_verifies(&place, &list, &signature, &payload).unwrap();
        assert!(said.contains(fingerprint), "{said}");

        let altered = payload.replace("horn sounds hoarse", "horn sounds fine");
        assert!(keygen_verifies(&place, &list, &signature, &altered).is_err(), "{kind}");
        let altered = String::from_utf8(raw).unwrap().replace("sounds hoarse", "sounds fine");
        let altered = place.write_commit(altered.as_bytes());
        assert!(place.git_verifies(altered.as_str()).is_err(), "{kind}");
        assert_eq!(place.state(&altered), SignatureState::Bad { why: BadSignature::DoesNotFit }, "{kind}");
    }
    place.assert_sound();
}

#[test]
fn git_refuses_a_stranger_as_this_crate_does() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    place.trust(&open(&place.seeded(1), None));
    let commit = place.sign(NOON, &open(&place.seeded(2), None));
    assert!(matches!(place.state(&commit), SignatureState::Unknown { why: TrustDoubt::NotListed, .. }));
    let said = place.git_verifies(commit.as_str()).unwrap_err();
    assert!(said.contains("No principal matched"), "{said}");
}

#[test]
fn what_git_and_openssh_sign_is_accepted_here() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    let path = place.seeded(1);
    let signer = open(&path, None);
    place.trust(&signer);
    let unsigned = place.file(NOON, None).unwrap().commit;
    assert_eq!(place.state(&unsigned), SignatureState::Missing);
    text(command("chmod").arg("600").arg(&path));
    let name = ["-c", "user.name=Edda Brandt", "-c", "user.email=edda@workshop.example", "-c", "gpg.format=ssh", "-c"];
    let key = format!("user.signingKey={}", path.display());
    let tree = format!("{unsigned}^{{tree}}");
    let commit = text(place.git(&name).arg(key).args(["commit-tree", "-S", "-m", "by git", &tree]));
    let commit = commit.trim().parse().unwrap();
    assert!(matches!(place.state(&commit), SignatureState::Good { .. }), "{:?}", place.state(&commit));

    // The same text, signed by ssh-keygen with the other hash, and for another use.
    let allowed = place.garage.allowed_signers().unwrap();
    let (_, payload) = apart(&place.garage.store().commit_text(&commit).unwrap());
    let file = place.at("text");
    std::fs::write(&file, &payload).unwrap();
    let by_openssh = |options: &[&str]| {
        let _ = std::fs::remove_file(place.at("text.sig"));
        text(command("ssh-keygen").args(["-q", "-Y", "sign", "-f"]).arg(&path).args(options).arg(&file));
        let signature = std::fs::read_to_string(place.at("text.sig")).unwrap();
        let (headers, message) = payload.split_once("\n\n").unwrap();
        let header = format!("gpgsig {}", signature.trim_end().replace('\n', "\n "));
        verify(format!("{headers}\n{header}\n\n{message}").as_bytes(), &allowed)
    };
    assert!(matches!(by_openssh(&["-n", "git", "-O", "hashalg=sha256"]), SignatureState::Good { .. }));
    assert_eq!(by_openssh(&["-n", "file"]), SignatureState::Bad { why: BadSignature::OtherUse("file".to_owned()) });
}

#[test]
fn a_passphrase_opens_the_key_and_a_wrong_one_does_not() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    for kind in ["ed25519", "ecdsa", "rsa"] {
        let path = place.keygen(kind, &["-t", kind], "nine lives");
        let key = KeyFile::open(&path).unwrap();
        assert!(key.is_locked());
        assert!(matches!(key.unlock(None), Err(SignError::Locked { .. })));
        let wrong = key.unlock(Some(&Passphrase::from("ten lives".to_owned()))).unwrap_err();
        assert!(matches!(wrong, SignError::WrongPassphrase { .. }), "{wrong}");
        assert!(!format!("{wrong} {wrong:?} {}", wrong.hint()).contains("lives"));
        let signer = open(&path, Some("nine lives"));
        let shown = format!("{key:?} {signer:?}");
        assert!(!shown.to_lowercase().contains("private") && !shown.contains("lives"), "{shown}");
        place.trust(&signer);
        place.git_verifies(place.sign(NOON, &signer).as_str()).unwrap();
    }
}

/// OpenSSH leaves out the zero bytes that a number begins with: every second P-521 key is a byte shorter.
#[test]
fn ecdsa_keys_with_short_numbers_sign() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    let mut lengths = std::collections::BTreeSet::new();
    for round in 0..60 {
        let path = place.keygen(&format!("key-{round}"), &["-t", "ecdsa", "-b", "521"], "");
        // The file's own length follows that of the number, up to the padding to eight bytes.
        let key = std::fs::read_to_string(&path).unwrap();
        let short = ssh_key::PrivateKey::from_openssh(&key).is_err();
        let locked = place.at("locked");
        std::fs::copy(&path, &locked).unwrap();
        text(command("ssh-keygen").args(["-q", "-p", "-P", "", "-N", "nine lives", "-a", "2", "-f"]).arg(&locked));
        for signer in [open(&path, None), open(&locked, Some("nine lives"))] {
            place.trust(&signer);
            let commit = place.sign(NOON, &signer);
            assert!(matches!(place.state(&commit), SignatureState::Good { .. }), "{:?}", place.state(&commit));
            place.git_verifies(commit.as_str()).unwrap();
        }
        let wrong = KeyFile::open(&locked).unwrap().unlock(Some(&Passphrase::from("ten lives".to_owned())));
        assert!(matches!(wrong, Err(SignError::WrongPassphrase { .. })));
        lengths.insert(short);
        if lengths.len() == 2 {
            return;
        }
    }
    panic!("of 60 keys, none was short, or all were: {lengths:?}");
}

#[test]
fn what_is_no_key_is_named_as_such() {
    let place = Place::new();
    let missing = KeyFile::open(&place.at("missing")).unwrap_err();
    assert!(matches!(missing, SignError::File { .. }) && missing.hint().contains("nothing was filed"), "{missing}");
    std::fs::write(place.at("key.pub"), "ssh-ed25519 AAAA").unwrap();
    let public = KeyFile::open(&place.at("key.pub")).unwrap_err();
    assert!(matches!(public, SignError::NoKey { .. }) && public.hint().contains("public half"), "{public}");
    assert!(PublicKey::parse("ssh-dss AAAA").is_err());
    assert!(PublicKey::parse("").is_err());
}

#[test]
fn an_older_form_of_key_is_refused_with_the_way_to_rewrite_it() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    let path = place.keygen("old", &["-t", "rsa", "-m", "PEM"], "");
    let error = KeyFile::open(&path).unwrap_err();
    assert!(error.hint().contains("ssh-keygen -p -f"), "{error}: {}", error.hint());
    // The hint holds.
    text(command("ssh-keygen").args(["-p", "-P", "", "-N", "", "-f"]).arg(&path));
    place.trust(&open(&path, None));
    place.git_verifies(place.sign(NOON, &open(&path, None)).as_str()).unwrap();
}

#[test]
fn the_entry_says_what_is_meant_and_by_which_key() {
    let place = Place::new();
    let signer = open(&place.seeded(1), None);
    place.sign(NOON, &signer);
    place.file(NOON, Some(Signing { signer: &signer, meaning: Some(Meaning::Released) })).unwrap();
    place.file(NOON, None).unwrap();
    let wrong = place.file(NOON, Some(Signing { signer: &signer, meaning: Some(Meaning::Made) })).unwrap_err();
    assert!(wrong.to_string().contains("meaning"), "{wrong}");
    let entries = Journal::new(place.garage.store(), tag()).entries().unwrap();
    let meant: Vec<_> = entries.iter().map(|filed| filed.signed.as_ref().map(|signed| signed.meaning)).collect();
    assert_eq!(meant, [Some(Meaning::Stated), Some(Meaning::Released), None]);
    let shown = text(&mut place.git(&["show", "wren~1:entry.toml"]));
    assert!(shown.contains("\nmeaning = \"released\"\nkey = \"SHA256:"), "{shown}");
    assert!(!text(&mut place.git(&["show", "wren:entry.toml"])).contains("meaning"));
}

#[test]
fn the_store_in_memory_signs_likewise() {
    let place = Place::new();
    let signer = open(&place.seeded(1), None);
    place.trust(&signer);
    let store = MemoryStore::new();
    let commit = file_in(&store, NOON, Some(Signing { signer: &signer, meaning: None })).unwrap().commit;
    let state = verify(&store.commit_text(&commit).unwrap(), &place.garage.allowed_signers().unwrap());
    assert!(matches!(state, SignatureState::Good { .. }), "{state:?}");
}

#[test]
fn the_garage_keeps_its_key_and_everything_else_in_its_file() {
    let mut place = Place::new();
    let file = place.at("garage/garage.toml");
    let own = "format = \"asfound-garage/1\" # ours\n\n[author]\nname = \"Edda Brandt\"   # always\n";
    std::fs::write(&file, own).unwrap();
    let key = open(&place.seeded(1), None);
    let key = asfound_journal::sign::Signer::public_key(&key).fingerprint();
    let in_file = SigningKey { key: key.clone(), file: Some("/keys/edda".into()) };
    place.garage.sign_with(Some(&in_file)).unwrap();
    let text = std::fs::read_to_string(&file).unwrap();
    assert_eq!(text, format!("{own}\n[signing]\nkey = \"{key}\"\nfile = \"/keys/edda\"\n"));
    assert_eq!(Garage::open(&place.at("garage")).unwrap().settings().signing, Some(in_file));
    let in_agent = SigningKey { key, file: None };
    place.garage.sign_with(Some(&in_agent)).unwrap();
    assert_eq!(place.garage.settings().signing, Some(in_agent));
    assert_eq!(place.garage.settings().author.name.as_deref(), Some("Edda Brandt"));
    place.garage.sign_with(None).unwrap();
    assert_eq!(std::fs::read_to_string(&file).unwrap(), own);
}

/// The commands that `docs/signatures.md` gives to people without this program do what it says.
#[test]
fn the_documented_commands_check_a_signature() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    let signer = open(&place.seeded(1), None);
    place.trust(&signer);
    place.sign(NOON, &signer);
    let page = include_str!("../../../../docs/signatures.md");
    let blocks: Vec<&str> = page.split("```sh\n").skip(1).map(|block| block.split("```").next().unwrap()).collect();
    assert_eq!(blocks.len(), 2);
    for block in blocks {
        let output = command("sh").args(["-e", "-c", block]).current_dir(place.at("garage")).output().unwrap();
        assert!(
            output.status.success() && said(&output).contains("Good \"git\" signature for edda"),
            "{}",
            said(&output)
        );
    }
    // And refuse what is altered.
    let commit = place.garage.store().commit_text(&place.sign(NOON, &signer)).unwrap();
    let altered = String::from_utf8(commit).unwrap().replace("hoarse", "well");
    let altered = place.write_commit(altered.as_bytes());
    text(&mut place.git(&["update-ref", "refs/heads/wren", altered.as_str()]));
    for block in page.split("```sh\n").skip(1).map(|block| block.split("```").next().unwrap()) {
        let output = command("sh").args(["-e", "-c", block]).current_dir(place.at("garage")).output().unwrap();
        assert!(!output.status.success(), "{}", said(&output));
    }
}
