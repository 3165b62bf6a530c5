//! The QR code as it comes out of a printer: pages drawn by poppler and read by another library (rqrr).
//!
//! These tests are left out by default: `cargo test -p asfound-report --test scanned -- --ignored` runs them where there are
//! `pdftoppm` (Debian's package `poppler-utils`) and Chromium (`chromium`).

mod support;

use std::path::Path;
use std::process::Command;

use asfound_report::{Language, Paper, Printed, handover, pdf, printed_page};
use support::{FULL, Texts, story};

const FOLDER: &str = env!("CARGO_TARGET_TMPDIR");

fn printed() -> Printed<'static> {
    let sheet = Box::leak(Box::new(story(&Texts::default()).sheet().expect("a sheet")));
    handover(sheet, Language::En, None).expect("a seal fits")
}

/// What the codes on the pages of a PDF say, drawn at 200 points to the inch, which is less than printers have; at less, rqrr does not always find a code.
fn codes(file: &Path) -> Vec<String> {
    let root = file.with_extension("");
    let arguments = ["-gray", "-r", "200"];
    let status = Command::new("pdftoppm").args(arguments).arg(file).arg(&root).status();
    assert!(status.expect("this test needs pdftoppm: install Debian's package `poppler-utils`").success());
    let name = format!("{}-", root.file_name().expect("a name").display());
    let is_page = |path: &Path| {
        let own = path.file_name().is_some_and(|file| file.to_string_lossy().starts_with(&name));
        own && path.extension().is_some_and(|ending| ending == "pgm")
    };
    let mut codes = Vec::new();
    for entry in std::fs::read_dir(FOLDER).expect("the folder can be listed") {
        let path = entry.expect("it can be listed").path();
        if !is_page(&path) {
            continue;
        }
        let bytes = std::fs::read(&path).expect("the page can be read");
        std::fs::remove_file(&path).expect("the page can be removed");
        // Netpbm's `P5`: width, height and the greatest value as text, one white space, then a byte for every point.
        let mut at = 0;
        let heads: Vec<String> = (0..4)
            .map(|_| {
                let word: Vec<u8> =
                    bytes[at..].iter().copied().take_while(|byte| !byte.is_ascii_whitespace()).collect();
                at += word.len() + 1;
                String::from_utf8(word).expect("ASCII")
            })
            .collect();
        assert_eq!((heads[0].as_str(), heads[3].as_str()), ("P5", "255"));
        let (width, height): (usize, usize) =
            (heads[1].parse().expect("a number"), heads[2].parse().expect("a number"));
        let points = &bytes[at..];
        assert_eq!(points.len(), width * height);
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| points[y * width + x]);
        codes.extend(image.detect_grids().iter().filter_map(|grid| Some(grid.decode().ok()?.1)));
    }
    codes
}

#[test]
#[ignore = "needs pdftoppm; run with `-- --ignored` where it is installed"]
fn the_code_on_paper_is_read_as_the_seal() {
    for (paper, name) in [(Paper::A4, "scanned-a4.pdf"), (Paper::Letter, "scanned-letter.pdf")] {
        let file = Path::new(FOLDER).join(name);
        std::fs::write(&file, pdf(&printed(), paper).expect("a PDF")).expect("a file can be written");
        assert_eq!(codes(&file), [FULL], "{name}");
    }
}

#[test]
#[ignore = "needs Chromium and pdftoppm; run with `-- --ignored` where they are installed"]
fn the_code_that_a_browser_prints_is_read_as_the_seal() {
    let (page, file) = (Path::new(FOLDER).join("scanned.html"), Path::new(FOLDER).join("scanned-page.pdf"));
    std::fs::write(&page, printed_page(&printed())).expect("a file can be written");
    let chromium = Command::new("chromium")
        .args(["--headless=new", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"])
        .arg(format!("--user-data-dir={FOLDER}/scanned-profile"))
        .arg(format!("--print-to-pdf={}", file.display()))
        .arg(format!("file://{}", page.display()))
        .output();
    let _ = chromium.expect("this test needs Chromium: install Debian's package `chromium`");
    assert_eq!(codes(&file), [FULL]);
}
