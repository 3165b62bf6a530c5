//! The file of one guided run: a line for every event, each tied to the line before, on the disk before the next question.

use std::fs::{File, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use asfound_core::plan::Event;
use thiserror::Error;
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

use crate::{Digest, garage_file};

/// The version of the file that this program writes and reads.
const FORMAT: &str = "asfound-work/1";

/// How many digits of a digest stand in front of a line.
const DIGITS: usize = 16;

/// The largest file that is looked into.
const LARGEST: u64 = 16 * 1024 * 1024;

/// How often the lock is tried, and the pause in between.
const TRIES: u32 = 50;
const PAUSE: Duration = Duration::from_millis(20);

/// Why a run's file cannot be used.
#[derive(Debug, Error)]
pub enum RunFileError {
    /// It cannot be read or written.
    #[error(transparent)]
    Disk(#[from] io::Error),
    /// Another process has it open.
    #[error("another program is walking this plan")]
    Busy,
    /// A line is not what was written.
    #[error("line {line} is not as it was written: {what}")]
    Line {
        /// The line, counted from 1.
        line: usize,
        /// What is wrong.
        what: String,
    },
}

/// The file of one guided run, locked for this process.
#[derive(Debug)]
pub struct RunFile {
    file: File,
    last: String,
    events: Vec<Event>,
}

impl RunFile {
    /// Opens the file of a walk, or begins it. `about` ties it to the plan that is walked.
    ///
    /// A last line without its end was being written when the power went or the program was killed; whatever it told
    /// of had not been answered to yet, and it is taken away.
    pub fn open(path: &Path, about: &str, now: OffsetDateTime) -> Result<Self, RunFileError> {
        let mut file = garage_file::open_to_write(path, true)?;
        lock(&file)?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)?;
        let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |at| at + 1);
        if whole < bytes.len() {
            file.set_len(whole as u64)?;
            file.sync_all()?;
        }
        file.seek(SeekFrom::End(0))?;
        let text = std::str::from_utf8(&bytes[..whole])
            .map_err(|_| RunFileError::Line { line: 1, what: "the file is not text".to_owned() })?;
        let (last, events) = read(text, about)?;
        let mut this = Self { file, last, events };
        if whole == 0 {
            this.line(&format!("{FORMAT} {about}"), now)?;
            // The name of the file has to last as well.
            if cfg!(unix)
                && let Some(folder) = path.parent()
            {
                File::open(folder)?.sync_all()?;
            }
        }
        Ok(this)
    }

    /// Whether a run's file tells of one that was begun and neither filed nor ended. What cannot be read is open: somebody has
    /// to look at it.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn is_open(path: &Path) -> io::Result<bool> {
        let bytes = garage_file::read_at_most(path, LARGEST)?;
        let text = String::from_utf8_lossy(&bytes);
        let last = text.lines().last().and_then(|line| line.splitn(3, ' ').nth(2)?.parse::<Event>().ok());
        Ok(!matches!(last, Some(Event::Filed(_) | Event::Ended)))
    }

    /// What happened so far.
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// Appends an event, and waits until it is on the disk.
    pub fn append(&mut self, event: &Event, now: OffsetDateTime) -> Result<(), RunFileError> {
        self.line(&event.to_string(), now)?;
        self.events.push(event.clone());
        Ok(())
    }

    fn line(&mut self, told: &str, now: OffsetDateTime) -> Result<(), RunFileError> {
        let at = now.replace_nanosecond(0).unwrap_or(now);
        let at = at.format(&Rfc3339).map_err(|error| io::Error::other(error.to_string()))?;
        let payload = format!("{at} {told}");
        let digest = tied(&self.last, &payload);
        self.file.write_all(format!("{digest} {payload}\n").as_bytes())?;
        self.file.sync_all()?;
        self.last = digest;
        Ok(())
    }
}

/// Locks the file for this process, and waits a moment for another one that is just ending. A program that was only just
/// started by this one may hold the lock too, until it has become that other program.
fn lock(file: &File) -> Result<(), RunFileError> {
    for _ in 0..TRIES {
        match file.try_lock() {
            Ok(()) => return Ok(()),
            Err(TryLockError::WouldBlock) => sleep(PAUSE),
            Err(TryLockError::Error(error)) => return Err(error.into()),
        }
    }
    Err(RunFileError::Busy)
}

/// The digest in front of a line: the first digits of the SHA-256 of the one before, followed by the line.
fn tied(last: &str, payload: &str) -> String {
    Digest::of(format!("{last}{payload}").as_bytes()).to_string()[..DIGITS].to_owned()
}

/// The last digest and the events of a file.
fn read(text: &str, about: &str) -> Result<(String, Vec<Event>), RunFileError> {
    let (mut last, mut events) = (String::new(), Vec::new());
    for (at, line) in text.lines().enumerate() {
        let wrong = |what: &str| RunFileError::Line { line: at + 1, what: what.to_owned() };
        let (digest, payload) = line.split_once(' ').ok_or_else(|| wrong("it has no digest"))?;
        if digest != tied(&last, payload) {
            return Err(wrong("its digest is another one"));
        }
        let told = payload.split_once(' ').map_or("", |(_, told)| told);
        if at == 0 {
            if told != format!("{FORMAT} {about}") {
                return Err(wrong("it is about another plan, or of another version"));
            }
        } else {
            events.push(told.parse().map_err(|error| wrong(&format!("{error}")))?);
        }
        digest.clone_into(&mut last);
    }
    Ok((last, events))
}

#[cfg(test)]
mod tests {
    use std::fs;

    use time::macros::datetime;

    use super::*;

    const NOW: OffsetDateTime = datetime!(2026-03-14 09:20 +1);

    fn written(path: &Path) -> Vec<Event> {
        let events = [
            Event::Found(1, asfound_core::plan::StatedContent::Bytes("13 03".parse().unwrap())),
            Event::Asked(1),
            Event::Written(1),
        ];
        let mut file = RunFile::open(path, "p", NOW).unwrap();
        events.iter().for_each(|event| file.append(event, NOW).unwrap());
        events.to_vec()
    }

    #[test]
    fn cut_anywhere_it_gives_the_events_whose_lines_are_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("w.events");
        let events = written(&path);
        let whole = fs::read(&path).unwrap();
        for cut in 0..=whole.len() {
            fs::write(&path, &whole[..cut]).unwrap();
            let lines = whole[..cut].split(|byte| *byte == b'\n').count() - 1;
            let mut file = RunFile::open(&path, "p", NOW).unwrap();
            assert_eq!(file.events(), &events[..lines.saturating_sub(1)], "cut at {cut}");
            // It can be written on, and read again.
            file.append(&Event::Stopped, NOW).unwrap();
            drop(file);
            let again = RunFile::open(&path, "p", NOW).unwrap();
            assert_eq!(again.events().last(), Some(&Event::Stopped));
            assert_eq!(again.events().len(), lines.saturating_sub(1) + 1);
        }
    }

    #[test]
    fn a_flipped_bit_is_found_unless_it_takes_the_last_line_end_away() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("w.events");
        written(&path);
        let whole = fs::read(&path).unwrap();
        for at in 0..whole.len() - 1 {
            let mut bytes = whole.clone();
            bytes[at] ^= 1;
            fs::write(&path, &bytes).unwrap();
            assert!(matches!(RunFile::open(&path, "p", NOW), Err(RunFileError::Line { .. })), "byte {at}");
        }
    }

    #[test]
    fn it_is_for_one_plan_and_one_process() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("w.events");
        let first = RunFile::open(&path, "p", NOW).unwrap();
        assert!(matches!(RunFile::open(&path, "p", NOW), Err(RunFileError::Busy)));
        drop(first);
        assert!(matches!(RunFile::open(&path, "q", NOW), Err(RunFileError::Line { line: 1, .. })));
    }

    /// Computed with `printf '%s%s' "$last" "$payload" | sha256sum | cut -c1-16`, as docs/plans.md says.
    #[test]
    fn digests_can_be_made_by_hand() {
        let first = tied("", "2026-03-14T09:20:00+01:00 asked 1");
        assert_eq!(first, "7daa0d22c2cb1215");
        assert_eq!(tied(&first, "2026-03-14T09:21:00+01:00 written 1"), "5d48314adf8a36ac");
    }
}
