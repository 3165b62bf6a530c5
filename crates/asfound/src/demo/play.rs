//! Plays the story: prints each command before its output, so that a newcomer learns the tool from it.

use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

use asfound_report::wrapped;

use super::files::FILES;
use super::story::{STORY, Scene};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::setup::{Environment, Session, Zone};

/// Runs one command line: what `asfound` itself does with its arguments.
pub type RunCommand = fn(Vec<OsString>, Environment, &mut dyn Write, &mut dyn Write) -> Exit;

/// Plays the whole story in `folder`, which must not exist yet or be empty.
///
/// # Errors
/// When the folder cannot be written.
pub fn play(folder: &Path, session: &mut Session<'_>, run: RunCommand) -> Result<Exit, Failure> {
    lay_out(folder)?;
    let garage = folder.join("garage");
    say(
        session,
        &format!(
            "The demonstration plays in {}.\nEvery vehicle, maker and name in it is invented. Each command is shown\n\
             before what it prints, and the clock is set to the day of the story.",
            folder.display()
        ),
    )?;
    for scene in STORY {
        title(session, scene)?;
        for command in scene.commands {
            let shown: Vec<String> = command.iter().map(|word| quoted(word)).collect();
            say(session, &format!("\n$ asfound {}", shown.join(" ")))?;
            let exit = carry_out(session, scene, command, (folder, &garage), run)?;
            if exit != scene.exit {
                return Err(Failure::damaged(format!(
                    "the demonstration expected exit code {}, the command ended with {}",
                    scene.exit as u8, exit as u8
                )));
            }
        }
    }
    say(
        session,
        &format!(
            "\nEverything is left in {0} to explore:\n\n  export ASFOUND_GARAGE={1}\n  asfound entries wren\n  \
             git -C {1}/journals.git log --stat wren",
            folder.display(),
            garage.display()
        ),
    )?;
    Ok(Exit::Done)
}

fn carry_out(
    session: &mut Session<'_>,
    scene: &Scene,
    command: &[&str],
    (folder, garage): (&Path, &Path),
    run: RunCommand,
) -> Result<Exit, Failure> {
    let mut environment = session.environment.clone();
    environment.garage = Some(garage.to_path_buf());
    environment.author = Some(scene.author.to_owned());
    environment.now = scene.at;
    environment.zone = Zone::Fixed(scene.at.offset());
    environment.interactive = false;
    // Files are shown by the name they have in the folder, and opened wherever that is.
    let place = |word: &str| -> OsString {
        let here = folder.join(word);
        if word.contains('/') && here.exists() { here.into_os_string() } else { word.into() }
    };
    let mut arguments = vec![OsString::from("asfound"), OsString::from("--garage"), garage.as_os_str().to_owned()];
    for word in command {
        match word.strip_suffix("/*.toml") {
            // What a shell would do with it.
            Some(name) => arguments.extend(
                FILES
                    .iter()
                    .filter(|(file, _)| file.starts_with(name))
                    .map(|(file, _)| folder.join(file).into_os_string()),
            ),
            None => arguments.push(place(word)),
        }
    }
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let exit = run(arguments, environment, &mut out, &mut err);
    session.write(&String::from_utf8_lossy(&[out, err].concat()))?;
    Ok(exit)
}

fn lay_out(folder: &Path) -> Result<(), Failure> {
    let failed = |path: &Path, error: &std::io::Error| Failure::usage(format!("{}: {error}", path.display()));
    if std::fs::read_dir(folder).is_ok_and(|mut entries| entries.next().is_some()) {
        return Err(Failure::usage(format!("{} is not empty", folder.display())).hint("name a new folder"));
    }
    for (name, content) in FILES {
        let path: PathBuf = folder.join(name);
        let parent = path.parent().unwrap_or(folder);
        std::fs::create_dir_all(parent).map_err(|error| failed(parent, &error))?;
        std::fs::write(&path, content).map_err(|error| failed(&path, &error))?;
    }
    Ok(())
}

fn title(session: &mut Session<'_>, scene: &Scene) -> Result<(), Failure> {
    let when = asfound_report::date_and_time(scene.at);
    let width = session.environment.width;
    let text = wrapped(&format!("{when}. {}", scene.told), width, "", "");
    say(session, &format!("\n{}\n{}", "▔".repeat(usize::from(width)), text.trim_end()))
}

fn say(session: &mut Session<'_>, text: &str) -> Result<(), Failure> {
    session.write(&format!("{text}\n"))
}

/// A word as it would be typed into a shell.
fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "._-=:/,+*".contains(c);
    if !word.is_empty() && word.chars().all(plain) { word.to_owned() } else { format!("'{word}'") }
}
