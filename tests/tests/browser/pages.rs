//! Nothing is fetched, the search finds, nothing sticks out, pages of paper are numbered.

use std::path::Path;

use asfound_tests::Workshop;
use serde_json::Value;

use crate::chromium::{Browser, address, chromium};

pub const WIDTHS: [u32; 3] = [360, 800, 1400];

/// The page after its script has run.
fn dom(folder: &Path, page: &str) -> String {
    let output = chromium(folder, &["--virtual-time-budget=2000", "--dump-dom", &address(folder, page)]);
    String::from_utf8(output.stdout).expect("a page is text")
}

pub fn shop() -> Workshop {
    let mut shop = Workshop::after_work();
    let _ = shop.run("handover wren --customer 'R. <b>Quill</b>' --out ./sheet.html").done();
    let _ = shop.run("logbook wren --out ./book.html").done();
    let _ = shop.run("compare wren 2 --out ./compared.html").done();
    shop
}

pub const PAGES: [&str; 3] = ["sheet.html", "book.html", "compared.html"];

/// What a page asked for over the network, and what the console said of it. What the browser asks for by itself is left out: no
/// page is its initiator.
fn asked_and_complained(folder: &Path, page: &str) -> (Vec<String>, Vec<String>) {
    let log = folder.join("net.json");
    let option = format!("--log-net-log={}", log.display());
    let output = chromium(folder, &[&option, "--dump-dom", &address(folder, page)]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let complaints = said.lines().filter(|line| line.contains("CONSOLE")).map(str::to_owned).collect();
    let net: Value = serde_json::from_str(&std::fs::read_to_string(&log).expect("the log")).expect("JSON");
    let events = net["events"].as_array().expect("events");
    assert!(!events.is_empty());
    let asked = events
        .iter()
        .map(|event| &event["params"])
        .filter(|event| event["initiator"].as_str().is_some_and(|initiator| initiator != "not an origin"))
        .filter_map(|event| event["url"].as_str())
        .filter(|url| !url.starts_with("file:") && !url.starts_with("data:"))
        .map(str::to_owned)
        .collect();
    (asked, complaints)
}

#[test]
#[ignore = "needs Chromium; run with `-- --ignored` where it is installed"]
fn nothing_is_fetched_and_nothing_is_complained_of() {
    let shop = shop();
    for page in PAGES {
        let (asked, complaints) = asked_and_complained(shop.folder(), page);
        assert!(asked.is_empty() && complaints.is_empty(), "{page}: {asked:#?} {complaints:#?}");
    }
    // A page that does ask is caught, and so is one that its policy stops.
    shop.write("asks.html", "<!DOCTYPE html><img src='http://127.0.0.1:9/x.png'>");
    assert_eq!(
        asked_and_complained(shop.folder(), "asks.html").0.first().map(String::as_str),
        Some("http://127.0.0.1:9/x.png")
    );
    let stopped = shop.text("sheet.html").replace("<main>", "<main><img src='http://127.0.0.1:9/x.png' alt=''>");
    shop.write("stopped.html", stopped);
    let (asked, complaints) = asked_and_complained(shop.folder(), "stopped.html");
    assert!(asked.is_empty() && !complaints.is_empty(), "{asked:#?} {complaints:#?}");
}

#[test]
#[ignore = "needs Chromium; run with `-- --ignored` where it is installed"]
fn the_search_finds() {
    let shop = shop();
    let shown = |dom: &str| {
        let entries = dom.split("<div class=\"e f\"").skip(1);
        entries.filter(|entry| !entry.split('>').next().unwrap_or_default().contains("hidden")).count()
    };
    let all = dom(shop.folder(), "book.html");
    let found = dom(shop.folder(), "book.html#find=LANE_change");
    let nothing = dom(shop.folder(), "book.html#find=no%20such%20thing");
    assert!(shown(&all) > shown(&found) && shown(&found) > 0, "{} and {}", shown(&all), shown(&found));
    assert_eq!(shown(&nothing), 0);
    assert!(found.contains(&format!(">{} entries shown<", shown(&found))));
    assert!(
        !all.split("id=\"bar\"").nth(1).unwrap_or_default().split('>').next().unwrap_or_default().contains("hidden")
    );
}

/// At each width nothing sticks out of the page: the widest thing is as wide as the window.
#[test]
#[ignore = "needs Chromium; run with `-- --ignored` where it is installed"]
fn no_page_is_wider_than_its_window() {
    let shop = shop();
    let mut browser = Browser::start(shop.folder());
    for page in PAGES {
        for width in WIDTHS {
            browser.width(width);
            browser.open(&address(shop.folder(), page));
            let wide = browser.value("[document.documentElement.scrollWidth, innerWidth].join()");
            assert_eq!(wide, format!("{width},{width}"), "{page} at {width}");
        }
    }
    browser.value("document.querySelector('h2').style.width = '2000px'");
    assert_ne!(browser.value("document.documentElement.scrollWidth"), 1400, "what sticks out is seen");
}

#[test]
#[ignore = "needs Chromium; run with `-- --ignored` where it is installed"]
fn a_sheet_prints_on_numbered_pages() {
    let shop = shop();
    let file = shop.folder().join("printed.pdf");
    let option = format!("--print-to-pdf={}", file.display());
    let _ = chromium(shop.folder(), &["--no-pdf-header-footer", &option, &address(shop.folder(), "sheet.html")]);
    let document = lopdf::Document::load(&file).expect("a PDF");
    let pages = document.get_pages();
    assert!((2..=6).contains(&pages.len()), "{} pages", pages.len());
    let sheet = shop.text("sheet.html");
    let number =
        sheet.split("<p class=\"number code\">").nth(1).and_then(|rest| rest.split('<').next()).expect("a number");
    for page in pages.keys() {
        let text = document.extract_text(&[*page]).expect("text").replace(char::is_whitespace, "");
        assert!(text.contains(&format!("Page{page}of{}", pages.len())), "{text}");
        assert!(text.contains(number), "{text}");
    }
    let all = document.extract_text(&pages.keys().copied().collect::<Vec<_>>()).expect("text");
    assert!(all.replace(char::is_whitespace, "").contains("R.<b>Quill</b>"), "{all}");
}
