//! What a disclosure shows and proves.

use asfound_journal::disclosure::{
    DiscloseError, DisclosedEntry, Disclosure, DisclosureFinding, DisclosureRequest, ModuleChoice, disclose,
};
use asfound_journal::seal::{KeptSeal, Seal};

use crate::story::{Story, modules, number, numbers};

fn paths(disclosure: &Disclosure) -> Vec<(u32, Vec<&str>)> {
    let of = |entry: &'_ DisclosedEntry| entry.number().get();
    let names = |entry| DisclosedEntry::files(entry).iter().map(|file| file.path().as_str()).collect();
    disclosure.entries().iter().map(|entry| (of(entry), names(entry))).collect()
}

#[test]
fn it_shows_what_was_picked() {
    let story = Story::new();
    let shown = |entries: &[u32], pick: DisclosureRequest| story.disclose(entries, &pick);
    let body = vec!["definitions/body-1.toml", "entry.toml", "modules/body.toml"];
    assert_eq!(
        paths(&shown(&[4, 2], DisclosureRequest::default())),
        [(2, vec!["entry.toml"]), (4, vec!["entry.toml"])]
    );
    let pick = DisclosureRequest { modules: modules(&["body"]), ..DisclosureRequest::default() };
    assert_eq!(paths(&shown(&[3], pick.clone())), [(3, body)]);
    // The enrolment knows no modules yet: it shows its entry.toml.
    assert_eq!(paths(&shown(&[1, 2], pick))[0], (1, vec!["entry.toml"]));
    let pick = DisclosureRequest { modules: ModuleChoice::All, vehicle: true, settings_only: true };
    let all = shown(&[4], pick);
    let files = ["body-1.toml", "climate-1.toml"].map(|name| format!("definitions/{name}"));
    let mut files: Vec<&str> = files.iter().map(String::as_str).collect();
    files.extend(["modules/body.toml", "modules/climate.toml", "vehicle.toml"]);
    assert_eq!(paths(&all), [(4, files)]);
    // What is not shown: entry.toml and the blind.
    assert_eq!(all.entries()[0].hidden(), 2);
    for file in all.entries()[0].files() {
        assert_eq!(file.content(), story.text(4, file.path().as_str()));
    }
    let settings: Vec<_> = all.entries()[0].settings().into_iter().map(|s| (s.module, s.setting, s.value)).collect();
    let expected = [("body", "quiet", "on"), ("climate", "quiet", "off")];
    assert_eq!(settings, expected.map(|(a, b, c)| (a.to_owned(), b.to_owned(), c.to_owned())));
}

#[test]
fn it_stands_against_the_seal_in_every_form_and_against_no_other() {
    let story = Story::new();
    let leaves = story.leaves();
    for sealed in 1..=4usize {
        let at = Some(number(u32::try_from(sealed).unwrap()));
        let all: Vec<u32> = (1..=u32::try_from(sealed).unwrap()).collect();
        let made =
            disclose(&story.journal(), &story.index(), at, &numbers(&all), &DisclosureRequest::default()).unwrap();
        let read = Disclosure::parse(&made.to_text()).unwrap();
        assert_eq!(read, made);
        assert_eq!(read.check(None), []);
        for kept in 1..=4usize {
            let seal = Seal::over(&leaves[..kept]);
            for kept in [KeptSeal::from(seal), KeptSeal::from(seal.short())] {
                let (here, there) = (sealed as u64, seal.entries);
                let other = DisclosureFinding::OtherNumber { here, kept: there };
                assert_eq!(read.check(Some(&kept)), if here == there { vec![] } else { vec![other] });
            }
        }
        // As many entries, but others.
        let mut other = leaves.clone();
        other[0] = leaves[1];
        let other = KeptSeal::from(Seal::over(&other[..sealed]));
        assert_eq!(read.check(Some(&other)), [DisclosureFinding::OtherSeal]);
    }
}

#[test]
fn what_is_not_there_cannot_be_picked() {
    let story = Story::new();
    let refused = |entries: &[u32], until: u32, pick: &DisclosureRequest| {
        disclose(&story.journal(), &story.index(), Some(number(until)), &numbers(entries), pick).unwrap_err()
    };
    assert!(matches!(refused(&[], 4, &DisclosureRequest::default()), DiscloseError::NoEntries));
    let error = refused(&[3, 5], 4, &DisclosureRequest::default());
    assert!(matches!(error, DiscloseError::AfterSeal { number: n, sealed: 4 } if n == number(5)), "{error}");
    assert!(matches!(refused(&[4], 3, &DisclosureRequest::default()), DiscloseError::AfterSeal { sealed: 3, .. }));
    let error = refused(
        &[3, 4],
        4,
        &DisclosureRequest { modules: modules(&["body", "brakes"]), ..DisclosureRequest::default() },
    );
    assert_eq!(error.to_string(), "none of the chosen entries knows a module `brakes`");
    assert_eq!(error.hint().unwrap(), "these are known: body, climate");
    let error = refused(
        &[1, 2],
        4,
        &DisclosureRequest { modules: ModuleChoice::All, settings_only: true, ..DisclosureRequest::default() },
    );
    assert!(matches!(error, DiscloseError::Nothing(n) if n == number(1)), "{error}");
}

/// Mail programs turn line ends; contents are not touched by that.
#[test]
fn it_survives_other_line_ends() {
    let story = Story::new();
    let made = story.disclose(&[3], &DisclosureRequest { modules: ModuleChoice::All, ..DisclosureRequest::default() });
    let text = format!("\u{feff}{}", made.to_text().replace('\n', "\r\n"));
    assert_eq!(Disclosure::parse(&text), Ok(made));
}
