//! The three forms say the same, and no text breaks out of its place.

mod support;

use asfound_report::{Language, Logo, LogoKind, Paper, PdfError, Printed, handover, pdf, printed_page, shown, text};
use html5ever::tendril::TendrilSink;
use markup5ever_rcdom::{Handle, NodeData, RcDom};
use proptest::prelude::*;
use support::{FULL, Texts, story};

fn printed(texts: &Texts, language: Language) -> Printed<'static> {
    handover(Box::leak(Box::new(story(texts).sheet().expect("a sheet"))), language, None).expect("a seal fits")
}

/// The page as the HTML standard's own algorithm reads it (html5ever); it must have nothing to object to. That finds errors of
/// parsing and no others: what may stand in what, and which attributes an element may have, it does not check.
fn parsed(html: &str) -> RcDom {
    let dom = html5ever::parse_document(RcDom::default(), html5ever::ParseOpts::default()).one(html);
    assert!(dom.errors.borrow().is_empty(), "{:?}", dom.errors.borrow());
    dom
}

fn walk(node: &Handle, visit: &mut impl FnMut(&Handle)) {
    visit(node);
    node.children.borrow().iter().for_each(|child| walk(child, visit));
}

/// How many elements of each name there are, and the names of all attributes.
fn shape(dom: &RcDom) -> Vec<String> {
    let mut shape = Vec::new();
    walk(&dom.document, &mut |node| {
        if let NodeData::Element { name, attrs, .. } = &node.data {
            let names: Vec<String> = attrs.borrow().iter().map(|attribute| attribute.name.local.to_string()).collect();
            shape.push(format!("{} {}", name.local, names.join(" ")));
        }
    });
    shape
}

fn text_of(dom: &RcDom) -> String {
    let mut all = String::new();
    walk(&dom.document, &mut |node| {
        if let NodeData::Text { contents } = &node.data {
            all.push_str(&contents.borrow());
            all.push(' ');
        }
    });
    all
}

fn words(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn no_spaces(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// The text of a PDF as lopdf takes it out, page by page.
fn text_of_pdf(bytes: &[u8]) -> Vec<String> {
    let document = lopdf::Document::load_mem(bytes).expect("a PDF");
    document.get_pages().keys().map(|page| document.extract_text(&[*page]).expect("text")).collect()
}

/// The whole sheet as text.
#[test]
fn a_sheet_as_text() {
    insta::assert_snapshot!("sheet_as_text", text(&printed(&Texts::default(), Language::En), 80));
}

const HOSTILE: [&str; 7] = [
    "</td></table><script>alert(1)</script><img src=x onerror=alert(1)>",
    "\"onmouseover='alert(1)' --> ]]> &amp; &#60;",
    "abc\u{202E}gnp.exe\u{2066}x\u{200B}y",
    "שלום עולם 👩\u{200D}🔧 e\u{301}\u{302}\u{303}",
    "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft_0123456789_0123456789_0123456789",
    "a\u{0}b\u{1B}[2Jc\u{7F}d\u{85}e",
    "{{7*7}} ${x} %s \\u003c \\\\ `cmd` </style></title>",
];

#[test]
fn hostile_text_stays_text_in_a_page() {
    let plain = shape(&parsed(&printed_page(&printed(&Texts::all("plain"), Language::En))));
    let book = shape(&parsed(&story(&Texts::all("plain")).book(Language::En)));
    for text in HOSTILE {
        let texts = Texts::all(text);
        let html = printed_page(&printed(&texts, Language::En));
        let dom = parsed(&html);
        assert_eq!(shape(&dom), plain, "{text:?} changed the page");
        assert!(words(&text_of(&dom)).contains(&words(&shown(&texts.customer))), "{text:?} is not whole");
        let dom = parsed(&story(&texts).book(Language::De));
        assert_eq!(shape(&dom), book, "{text:?} changed the book");
        assert!(words(&text_of(&dom)).contains(&words(&shown(&texts.why))), "{text:?} is not whole");
    }
}

#[test]
fn hostile_text_stays_text_in_print() {
    for hostile in HOSTILE {
        let printed = printed(&Texts::all(hostile), Language::De);
        let pages = text_of_pdf(&pdf(&printed, Paper::Letter).unwrap());
        assert!(pages.len() < 30, "{hostile:?} took {} pages", pages.len());
        let as_text = text(&printed, 80);
        assert!(!as_text.chars().any(|c| c.is_control() && c != '\n'), "{hostile:?}");
    }
}

/// Everything that the text form says stands in the PDF too, in the words of the same sheet.
#[test]
fn the_pdf_says_what_the_sheet_says() {
    for language in Language::ALL {
        for paper in [Paper::A4, Paper::Letter] {
            let printed = printed(&Texts::default(), language);
            let html = parsed(&printed_page(&printed));
            let bytes = pdf(&printed, paper).unwrap();
            let pages = text_of_pdf(&bytes);
            let all = no_spaces(&pages.concat());
            let (mut missing, mut compared) = (Vec::new(), 0);
            walk(&html.document, &mut |node| {
                if let NodeData::Text { contents } = &node.data {
                    let inside = node.parent.take();
                    let parent = inside.as_ref().and_then(std::rc::Weak::upgrade);
                    node.parent.set(inside);
                    let name = parent.map(|parent| match &parent.data {
                        NodeData::Element { name, .. } => name.local.to_string(),
                        _ => String::new(),
                    });
                    // Signs of marks are drawn, captions are for those who do not see; style and title are no text.
                    let name = name.unwrap_or_default();
                    let wanted = no_spaces(&contents.borrow());
                    if !matches!(name.as_str(), "style" | "title" | "caption" | "i") && !wanted.is_empty() {
                        compared += 1;
                        if !all.contains(&wanted) {
                            missing.push(wanted);
                        }
                    }
                }
            });
            assert!(missing.is_empty(), "{missing:#?}\nnot in\n{all}");
            assert!(compared > 150, "only {compared} texts were compared");
            // Page x of y and the number on every page.
            let number = story(&Texts::default()).sheet().unwrap().number;
            for (at, page) in pages.iter().enumerate() {
                let page = no_spaces(page);
                assert!(page.contains(&number), "{page}");
                let (word, of) = if language == Language::En { ("Page", "of") } else { ("Seite", "von") };
                assert!(page.contains(&format!("{word}{}{of}{}", at + 1, pages.len())), "{page}");
            }
        }
    }
}

/// In the PDF too no row is cut: what begins and ends each reason is on one page, also where rows are many lines high.
#[test]
fn no_row_is_cut_on_paper() {
    let mut journal = support::Journal::new(&Texts::default());
    journal.read(asfound_core::entry::ReadingRole::AsFound, "03 40 11", None, |_| {});
    let rows: u32 = 30;
    for row in 1..=rows {
        let filler = "the owner tried it on the road and would like it otherwise; ".repeat(row as usize % 7);
        journal.texts.why = format!("qa{row}z {filler} qe{row}z");
        journal.change("flashes", if row % 2 == 0 { "4" } else { "5" });
    }
    let sheet = journal.sheet().unwrap();
    let printed = handover(&sheet, Language::En, None).unwrap();
    for paper in [Paper::A4, Paper::Letter] {
        let pages: Vec<String> =
            text_of_pdf(&pdf(&printed, paper).unwrap()).iter().map(|page| no_spaces(page)).collect();
        assert!(pages.len() > 4, "{} pages", pages.len());
        for row in 1..=rows {
            let on =
                |sign: String| -> Vec<usize> { (0..pages.len()).filter(|at| pages[*at].contains(&sign)).collect() };
            let (begins, ends) = (on(format!("qa{row}z")), on(format!("qe{row}z")));
            assert!(begins.len() == 1 && begins == ends, "row {row} begins on {begins:?} and ends on {ends:?}");
        }
    }
}

/// Four by two pixels with a part that lets the ground through, written by hand with Python's zlib.
const PNG: &[u8] = &[
    0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A, 0x00, 0x00, 0x00, 0x0D, 0x49, 0x48, 0x44, 0x52, 0x00, 0x00, 0x00,
    0x04, 0x00, 0x00, 0x00, 0x02, 0x08, 0x06, 0x00, 0x00, 0x00, 0x7F, 0xA8, 0x7D, 0x63, 0x00, 0x00, 0x00, 0x11, 0x49,
    0x44, 0x41, 0x54, 0x78, 0x9C, 0x63, 0x90, 0x89, 0x0D, 0x3B, 0x81, 0x8C, 0x19, 0xD0, 0x05, 0x00, 0xD0, 0x66, 0x0C,
    0xB9, 0x8F, 0x2B, 0x22, 0x7C, 0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4E, 0x44, 0xAE, 0x42, 0x60, 0x82,
];

#[test]
fn a_logo_stands_on_page_and_paper() {
    let sheet = story(&Texts::default()).sheet().unwrap();
    let logo = |bytes: &[u8]| Logo { bytes: bytes.to_vec(), kind: LogoKind::of(bytes).unwrap() };
    let printed = handover(&sheet, Language::En, Some(logo(PNG))).unwrap();
    let html = printed_page(&printed);
    parsed(&html);
    assert!(html.contains("alt=\"Workshop at the Weir\" src=\"data:image/png;base64,iVBORw0KGgo"));
    let document = lopdf::Document::load_mem(&pdf(&printed, Paper::A4).unwrap()).unwrap();
    let is_image = |object: &lopdf::Object| {
        let subtype = object.as_stream().ok().and_then(|stream| stream.dict.get(b"Subtype").ok());
        subtype.and_then(|subtype| subtype.as_name().ok()) == Some(b"Image".as_slice())
    };
    assert!(document.objects.values().any(is_image));
    // A file that only begins like a picture is refused, not printed.
    let broken = handover(&sheet, Language::En, Some(logo(&PNG[..20]))).unwrap();
    assert!(matches!(pdf(&broken, Paper::A4), Err(PdfError::Logo(_))));
    assert_eq!(LogoKind::of(b"<svg onload=alert(1)>"), None);
}

/// The same moment, the same sheet: the same bytes.
#[test]
fn printing_twice_gives_the_same_bytes() {
    let printed = printed(&Texts::default(), Language::En);
    assert!(pdf(&printed, Paper::A4).unwrap() == pdf(&printed, Paper::A4).unwrap());
}

/// The code is read by another library (rqrr) from the path that is drawn in the page.
#[test]
fn the_code_is_read_as_the_seal() {
    let html = printed_page(&printed(&Texts::default(), Language::En));
    let svg = html.split("<svg class=\"qr\"").nth(1).and_then(|rest| rest.split("</svg>").next()).expect("a code");
    let size: usize =
        svg.split("viewBox=\"0 0 ").nth(1).and_then(|rest| rest.split(' ').next()).unwrap().parse().unwrap();
    let path = svg.split("fill=\"#000\" d=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a path");
    // Each run of dark squares is `M<column> <row>h<length>v1h-<length>z`.
    let mut dark = vec![false; size * size];
    for run in path.split('M').skip(1) {
        let (place, length) = run.split_once('h').expect("a run");
        let (column, row) = place.split_once(' ').expect("two numbers");
        let (column, row): (usize, usize) = (column.parse().unwrap(), row.parse().unwrap());
        let length: usize = length.split('v').next().unwrap().parse().unwrap();
        dark[row * size + column..][..length].fill(true);
    }
    let scale = 4;
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(size * scale, size * scale, |x, y| {
        if dark[y / scale * size + x / scale] { 0 } else { 255 }
    });
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1);
    assert_eq!(grids[0].decode().unwrap().1, FULL);
}

/// The code in the text form is read by another library (rqrr) from letters of 8 by 16 points without space between the lines;
/// with any such space this library finds no code, and so the caption says so.
#[test]
fn the_code_in_the_text_is_read_as_the_seal() {
    let text = text(&printed(&Texts::default(), Language::De), 80);
    let first = text.lines().position(|line| line.starts_with("    █▀▀▀▀▀█")).expect("a corner of the code");
    let lines: Vec<Vec<char>> = text.lines().skip(first - 2).take(25).map(|line| line.chars().collect()).collect();
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(49 * 8, lines.len() * 16, |x, y| {
        let ink = match lines[y / 16].get(x / 8) {
            Some('█') => true,
            Some('▀') => y % 16 < 8,
            Some('▄') => y % 16 >= 8,
            _ => false,
        };
        if ink { 0 } else { 255 }
    });
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1);
    assert_eq!(grids[0].decode().unwrap().1, FULL);
}

#[test]
fn a_page_needs_nothing_from_elsewhere() {
    let pages = [printed_page(&printed(&Texts::default(), Language::En)), story(&Texts::default()).book(Language::En)];
    for html in pages {
        let dom = parsed(&html);
        walk(&dom.document, &mut |node| {
            let NodeData::Element { name, attrs, .. } = &node.data else { return };
            assert!(
                !matches!(&*name.local, "link" | "iframe" | "object" | "embed" | "base" | "form"),
                "{}",
                name.local
            );
            for attribute in attrs.borrow().iter() {
                let value = &attribute.value;
                assert!(!attribute.name.local.starts_with("on") && &*attribute.name.local != "style");
                if matches!(&*attribute.name.local, "src" | "href") {
                    assert!(value.starts_with('#') || value.starts_with("data:"), "{value}");
                }
            }
        });
        assert!(!html.contains("url(") && !html.contains("@import") && !html.contains("http://"));
    }
}

/// Headings go down one step at a time, every table names its columns and rows, every region its content.
#[test]
fn a_page_can_be_read_out() {
    for html in [printed_page(&printed(&Texts::default(), Language::De)), story(&Texts::default()).book(Language::De)] {
        let dom = parsed(&html);
        let (mut last, mut ids) = (0, std::collections::BTreeSet::new());
        walk(&dom.document, &mut |node| {
            let NodeData::Element { name, attrs, .. } = &node.data else { return };
            let get = |wanted: &str| {
                let attrs = attrs.borrow();
                attrs.iter().find(|a| &*a.name.local == wanted).map(|a| a.value.to_string())
            };
            let local = name.local.to_string();
            if let Some(level) = local.strip_prefix('h').and_then(|level| level.parse::<u8>().ok()) {
                assert!(level <= last + 1, "h{level} after h{last}");
                last = level;
            }
            match local.as_str() {
                "html" => assert_eq!(get("lang").as_deref(), Some("de")),
                "th" => assert!(get("scope").is_some()),
                "svg" => assert!(get("aria-label").is_some() || get("aria-hidden").is_some()),
                "img" => assert!(get("alt").is_some()),
                _ => {}
            }
            if get("role").as_deref() == Some("region") {
                assert!(get("aria-label").is_some_and(|label| !label.is_empty()));
                assert_eq!(get("tabindex").as_deref(), Some("0"));
            }
            if let Some(id) = get("id") {
                assert!(ids.insert(id.clone()), "{id} twice");
            }
        });
        let mut wanted = Vec::new();
        walk(&dom.document, &mut |node| {
            if let NodeData::Element { attrs, .. } = &node.data {
                for attribute in attrs.borrow().iter() {
                    match &*attribute.name.local {
                        "aria-labelledby" | "for" => wanted.push(attribute.value.to_string()),
                        "href" => wanted.extend(attribute.value.strip_prefix('#').map(str::to_owned)),
                        _ => {}
                    }
                }
            }
        });
        assert!(wanted.iter().all(|id| ids.contains(id)), "{wanted:?} in {ids:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_text_breaks_out(text in any::<String>()) {
        // What has nothing to say takes no room, so that a blank text leaves its label out.
        prop_assume!(!asfound_report::shown(&text).trim().is_empty());
        let plain = shape(&parsed(&printed_page(&printed(&Texts::all("plain"), Language::En))));
        let printed = printed(&Texts::all(&text), Language::En);
        prop_assert_eq!(shape(&parsed(&printed_page(&printed))), plain);
        prop_assert!(pdf(&printed, Paper::A4).is_ok());
        prop_assert!(!asfound_report::text(&printed, 80).chars().any(|c| c.is_control() && c != '\n'));
    }
}
