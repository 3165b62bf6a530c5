//! Fixed texts, each beside its translations.

use super::Language;

/// Declares [`Words`]: every line is a text in English and in German. A line without one of them does not compile.
macro_rules! words {
    ($($name:ident: $en:literal, $de:literal;)+) => {
        /// The fixed texts of one language.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(crate) struct Words {
            $(pub(crate) $name: &'static str,)+
        }

        const EN: Words = Words { $($name: $en,)+ };
        const DE: Words = Words { $($name: $de,)+ };

        #[cfg(test)]
        const NAMES: &[(&str, &str, &str)] = &[$((stringify!($name), $en, $de),)+];
    };
}

impl Language {
    /// The fixed texts.
    pub(crate) fn words(self) -> &'static Words {
        match self {
            Self::En => &EN,
            Self::De => &DE,
        }
    }
}

words! {
    // Titles
    sheet: "Handover sheet", "Übergabeblatt";
    book: "Vehicle book", "Fahrzeugbuch";
    comparison: "Comparison", "Gegenüberstellung";
    end: "End of sheet", "Ende des Blattes";
    sheet_number: "Sheet number", "Blattnummer";
    printed: "Printed", "Gedruckt";
    page: "Page", "Seite";
    of: "of", "von";

    // Parts of the sheet
    in_short: "In short", "Kurz gefasst";
    vehicle_and_conditions: "Vehicle and conditions", "Fahrzeug und Bedingungen";
    asked_and_agreed: "Asked for and agreed", "Auftrag und Zustimmung";
    work_done: "Work, in its order", "Arbeiten in ihrer Reihenfolge";
    on_trial: "On trial", "Erprobung";
    found_and_left: "As found, as left", "Vorher und nachher";
    not_touched: "What was examined", "Was geprüft wurde";
    hardware_and_software: "Control modules before and after", "Steuergeräte vorher und nachher";
    trouble_codes: "Trouble codes", "Fehlercodes";
    cautions: "Cautions and acknowledgements", "Hinweise und Bestätigungen";
    noticed: "Noticed, and not done", "Aufgefallen, nicht ausgeführt";
    amendments: "Amendments", "Berichtigungen";
    limits: "Limits of this sheet", "Grenzen dieses Blattes";
    signatures: "Who signed, in what meaning", "Wer unterschrieben hat, und wofür";
    seal: "Seal", "Siegel";
    how_to_check: "How to check this in ten years", "So lässt sich das in zehn Jahren prüfen";

    // The first page
    q_as_agreed: "Altered as you asked", "Geändert, wie Sie es wünschten";
    q_altered: "Altered by us", "Von uns geändert";
    q_afterwards: "Altered, and agreed to afterwards", "Geändert und erst danach vereinbart";
    q_recorded: "Altered without a work order", "Ohne Auftrag geändert";
    q_not_agreed: "Altered without your agreement", "Ohne Ihre Zustimmung geändert";
    q_not_recorded: "Altered, and not by recorded work", "Geändert, und nicht durch aufgezeichnete Arbeit";
    q_cannot_tell: "Different now; nobody can tell whether somebody altered it", "Jetzt anders; ob es jemand geändert hat, lässt sich nicht feststellen";
    q_not_done: "Asked for, not done", "Gewünscht, nicht ausgeführt";
    q_not_read: "Not read, or no answer", "Nicht ausgelesen oder keine Antwort";
    signed_and_sealed: "Signed and sealed", "Unterschrift und Siegel";
    before: "before", "vorher";
    after: "after", "nachher";
    nothing_else: "Nothing else was read both before and after.", "Sonst wurde nichts vorher und nachher ausgelesen.";
    nothing_here: "Nothing.", "Nichts.";
    not_known: "not known", "nicht bekannt";
    by_us_unagreed: "our work, not agreed to", "unsere Arbeit, nicht vereinbart";
    by_nobody_known: "not by recorded work", "nicht durch aufgezeichnete Arbeit";
    read_back_after: "read back afterwards", "danach ausgelesen und bestätigt";
    not_yet_read_back: "not read back yet", "danach noch nicht ausgelesen";
    no_answer: "nothing was read both before and after", "nicht vorher und nachher ausgelesen";
    not_read_twice: "not read both before and after", "nicht vorher und nachher ausgelesen";
    not_given: "refused by the module", "vom Steuergerät verweigert";
    unchanged: "Settings that stayed as they were", "Unveränderte Einstellungen";

    // Heads and labels
    vehicle: "Vehicle", "Fahrzeug";
    vin: "VIN", "FIN";
    about: "Description", "Beschreibung";
    customer: "Customer", "Kunde";
    workshop: "Workshop", "Werkstatt";
    licence: "Licence or approval", "Eintragung oder Anerkennung";
    order: "Work order", "Auftragsnummer";
    asked: "Asked for", "Gewünscht";
    estimate: "Estimate agreed to", "Kostenvoranschlag";
    authorised: "Authorised work", "Freigegebene Arbeiten";
    first_written: "first written as", "zuerst notiert als";
    withdrawn: "withdrawn", "zurückgezogen";
    consents: "Consent", "Zustimmung";
    systems: "Systems affected", "Betroffene Systeme";
    another_unit: "another unit or other software", "anderes Gerät oder andere Software";
    condition: "Condition", "Bedingung";
    as_found: "As found", "Vorher";
    as_left: "As left", "Nachher";
    entry: "Entry", "Eintrag";
    of_entry: "entry", "Eintrag";
    date_and_time: "Date and time", "Datum und Uhrzeit";
    reading: "Reading", "Auslesung";
    taken_by: "Taken by", "Ausgelesen von";
    tool: "Tool", "Werkzeug";
    odometer: "Odometer", "Kilometerstand";
    supply_voltage: "Supply voltage", "Versorgungsspannung";
    what: "What", "Was";
    by: "By", "Von";
    why: "Why", "Warum";
    setting: "Setting", "Einstellung";
    proven: "Proven", "Nachweis";
    accounted_for: "Accounted for", "Zuordnung";
    module: "Module", "Steuergerät";
    verdict: "Verdict at the points read", "Ergebnis an den gelesenen Stellen";
    bytes: "Bytes compared", "Bytes verglichen";
    volatile: "Volatile", "Flüchtig";
    undeclared: "Unnamed bits", "Bits ohne Namen";
    readings: "Readings", "Auslesungen";
    part_number: "Part number", "Teilenummer";
    hardware: "Hardware", "Hardware";
    software: "Software", "Software";
    serial: "Serial number", "Seriennummer";
    address: "Address", "Adresse";
    code: "Code", "Code";
    before_and_after: "Before and after", "Vorher und nachher";
    status: "Status", "Status";
    status_before: "before", "vorher";
    seen: "Seen in readings", "In Auslesungen";
    first: "first:", "zuerst:";
    last: "last:", "zuletzt:";
    stored_with_it: "Stored with it", "Dazu gespeichert";
    counted: "counted", "gezählt";
    freeze_frame: "freeze frame", "Umgebungsdaten";
    there_before: "there before and after", "vorher und nachher";
    new: "new", "neu";
    gone: "gone", "weg";
    head_there_before: "There before and after", "Vorher und nachher";
    head_new: "New", "Neu";
    head_gone: "Gone", "Weg";
    no_codes: "No codes", "Keine Codes";
    not_scanned: "Codes not read twice", "Nicht zweimal gelesen";
    work_of_entry: "Work of entry", "Arbeit aus Eintrag";
    trial_stands: "How it stands", "Stand";
    still_needed: "Still needed", "Noch nötig";
    trial_open: "on trial", "in Erprobung";
    trial_held: "held", "hat gehalten";
    trial_not_held: "did not hold", "hat nicht gehalten";
    trial_taken_over: "altered again by later work", "durch spätere Arbeit neu geändert";
    read_and_scan: "to be read, and its trouble codes, after a drive", "nach einer Fahrt auszulesen, samt Fehlercodes";
    read_after_drive: "to be read after a drive", "nach einer Fahrt auszulesen";
    scan_after_drive: "trouble codes to be read after a drive", "Fehlercodes nach einer Fahrt auszulesen";
    code_since: "trouble code since", "Fehlercode seitdem";
    code_of_unknown_age: "trouble code, age not known", "Fehlercode unbekannten Alters";
    system: "System", "System";
    name: "Name", "Name";
    grounds: "Grounds", "Begründung";
    meaning: "Meaning", "Bedeutung";
    signature: "Signature", "Unterschrift";
    corrects: "Corrects", "Berichtigt";
    original: "As it stood", "Ursprünglich";
    should_be: "As it should have been", "Richtig";
    short_form: "Short form", "Kurzform";
    full_form: "In full", "Vollständig";
    entries: "Entries", "Einträge";
    qr_caption: "The full seal as a QR code", "Das vollständige Siegel als QR-Code";
    qr_in_letters: "It can be scanned where no space is left between the lines.", "Er lässt sich lesen, wo zwischen den Zeilen kein Abstand bleibt.";

    // Values, kinds, verdicts
    on: "on", "ein";
    off: "off", "aus";
    no_meaning: "no meaning", "ohne Bedeutung";
    partial: "partial", "teilweise";
    no_reading: "no reading", "keine Auslesung";
    reading_as_found: "reading as found", "Auslesung vor der Arbeit";
    reading_as_left: "reading as left", "Auslesung nach der Arbeit";
    reading_check: "reading, check", "Auslesung zur Kontrolle";
    kind_enrolled: "enrolled", "angelegt";
    kind_change: "change", "Änderung";
    kind_put_back: "put back", "zurückgenommen";
    kind_correction: "correction", "Berichtigung";
    kind_note: "note", "Notiz";
    kind_order_opened: "order opened", "Auftrag eröffnet";
    kind_order_extended: "order extended", "Auftrag erweitert";
    kind_order_closed: "order closed", "Auftrag abgeschlossen";
    kind_witness: "bus log", "Busmitschnitt";
    kind_other: "entry", "Eintrag";
    never_made: "never made", "nie ausgeführt";
    as_authorised: "as authorised", "wie freigegeben";
    agreed_afterwards: "agreed to afterwards", "nachträglich freigegeben";
    withdrawn_since: "withdrawn by the customer afterwards", "vom Kunden nachträglich zurückgezogen";
    with_unit: "came with the module, as authorised", "kam mit dem Steuergerät, wie freigegeben";
    taken_back: "as before the order", "wie vor dem Auftrag";
    as_recorded: "recorded work", "aufgezeichnete Arbeit";
    without_authority: "done without authority", "ohne Freigabe ausgeführt";
    another_hand: "another hand", "nicht durch aufgezeichnete Arbeit";
    contradiction: "against what was recorded", "anders als aufgezeichnet";
    cannot_tell: "cannot tell whether it was altered", "ob verändert, ist nicht feststellbar";
    stated: "stated", "angegeben";
    read_back: "read back", "zurückgelesen";
    partly_witnessed: "witnessed in part by a bus log (mended)", "durch Busmitschnitt teilweise bezeugt (ergänzt)";
    witnessed: "witnessed by a bus log", "durch Busmitschnitt bezeugt";
    contradicted: "contradicted", "durch spätere Auslesung widerlegt";
    as_read: "as read", "ausgelesen";
    nothing_known: "nothing read", "nichts gelesen";
    codes_not_examined: "not read at both moments", "nicht zu beiden Zeitpunkten gelesen";
    meaning_made: "did this work", "hat dies ausgeführt";
    meaning_read: "took this reading", "hat dies ausgelesen";
    meaning_stated: "states that this is so", "gibt dies so an";
    meaning_released: "checked and released", "hat geprüft und freigegeben";
    signed_good: "signature holds, key trusted", "Signatur gültig, Schlüssel anerkannt";
    signed_for_another: "signed with another person's key, not the author's", "mit dem Schlüssel einer anderen Person unterschrieben";
    signed_unknown: "signature holds, key not known", "Signatur gültig, Schlüssel nicht bekannt";
    signed_bad: "SIGNATURE DOES NOT HOLD", "SIGNATUR UNGÜLTIG";
    signed_not: "name only, no signature by key", "nur Name, keine Signatur";
    authorised_not_done: "authorised, not done", "freigegeben, nicht ausgeführt";
    not_made: "planned, not made", "geplant, nicht ausgeführt";
    in_doubt: "begun; nobody knows whether it was made", "begonnen; ob ausgeführt, ist nicht bekannt";
    read_back_otherwise: "written; read back otherwise", "geschrieben; anders zurückgelesen";

    // Sentences
    note_well: "Note well", "Bitte beachten";
    no_order: "No work order belongs to this sheet.", "Zu diesem Blatt gehört kein Auftrag.";
    nothing_differs: "Nothing differs between the two readings at the points compared.", "Zwischen den beiden Auslesungen unterscheidet sich an den verglichenen Stellen nichts.";
    sign_workshop: "For the workshop: name, date, signature", "Für die Werkstatt: Name, Datum, Unterschrift";
    sign_customer: "Received by the customer: name, date, signature", "Erhalten, der Kunde: Name, Datum, Unterschrift";
    limit_points: "The verdicts cover the records that are listed in the journal, at the moments of the two readings. A module may hold more than it was asked for.", "Die Ergebnisse gelten für die im Journal aufgeführten Datensätze zu den Zeitpunkten der beiden Auslesungen. Ein Steuergerät kann mehr enthalten, als es gefragt wurde.";
    limit_answers: "What a module answered is taken as it was said; its program memory was not examined.", "Was ein Steuergerät geantwortet hat, wird so übernommen; sein Programmspeicher wurde nicht untersucht.";
    limit_signature: "A signature covers the work recorded here and nothing else; it claims no compliance with any rule.", "Eine Unterschrift gilt für die hier aufgezeichnete Arbeit und sonst nichts; die Einhaltung irgendeiner Vorschrift wird damit nicht behauptet.";
    nothing_compared: "Nothing was compared: no record was read at both moments.", "Es wurde nichts verglichen: kein Datensatz wurde zu beiden Zeitpunkten gelesen.";
    check_journal: "The seal stands for every entry of the journal, to the last byte and in its order. Keep this sheet; ask whoever has the journal for a copy of it, an ordinary git repository.", "Das Siegel steht für jeden Eintrag des Journals, bis aufs letzte Byte und in seiner Reihenfolge. Bewahren Sie dieses Blatt auf; erbitten Sie von dem, der das Journal hat, eine Kopie, ein gewöhnliches git-Repository.";
    check_by_hand: "Without the program: the format's description (docs/format.md of asfound) says how the seal follows from the entries; git and sha256sum are enough to work it out.", "Ohne das Programm: die Beschreibung des Formats (docs/format.md von asfound) sagt, wie das Siegel aus den Einträgen folgt; git und sha256sum genügen zum Nachrechnen.";

    // The book
    search: "Find as you type", "Suchen beim Tippen";
    search_hint: "setting, value, name, reason, number", "Einstellung, Wert, Name, Grund, Nummer";
    needs_script: "Searching on this page needs JavaScript; everything else works without. The browser's own search finds everything too.", "Das Suchen auf dieser Seite braucht JavaScript, alles andere nicht. Auch die Suche des Browsers findet alles.";
    life_lines: "Life lines", "Lebenslinien";
    life_lines_intro: "One line for each setting that ever changed. A step is a value, a tick on the base line a reading of it; the shape says how well each change is proven.", "Eine Linie für jede Einstellung, die sich je geändert hat. Eine Stufe ist ein Wert, ein Strich auf der Grundlinie eine Auslesung; die Form sagt, wie gut jede Änderung nachgewiesen ist.";
    nothing_changed: "No setting ever changed.", "Noch keine Einstellung hat sich geändert.";
    all_entries: "All entries", "Alle Einträge";
    steps: "All steps", "Alle Stufen";
    origin_first: "first known", "zuerst bekannt";
    now: "now", "jetzt";
    entries_found: "entries shown", "Einträge gezeigt";
    skip: "To the entries", "Zu den Einträgen";

    // Comparisons
    differences: "What differs", "Was sich unterscheidet";
    bytes_that_differ: "Records that differ", "Datensätze, die sich unterscheiden";
    records: "Records, module by module", "Datensätze je Steuergerät";
    record: "Record", "Datensatz";
    same: "Same", "Gleich";
    changed: "Changed", "Geändert";
    not_read: "Not read", "Nicht gelesen";
    refused: "Refused", "Verweigert";
    no_difference: "No setting differs.", "Keine Einstellung unterscheidet sich.";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_text_is_there_in_every_language() {
        for (name, en, de) in NAMES {
            assert!(!en.trim().is_empty() && !de.trim().is_empty(), "{name}");
            // A sentence in one language is a sentence in the other.
            assert_eq!(en.ends_with('.'), de.ends_with('.'), "{name}");
        }
        assert_ne!(Language::En.words(), Language::De.words());
    }
}
