//! Writes a definition as an ODX document: `export FILE`.

use std::io::Write;

use asfound_core::definition::Definition;
use asfound_odx::export;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let file = std::env::args().nth(1).ok_or("usage: export FILE")?;
    let parsed = Definition::parse(&std::fs::read_to_string(file)?).map_err(|problems| format!("{problems:?}"))?;
    let exported = export(&parsed.definition);
    for left in &exported.left {
        writeln!(std::io::stderr(), "without {left}")?;
    }
    std::io::stdout().write_all(exported.document.as_bytes())?;
    Ok(())
}
