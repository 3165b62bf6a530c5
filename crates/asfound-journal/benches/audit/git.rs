//! The real git, and what lies in its repositories.

use std::path::Path;
use std::process::Command;

/// The real git, without anybody's settings.
pub(crate) fn git_command(repository: &Path) -> Command {
    let mut command = Command::new("git");
    command.env("GIT_CONFIG_NOSYSTEM", "1").env("HOME", "/nonexistent").env("LC_ALL", "C");
    command.arg("--git-dir").arg(repository);
    command
}

pub(crate) fn git(repository: &Path, arguments: &[&str]) {
    let output = git_command(repository).args(arguments).output().unwrap();
    assert!(output.status.success(), "git {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
}

/// Makes loose objects of all that is packed.
pub(crate) fn unpack(repository: &Path) {
    let folder = repository.join("objects/pack");
    let aside = repository.join("aside");
    std::fs::rename(&folder, &aside).unwrap();
    std::fs::create_dir(&folder).unwrap();
    for entry in std::fs::read_dir(&aside).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|extension| extension == "pack") {
            let pack = std::fs::File::open(path).unwrap();
            let status = git_command(repository).args(["unpack-objects", "-q"]).stdin(pack).status().unwrap();
            assert!(status.success());
        }
    }
    std::fs::remove_dir_all(&aside).unwrap();
}

/// The size of all files below, in bytes.
pub(crate) fn size(folder: &Path) -> u64 {
    let sizes = std::fs::read_dir(folder).unwrap().map(|entry| {
        let entry = entry.unwrap();
        if entry.file_type().unwrap().is_dir() { size(&entry.path()) } else { entry.metadata().unwrap().len() }
    });
    sizes.sum()
}

/// What it was measured on and with.
pub(crate) fn machine() -> String {
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let version = Command::new("git").arg("--version").output().unwrap();
    let version = String::from_utf8_lossy(&version.stdout).trim().replace("git version", "git");
    format!("{cores} cores, {version}.")
}
