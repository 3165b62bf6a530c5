//! What a command came to.

use std::fmt;

/// The command line, what was written, and how it ended. Shown as one text for one snapshot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ran {
    /// The command line.
    pub line: String,
    /// Standard output.
    pub out: String,
    /// Standard error.
    pub err: String,
    /// The exit code.
    pub exit: u8,
}

impl Ran {
    /// The same, after making sure that it ended with exit code 0 and nothing on standard error.
    #[must_use]
    #[track_caller]
    pub fn done(self) -> Self {
        assert!(self.exit == 0 && self.err.is_empty(), "should have been done:\n{self}");
        self
    }

    /// Everything that was written, as one line: however text was wrapped.
    pub fn flat(&self) -> String {
        let words: Vec<&str> = self.out.split_whitespace().chain(self.err.split_whitespace()).collect();
        words.join(" ")
    }

    /// The lines of standard output that are longer than `width` characters.
    pub fn too_long(&self, width: usize) -> Vec<&str> {
        self.out.lines().filter(|line| line.chars().count() > width).collect()
    }
}

impl fmt::Display for Ran {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "$ asfound {}", self.line)?;
        f.write_str(&self.out)?;
        if !self.err.is_empty() {
            write!(f, "--- standard error\n{}", self.err)?;
        }
        write!(f, "--- exit code {}", self.exit)
    }
}
