//! Writes an entry compactly.
//!
//! In the order in which a reader that looks for one setting can stop: the commit, the kind, the modules that the entry
//! says something of; then the entry; last what ties it to the entries before. Of the chain only what differs from the
//! entry before is written. What the entry holds besides effects and covered modules is JSON, as `entry.toml` has it.

use std::collections::BTreeSet;

use asfound_core::entry::{
    Body, Correction, Effects, Entry, IdentityEffect, ModuleCoverage, ReadingBody, RecordEffect, StatedEffect, WorkBody,
};
use asfound_core::names::ModuleName;
use serde::Serialize;
use time::OffsetDateTime;

use super::codec::Encoder;
use crate::Digest;
use crate::entry_files::Chain;
use crate::journal::FiledEntry;
use crate::sign::SignedAs;

/// To be raised when entries are written otherwise, or mean something else: older files are made anew then.
pub(super) const VERSION: u32 = 5;

/// The number that stands for a kind of entry.
pub(super) const KINDS: [&str; 10] = [
    "enrolled",
    "reading",
    "change",
    "put-back",
    "correction",
    "note",
    "order-opened",
    "order-extended",
    "order-closed",
    "witness",
];

/// An entry as it stands in the index. `peaks` are those of the entry before, and this entry's afterwards.
///
/// Nothing where it cannot be written, which no entry of a journal is known to bring about.
pub(super) fn encode(filed: &FiledEntry, peaks: &mut Vec<Digest>) -> Option<Vec<u8>> {
    // Named one by one, here and below, so that what an entry gains is not forgotten.
    let FiledEntry { commit, entry, chain, signed, salt, replayed, source } = filed;
    let mut out = Encoder::default();
    out.fixed(&id_bytes(commit.as_str())?);
    let kind = KINDS.iter().position(|kind| *kind == entry.body.kind())?;
    out.length(kind);
    let modules = Modules::of(entry);
    out.length(modules.0.len());
    modules.0.iter().for_each(|module| out.text(module.as_str()));
    head(&mut out, entry);
    rest(&mut out, &entry.body)?;
    effects(&mut out, entry.body.effects().unwrap_or(&Effects::default()), &modules)?;
    let covered = covered_by(entry);
    out.length(covered.len());
    for (module, covered) in covered {
        out.length(modules.place(module)?);
        json(&mut out, covered)?;
    }
    signature(&mut out, signed.as_ref())?;
    json(&mut out, &(salt, replayed, source))?;
    self::chain(&mut out, chain, peaks);
    Some(out.0)
}

/// The 20 bytes of an id.
pub(crate) fn id_bytes(id: &str) -> Option<[u8; 20]> {
    let mut bytes = [0; 20];
    for (at, byte) in bytes.iter_mut().enumerate() {
        *byte = u8::from_str_radix(id.get(2 * at..2 * at + 2)?, 16).ok()?;
    }
    Some(bytes)
}

/// The modules that an entry says something of, sorted.
struct Modules<'e>(Vec<&'e ModuleName>);

impl<'e> Modules<'e> {
    fn of(entry: &'e Entry) -> Self {
        let mut names: BTreeSet<&ModuleName> = covered_by(entry).map(|(module, _)| module).collect();
        let late = entry.body.work().map(|work| &work.late);
        for effects in entry.body.effects().into_iter().chain(late) {
            names.extend(effects.identities.iter().map(|effect| &effect.module));
            names.extend(effects.records.iter().map(|effect| &effect.module));
            names.extend(effects.stated.iter().map(|effect| &effect.module));
        }
        if let Body::Witness(witness) = &entry.body {
            names.extend(witness.writes.iter().map(|write| &write.module));
        }
        Self(names.into_iter().collect())
    }

    fn place(&self, module: &ModuleName) -> Option<usize> {
        self.0.binary_search(&module).ok()
    }
}

fn covered_by(entry: &Entry) -> impl ExactSizeIterator<Item = (&ModuleName, &ModuleCoverage)> {
    static NOTHING: std::collections::BTreeMap<ModuleName, ModuleCoverage> = std::collections::BTreeMap::new();
    match &entry.body {
        Body::Reading(reading) => reading.covered.iter(),
        _ => NOTHING.iter(),
    }
}

fn json(out: &mut Encoder, value: &impl Serialize) -> Option<()> {
    out.bytes(&serde_json::to_vec(value).ok()?);
    Some(())
}

fn moment(out: &mut Encoder, at: OffsetDateTime) {
    out.signed(at.unix_timestamp());
    out.signed(i64::from(at.offset().whole_seconds()));
    out.number(u64::from(at.nanosecond()));
}

fn head(out: &mut Encoder, entry: &Entry) {
    let Entry { number, recorded, happened, precision, author, why, body: _ } = entry;
    out.number(u64::from(number.get()));
    moment(out, *recorded);
    moment(out, *happened);
    out.text(precision.as_str());
    out.text(author.name());
    out.maybe(author.email(), Encoder::text);
    out.text(why.as_str());
}

/// What the body holds besides effects and covered modules: whatever fields it has, as JSON has them, so that a new one
/// comes along by itself and an older program, which does not know it, makes nothing of it.
fn rest(out: &mut Encoder, body: &Body) -> Option<()> {
    let bare = |work: &WorkBody| WorkBody { effects: Effects::default(), ..work.clone() };
    match body {
        Body::Enrolled(vehicle) => json(out, vehicle),
        Body::Reading(reading) => {
            let (covered, effects) = Default::default();
            json(out, &ReadingBody { covered, effects, ..reading.clone() })
        }
        Body::Change(work) => json(out, &bare(work)),
        Body::PutBack(of, work) => json(out, &(of, bare(work))),
        Body::Correction(correction) => json(out, &Correction { effects: Effects::default(), ..correction.clone() }),
        Body::Note(about) => json(out, about),
        Body::OrderOpened(terms) | Body::OrderExtended(terms) => json(out, terms),
        Body::OrderClosed(number) => json(out, number),
        Body::Witness(witness) => json(out, witness),
    }
}

fn effects(out: &mut Encoder, effects: &Effects, modules: &Modules<'_>) -> Option<()> {
    let Effects { identities, records, stated } = effects;
    out.length(identities.len());
    for IdentityEffect { module, found, left } in identities {
        out.length(modules.place(module)?);
        json(out, &(found, left))?;
    }
    out.length(records.len());
    for RecordEffect { module, record, found, left } in records {
        out.length(modules.place(module)?);
        out.text(&record.to_string());
        out.maybe(found.as_ref(), |out, found| out.bytes(found.as_slice()));
        out.bytes(left.as_slice());
    }
    out.length(stated.len());
    for StatedEffect { module, setting, found, left } in stated {
        out.length(modules.place(module)?);
        out.text(setting.as_str());
        out.maybe(found.as_deref(), Encoder::text);
        out.maybe(left.as_deref(), Encoder::text);
    }
    Some(())
}

fn signature(out: &mut Encoder, signed: Option<&SignedAs>) -> Option<()> {
    out.0.push(u8::from(signed.is_some()));
    signed.map_or(Some(()), |SignedAs { meaning, key }| json(out, &(meaning, key)))
}

/// The chain, of whose peaks only those that the entry before has not.
fn chain(out: &mut Encoder, chain: &Chain, peaks: &mut Vec<Digest>) {
    let Chain { entries, root, peaks: now } = chain;
    out.number(*entries);
    out.fixed(root.as_bytes());
    let same = peaks.iter().zip(now).take_while(|(before, now)| before == now).count();
    out.length(same);
    out.length(now.len() - same);
    now[same..].iter().for_each(|peak| out.fixed(peak.as_bytes()));
    peaks.clone_from(now);
}
