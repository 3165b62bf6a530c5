//! What the browser prints: no row of a table is cut, and heads stand again on the next page.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use asfound_tests::Workshop;

use crate::chromium::{address, chromium};

/// The margin at the foot of a page, 19 mm, in points.
const FOOT: f64 = 19.0 / 25.4 * 72.0;

/// A word on paper: the page, counted from 0, where it ends, and how high the page is, in points.
#[derive(Debug, Clone)]
struct Word {
    page: usize,
    bottom: f64,
    height: f64,
    text: String,
}

/// The words of a PDF, as poppler's `pdftotext -bbox` finds them.
fn words(file: &Path) -> Vec<Word> {
    let output = Command::new("pdftotext").arg("-bbox").arg(file).arg("-").output();
    let output = output.expect("these tests need pdftotext: install Debian's package `poppler-utils`");
    let listing = String::from_utf8(output.stdout).expect("it writes UTF-8");
    let (mut words, mut page, mut height) = (Vec::new(), 0, 0.0);
    let number = |line: &str, name: &str| -> f64 {
        let value = line.split(&format!("{name}=\"")).nth(1).and_then(|rest| rest.split('"').next());
        value.and_then(|value| value.parse().ok()).unwrap_or_else(|| panic!("no {name} in {line}"))
    };
    for line in listing.lines().map(str::trim) {
        if line.starts_with("<page ") {
            page += usize::from(height > 0.0);
            height = number(line, "height");
        } else if line.starts_with("<word ") {
            let text = line.split('>').nth(1).and_then(|rest| rest.split('<').next()).unwrap_or_default().to_owned();
            words.push(Word { page, bottom: number(line, "yMax"), height, text });
        }
    }
    words
}

/// A copy of the page with a sign at the beginning of every row, at the end of each of its cells, and in every head, and how many rows it has. The
/// policy is left out, so that the paper can be chosen.
fn marked(html: &str, more_style: &str) -> (String, usize) {
    let (before, rest) = html.split_once("<meta http-equiv").expect("a policy");
    let (_, after) = rest.split_once('>').expect("its end");
    let html = format!("{before}{after}");
    // Small and never broken, so that they alter as little as can be.
    let style = format!("<style>.q{{font-size:4pt;white-space:nowrap}}{more_style}</style></head>");
    let html = html.replace("</head>", &style);
    let (mut marked, mut rows, mut tables) = (String::new(), 0, 0);
    for (at, piece) in html.split("<tr>").enumerate() {
        if at == 0 {
            marked.push_str(piece);
            continue;
        }
        let (cell, rest) = piece.split_once('>').expect("a row has a cell");
        if piece.starts_with("<th scope=\"col\"") {
            tables += 1;
            let _ = write!(marked, "<tr>{cell}><b class=q>qh{tables}z</b> {rest}");
        } else {
            rows += 1;
            let end = format!(" <b class=q>qe{rows}q{tables}z</b>");
            let rest = rest.replace("</td>", &format!("{end}</td>")).replace("</th>", &format!("{end}</th>"));
            let _ = write!(marked, "<tr>{cell}><b class=q>qa{rows}q{tables}z</b> {rest}");
        }
    }
    (marked, rows)
}

/// Rows whose beginning and end are not on one page, heads that a page with rows of their table lacks, and words that stand in
/// the margin. The sign at the beginning of a row must be there once.
fn cut(words: &[Word], rows: usize, number: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut pages: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for word in words.iter().filter(|word| word.text.starts_with('q') && word.text.ends_with('z')) {
        pages.entry(word.text.as_str()).or_default().push(word.page);
    }
    let signs: Vec<&str> = pages.keys().copied().filter(|sign| sign.starts_with("qa")).collect();
    if signs.len() != rows {
        found.push(format!("{} of {rows} rows were found", signs.len()));
    }
    for sign in signs {
        let (first, last) = (&pages[sign], pages.get(sign.replacen("qa", "qe", 1).as_str()));
        let whole = first.len() == 1 && last.is_some_and(|last| last.iter().all(|page| page == &first[0]));
        if !whole {
            found.push(format!("{sign} begins on {first:?} and ends on {last:?}"));
        }
        let head = format!("qh{}z", sign.trim_end_matches('z').rsplit('q').next().unwrap_or_default());
        if !pages.get(head.as_str()).is_some_and(|heads| heads.contains(&first[0])) {
            found.push(format!("{sign} on page {} without its head {head}", first[0]));
        }
    }
    let in_margin = words.iter().filter(|word| word.bottom > word.height - FOOT + 1.0);
    let is_of_margin = |word: &&Word| number.contains(&word.text) || word.text.parse::<u32>().is_ok();
    let strange = in_margin.filter(|word| !is_of_margin(word) && !["Page", "of"].contains(&word.text.as_str()));
    found.extend(strange.map(|word| format!("`{}` stands in the margin of page {}", word.text, word.page)));
    found
}

/// A sheet with rows that are several lines high, over several pages.
fn long_sheet() -> Workshop {
    let mut shop = Workshop::with_wren();
    for round in 0..14 {
        let why =
            "the owner was asked, tried it on the road, came back and would like it otherwise; ".repeat(2 + round % 5);
        let _ = shop.run(&format!("change wren body.lane_change_flashes={} --why '{why}'", 4 + round % 2)).done();
    }
    let _ = shop.run("handover wren --out ./sheet.html").done();
    shop
}

#[test]
#[ignore = "needs Chromium; run with `-- --ignored` where it is installed"]
fn no_row_of_a_table_is_cut() {
    let shop = long_sheet();
    let html = shop.text("sheet.html");
    let number = html.split("number code\">").nth(1).and_then(|rest| rest.split('<').next()).expect("a number");
    let print = |style: &str| {
        let (page, rows) = marked(&html, style);
        shop.write("marked.html", page);
        let file = shop.folder().join("marked.pdf");
        let option = format!("--print-to-pdf={}", file.display());
        let _ = chromium(shop.folder(), &["--no-pdf-header-footer", &option, &address(shop.folder(), "marked.html")]);
        (words(&file), rows)
    };
    for paper in ["A4", "letter"] {
        let (words, rows) = print(&format!("@page{{size:{paper}}}"));
        let pages = words.last().map_or(0, |word| word.page + 1);
        assert!(rows > 40 && pages >= 4, "{rows} rows on {pages} pages");
        let cut = cut(&words, rows, number);
        assert!(cut.is_empty(), "{paper}: {cut:#?}");
    }
    // Without the style that keeps rows whole, some are cut, wherever a page happens to end, and that is seen; so are heads that
    // are not repeated.
    let is_cut = |shift: u32| {
        let style = format!("tr,li,td,th{{break-inside:auto!important}}body{{padding-top:{}px!important}}", 11 * shift);
        let (words, rows) = print(&style);
        cut(&words, rows, number).iter().any(|found| found.contains("ends on"))
    };
    assert!((0..12).any(is_cut));
    let (words, rows) = print("thead{display:table-row-group!important}");
    assert!(cut(&words, rows, number).iter().any(|found| found.contains("without its head")));
}
