//! `asfound definition from`

use std::path::{Path, PathBuf};

use asfound_core::definition::Definition;
use asfound_core::names::ModuleName;
use asfound_odx::{Converter, LayerDefinition, LayerSummary, Limits, OdxError, Package};
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
    let package = open(&args.file, session)?;
    let converter = Converter::new(&package);
    let problems: Vec<String> = package.problems().iter().map(OdxError::to_string).collect();
    let wanted = match args.layer.as_slice() {
        [] => {
            let layers = summaries(&converter)?;
            session.show(&LayerList { file: args.file.clone(), layers: layers.clone(), problems })?;
            let asked = session.environment.interactive && !session.json;
            return match if asked { ask(&layers, session)? } else { None } {
                Some(at) => take(args, &converter, &[at], Vec::new(), session),
                None => Ok(Exit::Done),
            };
        }
        names => {
            let mut wanted = Vec::new();
            for name in names {
                let found = converter.find(name).map_err(failure)?;
                wanted.extend(found.into_iter().filter(|at| !wanted.contains(at)).collect::<Vec<_>>());
            }
            wanted
        }
    };
    take(args, &converter, &wanted, problems, session)
}

fn failure(error: OdxError) -> Failure {
    let hint = error.hint();
    Failure::usage(error).maybe_hint(hint)
}

fn open(path: &Path, session: &mut Session<'_>) -> Result<Package, Failure> {
    let watched = session.environment.colour_of_errors || session.environment.interactive;
    let mut progress = Progress::start(watched);
    let opened = Package::open(path, Limits::default(), &mut |reading| {
        progress.tell(session.err, || format!("{} of {} documents: {}", reading.done, reading.of, reading.document));
    });
    progress.wipe(session.err);
    opened.map_err(failure)
}

fn summaries(converter: &Converter<'_>) -> Result<Vec<LayerSummary>, Failure> {
    (0..converter.names().len()).map(|layer| converter.summary(layer).map_err(failure)).collect()
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
fn take(
    args: &From,
    converter: &Converter<'_>,
    layers: &[usize],
    problems: Vec<String>,
    session: &mut Session<'_>,
) -> Result<Exit, Failure> {
    let watched = session.environment.colour_of_errors || session.environment.interactive;
    let mut progress = Progress::start(watched);
    let folder = match (&args.into, args.keep) {
        (Some(folder), _) => Some(folder.clone()),
        (None, true) => None,
        (None, false) => Some(PathBuf::new()),
    };
    if let Some(folder) = folder.as_ref().filter(|folder| !folder.as_os_str().is_empty()) {
        let failed = |error: std::io::Error| Failure::usage(format!("{}: {error}", folder.display()));
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    let (mut taken, mut definitions) = (Vec::new(), Vec::new());
    for (done, layer) in layers.iter().enumerate() {
        progress.tell(session.err, || format!("{done} of {} layers", layers.len()));
        let one = converter.take_over(*layer, args.module.as_ref()).map_err(failure)?;
        let definition = one.definition.as_deref().map(|text| parsed(&one, text)).transpose()?;
        let mut written = LayerOutcome { files: Vec::new(), taken: one };
        if let Some(folder) = &folder {
            write(folder, &mut written)?;
        }
        // Texts are let go one by one: of very many layers there would be very much of them.
        written.taken.definition = None;
        written.taken.descriptions = None;
        taken.push(written);
        if args.keep {
            definitions.extend(definition);
        }
    }
    progress.wipe(session.err);
    let kept = if args.keep { Some(keep_definitions(&definitions, args.yes, session)?) } else { None };
    session.show(&ConversionSummary { layers: taken, kept, problems })?;
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
