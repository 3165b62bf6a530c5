//! Sheets, books and comparisons that are printed.

use asfound_tests::Workshop;
use asfound_tests::json::{BookWritten, Sheet};
use insta::assert_snapshot;

#[test]
fn a_sheet_is_written_three_ways_and_says_the_same() {
    let mut shop = Workshop::after_work();
    let first: Sheet = shop.json("handover wren --customer 'R. Quill' --out ./sheet.html");
    assert_eq!((first.found.entry, first.left.role.as_deref()), (2, Some("as-left")));
    assert_eq!(first.customer.as_deref(), Some("R. Quill"));
    assert!(first.changes.iter().all(|change| change.account == "as-recorded"), "{:#?}", first.changes);
    assert_eq!(first.totals.changed_otherwise, 0);
    assert!(first.totals.same > 0 && first.totals.bytes_compared > 0);
    let html = shop.text("sheet.html");
    assert!(html.contains(&first.number) && html.contains("R. Quill") && html.contains(&first.seal.full));
    let _ = shop.run("handover wren --out ./sheet.txt --language de").done();
    assert!(shop.text("sheet.txt").starts_with("Übergabeblatt"));
    let _ = shop.run("handover wren --out ./sheet.pdf --paper letter").done();
    assert!(std::fs::read(shop.folder().join("sheet.pdf")).unwrap().starts_with(b"%PDF-1.7"));
    // The customer's name goes into no journal.
    assert_eq!(shop.json::<asfound_tests::json::Entries>("entries wren").entries.len() as u64, first.seal.entries);
}

#[test]
fn the_seal_on_the_sheet_is_the_journals() {
    let mut shop = Workshop::after_work();
    let sheet: Sheet = shop.json("handover wren");
    assert_eq!(sheet.file, None);
    let _ = shop.run(&format!("audit wren --seal {}", sheet.seal.short)).done();
    let _ = shop.run(&format!("audit wren --seal {}", sheet.seal.full)).done();
}

#[test]
fn a_sheet_of_an_order() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run(
        "order open wren 2026-0412 --authorise body.lane_change_flashes=5 --authorise body.lock_by_horn=on \
         --consent 'owner, at the desk' --why 'five flashes; horn on locking'",
    );
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'as ordered'").done();
    let _ = shop.run("change wren body.lock_at_speed=on --why 'while at it'").done();
    let mut sheet: Sheet = shop.json("handover wren");
    let agreement = sheet.agreements.pop().expect("the open order");
    assert_eq!((agreement.order.as_str(), agreement.authorised.len()), ("2026-0412", 2));
    assert_eq!(agreement.asked.as_deref(), Some("five flashes; horn on locking"));
    let accounts: Vec<(&str, &str)> =
        sheet.changes.iter().map(|change| (change.field.as_str(), change.account.as_str())).collect();
    assert_eq!(accounts, [("body.lane_change_flashes", "as-authorised"), ("body.lock_at_speed", "without-authority")]);
    assert_eq!((sheet.undone[0].what.as_str(), sheet.undone[0].value.as_deref()), ("body.lock_by_horn", Some("on")));
    // Nothing was read since: nothing is said to be the same.
    assert_eq!((sheet.totals.same, sheet.totals.bytes_compared), (0, 0));
    let same: Sheet = shop.json("handover wren --order 2026-0412");
    assert_eq!(same.changes, sheet.changes);
    let none = shop.refused("handover wren --order 7");
    assert!(none.err.contains("it has 2026-0412"), "{none}");
}

#[test]
fn whose_sheet_it_is_stands_in_the_garages_settings() {
    let mut shop = Workshop::after_work();
    let own = shop.text("garage/garage.toml")
        + "\n[workshop]\nname = \"<b>Weir & Sons</b>\"\naddress = [\"3 Mill Lane\"]\nfooter = \"Open\"\nlanguage = \"de\"\n";
    shop.write("garage/garage.toml", &own);
    let _ = shop.run("handover wren --out ./sheet.html").done();
    let html = shop.text("sheet.html");
    assert!(html.contains("&lt;b&gt;Weir &amp; Sons&lt;/b&gt;") && !html.contains("<b>Weir"), "{html}");
    assert!(html.contains("<html lang=\"de\">"));
    shop.write("garage/garage.toml", own.replace("\"de\"", "\"tlh\""));
    assert_snapshot!(shop.refused("handover wren --out ./other.html"), @"
    $ asfound handover wren --out ./other.html
    --- standard error
    asfound: garage.toml: workshop.language: unknown language `tlh` (expected en or
             de)
    hint: write `en` or `de` there
    --- exit code 2
    ");
    shop.write("garage/garage.toml", own.replace("footer = \"Open\"", "logo = \"garage.toml\""));
    let refused = shop.refused("handover wren --out ./other.html");
    assert!(refused.err.contains("neither PNG nor JPEG"), "{refused}");
}

#[test]
fn a_book_and_a_comparison() {
    let mut shop = Workshop::after_work();
    let book: BookWritten = shop.json("logbook wren --out ./book.html");
    let html = shop.text("book.html");
    assert_eq!(html.matches("<div class=\"e f\"").count(), book.entries);
    assert_eq!(html.matches("<section class=\"life f\"").count(), book.life_lines);
    assert_eq!(html.len(), book.bytes);
    let _ = shop.run("compare wren 2 --out ./compared.html --language de").done();
    assert!(shop.text("compared.html").contains("<h1>Gegenüberstellung</h1>"));
}

#[test]
fn what_cannot_be_written_is_refused_before_anything_is() {
    let mut shop = Workshop::after_work();
    assert_snapshot!(shop.refused("handover wren --out ./sheet.docx"), @r"
    $ asfound handover wren --out ./sheet.docx
    --- standard error
    asfound: ./sheet.docx: the ending does not say what to write
    hint: end the name with .html, .pdf or .txt
    --- exit code 2
    ");
    assert!(shop.refused("logbook wren --out ./book.pdf").err.contains("a book is a page"));
    shop.write("there.html", "mine");
    assert!(shop.refused("handover wren --out ./there.html").err.contains("is there already"));
    assert_eq!(shop.text("there.html"), "mine");
    let nothing = shop.refused("handover wren --from 5 --to 3");
    assert!(nothing.err.contains("entry 3 does not come after entry 5"), "{nothing}");
    let mut bare = Workshop::new();
    let _ = bare.run("enrol avocet").done();
    assert!(bare.refused("handover avocet").err.contains("no reading was filed"));
}
