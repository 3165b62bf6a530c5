//! The one place that reads the environment.
#![allow(clippy::disallowed_methods, reason = "everything the program takes from its surroundings is taken here")]

use std::ffi::OsString;
use std::io::IsTerminal;
use std::path::PathBuf;

use asfound_journal::sign::Passphrase;
use etcetera::{BaseStrategy, choose_base_strategy};
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

use super::Zone;
use crate::failure::Failure;

/// What the program takes from its surroundings.
#[derive(Debug, Clone)]
pub struct Environment {
    /// Where the garage is when the command line does not say: `ASFOUND_GARAGE`, else in the data directory.
    pub garage: Option<PathBuf>,
    /// Where it is remembered what was filed last, outside the garage: in the state directory.
    pub state: Option<PathBuf>,
    /// Who files entries: `ASFOUND_AUTHOR`, written `Name` or `Name <e-mail>`.
    pub author: Option<String>,
    /// The name of the account, for want of anything better.
    pub account: Option<String>,
    /// The clock, fixed by `ASFOUND_NOW` for tests and demonstrations.
    pub now: OffsetDateTime,
    /// The zone in which local times are meant: that of `TZ` or of the system; with `ASFOUND_NOW` and without `TZ` always the
    /// offset of that moment.
    pub zone: Zone,
    /// The width of the page, in characters.
    pub width: u16,
    /// Whether standard output shows colour.
    pub colour: bool,
    /// Whether standard error shows colour.
    pub colour_of_errors: bool,
    /// Where an ssh-agent listens: `SSH_AUTH_SOCK`.
    pub agent: Option<PathBuf>,
    /// What opens the signing key where nobody can be asked: `ASFOUND_KEY_PASSPHRASE`. Nothing shows it.
    pub key_passphrase: Option<Passphrase>,
    /// The locale of the surroundings, as in `de_AT.UTF-8`: `LC_ALL`, else `LC_MESSAGES`, else `LANG`.
    pub locale: Option<String>,
    /// Whether somebody can be asked.
    pub interactive: bool,
}

impl Environment {
    /// Looks around.
    ///
    /// # Errors
    /// When `ASFOUND_NOW` is no time.
    pub fn look() -> Result<Self, Failure> {
        let text = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
        let path = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from);
        let tz = text("TZ");
        let (now, zone) = match (text("ASFOUND_NOW"), &tz) {
            (Some(fixed), tz) => {
                let now = OffsetDateTime::parse(&fixed, &Rfc3339)
                    .map_err(|_| Failure::usage(format!("ASFOUND_NOW is `{fixed}`, which is no RFC 3339 time")))?;
                // So that nothing depends on where a test or a demonstration runs.
                (now, tz.as_deref().map_or(Zone::Fixed(now.offset()), |tz| Zone::of_system(Some(tz))))
            }
            (None, tz) => {
                let (now, zone) = (OffsetDateTime::now_utc(), Zone::of_system(tz.as_deref()));
                (now.to_offset(zone.offset_at(now)), zone)
            }
        };
        let data = || choose_base_strategy().ok().map(|strategy| strategy.data_dir().join("asfound"));
        let state =
            choose_base_strategy().ok().and_then(|strategy| strategy.state_dir()).map(|dir| dir.join("asfound"));
        let plain = text("NO_COLOR").is_some() || text("TERM").is_some_and(|term| term == "dumb");
        let (out, err) = (std::io::stdout(), std::io::stderr());
        let terminal_width = terminal_size::terminal_size_of(&out).map(|(width, _)| width.0);
        let columns = text("COLUMNS").and_then(|columns| columns.parse().ok());
        Ok(Self {
            garage: path("ASFOUND_GARAGE").or_else(data),
            state,
            author: text("ASFOUND_AUTHOR"),
            account: text("USER").or_else(|| text("LOGNAME")).or_else(|| text("USERNAME")),
            now,
            zone,
            width: terminal_width.or(columns).unwrap_or(80).min(100),
            colour: out.is_terminal() && !plain,
            colour_of_errors: err.is_terminal() && !plain,
            agent: path("SSH_AUTH_SOCK"),
            key_passphrase: text("ASFOUND_KEY_PASSPHRASE").map(Passphrase::from),
            locale: text("LC_ALL").or_else(|| text("LC_MESSAGES")).or_else(|| text("LANG")),
            interactive: std::io::stdin().is_terminal() && err.is_terminal(),
        })
    }
}

/// The variables for git that are not handed on to it: all but those that name the user's own settings and certificates. They may
/// stem from a program that itself was started by git, or lead it to other repositories and programs.
pub fn git_variables() -> Vec<OsString> {
    const KEPT: [&str; 3] = ["GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM", "GIT_CONFIG_NOSYSTEM"];
    let names = std::env::vars_os().map(|(name, _)| name);
    names
        .filter(|name| {
            let name = name.to_string_lossy();
            name.starts_with("GIT_") && !KEPT.contains(&&*name) && !name.starts_with("GIT_SSL_")
        })
        .collect()
}
