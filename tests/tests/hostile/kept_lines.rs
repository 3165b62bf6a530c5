//! Lines that a place offers to be kept, and that nothing needs.

use std::fs;
use std::io::Write;
use std::process::{Command, Stdio};

use asfound_tests::{Workshop, plain_git};

use crate::support::run;

fn object(shop: &Workshop, arguments: &[&str], content: &[u8]) -> String {
    let mut child = Command::new("git")
        .arg("--git-dir")
        .arg(shop.folder().join("cars.git"))
        .args(arguments)
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("git is installed");
    child.stdin.take().expect("it is piped").write_all(content).expect("git reads");
    let output = child.wait_with_output().expect("git ends");
    assert!(output.status.success());
    String::from_utf8(output.stdout).expect("it is an id").trim().to_owned()
}

fn commit(shop: &Workshop, tree: &str, message: &str) -> String {
    let text = format!("tree {tree}\nauthor X <x@x.example> 1 +0000\ncommitter X <x@x.example> 1 +0000\n\n{message}\n");
    object(shop, &["hash-object", "-t", "commit", "-w", "--stdin"], text.as_bytes())
}

#[test]
fn worthless_lines_and_bombs_are_not_taken_over() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("share ./cars.git --new").done();
    let _ = shop.run("--garage ./two share ./cars.git").done();
    let place = shop.folder().join("cars.git");
    // A folder that holds itself ten times over, nine deep: a thousand million files in a few bytes.
    let blob = object(&shop, &["hash-object", "-w", "--stdin"], b"x");
    let mut tree = object(&shop, &["mktree"], format!("100644 blob {blob}\tfile\n").as_bytes());
    for _ in 0..9 {
        let lines: Vec<String> = (0..10).map(|n| format!("040000 tree {tree}\tfolder{n}\n")).collect();
        let lines = lines.concat();
        tree = object(&shop, &["mktree"], lines.as_bytes());
    }
    let bomb = commit(&shop, &tree, "a bomb");
    // A large file of one letter.
    let large = object(&shop, &["hash-object", "-w", "--stdin"], &vec![b'0'; 200 << 20]);
    let tree = object(&shop, &["mktree"], format!("100644 blob {large}\tentry.toml\n").as_bytes());
    let large_file = commit(&shop, &tree, "a large file");
    let empty = object(&shop, &["mktree"], b"");
    let mut references = String::new();
    for n in 0..300 {
        let id = commit(&shop, &empty, &format!("line {n}"));
        references.push_str(&format!("create refs/kept/wren/{id} {id}\n"));
    }
    for id in [&bomb, &large_file] {
        references.push_str(&format!("create refs/kept/wren/{id} {id}\n"));
        references.push_str(&format!("create refs/kept/not-there/{id} {id}\n"));
    }
    references.push_str(&format!("create refs/heads/bomb {bomb}\ncreate refs/heads/large {large_file}\n"));
    let _ = object(&shop, &["update-ref", "--stdin"], references.as_bytes());
    assert_eq!(plain_git::line(&place, "wren").len(), 2);

    let before = fs::read_dir(shop.repository().join("objects/pack")).map_or(0, Iterator::count);
    let ended = run(&mut shop, "note wren 'a note'");
    assert_eq!(ended.exit, 0, "{}", ended.err);
    let ended = run(&mut shop, "share ./cars.git wren");
    assert_eq!(ended.exit, 0, "{}{}", ended.out, ended.err);
    let ended = run(&mut shop, "share ./cars.git");
    assert_eq!(ended.exit, 3, "{}{}", ended.out, ended.err);
    let references = plain_git::tips(&shop.repository());
    assert!(!references.contains("refs/kept") && !references.contains("incoming"), "{references}");
    assert!(!references.contains("bomb") && !references.contains("large"), "{references}");
    assert_eq!(fs::read_dir(shop.repository().join("objects/pack")).map_or(0, Iterator::count), before);
    for id in [&bomb, &large_file, &large] {
        assert!(!plain_git::git(&shop.repository(), &["cat-file", "-e", id]).status.success(), "{id} was taken over");
    }
    assert!(!shop.repository().join("asfound-share").exists());
}
