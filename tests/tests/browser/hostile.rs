//! Text that means harm, or only is unusual, in every field that people control: it stays text, and the page stays a page.

use asfound_tests::Workshop;

use crate::chromium::{Browser, address};
use crate::pages::{PAGES, WIDTHS};

/// Each with a part that must be read on the page as it is.
const TEXTS: [(&str, &str); 5] = [
    ("</td></table></script><script>owned=1</script><img src=x onerror=owned=1>", "<script>owned=1</script><img"),
    (r#""><svg onload=owned=1><a href="javascript:owned=1">"#, "<svg onload=owned=1><a href="),
    ("abc\u{202E}gnp.exe\u{2066}x\u{200B}y", "abc‹U+202E›gnp.exe‹U+2066›x‹U+200B›y"),
    ("שלום 👩\u{200D}🔧 e\u{301}\u{302}", "שלום"),
    (
        "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaftsvorsitzendenwitwenrente",
        "hauptbetriebswerkbauunterbeamten",
    ),
];

/// A text as TOML has it.
fn toml(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A journal in which every text that a command or a file takes is that text, as far as it takes it there.
fn shop(text: &str) -> Workshop {
    let mut shop = Workshop::equipped();
    let quoted = toml(text);
    // Definitions: title, label, caution.
    shop.rewrite(
        "body-1.toml",
        "garage/definitions/aviary-body-1.toml",
        &[
            ("\"Body module, first series\"", &quoted),
            ("\"Lane-change flashes\"", &quoted),
            ("\"Close the doors before the write; the module locks them when it restarts.\"", &quoted),
        ],
    );
    // Readings: by, tool, identity, a value that no definition knows, a code of another system, what was stored with it.
    let reading = |from: &str, to: &str, bytes: (&str, &str), stations: &str| {
        let radio = format!(
            "\n[modules.radio]\nserial = {quoted}\nsettings = {{ stations = {stations} }}\n[[modules.radio.trouble_codes]]\n\
             code = {}\nfreeze_frame = {{ values = {{ mood = {quoted} }} }}\n",
            toml(&text.chars().take(30).collect::<String>()),
        );
        shop.rewrite(from, to, &[("\"Jorun Lind\"", &quoted), ("\"bench reader\"", &quoted), bytes]);
        shop.write(to, shop.text(to) + &radio);
    };
    reading("as-found.toml", "found.toml", ("\"00 17 01\"", "\"00 17 01\""), &quoted);
    reading("as-left.toml", "left.toml", ("\"3D 03 40 80\"", "\"15 03 40 58\""), &toml(&format!("{text} {text}")));
    let own = shop.text("garage/garage.toml")
        + &format!("\n[workshop]\nname = {quoted}\naddress = [{quoted}]\nlicence = {quoted}\nfooter = {quoted}\n");
    shop.write("garage/garage.toml", own);
    for command in [
        format!("enrol wren --about '{text}' --why '{text}'"),
        format!("read wren ./found.toml --as found --why '{text}'"),
        format!(
            "order open wren 7 --authorise body.lane_change_flashes=5 --consent '{text}' --estimate '{text}' --why '{text}'"
        ),
        format!("change wren body.lane_change_flashes=5 --why '{text}'"),
        format!("note wren '{text}'"),
        format!("correct wren 4 --words '{text}' --why '{text}'"),
    ] {
        let ran = shop.run(&format!("{command} --json"));
        assert_eq!(ran.exit, 0, "{ran}");
    }
    shop.wait_until(time::macros::datetime!(2026-03-14 12:10 +1));
    let ran = shop.run(&format!("read wren ./left.toml --as left --why '{text}' --json"));
    assert_eq!(ran.exit, 0, "{ran}");
    let ran = shop.run(&format!("handover wren --customer '{text}' --out ./sheet.html --json"));
    assert_eq!(ran.exit, 0, "{ran}");
    let _ = shop.run("logbook wren --out ./book.html").done();
    let _ = shop.run("compare wren 2 --out ./compared.html --json").done();
    shop
}

#[test]
#[ignore = "needs Chromium; run with `-- --ignored` where it is installed"]
fn hostile_text_stays_text() {
    let mut harmless = None;
    for (text, shown) in std::iter::once(("plain", "plain")).chain(TEXTS) {
        let shop = shop(text);
        let mut browser = Browser::start(shop.folder());
        let mut shape = Vec::new();
        for page in PAGES {
            for width in WIDTHS {
                browser.width(width);
                browser.open(&address(shop.folder(), page));
                let wide = browser.value("[document.documentElement.scrollWidth, innerWidth].join()");
                assert_eq!(wide, format!("{width},{width}"), "{page} at {width} with {text:?}");
                let (asked, complained) = browser.asked_and_complained();
                assert!(asked.is_empty() && complained.is_empty(), "{page}: {asked:#?} {complained:#?}");
            }
            assert_eq!(browser.value("typeof owned"), "undefined", "{page} with {text:?}");
            let read = browser.value("document.body.textContent");
            let times = read.as_str().expect("text").matches(shown).count();
            let least = if page == "sheet.html" { 15 } else { 1 };
            assert!(times >= least, "{shown:?} stands {times} times on {page}");
            shape.push(browser.value("[...document.querySelectorAll('*')].map(one => one.localName).join()"));
        }
        // The same elements whatever the text is, so none of it was taken for markup.
        assert_eq!(&shape, harmless.get_or_insert_with(|| shape.clone()), "{text:?}");
    }
}
