//! `docs/json.md` is made from the strict mirrors of the JSON, which other tests hold against what the program writes.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

const HEAD: &str = "\
# JSON

Every command that answers takes `--json` and writes one JSON value to standard output; a failed
command writes `asfound/failure/1` to standard error. `schema` names form and version: within a version members
are added at most, never removed, renamed or given another meaning. Arrays are sorted as said below. A member that may
be `null` is marked so; a member that may be absent says that.

Moments are RFC 3339, bytes are upper-case hexadecimal with one space between, exact decimals are texts.

This page is made from the mirrors in `tests/src/json/`, against which the tests hold what the program writes.
";

/// A type of a mirror with its members.
struct Shape {
    name: String,
    about: String,
    members: Vec<Member>,
}

struct Member {
    name: String,
    kind: String,
    about: String,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src/json")
}

/// The Rust type of a member as JSON has it.
fn kind_of(rust: &str) -> String {
    let inside = |prefix: &str| rust.strip_prefix(prefix).and_then(|rest| rest.strip_suffix('>')).map(str::trim);
    if let Some(of) = rust.strip_prefix("Option<Option<").and_then(|rest| rest.strip_suffix(">>")) {
        return format!("{} or null, or absent", kind_of(of));
    }
    if let Some(of) = inside("Option<") {
        return format!("{} or null", kind_of(of));
    }
    if let Some(of) = inside("Vec<") {
        return format!("array of {}", kind_of(of));
    }
    if let Some(of) = inside("BTreeMap<") {
        let (_, value) = of.split_once(',').expect("a map has keys and values");
        return format!("object of {} by name", kind_of(value.trim()));
    }
    match rust {
        "String" => "text".to_owned(),
        "bool" => "true or false".to_owned(),
        "u8" | "u16" | "u32" | "u64" | "i64" | "usize" => "number".to_owned(),
        "Value" => "any".to_owned(),
        shape => format!("[{shape}](#{})", shape.to_lowercase()),
    }
}

/// The types of a mirror file: their documentation comments are the words of the page.
fn shapes(source: &str) -> Vec<Shape> {
    let mut shapes: Vec<Shape> = Vec::new();
    let (mut about, mut open, mut is_enum) = (String::new(), false, false);
    for line in source.lines() {
        let text = line.trim();
        if let Some(words) = text.strip_prefix("///") {
            if !about.is_empty() {
                about.push(' ');
            }
            about.push_str(words.trim());
        } else if let Some(rest) = text.strip_prefix("pub struct ").or_else(|| text.strip_prefix("pub enum ")) {
            let name = rest.trim_end_matches(" {").to_owned();
            is_enum = text.starts_with("pub enum");
            shapes.push(Shape { name, about: std::mem::take(&mut about), members: Vec::new() });
            open = true;
        } else if open && text == "}" && !line.starts_with(' ') {
            (open, about) = (false, String::new());
        } else if open
            && is_enum
            && line.starts_with("    ")
            && !line.starts_with("     ")
            && text.starts_with(char::is_uppercase)
        {
            let name = text.trim_end_matches(" {").trim_end_matches(',');
            let kebab = name.chars().enumerate().fold(String::new(), |mut so_far, (at, c)| {
                if at > 0 && c.is_uppercase() {
                    so_far.push('-');
                }
                so_far.extend(c.to_lowercase());
                so_far
            });
            let member =
                Member { name: format!("\"{kebab}\""), kind: "variant".to_owned(), about: std::mem::take(&mut about) };
            shapes.last_mut().expect("a type is open").members.push(member);
        } else if open && !text.starts_with('#') && text.contains(": ") {
            let (name, kind) =
                text.trim_start_matches("pub ").trim_end_matches(',').split_once(": ").expect("just seen");
            let member = Member { name: name.to_owned(), kind: kind_of(kind), about: std::mem::take(&mut about) };
            shapes.last_mut().expect("a type is open").members.push(member);
        } else if !text.starts_with('#') && !text.is_empty() {
            about.clear();
        }
    }
    shapes
}

fn page() -> String {
    let mut files: Vec<PathBuf> = fs::read_dir(folder())
        .expect("the mirrors are there")
        .map(|entry| entry.expect("the folder can be read").path())
        .filter(|path| path.file_name().is_some_and(|name| name != "mod.rs"))
        .collect();
    files.sort();
    let mut page = HEAD.to_owned();
    for path in files {
        let source = fs::read_to_string(&path).expect("a mirror can be read");
        let title = source.lines().next().unwrap_or_default().trim_start_matches("//! ").trim_end_matches('.');
        write!(page, "\n## {title}\n").expect("writing to a string");
        for shape in shapes(&source) {
            write!(page, "\n### {}\n\n{}\n\n| member | is | meaning |\n| --- | --- | --- |\n", shape.name, shape.about)
                .expect("writing to a string");
            for member in shape.members {
                let about = member.about.replace('|', "\\|");
                writeln!(page, "| `{}` | {} | {about} |", member.name, member.kind).expect("writing to a string");
            }
        }
    }
    page
}

#[test]
fn the_page_on_json_is_what_the_mirrors_say() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../docs/json.md");
    let wanted = page();
    #[expect(clippy::disallowed_methods, reason = "this is how a contributor asks for the page anew")]
    if std::env::var_os("UPDATE_DOCS").is_some() {
        fs::write(&path, &wanted).expect("the page can be written");
    }
    let found = fs::read_to_string(&path).unwrap_or_default();
    assert!(found == wanted, "docs/json.md is out of date: UPDATE_DOCS=1 cargo test -p asfound-tests --test documents");
}
