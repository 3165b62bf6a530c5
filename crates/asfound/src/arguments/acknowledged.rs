//! Acknowledging restricted systems: by tag, name and grounds.

use asfound_core::entry::Acknowledgement;
use asfound_core::safety::SafetyTag;
use clap::Args;

use super::one_line;
use crate::failure::Failure;

/// How a restricted system is acknowledged.
#[derive(Debug, Clone, Default, Args)]
pub struct Acknowledged {
    /// Acknowledge that a restricted system is altered: its safety tag, as in `braking`
    #[arg(long = "acknowledge", value_name = "TAG", help_heading = "Restricted systems")]
    pub tags: Vec<SafetyTag>,

    /// Who acknowledges it
    #[arg(long = "acknowledged-by", value_name = "NAME", value_parser = one_line, help_heading = "Restricted systems")]
    pub name: Option<String>,

    /// On what grounds, as in the number of an order or a procedure
    #[arg(long = "grounds", value_name = "TEXT", value_parser = one_line, help_heading = "Restricted systems")]
    pub grounds: Option<String>,
}

impl Acknowledged {
    /// The acknowledgements.
    ///
    /// # Errors
    /// When a tag is acknowledged without name or grounds, or the other way round.
    pub fn list(&self) -> Result<Vec<Acknowledgement>, Failure> {
        let filled =
            |text: &Option<String>| text.as_deref().map(str::trim).filter(|t| !t.is_empty()).map(str::to_owned);
        match (self.tags.is_empty(), filled(&self.name), filled(&self.grounds)) {
            (true, None, None) => Ok(Vec::new()),
            (false, Some(name), Some(grounds)) => Ok(self
                .tags
                .iter()
                .map(|tag| Acknowledgement { tag: *tag, name: name.clone(), grounds: grounds.clone() })
                .collect()),
            _ => Err(Failure::usage("an acknowledgement needs a tag, a name and its grounds")
                .hint("give `--acknowledge TAG --acknowledged-by NAME --grounds TEXT` together")),
        }
    }
}

/// The options by which restricted systems are acknowledged.
pub fn acknowledgement_options(tags: &[SafetyTag]) -> String {
    let tags: Vec<String> = tags.iter().map(|tag| format!("--acknowledge {tag}")).collect();
    format!("{} --acknowledged-by NAME --grounds TEXT", tags.join(" "))
}

/// A command with the options that it needs.
pub fn with_options(command: &str, options: Option<&String>) -> String {
    options.map_or_else(|| command.to_owned(), |options| format!("{command} {options}"))
}
