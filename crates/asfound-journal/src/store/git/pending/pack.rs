//! Writes objects into one pack (gitformat-pack, version 2).
//!
//! What an object has in common with the one it is like is not written again: with the file of the entry before that lies at the
//! same place. A packer that knows nothing of the objects has to look for what is similar among all of them, which takes longer
//! than everything else about filing them.

use std::collections::HashMap;
use std::io::Write;
use std::path::Path;
use std::thread;

use git2::{Indexer, ObjectType, Oid};
use sha1::{Digest, Sha1};

use super::super::object_error::refused;
use super::super::packs;
use super::super::zlib::Deflater;
use super::delta::delta;
use super::{PendingObject, PendingObjects};
use crate::store::StoreError;

/// How many objects are handed to the library at a time.
const PORTION: usize = 4_096;
/// What the format calls an object that is told by means of one before it, at a distance.
const BY_DISTANCE: u8 = 6;

impl PendingObjects {
    /// Writes a pack with its index into an empty folder, where no program looks for packs.
    ///
    /// The library takes every object out of the pack again to index it. What it finds is held against what there was to write.
    ///
    /// # Errors
    /// When the disk refuses, or the pack gives something else.
    pub(in super::super) fn write_pack(&self, folder: &Path) -> Result<(), StoreError> {
        let failed = |error: git2::Error| refused("write a pack", &error);
        let disk = |source| StoreError::Disk { doing: "write a pack into", path: folder.to_owned(), source };
        let damaged = |detail: &str| StoreError::Damaged {
            object: "the pack that was just written".to_owned(),
            detail: detail.to_owned(),
        };
        let count = u32::try_from(self.order.len()).map_err(|_| damaged("it has too many objects"))?;
        let mut indexer = Indexer::new(None, folder, 0o444, false).map_err(failed)?;
        let mut hash = Sha1::new();
        let mut bytes = [&b"PACK"[..], &2_u32.to_be_bytes(), &count.to_be_bytes()].concat();
        let mut written = 0;
        let mut places: HashMap<Oid, u64> = HashMap::with_capacity(self.order.len());
        for portion in self.order.chunks(PORTION) {
            for (id, form) in portion.iter().zip(forms(&self.objects, portion)) {
                let place = written + bytes.len() as u64;
                let base = form.delta_base.and_then(|delta_base| places.get(&delta_base));
                form.put(base.map(|base| place - base), &mut bytes);
                places.insert(*id, place);
            }
            hash.update(&bytes);
            indexer.write_all(&bytes).map_err(disk)?;
            written += bytes.len() as u64;
            bytes.clear();
        }
        indexer.write_all(&hash.finalize()).map_err(disk)?;
        let name = indexer.commit().map_err(failed)?;
        let mut ids = self.order.clone();
        ids.sort_unstable();
        let found = packs::ids_in(&folder.join(format!("pack-{name}.idx"))).map_err(disk)?;
        if found == ids { Ok(()) } else { Err(damaged("its index names other objects")) }
    }
}

/// An object as it stands in a pack.
struct PackedForm {
    kind: ObjectType,
    /// By means of which other one it is told.
    delta_base: Option<Oid>,
    /// Of what is compressed.
    length: usize,
    compressed: Vec<u8>,
}

impl PackedForm {
    fn of(objects: &HashMap<Oid, PendingObject>, id: Oid, deflater: &mut Deflater) -> Self {
        let object = &objects[&id];
        let delta_base = object
            .delta_base
            .and_then(|delta_base| Some((delta_base, objects.get(&delta_base).filter(|o| o.kind == object.kind)?)));
        let packed =
            delta_base.and_then(|(delta_base, base)| Some((delta_base, delta(&base.content, &object.content)?)));
        let (delta_base, content) = match &packed {
            Some((delta_base, delta)) => (Some(*delta_base), delta),
            None => (None, &object.content),
        };
        Self { kind: object.kind, delta_base, length: content.len(), compressed: deflater.deflated(content) }
    }

    /// Kind and length, four bits of it first and then seven a byte; where it is told by means of another, how far before
    /// it that begins; the content.
    fn put(&self, distance: Option<u64>, out: &mut Vec<u8>) {
        let kind = match (distance, self.kind) {
            (Some(_), _) => BY_DISTANCE,
            (None, ObjectType::Commit) => 1,
            (None, ObjectType::Tree) => 2,
            (None, _) => 3,
        };
        let mut rest = self.length >> 4;
        let more = |rest: usize| if rest == 0 { 0 } else { 0x80 };
        out.push(more(rest) | kind << 4 | self.length.to_le_bytes()[0] & 0x0f);
        while rest != 0 {
            out.push(more(rest >> 7) | rest.to_le_bytes()[0] & 0x7f);
            rest >>= 7;
        }
        if let Some(mut distance) = distance {
            // The highest first; each but the last counts from one, so that there is one way only to write a number.
            let mut digits = vec![distance.to_le_bytes()[0] & 0x7f];
            while distance > 0x7f {
                distance = (distance >> 7) - 1;
                digits.push(0x80 | distance.to_le_bytes()[0]);
            }
            out.extend(digits.iter().rev());
        }
        out.extend_from_slice(&self.compressed);
    }
}

/// The forms of objects, in their order, worked out on all processors.
fn forms(objects: &HashMap<Oid, PendingObject>, ids: &[Oid]) -> Vec<PackedForm> {
    let work = |ids: &[Oid]| -> Vec<PackedForm> {
        let mut deflater = Deflater::new();
        ids.iter().map(|id| PackedForm::of(objects, *id, &mut deflater)).collect()
    };
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let parts: Vec<&[Oid]> = ids.chunks(ids.len().div_ceil(threads).max(64)).collect();
    thread::scope(|scope| {
        let Some((first, others)) = parts.split_first() else { return Vec::new() };
        let others: Vec<_> = others
            .iter()
            .map(|part| thread::Builder::new().spawn_scoped(scope, || work(part)).map_err(|_| *part))
            .collect();
        let mut forms = work(first);
        for other in others {
            forms.extend(match other {
                Ok(thread) => thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)),
                Err(part) => work(part),
            });
        }
        forms
    })
}
