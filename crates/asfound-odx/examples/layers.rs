//! Lists the layers of a package, or prints the definition of one: `layers FILE [LAYER]`.

use std::io::Write;

use asfound_odx::{Converter, Limits, Package};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let file = arguments.next().ok_or("usage: layers FILE [LAYER]")?;
    let package = Package::open(file.as_ref(), Limits::default(), &mut |_| {})?;
    let converter = Converter::new(&package);
    let mut out = std::io::stdout().lock();
    for problem in package.problems() {
        writeln!(out, "# {problem}")?;
    }
    let Some(wanted) = arguments.next() else {
        for layer in 0..converter.names().len() {
            writeln!(out, "{:?}", converter.summary(layer)?)?;
        }
        return Ok(());
    };
    for layer in converter.find(&wanted)? {
        let taken = converter.take_over(layer, None)?;
        writeln!(out, "# {}", taken.report.summary())?;
        for kept in &taken.report.kept {
            writeln!(out, "# {} {}: {} ({})", kept.record, kept.path, kept.why, kept.place)?;
        }
        for note in &taken.report.notes {
            writeln!(out, "# {}: {}", note.place, note.text)?;
        }
        writeln!(out, "{}", taken.definition.unwrap_or_default())?;
    }
    Ok(())
}
