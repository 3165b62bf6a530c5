//! Sharing runs no program that a place or a garage brings along.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::Path;

use asfound_tests::{Workshop, plain_git};

use crate::support::{BINARY, end, run};

/// A program that leaves a mark where it was run; the line that runs it.
fn trap(shop: &Workshop) -> String {
    let path = shop.folder().join("trap");
    fs::write(&path, "#!/bin/sh\ntouch \"$(dirname \"$0\")/sprung\"\nexit 1\n").expect("the system does it");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).expect("the system does it");
    path.to_str().expect("the path is text").to_owned()
}

fn hooks(repository: &Path, trap: &str) {
    fs::create_dir_all(repository.join("hooks")).expect("the system does it");
    for name in [
        "pre-push",
        "pre-receive",
        "update",
        "post-receive",
        "post-update",
        "reference-transaction",
        "proc-receive",
        "push-to-checkout",
        "pre-auto-gc",
        "post-checkout",
        "post-merge",
        "fsmonitor-watchman",
    ] {
        let hook = repository.join("hooks").join(name);
        fs::write(&hook, format!("#!/bin/sh\nexec {trap}\n")).expect("the system does it");
        fs::set_permissions(&hook, fs::Permissions::from_mode(0o755)).expect("the system does it");
    }
}

/// Settings that the git library does not read a repository with.
const PROMISED: [&str; 2] = ["extensions.partialClone", "core.repositoryFormatVersion"];

/// Everything in a repository's configuration that names a program.
fn configure(repository: &Path, trap: &str, without: &[&str]) {
    let settings = [
        ("core.sshCommand", trap.to_owned()),
        ("core.gitProxy", trap.to_owned()),
        ("core.fsmonitor", trap.to_owned()),
        ("core.alternateRefsCommand", trap.to_owned()),
        ("core.askPass", trap.to_owned()),
        ("core.pager", trap.to_owned()),
        ("core.editor", trap.to_owned()),
        ("credential.helper", format!("!{trap}")),
        ("uploadpack.packObjectsHook", trap.to_owned()),
        ("gc.recentObjectsHook", trap.to_owned()),
        ("receive.autogc", "true".to_owned()),
        ("gc.auto", "1".to_owned()),
        ("protocol.ext.allow", "always".to_owned()),
        ("remote.origin.url", format!("ext::{trap}")),
        ("remote.origin.promisor", "true".to_owned()),
        ("extensions.partialClone", "origin".to_owned()),
        ("core.repositoryFormatVersion", "1".to_owned()),
        ("gpg.program", trap.to_owned()),
        ("push.gpgSign", "if-asked".to_owned()),
    ];
    for (key, value) in settings.into_iter().filter(|(key, _)| !without.contains(key)) {
        let _ = plain_git::text(repository, &["config", key, &value]);
    }
}

fn sprung(shop: &Workshop) -> bool {
    shop.folder().join("sprung").exists()
}

fn shared() -> Workshop {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("share ./cars.git --new").done();
    shop
}

#[test]
fn hooks_and_settings_of_a_place_are_not_run() {
    let mut shop = shared();
    let (trap, place) = (trap(&shop), shop.folder().join("cars.git"));
    hooks(&place, &trap);
    configure(&place, &trap, &[]);
    let alternate = shop.folder().join("alternate.git");
    let _ = plain_git::text(&alternate, &["init", "--quiet", "--bare"]);
    fs::write(place.join("objects/info/alternates"), format!("{}\n", alternate.join("objects").display()))
        .expect("the system does it");
    for line in [
        "note wren 'a note'",
        "share ./cars.git",
        "--garage ./two share ./cars.git",
        "--garage ./two note wren 'two'",
        "--garage ./two share ./cars.git",
        "share ./cars.git",
    ] {
        let ended = run(&mut shop, line);
        assert_eq!(ended.exit, 0, "{line}: {}{}", ended.out, ended.err);
        assert!(!sprung(&shop), "{line}");
    }
    assert_eq!(plain_git::line(&place, "wren").len(), 4);
}

#[test]
fn hooks_and_settings_of_the_garage_are_not_run() {
    let mut shop = shared();
    let trap = trap(&shop);
    hooks(&shop.repository(), &trap);
    configure(&shop.repository(), &trap, &PROMISED);
    for url in
        ["./cars.git", "ssh://127.0.0.1:9/cars.git", "git://127.0.0.1:9/cars.git", "https://127.0.0.1:9/cars.git"]
    {
        let _ = run(&mut shop, "note wren 'a note'");
        let ended = run(&mut shop, &format!("share {url}"));
        assert!(!sprung(&shop), "{url}: {}{}", ended.out, ended.err);
        assert_eq!(ended.exit == 0, url == "./cars.git", "{url}: {}", ended.err);
    }
}

#[test]
fn an_address_is_not_made_another_one_by_the_garage() {
    let mut shop = shared();
    let trap = trap(&shop);
    let _ = plain_git::text(&shop.repository(), &["config", "protocol.ext.allow", "always"]);
    let place = shop.folder().join("cars.git").canonicalize().expect("the system does it");
    let _ = plain_git::text(
        &shop.repository(),
        &["config", &format!("url.ext::{trap} .insteadOf"), place.to_str().expect("the path is text")],
    );
    let ended = run(&mut shop, "share ./cars.git");
    assert!(!sprung(&shop));
    assert_eq!(ended.exit, 0, "{}", ended.err);
    let ended = run(&mut shop, &format!("share ext::{trap}"));
    assert!(!sprung(&shop));
    assert_ne!(ended.exit, 0);
}

#[test]
fn variables_of_git_do_not_lead_elsewhere() {
    let mut shop = shared();
    let trap = trap(&shop);
    let elsewhere = shop.folder().join("elsewhere.git");
    let _ = plain_git::text(&elsewhere, &["init", "--quiet", "--bare"]);
    let _ = run(&mut shop, "note wren 'a note'");
    let mut command = shop.process(BINARY, "share ./cars.git");
    command
        .env("GIT_DIR", &elsewhere)
        .env("GIT_OBJECT_DIRECTORY", elsewhere.join("objects"))
        .env("GIT_SSH_COMMAND", &trap)
        .env("GIT_PROXY_COMMAND", &trap)
        .env("GIT_ASKPASS", &trap)
        .env("GIT_EXEC_PATH", shop.folder())
        .env("GIT_CONFIG_COUNT", "1")
        .env("GIT_CONFIG_KEY_0", "core.hooksPath")
        .env("GIT_CONFIG_VALUE_0", shop.folder())
        .env("PATH", "/usr/bin:/bin");
    let ended = end(command, "share");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    assert!(!sprung(&shop));
    assert_eq!(plain_git::line(&shop.folder().join("cars.git"), "wren").len(), 3);
    let mut command = shop.process(BINARY, "share ssh://127.0.0.1:9/cars.git");
    command.env("GIT_SSH_COMMAND", &trap).env("PATH", "/usr/bin:/bin");
    let _ = end(command, "share by ssh");
    assert!(!sprung(&shop));
}

#[test]
fn the_users_own_settings_of_git_hold() {
    let mut shop = shared();
    let trap = trap(&shop);
    // In the home folder: the user's own way to servers.
    shop.write(".gitconfig", format!("[core]\n\tsshCommand = {trap}\n"));
    let mut command = shop.process(BINARY, "share ssh://127.0.0.1:9/cars.git");
    command.env("PATH", "/usr/bin:/bin");
    let ended = end(command, "share by ssh");
    assert_eq!(ended.exit, 4, "{}", ended.err);
    assert!(sprung(&shop));
}

#[test]
fn a_place_that_leads_elsewhere_by_links_is_refused() {
    let mut shop = shared();
    let _ = run(&mut shop, "note wren 'a note'");
    for name in ["objects", "refs", "refs/heads"] {
        let (from, to) = (shop.folder().join("cars.git").join(name), shop.folder().join("home"));
        fs::rename(&from, &to).expect("the system does it");
        std::os::unix::fs::symlink(&to, &from).expect("the system does it");
        let before = crate::support::everything(&to);
        let ended = run(&mut shop, "share ./cars.git");
        assert_ne!(ended.exit, 0, "{name}: {}", ended.out);
        assert!(ended.said().contains("symbolic link"), "{}", ended.err);
        assert_eq!(crate::support::everything(&to), before);
        fs::remove_file(&from).expect("the system does it");
        fs::rename(&to, &from).expect("the system does it");
    }
    let ended = run(&mut shop, "share ./cars.git");
    assert_eq!(ended.exit, 0, "{}", ended.err);
}
