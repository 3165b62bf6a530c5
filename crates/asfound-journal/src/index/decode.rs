//! Reads what [`super::encode`] wrote. What is not of that form gives nothing.

#![allow(clippy::option_option, reason = "the outer one says whether it could be read, the inner one is what was read")]

use std::collections::BTreeMap;

use asfound_core::entry::{
    Author, Body, Correction, Effects, Entry, IdentityEffect, ModuleCoverage, ReadingBody, Reason, RecordEffect,
    StatedEffect, WorkBody,
};
use asfound_core::history::OneSetting;
use asfound_core::identity::Identity;
use asfound_core::moment::Precision;
use asfound_core::names::{EntryNumber, ModuleName, RecordName};
use asfound_core::value::HexBytes;
use serde::Deserialize;
use time::{OffsetDateTime, UtcOffset};

use super::codec::Decoder;
use super::encode::KINDS;
use crate::Digest;
use crate::entry_files::Chain;
use crate::journal::FiledEntry;
use crate::sign::SignedAs;
use crate::store::CommitId;

/// The entry. `peaks` are those of the entry before, and this entry's afterwards.
pub(super) fn decode(content: &[u8], peaks: &mut Vec<Digest>) -> Option<FiledEntry> {
    let mut read = Decoder(content);
    let commit = commit_id(read.fixed()?)?;
    let kind = kind(&mut read)?;
    let modules = modules(&mut read)?;
    let entry = entry(&mut read, kind, &modules, None)?;
    let signed = signature(&mut read)?;
    let (salt, replayed, source) = json(&mut read)?;
    let chain = chain(&mut read, peaks)?;
    read.0.is_empty().then_some(FiledEntry { commit, entry, chain, signed, salt, replayed, source })
}

/// What the entry says of modules whose identity differs, without what it says of anything else.
pub(super) fn identities(content: &[u8]) -> Option<Vec<IdentityEffect>> {
    let mut read = Decoder(content);
    let _: [u8; 20] = read.fixed()?;
    kind(&mut read)?;
    let mut names = read;
    for _ in 0..read.length()? {
        read.text()?;
    }
    head(&mut read)?;
    read.bytes()?;
    if read.0.first() == Some(&0) {
        return Some(Vec::new());
    }
    Parts { modules: &modules(&mut names)?, only: None }.identities(&mut read)
}

/// The part of the entry that bears on one setting; within, nothing where it says nothing of it.
pub(super) fn decode_part(content: &[u8], one: &OneSetting) -> Option<Option<Entry>> {
    let mut read = Decoder(content);
    let _: [u8; 20] = read.fixed()?;
    let kind = kind(&mut read)?;
    let count = read.length()?;
    let mut of_its_module = false;
    let mut after = read;
    for _ in 0..count {
        of_its_module |= after.text()? == one.module().as_str();
    }
    match kind {
        "enrolled" | "correction" => {}
        "reading" | "change" | "put-back" | "witness" if of_its_module => {}
        _ => return Some(None),
    }
    let modules: Vec<ModuleName> = (0..count).map(|_| read.text()?.parse().ok()).collect::<Option<_>>()?;
    Some(one.part_of(&entry(&mut read, kind, &modules, Some(one))?))
}

/// The commit of an entry, for whoever asks for nothing else.
pub(super) fn commit_of(content: &[u8]) -> Option<[u8; 20]> {
    content.first_chunk().copied()
}

pub(crate) fn commit_id(bytes: [u8; 20]) -> Option<CommitId> {
    let digits: Vec<u8> =
        bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]).map(|n| b"0123456789abcdef"[usize::from(n)]).collect();
    CommitId::try_from(String::from_utf8(digits).ok()?).ok()
}

fn kind(read: &mut Decoder<'_>) -> Option<&'static str> {
    KINDS.get(read.length()?).copied()
}

fn modules(read: &mut Decoder<'_>) -> Option<Vec<ModuleName>> {
    let count = read.length()?;
    (0..count).map(|_| read.text()?.parse().ok()).collect()
}

fn json<'b, T: Deserialize<'b>>(read: &mut Decoder<'b>) -> Option<T> {
    serde_json::from_slice(read.bytes()?).ok()
}

fn moment(read: &mut Decoder<'_>) -> Option<OffsetDateTime> {
    let (seconds, offset, nanoseconds) = (read.signed()?, read.signed()?, read.number()?);
    let offset = UtcOffset::from_whole_seconds(i32::try_from(offset).ok()?).ok()?;
    let at = OffsetDateTime::from_unix_timestamp(seconds).ok()?;
    at.replace_nanosecond(u32::try_from(nanoseconds).ok()?).ok()?.checked_to_offset(offset)
}

struct Head {
    number: EntryNumber,
    recorded: OffsetDateTime,
    happened: OffsetDateTime,
    precision: Precision,
    author: Author,
    why: Reason,
}

fn head(read: &mut Decoder<'_>) -> Option<Head> {
    let number = EntryNumber::new(u32::try_from(read.number()?).ok()?)?;
    let (recorded, happened) = (moment(read)?, moment(read)?);
    let precision = read.text()?.parse().ok()?;
    let name = read.text()?;
    let author = Author::new(name, read.maybe(Decoder::text)?).ok()?;
    let why = Reason::try_from(read.text()?.to_owned()).ok()?;
    Some(Head { number, recorded, happened, precision, author, why })
}

/// The entry, or as much of it as bears on one setting.
fn entry(read: &mut Decoder<'_>, kind: &str, modules: &[ModuleName], only: Option<&OneSetting>) -> Option<Entry> {
    let Head { number, recorded, happened, precision, author, why } = head(read)?;
    let rest = &mut Decoder(read.bytes()?);
    let parts = Parts { modules, only };
    let effects = parts.effects(read)?;
    let covered = parts.covered(read)?;
    let body = match kind {
        "enrolled" => Body::Enrolled(parse(rest)?),
        "reading" => Body::Reading(ReadingBody { effects, covered, ..parse(rest)? }),
        "change" => Body::Change(WorkBody { effects, ..parse(rest)? }),
        "put-back" => {
            let (of, work): (_, WorkBody) = parse(rest)?;
            Body::PutBack(of, WorkBody { effects, ..work })
        }
        "correction" => Body::Correction(Correction { effects, ..parse(rest)? }),
        "note" => Body::Note(parse(rest)?),
        "order-opened" => Body::OrderOpened(parse(rest)?),
        "order-extended" => Body::OrderExtended(parse(rest)?),
        "order-closed" => Body::OrderClosed(parse(rest)?),
        "witness" => Body::Witness(parse(rest)?),
        _ => return None,
    };
    Some(Entry { number, recorded, happened, precision, author, why, body })
}

fn parse<'b, T: Deserialize<'b>>(rest: &mut Decoder<'b>) -> Option<T> {
    serde_json::from_slice(rest.0).ok()
}

/// What is read of effects and covered modules.
struct Parts<'p> {
    modules: &'p [ModuleName],
    only: Option<&'p OneSetting>,
}

impl Parts<'_> {
    fn module(&self, read: &mut Decoder<'_>) -> Option<&ModuleName> {
        // It may stand behind the last byte of a length, so that its own limit is the number of modules.
        self.modules.get(usize::try_from(read.number()?).ok()?)
    }

    fn wants(&self, module: &ModuleName) -> bool {
        self.only.is_none_or(|one| one.module() == module)
    }

    fn identities(&self, read: &mut Decoder<'_>) -> Option<Vec<IdentityEffect>> {
        let mut identities = Vec::new();
        for _ in 0..read.length()? {
            let module = self.module(read)?;
            if self.wants(module) {
                let (found, left): (Identity, Identity) = json(read)?;
                identities.push(IdentityEffect { module: module.clone(), found, left });
            } else {
                read.bytes()?;
            }
        }
        Some(identities)
    }

    fn effects(&self, read: &mut Decoder<'_>) -> Option<Effects> {
        let mut effects = Effects { identities: self.identities(read)?, ..Effects::default() };
        for _ in 0..read.length()? {
            let module = self.module(read)?;
            let record = read.text()?;
            let (found, left) = (read.maybe(Decoder::bytes)?, read.bytes()?);
            if self.wants(module) {
                let record: RecordName = record.parse().ok()?;
                if self.only.is_none_or(|one| one.is_in(&record)) {
                    let (found, left) = (found.map(hex), hex(left));
                    effects.records.push(RecordEffect { module: module.clone(), record, found, left });
                }
            }
        }
        for _ in 0..read.length()? {
            let module = self.module(read)?;
            let setting = read.text()?;
            let (found, left) = (read.maybe(Decoder::text)?, read.maybe(Decoder::text)?);
            if self.wants(module) && self.only.is_none_or(|one| one.path().setting.as_str() == setting) {
                effects.stated.push(StatedEffect {
                    module: module.clone(),
                    setting: setting.parse().ok()?,
                    found: found.map(str::to_owned),
                    left: left.map(str::to_owned),
                });
            }
        }
        Some(effects)
    }

    fn covered(&self, read: &mut Decoder<'_>) -> Option<BTreeMap<ModuleName, ModuleCoverage>> {
        let mut all = BTreeMap::new();
        for _ in 0..read.length()? {
            let module = self.module(read)?;
            if self.wants(module) {
                all.insert(module.clone(), json(read)?);
            } else {
                read.bytes()?;
            }
        }
        Some(all)
    }
}

fn hex(bytes: &[u8]) -> HexBytes {
    HexBytes::from(bytes.to_vec())
}

fn signature(read: &mut Decoder<'_>) -> Option<Option<SignedAs>> {
    read.maybe(|read| {
        let (meaning, key) = json(read)?;
        Some(SignedAs { meaning, key })
    })
}

fn chain(read: &mut Decoder<'_>, peaks: &mut Vec<Digest>) -> Option<Chain> {
    let (entries, root) = (read.number()?, Digest::from(read.fixed::<32>()?));
    let same = usize::try_from(read.number()?).ok().filter(|same| *same <= peaks.len())?;
    let others = read.length()?;
    peaks.truncate(same);
    for _ in 0..others {
        peaks.push(Digest::from(read.fixed::<32>()?));
    }
    Some(Chain { entries, root, peaks: peaks.clone() })
}
