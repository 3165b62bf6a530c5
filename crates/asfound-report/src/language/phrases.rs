//! Sentences with numbers in them: one arm for every language, so that none can be forgotten.

use asfound_core::entry::ReadingRole;
use asfound_core::safety::{GENERAL_CAUTIONS, SafetyTag};

use super::{Language, Numbers};
use crate::sheet::{SameCounts, Sheet, SheetLimit};

impl Language {
    /// `1 record`, `3 records`
    pub(crate) fn records(self, count: usize) -> String {
        self.counted(count, ("record", "records"), ("Datensatz", "Datensätze"))
    }

    /// The same after a preposition: `in 3 Datensätzen`.
    fn in_records(self, count: usize) -> String {
        self.counted(count, ("record", "records"), ("Datensatz", "Datensätzen"))
    }

    /// The same after a preposition: `aus 3 Steuergeräten`.
    fn of_modules(self, count: usize) -> String {
        self.counted(count, ("module", "modules"), ("Steuergerät", "Steuergeräten"))
    }

    /// `1 byte`, `3 bytes`
    pub(crate) fn bytes(self, count: usize) -> String {
        self.counted(count, ("byte", "bytes"), ("Byte", "Bytes"))
    }

    /// `1 bit`, `3 bits`
    fn bits(self, count: u32) -> String {
        self.counted(count as usize, ("bit", "bits"), ("Bit", "Bits"))
    }

    /// `1 module`, `3 modules`
    pub(crate) fn modules(self, count: usize) -> String {
        self.counted(count, ("module", "modules"), ("Steuergerät", "Steuergeräte"))
    }

    /// `1 entry`, `3 entries`
    pub(crate) fn entries(self, count: usize) -> String {
        self.counted(count, ("entry", "entries"), ("Eintrag", "Einträge"))
    }

    /// `1 change`, `3 changes`
    pub(crate) fn changes(self, count: usize) -> String {
        self.counted(count, ("difference", "differences"), ("Unterschied", "Unterschiede"))
    }

    /// `1 step`, `3 steps`
    fn steps(self, count: usize) -> String {
        self.counted(count, ("step", "steps"), ("Schritt", "Schritte"))
    }

    fn counted(self, count: usize, en: (&str, &str), de: (&str, &str)) -> String {
        let (one, many) = match self {
            Self::En => en,
            Self::De => de,
        };
        format!("{} {}", self.whole(count as u64), if count == 1 { one } else { many })
    }

    /// The verdict on records that are the same.
    pub(crate) fn same(self, records: usize, bytes: usize) -> String {
        let (records, bytes) = (self.records(records), self.bytes(bytes));
        match self {
            Self::En => format!("same: {records}, {bytes} compared"),
            Self::De => format!("gleich: {records}, {bytes} verglichen"),
        }
    }

    /// The verdict on records that changed as agreed.
    pub(crate) fn changed_as_agreed(self, records: usize, by_order: bool) -> String {
        let records = self.records(records);
        match (self, by_order) {
            (Self::En, true) => format!("changed as authorised: {records}"),
            (Self::En, false) => format!("changed as recorded: {records}"),
            (Self::De, true) => format!("geändert wie freigegeben: {records}"),
            (Self::De, false) => format!("geändert wie aufgezeichnet: {records}"),
        }
    }

    /// The verdict on records that changed otherwise.
    pub(crate) fn changed_otherwise(self, records: usize) -> String {
        let records = self.records(records);
        match self {
            Self::En => format!("changed otherwise: {records}"),
            Self::De => format!("anders geändert: {records}"),
        }
    }

    /// The verdict on records of whose differences nobody can tell what they are.
    pub(crate) fn cannot_tell(self, records: usize) -> String {
        let records = self.records(records);
        match self {
            Self::En => format!("cannot tell, setting or measured value: {records}"),
            Self::De => format!("nicht zu sagen, Einstellung oder Messwert: {records}"),
        }
    }

    /// The verdict on records that hold nothing to compare.
    pub(crate) fn only_volatile(self, records: usize) -> String {
        let records = self.records(records);
        match self {
            Self::En => format!("nothing but volatile bytes: {records}"),
            Self::De => format!("nur flüchtige Bytes: {records}"),
        }
    }

    /// The verdict on records that were not read at both moments.
    pub(crate) fn not_read(self, records: usize) -> String {
        let records = self.records(records);
        match self {
            Self::En => format!("not read at both moments: {records}"),
            Self::De => format!("nicht zu beiden Zeitpunkten gelesen: {records}"),
        }
    }

    /// The verdict on records that were refused.
    pub(crate) fn refused(self, records: usize) -> String {
        let records = self.records(records);
        match self {
            Self::En => format!("refused by the module: {records}"),
            Self::De => format!("vom Steuergerät verweigert: {records}"),
        }
    }

    /// `before 3, now 5`
    pub(crate) fn before_and_now(self, found: &str, left: &str) -> String {
        match self {
            Self::En => format!("before {found}, now {left}"),
            Self::De => format!("vorher {found}, jetzt {left}"),
        }
    }

    /// Bits that no definition names.
    pub(crate) fn unnamed_bits(self, bits: u32) -> String {
        let bits = self.bits(bits);
        match self {
            Self::En => format!("{bits} without a name"),
            Self::De => format!("{bits} ohne Namen"),
        }
    }

    /// That a list goes on.
    pub(crate) fn and_more(self, more: usize) -> String {
        let more = self.whole(more as u64);
        match self {
            Self::En => format!("and {more} more: see the pages behind"),
            Self::De => format!("und {more} weitere: siehe folgende Seiten"),
        }
    }

    /// Settings that were not read at both moments.
    pub(crate) fn settings_not_read(self, count: usize) -> String {
        let settings = self.counted(count, ("setting", "settings"), ("Einstellung", "Einstellungen"));
        format!("{settings} {}", self.words().not_read_twice)
    }

    /// What is said of everything that was read and is not named before.
    pub(crate) fn all_else(self, sheet: &Sheet<'_>, same: SameCounts) -> String {
        let SameCounts { settings, records, modules } = same;
        if settings + records == 0 {
            let nothing = sheet.totals.records_compared() == 0 && sheet.changes.is_empty();
            return (if nothing { self.words().nothing_compared } else { self.words().nothing_else }).to_owned();
        }
        let settings =
            (settings > 0).then(|| self.counted(settings, ("setting", "settings"), ("Einstellung", "Einstellungen")));
        let records = (records > 0).then(|| self.records(records));
        let what = settings.into_iter().chain(records).collect::<Vec<_>>();
        let left_out = sheet.totals.bytes_volatile > 0 || sheet.totals.records_moving > 0;
        match self {
            Self::En => format!(
                "Everything else that we read is as it was: {} in {}{}.",
                what.join(" and "),
                self.modules(modules),
                if left_out { "; counters and the like, which change by themselves, are left out" } else { "" }
            ),
            Self::De => format!(
                "Alles andere, was wir ausgelesen haben, ist unverändert: {} in {}{}.",
                what.join(" und "),
                self.of_modules(modules),
                if left_out { "; ausgenommen ist, was sich von selbst ändert, wie Zähler" } else { "" }
            ),
        }
    }

    /// What the sheet claims of what was not touched: exactly what was compared, and no more.
    pub(crate) fn claim(self, sheet: &Sheet<'_>) -> String {
        let totals = &sheet.totals;
        if totals.records_compared() == 0 {
            return self.words().nothing_compared.to_owned();
        }
        let (records, modules) = (self.records(totals.records_compared()), self.of_modules(totals.modules_compared));
        let (bytes, same) = (self.bytes(totals.bytes_compared), self.records(totals.same));
        let (from, to) = (sheet.found.entry, sheet.left.entry);
        let agreed = totals.changed_as_agreed;
        let by_order = sheet.is_judged_by_orders();
        let mut text = match self {
            Self::En => format!(
                "Between entry {from} and entry {to}, {records} of {modules}, {bytes}, were read at both moments and \
                 compared bit by bit. {same} {} the same.",
                if totals.same == 1 { "is" } else { "are" }
            ),
            Self::De => format!(
                "Zwischen Eintrag {from} und Eintrag {to} wurden {records} aus {modules}, {bytes}, zu beiden Zeitpunkten \
                 gelesen und Bit für Bit verglichen. {same} {} gleich.",
                if totals.same == 1 { "ist" } else { "sind" }
            ),
        };
        if agreed > 0 {
            let records = self.in_records(agreed);
            text.push_str(&match (self, by_order) {
                (Self::En, true) => format!(" In {records}, only bits differ that the authorised work listed here accounts for."),
                (Self::En, false) => format!(" In {records}, only bits differ that the recorded work listed here accounts for."),
                (Self::De, true) => format!(" In {records} unterscheiden sich nur Bits, die zu den hier aufgeführten freigegebenen Arbeiten gehören."),
                (Self::De, false) => format!(" In {records} unterscheiden sich nur Bits, die zu den hier aufgeführten Arbeiten gehören."),
            });
        }
        if totals.changed_otherwise > 0 {
            let records = self.in_records(totals.changed_otherwise);
            text.push_str(&match self {
                Self::En => format!(" In {records}, something differs that is not accounted for: see the table."),
                Self::De => format!(" In {records} unterscheidet sich etwas, das nicht zugeordnet ist: siehe Tabelle."),
            });
        }
        if totals.bytes_volatile > 0 {
            let bytes = self.bytes(totals.bytes_volatile);
            text.push_str(&match self {
                Self::En => format!(" Left out, as changing by themselves: {bytes}."),
                Self::De => format!(" Ausgelassen, weil von selbst veränderlich: {bytes}."),
            });
        }
        if totals.records_moving > 0 {
            let (bits, records) = (self.bits(totals.bits_moving), self.in_records(totals.records_moving));
            text.push_str(&match self {
                Self::En => format!(" Left out, as seen to change without a write: {bits} in {records}."),
                Self::De => format!(" Ausgelassen, weil ohne Schreiben verändert gesehen: {bits} in {records}."),
            });
        }
        if totals.records_unclear > 0 {
            let (bits, records) = (self.bits(totals.bits_unclear), self.in_records(totals.records_unclear));
            text.push_str(&match self {
                Self::En => format!(" In {records}, {bits} differ of which nobody can tell whether they are settings or measured values."),
                Self::De => format!(" In {records} unterscheiden sich {bits}, von denen niemand sagen kann, ob sie Einstellungen oder Messwerte sind."),
            });
        }
        let unread = totals.not_read + totals.refused;
        if unread > 0 {
            let records = self.records(unread);
            text.push_str(&match self {
                Self::En => format!(" Nothing is said of {records} not read at both moments or refused."),
                Self::De => {
                    let were = if unread == 1 { "wurde" } else { "wurden" };
                    format!(" {records} {were} nicht zu beiden Zeitpunkten gelesen oder verweigert; darüber sagt dieses Blatt nichts.")
                }
            });
        }
        text
    }

    /// A limit of the sheet, as a sentence.
    pub(crate) fn limit(self, limit: SheetLimit) -> String {
        match (self, limit) {
            (Self::En, SheetLimit::NotReadAsFound) => "The first moment is no reading as found.".to_owned(),
            (Self::De, SheetLimit::NotReadAsFound) => {
                "Der erste Zeitpunkt ist keine Auslesung vor der Arbeit.".to_owned()
            }
            (Self::En, SheetLimit::NotReadAsLeft) => {
                "The second moment is no reading as left: what was stated after the last reading is not proven."
                    .to_owned()
            }
            (Self::De, SheetLimit::NotReadAsLeft) => {
                "Der zweite Zeitpunkt ist keine Auslesung nach der Arbeit: was nach \
                 der letzten Auslesung angegeben wurde, ist nicht nachgewiesen."
                    .to_owned()
            }
            (Self::En, SheetLimit::Partial { entry }) => {
                format!("The reading of entry {entry} was meant to cover less than earlier ones.")
            }
            (Self::De, SheetLimit::Partial { entry }) => {
                format!("Die Auslesung von Eintrag {entry} sollte weniger umfassen als frühere.")
            }
            (Self::En, SheetLimit::RecordsNotRead { records }) => {
                format!("{} not read at both moments.", self.records(records))
            }
            (Self::De, SheetLimit::RecordsNotRead { records }) => {
                format!("{} nicht zu beiden Zeitpunkten gelesen.", self.records(records))
            }
            (Self::En, SheetLimit::RecordsRefused { records }) => {
                format!("{} that the module would not give.", self.records(records))
            }
            (Self::De, SheetLimit::RecordsRefused { records }) => {
                format!("{} vom Steuergerät nicht herausgegeben.", self.records(records))
            }
            (Self::En, SheetLimit::CodesNotExamined { modules }) => {
                format!("Trouble codes not read at both moments: {}.", self.modules(modules))
            }
            (Self::De, SheetLimit::CodesNotExamined { modules }) => {
                format!("Fehlercodes nicht zu beiden Zeitpunkten gelesen: {}.", self.modules(modules))
            }
            (Self::En, SheetLimit::NotReadBack { changes }) => {
                format!("Stated and not read back: {}.", self.changes(changes))
            }
            (Self::De, SheetLimit::NotReadBack { changes }) => {
                format!("Angegeben und nicht zurückgelesen: {}.", self.changes(changes))
            }
            (Self::En, SheetLimit::InDoubt { steps }) => {
                format!("In doubt and not read since: {}.", self.steps(steps))
            }
            (Self::De, SheetLimit::InDoubt { steps }) => {
                format!("Zweifelhaft und seither nicht gelesen: {}.", self.steps(steps))
            }
            (Self::En, SheetLimit::SignedForAnother { entries }) => {
                format!("{} signed with another person's key than the author's.", self.entries(entries))
            }
            (Self::De, SheetLimit::SignedForAnother { entries }) => {
                format!(
                    "{} mit dem Schlüssel einer anderen Person als des Autors unterschrieben.",
                    self.entries(entries)
                )
            }
            (Self::En, SheetLimit::LaterEntries { entries }) => {
                format!("{} filed later not covered by this sheet.", self.entries(entries))
            }
            (Self::De, SheetLimit::LaterEntries { entries }) => {
                format!("{} später abgelegt, von diesem Blatt nicht erfasst.", self.entries(entries))
            }
        }
    }

    /// The cautions that go with every change.
    pub(crate) fn general_cautions(self) -> [&'static str; 4] {
        match self {
            Self::En => GENERAL_CAUTIONS,
            Self::De => [
                "Fahrzeug steht, Zündung ein, Motor aus, Versorgungsspannung gestützt; einen Schreibvorgang nicht unterbrechen.",
                "Die Vorschriften des Fahrzeugherstellers und das örtliche Recht gehen vor.",
                "Rückhaltesysteme, Bremse, Lenkung, Wegfahrsperre, Abgas- und Hochvoltsysteme sind Sache ausgebildeter Fachleute.",
                "Den Datensatz nach dem Schreiben zurücklesen und die Auslesung ablegen.",
            ],
        }
    }

    /// A kind of system.
    pub(crate) fn system(self, tag: SafetyTag) -> &'static str {
        if self == Self::En {
            return tag.as_str();
        }
        match tag {
            SafetyTag::Comfort => "Komfort",
            SafetyTag::Display => "Anzeige",
            SafetyTag::Climate => "Klima",
            SafetyTag::Locking => "Verriegelung",
            SafetyTag::Audible => "akustische Signale",
            SafetyTag::Lighting => "Beleuchtung",
            SafetyTag::Visibility => "Sicht",
            SafetyTag::DriverAssistance => "Fahrerassistenz",
            SafetyTag::Powertrain => "Antrieb",
            SafetyTag::Emissions => "Abgas",
            SafetyTag::Steering => "Lenkung",
            SafetyTag::Braking => "Bremse",
            SafetyTag::Restraint => "Rückhaltesysteme",
            SafetyTag::Immobiliser => "Wegfahrsperre",
            SafetyTag::HighVoltage => "Hochvolt",
        }
    }

    /// The line that says which command holds the journal against the seal.
    pub(crate) fn check_with(self, command: &str) -> String {
        match self {
            Self::En => {
                format!("With the program: {command} answers whether the entries that were sealed are still the same.")
            }
            Self::De => {
                format!("Mit dem Programm: {command} antwortet, ob die versiegelten Einträge noch dieselben sind.")
            }
        }
    }

    /// A kind of entry, as the journal names it.
    pub(crate) fn kind(self, kind: &str) -> &'static str {
        let words = self.words();
        match kind {
            "enrolled" => words.kind_enrolled,
            "reading" => words.reading,
            "change" => words.kind_change,
            "put-back" => words.kind_put_back,
            "correction" => words.kind_correction,
            "note" => words.kind_note,
            "order-opened" => words.kind_order_opened,
            "order-extended" => words.kind_order_extended,
            "order-closed" => words.kind_order_closed,
            "witness" => words.kind_witness,
            _ => words.kind_other,
        }
    }

    /// A reading, by why it was taken.
    pub(crate) fn reading(self, role: ReadingRole) -> &'static str {
        let words = self.words();
        match role {
            ReadingRole::AsFound => words.reading_as_found,
            ReadingRole::AsLeft => words.reading_as_left,
            ReadingRole::Check => words.reading_check,
        }
    }

    /// What the seal is over.
    pub(crate) fn sealed(self, entries: u64) -> String {
        let entries = self.entries(usize::try_from(entries).unwrap_or(usize::MAX));
        match self {
            Self::En => format!("Over {entries}, as the journal stood when this was printed."),
            Self::De => format!("Über {entries}, so wie das Journal beim Drucken war."),
        }
    }
}
