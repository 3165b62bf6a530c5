//! What a reading shows of which something later is known already.

use crate::definition::Definition;
use crate::entry::{LateContent, Moment};
use crate::names::{RecordName, SettingName};
use crate::reading::ModuleReading;
use crate::state::ModuleState;

/// Takes out of what a module said whatever is not certainly later than what is known of it.
///
/// Where the module became another unit or got other software since, or at a moment that cannot be ordered, all of it is
/// late, also what is not known at all: nobody has seen it on the unit that is there now.
pub(super) fn take_late(
    said: &mut ModuleReading,
    known: &ModuleState,
    definition: Option<&Definition>,
    now: Moment,
) -> LateContent {
    let not_later = |at: Option<Moment>| at.is_some_and(|at| !at.is_before(&now));
    // An identity that cannot be compared may be another one.
    let other = not_later(known.seen_at) && !known.identity.compare(&said.identity).is_same();
    let all = other || not_later(known.renewed_at);
    let record_at = |record: &RecordName| known.records.get(record).map(|known| known.known_at);
    let setting_at = |setting: &SettingName| {
        let record = definition.and_then(|definition| definition.setting(setting)).map(|defined| defined.record());
        let in_record = record.filter(|record| known.current_record(record).is_some()).and_then(record_at);
        in_record.or(known.stated.get(setting).map(|known| known.known_at))
    };
    let mut late = LateContent::default();
    if other {
        late.identity = Some(std::mem::take(&mut said.identity));
    }
    let records = std::mem::take(&mut said.records);
    (late.records, said.records) = records.into_iter().partition(|(record, _)| all || not_later(record_at(record)));
    let settings = std::mem::take(&mut said.settings);
    (late.settings, said.settings) =
        settings.into_iter().partition(|(setting, _)| all || not_later(setting_at(setting)));
    let refused = said.refused.iter().filter(|record| all || not_later(record_at(record).or(known.seen_at)));
    late.refused = refused.cloned().collect();
    late.trouble_codes = said.trouble_codes.is_some() && not_later(known.codes.as_ref().map(|codes| codes.known_at));
    late
}
