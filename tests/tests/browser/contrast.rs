//! Text can be told from its ground: on the screen, light and dark, and on paper.

use std::collections::BTreeMap;

use serde_json::Value;

use crate::chromium::{Browser, address};
use crate::pages::{PAGES, WIDTHS, shop};

/// Every pair of colours in which the page shows text: as the browser computes them, with one example and whether all of it is
/// large (24 px, or 18.66 px and bold: WCAG 2.2, "large scale", 18 pt and 14 pt bold). Text on the drawings stands beside their
/// shapes, and so has the ground of the page.
const PAIRS: &str = r"(() => {
  const found = {};
  const ground = one => {
    for (; one; one = one.parentElement) {
      const colour = getComputedStyle(one).backgroundColor;
      if (!/, 0\)$/.test(colour)) return colour;
    }
    return 'none';
  };
  const take = (text, style, colour, on) => {
    const size = parseFloat(style.fontSize), large = size >= 24 || (size >= 18.66 && style.fontWeight >= 700);
    const key = [colour, on, style.opacity].join('|');
    found[key] ??= { large: true, text: text.trim().slice(0, 40) };
    found[key].large &&= large;
  };
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode, one = node.parentElement;
    if (!node.data.trim() || one.closest('script,noscript,[hidden]')) continue;
    const style = getComputedStyle(one);
    if (style.display === 'none') continue;
    take(node.data, style, one.closest('svg') ? style.fill : style.color, ground(one));
  }
  for (const box of document.querySelectorAll('input')) {
    take(box.placeholder, getComputedStyle(box, '::placeholder'), getComputedStyle(box, '::placeholder').color, ground(box));
    take('typed', getComputedStyle(box), getComputedStyle(box).color, ground(box));
  }
  return found;
})()";

/// The relative luminance of a colour with channels from 0 to 255 (WCAG 2.2, "relative luminance").
fn luminance(colour: [f64; 3]) -> f64 {
    let [red, green, blue] = colour.map(|channel| {
        let part = channel / 255.0;
        if part <= 0.040_45 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// The contrast of two colours (WCAG 2.2, "contrast ratio").
fn contrast(one: [f64; 3], other: [f64; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

/// `rgb(1, 2, 3)`; any colour that lets something through is refused.
fn colour(text: &str) -> [f64; 3] {
    let inside = text.strip_prefix("rgb(").and_then(|text| text.strip_suffix(')'));
    let channels: Vec<f64> =
        inside.unwrap_or_default().split(", ").filter_map(|channel| channel.parse().ok()).collect();
    channels.try_into().unwrap_or_else(|_| panic!("`{text}` is no plain colour"))
}

/// The pairs that have less contrast than WCAG 2.2, 1.4.3 (AA) asks for: 4.5 to 1, and 3 to 1 for large text.
fn too_faint(pairs: &Value) -> BTreeMap<String, f64> {
    let pairs = pairs.as_object().expect("an object");
    assert!(pairs.len() > 2, "{pairs:?}");
    let mut faint = BTreeMap::new();
    for (key, told) in pairs {
        let [text, ground, opacity] = key.split('|').collect::<Vec<_>>().try_into().expect("three parts");
        assert_eq!(opacity, "1", "{key}");
        let least = if told["large"] == true { 3.0 } else { 4.5 };
        let ratio = contrast(colour(text), colour(ground));
        if ratio < least {
            faint.insert(format!("{key} {}", told["text"]), ratio);
        }
    }
    faint
}

/// Black on white has 21 to 1 (WCAG 2.2, "contrast ratio", names the range); grey #767676 on white just passes and #777777 just
/// does not (from memory).
#[test]
fn the_measure_is_right() {
    let white = [255.0; 3];
    assert!((contrast([0.0; 3], white) - 21.0).abs() < 1e-9);
    assert!(contrast([f64::from(0x76_u8); 3], white) >= 4.5);
    assert!(contrast([f64::from(0x77_u8); 3], white) < 4.5);
}

#[test]
#[ignore = "needs Chromium; run with `-- --ignored` where it is installed"]
fn text_stands_out_from_its_ground() {
    let shop = shop();
    let mut browser = Browser::start(shop.folder());
    for page in PAGES {
        browser.open(&address(shop.folder(), page));
        for width in WIDTHS {
            browser.width(width);
            let mut grounds = Vec::new();
            for (media, scheme) in [("screen", "light"), ("screen", "dark"), ("print", "dark")] {
                browser.medium(media, scheme);
                grounds.push(browser.value("getComputedStyle(document.body).backgroundColor"));
                let faint = too_faint(&browser.value(PAIRS));
                assert!(faint.is_empty(), "{page} at {width}, {media}, {scheme}: {faint:#?}");
            }
            // A dark screen is dark, and paper is white whatever the screen is.
            assert!(luminance(colour(grounds[1].as_str().expect("a colour"))) < 0.05, "{grounds:?}");
            assert_eq!(grounds[2], "rgb(255, 255, 255)", "{page}");
        }
    }
    // Text that is too faint is found.
    browser.medium("screen", "light");
    browser.value("document.querySelector('p').style.color = '#9a9a9a'");
    assert_eq!(too_faint(&browser.value(PAIRS)).len(), 1);
}
