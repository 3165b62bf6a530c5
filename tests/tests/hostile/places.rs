//! Places that are damaged, silent or in somebody's way.

use std::fs;
use std::net::TcpListener;
use std::os::unix::fs::lchown;
use std::time::{Duration, Instant};

use asfound_tests::{Workshop, plain_git};

use crate::support::{BINARY, everything, run};

#[test]
fn a_server_that_says_nothing_is_given_up() {
    let mut shop = Workshop::with_wren();
    // It takes connections, and that is all.
    let silent = TcpListener::bind("127.0.0.1:0").expect("there is a loopback");
    let port = silent.local_addr().expect("it is bound").port();
    let since = Instant::now();
    let ended = run(&mut shop, &format!("share git://127.0.0.1:{port}/cars.git --wait 2"));
    assert_eq!(ended.exit, 4, "{}", ended.err);
    assert!(ended.said().contains("has said nothing for 2 s"), "{}", ended.err);
    assert!(since.elapsed() >= Duration::from_secs(2));
    let ended = run(&mut shop, "share ./cars.git --new");
    assert_eq!(ended.exit, 0, "{}", ended.err);
}

#[test]
fn one_bad_branch_stops_that_car_alone() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("enrol rook").done();
    let _ = shop.run("enrol plover").done();
    let _ = shop.run("share ./cars.git --new").done();
    let place = shop.folder().join("cars.git");
    // The tree of rook's entry is gone there, wherever it was.
    let tree = plain_git::text(&place, &["rev-parse", "rook^{tree}"]);
    let _ = plain_git::text(&place, &["config", "gc.auto", "0"]);
    for entry in fs::read_dir(place.join("objects/pack")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "pack") {
            let aside = shop.folder().join("aside.pack");
            fs::rename(&path, &aside).unwrap();
            fs::remove_file(path.with_extension("idx")).unwrap();
            let unpacked = std::process::Command::new("git")
                .arg("--git-dir")
                .arg(&place)
                .args(["unpack-objects", "-q"])
                .stdin(fs::File::open(&aside).unwrap())
                .status()
                .expect("git is installed");
            assert!(unpacked.success());
        }
    }
    fs::remove_file(place.join("objects").join(&tree[..2]).join(tree[2..].trim())).unwrap();
    let ended = run(&mut shop, "--garage ./two share ./cars.git");
    assert_eq!(ended.exit, 3, "{}{}", ended.out, ended.err);
    let two = shop.folder().join("two/journals.git");
    for tag in ["wren", "plover"] {
        assert_eq!(plain_git::tip(&two, tag), shop.tip(tag), "{}", ended.out);
    }
    assert_eq!(plain_git::tip(&two, "rook"), None);
    let said = ended.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("the journal of `rook` cannot be had from there"), "{said}");
}

#[test]
fn what_a_killed_exchange_left_is_in_nobodys_way() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("share ./cars.git --new").done();
    let left = shop.repository().join("asfound-share");
    fs::create_dir_all(left.join("refs/incoming")).unwrap();
    fs::write(left.join("refs/incoming/x.lock"), "").unwrap();
    // As one of an earlier version would be.
    let old = shop.repository().join("refs/incoming/0000/heads");
    fs::create_dir_all(&old).unwrap();
    fs::write(old.join("wren.lock"), "").unwrap();
    let ended = run(&mut shop, "note wren x");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    let ended = run(&mut shop, "share ./cars.git");
    assert_eq!((ended.exit, ended.err.as_str()), (0, ""), "{}", ended.out);
    assert!(!left.exists());
}

#[test]
fn two_exchanges_at_once_wait_for_each_other() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("share ./cars.git --new").done();
    for round in 0..3 {
        let _ = shop.run(&format!("note wren 'note {round}'")).done();
        let children: Vec<_> = (0..3)
            .map(|_| {
                let mut command = shop.process(BINARY, "share ./cars.git");
                command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped());
                command.spawn().expect("the binary can be started")
            })
            .collect();
        for child in children {
            let output = child.wait_with_output().expect("it ends");
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stdout));
        }
    }
    assert_eq!(plain_git::line(&shop.folder().join("cars.git"), "wren").len(), 5);
}

#[test]
fn a_place_of_another_account_is_named_as_that() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("share ./cars.git --new").done();
    let place = shop.folder().join("cars.git");
    let given = std::iter::once(place.clone())
        .chain(everything(&place).into_iter().map(|(path, _)| path))
        .all(|path| lchown(path, Some(54_321), None).is_ok());
    if !given {
        return crate::owner::told_to_skip();
    }
    let ended = run(&mut shop, "note wren x");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    let ended = run(&mut shop, "share ./cars.git");
    assert_eq!(ended.exit, 4, "{}", ended.out);
    assert!(ended.said().contains("belongs to another account"), "{}", ended.err);
}
