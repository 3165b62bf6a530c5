//! One entry after the other: calls every check in turn, and keeps what one entry hands on to the next.

use asfound_core::entry::{Entry, Vehicle};
use asfound_core::names::{EntryNumber, Tag};

use super::acknowledged;
use super::agreement;
use super::chain_state::ChainState;
use super::commit_line::LineCommit;
use super::commit_text::CommitText;
use super::derived::DerivedFiles;
use super::files::{CurrentFiles, VEHICLE_PATH, unread};
use super::fold::StateFold;
use super::pinned::PinnedDefinitions;
use super::reader::{ENTRY_PATH, EntryFiles};
use super::recording_times::RecordingTimes;
use super::{Audit, ChainFault, Finding, FindingKind, Signatures, VehicleFault};
use crate::Digest;
use crate::entry_files::{Chain, EntryFile, EntryFileError, ReplayOrigin, Salt, VehicleFile, VehicleFileError};
use crate::index::IndexComparison;
use crate::journal::FiledEntry;
use crate::sign::SignedAs;
use crate::store::{CommitId, StoreError};

/// Goes through a journal.
pub(super) struct Auditor {
    outcome: Audit,
    /// The number that the next entry should have; nothing where the entries before cannot be reached.
    expected: Option<EntryNumber>,
    /// Whether the entries before the first that can be reached cannot be.
    severed: bool,
    /// The number of every entry so far, as stated or as expected.
    numbers: Vec<Option<EntryNumber>>,
    /// The first entry that cannot be relied on, as an index into these.
    lost: Option<usize>,
    /// Whether the files of the entry before could not be listed.
    unlisted: bool,
    /// What was found in the entry before.
    before: Vec<FindingKind>,
    files: CurrentFiles,
    pinned: PinnedDefinitions,
    vehicle: Option<Vehicle>,
    chained: ChainState,
    order: RecordingTimes,
    /// Nothing once an entry could not be read: the state after it is not known.
    fold: Option<StateFold>,
    derived: DerivedFiles,
    /// Nothing where there is no index beside the journal.
    index: Option<IndexComparison>,
}

/// An entry as far as it could be read.
struct ParsedEntry {
    chain: Chain,
    signed: Option<SignedAs>,
    salt: Salt,
    replayed: Option<ReplayOrigin>,
    source: Option<Digest>,
    entry: Option<Entry>,
}

impl ParsedEntry {
    /// The entry as it is read from the journal, where it could be.
    fn filed(self, commit: &CommitId) -> Option<FiledEntry> {
        let Self { chain, signed, salt, replayed, source, entry } = self;
        Some(FiledEntry { commit: commit.clone(), entry: entry?, chain, signed, salt, replayed, source })
    }
}

impl Auditor {
    /// At the start of a journal, or where it is cut off.
    pub(super) fn new(tag: &Tag, severed: Option<StoreError>) -> Self {
        let tag = tag.clone();
        let cut = severed.is_some();
        let findings = severed.map(|error| Finding::new(None, None, unread(error, None))).into_iter().collect();
        let outcome = Audit {
            tag,
            entries_checked: 0,
            sound_until: None,
            lost_from: None,
            findings,
            signatures: Signatures::default(),
            leaves: Vec::new(),
            kept: Vec::new(),
            replayed: false,
        };
        Self {
            outcome,
            expected: (!cut).then_some(EntryNumber::FIRST),
            severed: cut,
            numbers: Vec::new(),
            lost: None,
            unlisted: false,
            before: Vec::new(),
            files: CurrentFiles::default(),
            pinned: PinnedDefinitions::default(),
            vehicle: None,
            chained: if cut { ChainState::unknown() } else { ChainState::start() },
            order: RecordingTimes::default(),
            fold: (!cut).then(StateFold::default),
            derived: DerivedFiles::default(),
            index: None,
        }
    }

    /// The same beside an index, which is held against the entries.
    pub(super) fn beside(mut self, index: IndexComparison) -> Self {
        self.index = (!self.severed).then_some(index);
        self
    }

    /// Checks the next entry.
    pub(super) fn entry(&mut self, link: &LineCommit, read: Result<EntryFiles, StoreError>) {
        let mut findings = Vec::new();
        self.unlisted = read.is_err();
        let number = match read {
            Ok(turned) => self.check(&link.id, turned, &mut findings),
            Err(error) => {
                findings.push(unread(error, None));
                self.chained.push(None, None);
                self.fold = None;
                self.compare(&link.id, None);
                self.expected
            }
        };
        self.take_down(&link.id, number, findings);
        self.expected = number.and_then(EntryNumber::next);
    }

    /// Holds the index against the next entry.
    fn compare(&mut self, commit: &CommitId, words: Option<ParsedEntry>) {
        let Some(index) = &mut self.index else { return };
        let place = u32::try_from(self.numbers.len() + 1).ok().and_then(EntryNumber::new);
        if let Some(place) = place {
            index.entry(commit, place, words.and_then(|words| words.filed(commit)).as_ref());
        }
    }

    /// Whether the files of the last entry could not be listed.
    pub(super) fn is_lost(&self) -> bool {
        self.unlisted
    }

    /// What it all comes to.
    pub(super) fn finish(mut self) -> Audit {
        self.outcome.entries_checked = u32::try_from(self.numbers.len()).unwrap_or(u32::MAX);
        let sound = self.lost.unwrap_or(self.numbers.len());
        if self.severed {
            // Even what the first that can be reached says of those before it cannot be checked.
            self.outcome.lost_from = self.outcome.findings.first().and_then(|finding| finding.entry);
        } else {
            self.outcome.sound_until = sound.checked_sub(1).and_then(|last| self.numbers[last]);
            self.outcome.lost_from = self.numbers.get(sound).copied().flatten();
        }
        let differs = self.index.as_ref().and_then(IndexComparison::differs);
        let finding = differs.map(|entry| Finding::new(Some(entry), None, FindingKind::Index));
        self.outcome.findings.extend(finding);
        self.outcome
    }

    /// Takes down what was found in an entry, unless the entry before had it just the same.
    fn take_down(&mut self, id: &CommitId, number: Option<EntryNumber>, mut findings: Vec<FindingKind>) {
        let at = self.numbers.len();
        self.numbers.push(number);
        if at == 0 && self.severed {
            self.outcome.findings[0].entry = number.and_then(|first| EntryNumber::new(first.get() - 1));
            findings.insert(0, FindingKind::Severed);
        }
        for (index, what) in findings.iter().enumerate() {
            if what.level().costs_trust() {
                // Which of the two it is cannot be told; the earlier one is not what somebody built upon.
                let earlier = matches!(what, FindingKind::Chain(ChainFault::Earlier { .. }));
                let lost = if earlier { at.saturating_sub(1) } else { at };
                self.lost = Some(self.lost.map_or(lost, |before| before.min(lost)));
            }
            if !self.before.contains(what) && !findings[..index].contains(what) {
                self.outcome.findings.push(Finding::new(number, Some(id), what.clone()));
            }
        }
        self.before = findings;
    }

    /// Every check of an entry whose files could be listed. Hands back its number.
    fn check(&mut self, id: &CommitId, turned: EntryFiles, findings: &mut Vec<FindingKind>) -> Option<EntryNumber> {
        let text = CommitText::parse(&turned.text).expect("the walk along the line has parsed it");
        findings.extend(agreement::check_head(&text));
        findings.extend(self.files.turn(turned.whole, turned.changes));
        let leaf = self.files.check(findings);
        self.check_vehicle(findings);
        let words = self.words(turned.words, findings);
        self.outcome.replayed |= words.as_ref().is_some_and(|words| words.replayed.is_some());
        let entry = words.as_ref().and_then(|words| words.entry.as_ref());

        let signed = words.as_ref().and_then(|words| words.signed.as_ref());
        let author = entry.map(|entry| &entry.author);
        findings.extend(self.outcome.signatures.check(turned.signature, signed, author));

        let number = entry.map(|entry| entry.number).or(self.expected);
        if let (Some(number), Some(expected)) = (number, self.expected)
            && number != expected
        {
            findings.push(FindingKind::Number { expected });
        }
        findings.extend(self.files.check_names(number.unwrap_or(EntryNumber::FIRST)));

        let chain = words.as_ref().map(|words| &words.chain);
        let before = self.numbers.last().copied().flatten().unwrap_or(EntryNumber::FIRST);
        let fault = chain.and_then(|chain| self.chained.check(chain, before));
        findings.extend(fault.map(FindingKind::Chain));
        let hash = self.chained.push(chain, leaf.as_deref());
        if !self.severed && self.outcome.leaves.len() == self.numbers.len() {
            self.outcome.leaves.extend(hash);
        }

        let changed = self.pinned.turn(&self.files, findings);
        match entry {
            Some(entry) => {
                findings.extend(agreement::check(&text, entry));
                findings.extend(self.order.check(entry));
                self.check_state(entry, changed, findings);
            }
            None => self.fold = None,
        }
        self.compare(id, words);
        number
    }

    /// `vehicle.toml` is written with the first entry and kept.
    fn check_vehicle(&mut self, findings: &mut Vec<FindingKind>) {
        let Some(bytes) = self.files.content(VEHICLE_PATH) else { return };
        let first = self.numbers.is_empty();
        match VehicleFile::parse(&String::from_utf8_lossy(bytes)) {
            Ok(file) => {
                let vehicle = file.into_vehicle();
                if vehicle.tag != self.outcome.tag {
                    findings.push(FindingKind::Vehicle(VehicleFault::Other(vehicle.tag.clone())));
                } else if !first {
                    findings.push(FindingKind::Vehicle(VehicleFault::Altered));
                }
                self.vehicle = Some(vehicle);
            }
            Err(VehicleFileError::Version(format)) if format.starts_with("asfound-vehicle/") => {
                findings.push(FindingKind::NewerFormat { path: VEHICLE_PATH.to_owned(), format });
            }
            Err(error) => findings.push(FindingKind::Vehicle(VehicleFault::Form(error.to_string()))),
        }
    }

    /// What `entry.toml` says.
    fn words(
        &self,
        read: Option<Result<EntryFile, EntryFileError>>,
        findings: &mut Vec<FindingKind>,
    ) -> Option<ParsedEntry> {
        let form = |error: EntryFileError| match error {
            EntryFileError::Version(format) if format.starts_with("asfound-entry/") => {
                FindingKind::NewerFormat { path: ENTRY_PATH.to_owned(), format }
            }
            error => FindingKind::EntryFile(error.to_string()),
        };
        // Where it is that of the entry before, nobody has parsed it for this one.
        let file = match read {
            Some(file) => file,
            None => EntryFile::parse(&String::from_utf8_lossy(self.files.content(ENTRY_PATH)?)),
        };
        let file = match file {
            Ok(file) => file,
            Err(error) => {
                findings.push(form(error));
                return None;
            }
        };
        let (chain, signed) = (file.chain().clone(), file.signed());
        let (salt, replayed, source) = (file.salt().clone(), file.stood_before().cloned(), file.source());
        let entry = match file.into_entry(|| self.vehicle.clone()) {
            Ok(entry) => Some(entry),
            // An enrolment without its vehicle, which was named already.
            Err(EntryFileError::Kind(kind)) if kind == "enrolled" && self.vehicle.is_none() => None,
            Err(error) => {
                findings.push(form(error));
                None
            }
        };
        Some(ParsedEntry { chain, signed, salt, replayed, source, entry })
    }

    /// Moves the state on, and holds what follows from it against the files.
    fn check_state(&mut self, entry: &Entry, changed: bool, findings: &mut Vec<FindingKind>) {
        let Some(fold) = &mut self.fold else { return };
        findings.extend(fold.push(entry).map(FindingKind::Misfit));
        findings.extend(acknowledged::check(entry, fold.state(), &self.pinned));
        self.derived.check_modules(entry, fold.state(), &self.files, (&self.pinned, changed), findings);
        self.derived.check_codes(entry, fold.state(), &self.files, findings);
    }
}
