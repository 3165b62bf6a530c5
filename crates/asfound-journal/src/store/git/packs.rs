//! Indexes of packs that point outside their pack.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom};
use std::path::Path;

use git2::Oid;

use crate::store::StoreError;

/// An index of version 2 starts so, and goes on with 256 counts of four bytes.
const MAGIC: [u8; 8] = [0xFF, b't', b'O', b'c', 0, 0, 0, 2];
const COUNTS: u64 = 256 * 4;
/// For each object: its id, a checksum and an offset. After all of these, 8 bytes for each large
/// offset, and the checksums of pack and index.
const ID: u64 = 20;
const CHECKSUM: u64 = 4;
const OFFSET: u64 = 4;
const ENDS: u64 = 2 * ID;
/// What comes before the first object of a pack, and what after the last.
const PACK_HEAD: u64 = 12;
const PACK_END: u64 = 20;
/// Set in an offset that says where among the large offsets the real one is.
const IS_LARGE: u32 = 1 << 31;

/// Fails where an index says that an object lies outside its pack.
///
/// libgit2 1.9.7 reads there without looking, and the program crashes. Done once, before the first
/// object is read: four bytes are read for each object that is packed.
pub(super) fn check_indexes(repository: &Path) -> Result<(), StoreError> {
    check_indexes_in(&repository.join("objects/pack"))
}

/// The same of the packs in one folder.
pub(super) fn check_indexes_in(folder: &Path) -> Result<(), StoreError> {
    let disk = |source| StoreError::Disk { doing: "read", path: folder.to_owned(), source };
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(disk(error)),
    };
    for entry in entries {
        let index = entry.map_err(disk)?.path();
        if index.extension().is_none_or(|extension| extension != "idx") {
            continue;
        }
        // Gone: another program has just packed anew, or there is no pack for the index.
        let Ok(pack) = fs::metadata(index.with_extension("pack")) else { continue };
        match check_index(&index, pack.len()) {
            Ok(None) => {}
            Ok(Some(why)) => {
                let object = format!("the pack index {}", index.display());
                return Err(StoreError::Damaged { object, detail: why.to_owned() });
            }
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(source) => return Err(StoreError::Disk { doing: "read", path: index, source }),
        }
    }
    Ok(())
}

/// What is wrong with an index, if something is. What the library checks itself is left to it.
fn check_index(index: &Path, pack_length: u64) -> io::Result<Option<&'static str>> {
    const SHORT: Option<&str> = Some("it is cut short");
    let mut file = File::open(index)?;
    let length = file.metadata()?.len();
    let head = MAGIC.len() as u64 + COUNTS;
    if length < head + ENDS {
        return Ok(SHORT);
    }
    let mut magic = [0; 8];
    file.read_exact(&mut magic)?;
    if magic != MAGIC {
        return Ok(Some("it is not an index of version 2"));
    }
    file.seek(SeekFrom::Start(head - 4))?;
    let mut last_count = [0; 4];
    file.read_exact(&mut last_count)?;
    let objects = u64::from(u32::from_be_bytes(last_count));
    let offsets_at = head + objects * (ID + CHECKSUM);
    let large_at = offsets_at + objects * OFFSET;
    let Some(large_length) = length.checked_sub(large_at + ENDS) else { return Ok(SHORT) };

    file.seek(SeekFrom::Start(offsets_at))?;
    let offsets = read_bytes(&mut file, objects * OFFSET)?;
    let large = read_bytes(&mut file, large_length)?;
    let inside = PACK_HEAD..pack_length.saturating_sub(PACK_END);
    for offset in offsets.chunks_exact(4).filter_map(|bytes| bytes.try_into().ok()).map(u32::from_be_bytes) {
        let offset =
            if offset & IS_LARGE == 0 { Some(u64::from(offset)) } else { large_offset(&large, offset & !IS_LARGE) };
        if offset.is_none_or(|offset| !inside.contains(&offset)) {
            return Ok(Some("it says that an object lies outside the pack"));
        }
    }
    Ok(None)
}

/// How many objects an index names.
pub(super) fn count_in(index: &Path) -> io::Result<usize> {
    let mut file = File::open(index)?;
    let mut head = [0; MAGIC.len() + 256 * 4];
    file.read_exact(&mut head)?;
    let count = head.last_chunk().map_or(0, |bytes| u32::from_be_bytes(*bytes));
    if head.starts_with(&MAGIC) { Ok(count as usize) } else { Err(ErrorKind::InvalidData.into()) }
}

/// The ids of the objects that an index names.
pub(super) fn ids_in(index: &Path) -> io::Result<Vec<Oid>> {
    let count = count_in(index)? as u64;
    let mut file = File::open(index)?;
    file.seek(SeekFrom::Start(MAGIC.len() as u64 + COUNTS))?;
    let bytes = read_bytes(&mut file, count * ID)?;
    let ids = bytes.chunks_exact(20).map(Oid::from_bytes);
    ids.map(|id| id.map_err(|_| ErrorKind::InvalidData.into())).collect()
}

/// Reads so many bytes, of which it is known that the file has them.
fn read_bytes(file: &mut File, length: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.take(length).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn large_offset(large: &[u8], number: u32) -> Option<u64> {
    let at = usize::try_from(number).ok()?.checked_mul(8)?;
    let bytes = large.get(at..)?.first_chunk()?;
    Some(u64::from_be_bytes(*bytes))
}
