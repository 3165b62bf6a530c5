//! A real git server on the loopback, and the program as a process: several benches that share with it at the same time.

use std::net::TcpListener;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use asfound_tests::{Workshop, plain_git};

use crate::support::{BINARY, assert_sound, reasons, told_to_skip, two_benches};

/// `git daemon` that serves a folder, for reading and writing; ended when dropped.
struct Server {
    child: Child,
    port: u16,
}

impl Server {
    fn start(shop: &Workshop) -> Option<Self> {
        let port = TcpListener::bind("127.0.0.1:0").ok()?.local_addr().ok()?.port();
        let child = Command::new("git")
            .args(["daemon", "--reuseaddr", "--export-all", "--enable=receive-pack", "--listen=127.0.0.1"])
            .arg(format!("--port={port}"))
            .arg(format!("--base-path={}", shop.folder().display()))
            .arg(shop.folder())
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .ok()?;
        let mut server = Self { child, port };
        let since = Instant::now();
        while since.elapsed() < Duration::from_secs(10) {
            if std::net::TcpStream::connect(("127.0.0.1", port)).is_ok() {
                return Some(server);
            }
            if server.child.try_wait().ok().flatten().is_some() {
                return None;
            }
            thread::sleep(Duration::from_millis(20));
        }
        None
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // It serves in processes of its own, which end with their connections.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn benches_that_share_with_a_server_at_once_lose_nothing() {
    let mut shop = two_benches();
    let Some(server) = Server::start(&shop) else {
        told_to_skip("skipped: `git daemon` is not to be had here");
        return;
    };
    let url = format!("git://127.0.0.1:{}/cars.git", server.port);
    let garages = ["garage", "two", "three", "four"];
    for garage in garages {
        let ran = shop.run_process(BINARY, &format!("--garage ./{garage} share {url}"));
        assert_eq!(ran.exit, 0, "{ran}");
    }
    for round in 0..2 {
        for garage in garages {
            for note in 0..2 {
                let _ = shop.run(&format!("--garage ./{garage} note wren 'bench {garage} {round}.{note}'")).done();
            }
        }
        let mut commands: Vec<Command> =
            garages.iter().map(|garage| shop.process(BINARY, &format!("--garage ./{garage} share {url}"))).collect();
        thread::scope(|scope| {
            for command in &mut commands {
                scope.spawn(|| {
                    let output = command.output().expect("the binary can be started");
                    let said = String::from_utf8_lossy(&output.stdout).into_owned();
                    assert!(output.status.success(), "{said}{}", String::from_utf8_lossy(&output.stderr));
                });
            }
        });
    }
    for garage in garages {
        let ran = shop.run(&format!("--garage ./{garage} share {url}"));
        assert_eq!(ran.exit, 0, "{ran}");
    }
    let told = reasons(&mut shop, "garage");
    assert_eq!(told.len(), 2 + 2 * 4 * 2, "{told:#?}");
    for garage in garages {
        assert_eq!(reasons(&mut shop, garage), told);
        let own: Vec<_> =
            told.iter().filter_map(|line| line.split_once(&format!("bench {garage} "))).map(|(_, n)| n).collect();
        assert_eq!(own, ["0.0", "0.1", "1.0", "1.1"], "{told:#?}");
        let _ = shop.run(&format!("--garage ./{garage} audit")).done();
        assert_sound(&shop.folder().join(garage).join("journals.git"));
    }
    let there = shop.folder().join("cars.git");
    assert_eq!(plain_git::line(&there, "wren").len(), told.len());
    assert_sound(&there);
}
