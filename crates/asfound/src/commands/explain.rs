//! `asfound explain`

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::document::nearest_name;
use asfound_core::names::Tag;
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use crate::arguments::{settings_of_vehicle, tags};
use crate::exit::Exit;
use crate::failure::Failure;
use crate::screens::explained::{ExplainScreen, FoundSettings};
use crate::setup::{Session, TracedJournal, garage_definitions};

/// Say what definitions know of a setting: values, place, safety, cautions, rules.
///
/// Also finds settings by part of a name or label, and lists a module's with `body.`.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound explain body.lane_change_flashes\n  asfound explain flashes\n  asfound explain body."
)]
pub struct Args {
    /// A setting, or part of a name or label
    #[arg(value_name = "SETTING", add = ArgValueCompleter::new(settings_of_vehicle))]
    pub words: String,

    /// Only as it applies to this vehicle, also by the definitions in its journal
    #[arg(long, value_name = "TAG", add = ArgValueCompleter::new(tags))]
    pub vehicle: Option<Tag>,
}

/// Runs the command.
pub fn run(args: &Args, session: &mut Session<'_>) -> Result<Exit, Failure> {
    let known = args.vehicle.as_ref().map(|tag| TracedJournal::open(session, tag)).transpose()?;
    let definitions = match &known {
        Some(known) => known.definitions.clone(),
        None => garage_definitions(&session.garage()?)?,
    };
    let applies = |definition: &Definition| match &known {
        None => true,
        Some(known) => {
            let module = definition.module();
            known.state().module(module).is_some_and(|m| definition.applies_to().fits(module, &m.identity))
        }
    };
    let words = args.words.to_lowercase();
    let all: Vec<ExplainScreen> = definitions
        .iter()
        .filter(|definition| applies(definition))
        .flat_map(|definition| definition.settings().values().map(move |setting| (definition, setting)))
        .map(|(definition, setting)| ExplainScreen::new(&definitions, definition, setting))
        .collect();
    let exact: Vec<_> = all.iter().filter(|one| one.path() == args.words).cloned().collect();
    let found = if exact.is_empty() {
        all.iter()
            .filter(|one| one.path().contains(&words) || one.label().to_lowercase().contains(&words))
            .cloned()
            .collect()
    } else {
        exact
    };
    if found.is_empty() {
        return Err(nothing_found(&args.words, &all, &definitions));
    }
    session.show(&FoundSettings { words: args.words.clone(), found })?;
    Ok(Exit::Done)
}

fn nothing_found(words: &str, all: &[ExplainScreen], definitions: &DefinitionSet) -> Failure {
    let failure = Failure::usage(format!("no definition knows a setting `{words}`"));
    if definitions.is_empty() {
        return failure.hint("the garage has no definitions; take one in with `asfound definition keep FILE`");
    }
    let paths: Vec<String> = all.iter().map(ExplainScreen::path).collect();
    match nearest_name(words, paths.iter().map(String::as_str)) {
        Some(near) => failure.hint(format!("did you mean `{near}`?")),
        None => failure.hint("try a part of its name or label"),
    }
}
