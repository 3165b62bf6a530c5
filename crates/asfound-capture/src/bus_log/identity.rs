//! What a module says of itself on the bus.

pub(super) use asfound_core::examination::{
    VIN_RECORD as VIN, alike, identity_by_records as identity, in_known_words, is_identity_record as is_of_identity,
};
use asfound_core::identity::Identity;
use asfound_wire::conversation::ModuleTimeline;

/// What the module said first in the logs.
pub(super) fn said_first(timeline: &ModuleTimeline) -> Identity {
    identity(|id| timeline.records.get(&id)?.first_read().map(<[u8]>::to_vec))
}
