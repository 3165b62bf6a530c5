//! `asfound definition from`

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use asfound_core::definition::Definition;
use asfound_core::names::ModuleName;
use asfound_odx::{Converter, LayerDefinition, LayerSummary, LayerVisit, Limits, OdxError, each_layer};
use clap::Args as ClapArgs;
use clap_complete::ArgValueCompleter;

use super::definition::keep_definitions;
use crate::arguments::layers_of_package;
use crate::exit::Exit;
use crate::failure::Failure;
use crate::new_file::write_new;
use crate::progress::Progress;
use crate::screens::definition_from::{ConversionSummary, LayerList, LayerOutcome};
use crate::setup::{Prompt, Session, parse_definition};

/// Make definitions from an ODX document or a PDX package (ISO 22901-1)
///
/// Without `--layer` it lists what is inside, and asks for a layer at a terminal. What a definition has no place for stays
/// bytes; the report says which values and why.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  asfound definition from wren.pdx\n  asfound definition from wren.pdx --layer WrenBody_1 --module body\n  asfound definition from wren.pdx --layer 'WrenBody_*' --keep"
)]
pub struct From {
    /// A package (.pdx) or a document (.odx, .odx-d)
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// A layer by its short name, or several by a pattern with * and ?
    #[arg(long, value_name = "NAME", add = ArgValueCompleter::new(layers_of_package))]
    pub layer: Vec<String>,

    /// The control module that the definitions are for; otherwise the base variant's name is taken
    #[arg(long, value_name = "MODULE")]
    pub module: Option<ModuleName>,

    /// The folder to write the definitions to; without it and without `--keep` the current one
    #[arg(long, value_name = "FOLDER")]
    pub into: Option<PathBuf>,

    /// Take the definitions into the garage at once
    #[arg(long)]
    pub keep: bool,

    /// With `--keep`: do not ask where settings would read otherwise than now
    #[arg(long, requires = "keep")]
    pub yes: bool,
}

/// Runs the command.
pub fn run(args: &From, session: &mut Session<'_>) -> Result<Exit, Failure> {
    if !args.layer.is_empty() {
        return take(args, &args.layer, session);
    }
    let mut summaries = BTreeMap::new();
    let visited = watched(&args.file, &[], session, &mut |converter, layer| {
        summaries.insert(layer, converter.summary(layer)?);
        Ok(())
    })?;
    let layers: Vec<LayerSummary> = summaries.into_values().collect();
    let problems = visited.problems.iter().map(OdxError::to_string).collect();
    session.show(&LayerList { file: args.file.clone(), layers: layers.clone(), problems })?;
    let asked = session.environment.interactive && !session.json;
    match if asked { ask(&layers, session)? } else { None } {
        Some(at) => take(args, &[layers[at].name.clone()], session),
        None => Ok(Exit::Done),
    }
}

impl std::convert::From<OdxError> for Failure {
    fn from(error: OdxError) -> Self {
        let hint = error.hint();
        Self::usage(error).maybe_hint(hint)
    }
}

/// Visits layers and shows how far it is.
fn watched(
    file: &Path,
    names: &[String],
    session: &mut Session<'_>,
    visit: &mut dyn FnMut(&Converter<'_>, usize) -> Result<(), Failure>,
) -> Result<LayerVisit, Failure> {
    let watched = session.environment.colour_of_errors || session.environment.interactive;
    let mut progress = Progress::start(watched);
    let visited = each_layer(
        file,
        Limits::default(),
        names,
        &mut |reading| {
            progress
                .tell(session.err, || format!("{} of {} documents: {}", reading.done, reading.of, reading.document));
        },
        visit,
    );
    progress.wipe(session.err);
    visited
}

/// Asks for a layer by its number in the list or by its name; an empty answer wants none.
fn ask(layers: &[LayerSummary], session: &mut Session<'_>) -> Result<Option<usize>, Failure> {
    let stdin = std::io::stdin();
    let mut answers = stdin.lock();
    let mut prompt = Prompt { answers: &mut answers, questions: &mut *session.err };
    prompt.ask("Which layer (number or name, nothing for none)?", |answer| {
        if answer.is_empty() {
            return Ok(None);
        }
        let numbered = answer.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
        let found = numbered.filter(|at| *at < layers.len());
        let found = found.or_else(|| layers.iter().position(|layer| layer.name == answer));
        found.map(Some).ok_or_else(|| format!("there is no layer `{answer}`"))
    })
}

/// Makes the definitions of layers, and writes or keeps them.
fn take(args: &From, names: &[String], session: &mut Session<'_>) -> Result<Exit, Failure> {
    let folder = match (&args.into, args.keep) {
        (Some(folder), _) => Some(folder.clone()),
        (None, true) => None,
        (None, false) => Some(PathBuf::new()),
    };
    if let Some(folder) = folder.as_ref().filter(|folder| !folder.as_os_str().is_empty()) {
        let failed = |error: std::io::Error| Failure::usage(format!("{}: {error}", folder.display()));
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    let (mut taken, mut definitions) = (BTreeMap::new(), BTreeMap::new());
    let visited = watched(&args.file, names, session, &mut |converter, layer| {
        let one = converter.take_over(layer, args.module.as_ref())?;
        let definition = one.definition.as_deref().map(|text| parsed(&one, text)).transpose()?;
        let mut written = LayerOutcome { files: Vec::new(), taken: one };
        if let Some(folder) = &folder {
            write(folder, &mut written)?;
        }
        // Texts are let go one by one: of very many layers there would be very much of them.
        written.taken.definition = None;
        written.taken.descriptions = None;
        taken.insert(layer, written);
        if args.keep {
            definitions.extend(definition.map(|definition| (layer, definition)));
        }
        Ok(())
    })?;
    // In the order in which they were named, whatever was read first.
    let definitions: Vec<Definition> = visited.layers.iter().filter_map(|layer| definitions.remove(layer)).collect();
    let layers = visited.layers.iter().filter_map(|layer| taken.remove(layer)).collect();
    let problems = visited.problems.iter().map(OdxError::to_string).collect();
    let kept = if args.keep { Some(keep_definitions(&definitions, args.yes, session)?) } else { None };
    session.show(&ConversionSummary { layers, kept, problems })?;
    Ok(Exit::Done)
}

/// The definition in a text that was just made: it is examined as one that somebody wrote.
fn parsed(taken: &LayerDefinition, text: &str) -> Result<Definition, Failure> {
    parse_definition(Path::new(&format!("{}.toml", taken.id)), text.as_bytes())
}

fn write(folder: &Path, layer: &mut LayerOutcome) -> Result<(), Failure> {
    let texts = [(&layer.taken.definition, ""), (&layer.taken.descriptions, "-codes")];
    for (text, ending) in texts {
        if let Some(text) = text {
            let path = folder.join(format!("{}{ending}.toml", layer.taken.id));
            write_new(&path, text)?;
            layer.files.push(path);
        }
    }
    Ok(())
}
