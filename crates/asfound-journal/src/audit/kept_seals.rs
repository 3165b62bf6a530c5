//! Holds a journal against seals that somebody kept.

use std::collections::BTreeSet;

use asfound_core::names::EntryNumber;

use super::{Audit, SupersededLine};
use crate::Digest;
use crate::seal::{KeptSeal, Seal};

/// How a journal stands to a seal that was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SealVerdict {
    /// The journal begins with the entries that were sealed, unaltered and in their order.
    Holds {
        /// How many entries were added since.
        added: u64,
    },
    /// The sealed entries are those of a line that is kept beside the journal, and every one of them stands in the journal with
    /// all that it says; from some number on, behind entries that another bench had filed at the same time.
    HoldsReplayed {
        /// How many of them, from the first on, have the place in which they were sealed.
        in_place: u64,
    },
    /// The journal has fewer entries than the seal is over: some were removed, or the seal is another journal's.
    Shorter {
        /// How many there are.
        here: u64,
    },
    /// The first entries are not those that were sealed: they were rewritten, or the seal is another journal's. Which of the
    /// two, nothing here can tell.
    DoesNotHold,
    /// The first entries are not those that were sealed, but a later seal holds, or this one is that of another journal of the
    /// garage: it is another journal's, or was misread.
    NotOfThisJournal,
    /// The entries cannot be read so far.
    CannotTell {
        /// How many can be read from the first on.
        readable: u64,
    },
}

impl SealVerdict {
    /// Whether it holds.
    pub fn holds(self) -> bool {
        matches!(self, Self::Holds { .. } | Self::HoldsReplayed { .. })
    }

    /// A word for programs, which does not change.
    pub fn word(self) -> &'static str {
        match self {
            Self::Holds { .. } => "holds",
            Self::HoldsReplayed { .. } => "holds-replayed",
            Self::Shorter { .. } => "shorter",
            Self::DoesNotHold => "does-not-hold",
            Self::NotOfThisJournal => "not-of-this-journal",
            Self::CannotTell { .. } => "cannot-tell",
        }
    }
}

/// A journal held against seals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SealComparison {
    /// Each seal and how the journal stands to it, by the number of entries.
    pub seals: Vec<(KeptSeal, SealVerdict)>,
    /// Where the first entry that is not the one that was sealed lies, where one is not and the seals are this journal's.
    pub differs: Option<DiffersWithin>,
    /// Entries that stand between sealed ones and are under none of the seals: of another line, put in between when lines were
    /// brought together.
    pub unsealed: Vec<EntryNumber>,
}

/// Between which seals the first entry lies that is not the one that was sealed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DiffersWithin {
    /// It comes after this entry; 0 where no seal holds.
    pub after: u64,
    /// It is this entry or one before it.
    pub until: u64,
}

impl Audit {
    /// Holds the journal against seals.
    ///
    /// A seal tells that an entry was rewritten, and not which; the more seals there are, the closer they tell it.
    pub fn against(&self, kept: &[KeptSeal]) -> SealComparison {
        let whole = self.leaves.len() == self.entries_checked as usize && self.findings.iter().all(|f| !f.severs());
        let mut seals: Vec<_> = kept.iter().map(|kept| (*kept, self.verdict(whole, kept))).collect();
        seals.sort_by_key(|(kept, _)| kept.entries());
        // A seal over another line says nothing of where this one was rewritten.
        let in_place = |verdict: &SealVerdict| matches!(verdict, SealVerdict::Holds { .. });
        let last_held = seals.iter().rfind(|(_, verdict)| in_place(verdict)).map(|(kept, _)| kept.entries());
        for (kept, verdict) in &mut seals {
            if *verdict == SealVerdict::DoesNotHold && last_held.is_some_and(|held| held >= kept.entries()) {
                *verdict = SealVerdict::NotOfThisJournal;
            }
        }
        let first = seals.iter().find(|(_, verdict)| *verdict == SealVerdict::DoesNotHold);
        let differs = first.map(|(kept, _)| DiffersWithin { after: last_held.unwrap_or(0), until: kept.entries() });
        let replayed = seals.iter().filter(|(_, verdict)| matches!(verdict, SealVerdict::HoldsReplayed { .. }));
        let lines = replayed.filter_map(|(kept, _)| Some((kept, self.line_under(kept)?)));
        let unsealed: BTreeSet<EntryNumber> = lines.flat_map(|(kept, line)| line.between(kept.entries())).collect();
        SealComparison { seals, differs, unsealed: unsealed.into_iter().collect() }
    }

    /// The line that is kept beside the journal and that a seal is over.
    fn line_under(&self, seal: &KeptSeal) -> Option<&SupersededLine> {
        self.kept.iter().find(|line| verdict(&line.leaves, true, seal).holds())
    }

    fn verdict(&self, whole: bool, seal: &KeptSeal) -> SealVerdict {
        let here = verdict(&self.leaves, whole, seal);
        if here.holds() {
            return here;
        }
        match self.line_under(seal) {
            Some(line) => SealVerdict::HoldsReplayed { in_place: line.shared.min(seal.entries()) },
            None => here,
        }
    }
}

fn verdict(leaves: &[Digest], whole: bool, kept: &KeptSeal) -> SealVerdict {
    let here = leaves.len() as u64;
    let sealed = usize::try_from(kept.entries()).ok().and_then(|entries| leaves.get(..entries));
    match sealed {
        Some(sealed) if kept.fits(&Seal::over(sealed)) => SealVerdict::Holds { added: here - kept.entries() },
        Some(_) => SealVerdict::DoesNotHold,
        None if whole => SealVerdict::Shorter { here },
        None => SealVerdict::CannotTell { readable: here },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Signatures;
    use crate::merkle::leaf;

    fn leaves(words: &str) -> Vec<Digest> {
        words.bytes().map(|byte| leaf(&[byte])).collect()
    }

    fn against(journal: &str, checked: u32, seals: &[&str]) -> SealComparison {
        let audit = Audit {
            tag: "wren".parse().unwrap(),
            entries_checked: checked,
            sound_until: None,
            lost_from: None,
            findings: Vec::new(),
            signatures: Signatures::default(),
            leaves: leaves(journal),
            kept: Vec::new(),
            replayed: false,
        };
        let kept: Vec<KeptSeal> = seals.iter().map(|words| Seal::over(&leaves(words)).into()).collect();
        let against = audit.against(&kept);
        let short: Vec<KeptSeal> = seals.iter().map(|words| Seal::over(&leaves(words)).short().into()).collect();
        let verdicts = |against: &SealComparison| against.seals.iter().map(|(_, verdict)| *verdict).collect::<Vec<_>>();
        assert_eq!(verdicts(&audit.against(&short)), verdicts(&against));
        against
    }

    #[test]
    fn seals_close_in_on_what_was_rewritten() {
        use SealVerdict::{CannotTell, DoesNotHold, Holds, NotOfThisJournal, Shorter};
        let verdicts = |against: SealComparison| {
            let words: Vec<SealVerdict> = against.seals.into_iter().map(|(_, verdict)| verdict).collect();
            (words, against.differs.map(|within| (within.after, within.until)))
        };
        let of = |journal, seals: &[&str]| verdicts(against(journal, 6, seals));
        assert_eq!(of("abcdef", &["abcdef", "abc"]), (vec![Holds { added: 3 }, Holds { added: 0 }], None));
        assert_eq!(of("abxdef", &["abc"]), (vec![DoesNotHold], Some((0, 3))));
        assert_eq!(
            of("abxdef", &["abcdef", "ab", "a", "abcd"]),
            (vec![Holds { added: 5 }, Holds { added: 4 }, DoesNotHold, DoesNotHold], Some((2, 4)))
        );
        assert_eq!(of("abcdef", &["xyz", "abcd"]), (vec![NotOfThisJournal, Holds { added: 2 }], None));
        assert_eq!(of("abcdef", &["abcdefg"]), (vec![Shorter { here: 6 }], None));
        // The last of six entries cannot be read.
        assert_eq!(of("abcde", &["abcdef"]), (vec![CannotTell { readable: 5 }], None));
    }
}
