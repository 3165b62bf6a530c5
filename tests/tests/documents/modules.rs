//! The modules of a crate know only lower ones: no circle of `use crate::…` among the modules at its root.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// The crate whose store, entry files, index and journal still know each other. No other circle is allowed.
const STILL_IN_A_CIRCLE: &str = "asfound-journal";

/// The modules that each module uses.
type Uses = BTreeMap<String, BTreeSet<String>>;

#[test]
fn no_modules_of_a_crate_stand_in_a_circle() {
    let crates = Path::new(env!("CARGO_MANIFEST_DIR")).join("../crates");
    let mut looked_at = 0;
    let mut circles = Vec::new();
    for folder in fs::read_dir(crates).expect("the crates").map(|entry| entry.expect("a crate").path()) {
        let uses = uses_of(&folder.join("src"));
        looked_at += uses.values().map(BTreeSet::len).sum::<usize>();
        let name = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let circle = circle_in(&uses).filter(|_| name != STILL_IN_A_CIRCLE);
        circles.extend(circle.map(|circle| format!("{name}: {}", circle.join(" -> "))));
    }
    assert!(looked_at > 100, "only {looked_at} uses were found");
    assert!(circles.is_empty(), "modules in circles:\n{}", circles.join("\n"));
}

fn uses_of(source: &Path) -> Uses {
    let modules: BTreeSet<String> = entries(source).iter().map(|path| module_name(path)).collect();
    let mut uses = Uses::new();
    for top in entries(source) {
        let module = module_name(&top);
        if matches!(module.as_str(), "lib" | "main") {
            continue;
        }
        for file in rust_files(&top) {
            if module_name(&file) == "tests" {
                continue;
            }
            let text = fs::read_to_string(&file).expect("a source file");
            let names = used_in(&text).into_iter().filter(|name| *name != module && modules.contains(name));
            uses.entry(module.clone()).or_default().extend(names);
        }
    }
    uses
}

/// The names behind `crate::`, without comments and without what is for tests only.
fn used_in(text: &str) -> BTreeSet<String> {
    let code = text.split("#[cfg(test)]").next().unwrap_or_default();
    let lines: String =
        code.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n");
    let mut used = BTreeSet::new();
    for rest in lines.split("crate::").skip(1) {
        match rest.strip_prefix('{') {
            // A list: what stands at its first level.
            Some(list) => {
                let mut depth = 0_u32;
                let mut name = String::new();
                for letter in list.chars() {
                    match letter {
                        '{' => depth += 1,
                        '}' if depth == 0 => break,
                        '}' => depth -= 1,
                        ',' if depth == 0 => used.extend(first_name(&std::mem::take(&mut name))),
                        _ if depth == 0 => name.push(letter),
                        _ => {}
                    }
                }
                used.extend(first_name(&name));
            }
            None => used.extend(first_name(rest)),
        }
    }
    used
}

fn first_name(path: &str) -> Option<String> {
    let name: String = path.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
    (!name.is_empty()).then_some(name)
}

/// One circle, where there is any: what is left when modules that use nothing that is left are taken away again and again.
fn circle_in(uses: &Uses) -> Option<Vec<String>> {
    let mut left = uses.clone();
    loop {
        let before = left.len();
        let names: BTreeSet<String> = left.keys().cloned().collect();
        left.retain(|_, used| used.iter().any(|name| names.contains(name)));
        if left.len() == before {
            break;
        }
    }
    let mut path = vec![left.keys().next()?.clone()];
    loop {
        let last = path.last()?;
        let next = left[last].iter().find(|name| left.contains_key(*name))?.clone();
        if let Some(begin) = path.iter().position(|name| *name == next) {
            path.drain(..begin);
            path.push(next);
            return Some(path);
        }
        path.push(next);
    }
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let read = fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    read.map(|entry| entry.expect("an entry").path()).collect()
}

fn rust_files(path: &Path) -> Vec<PathBuf> {
    if path.is_dir() {
        return entries(path).iter().flat_map(|path| rust_files(path)).collect();
    }
    if path.extension().is_some_and(|end| end == "rs") { vec![path.to_owned()] } else { Vec::new() }
}

fn module_name(path: &Path) -> String {
    path.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

#[test]
fn a_circle_is_found() {
    let uses = |list: &[(&str, &[&str])]| -> Uses {
        let set = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
        list.iter().map(|(name, used)| ((*name).to_owned(), set(used))).collect()
    };
    assert_eq!(circle_in(&uses(&[("a", &["b"]), ("b", &["c"]), ("c", &[])])), None);
    let circle = circle_in(&uses(&[("a", &["b"]), ("b", &["c"]), ("c", &["b"])]));
    assert_eq!(circle, Some(vec!["b".to_owned(), "c".to_owned(), "b".to_owned()]));
    let text = "use crate::{one, two::{Three, four}};\nfn f() { crate::five::six() } // crate::seven\n#[cfg(test)] use crate::eight;";
    assert_eq!(used_in(text).into_iter().collect::<Vec<_>>(), ["five", "one", "two"]);
}
