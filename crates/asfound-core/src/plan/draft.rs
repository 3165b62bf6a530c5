//! The bytes that a record is to hold, before they become a step.

use super::composition::Purpose;
use super::target::WantedContent;
use crate::definition::{Definition, SettingDefinition};
use crate::difference::Content;
use crate::value::HexBytes;

/// What is collected for one record.
pub(super) struct WriteDraft {
    /// The content as found, as the journal has it or as it was told.
    pub(super) expect: Option<HexBytes>,
    /// The content to write, without its checksum.
    pub(super) write: Vec<u8>,
}

/// Why a setting is not put into a draft.
pub(super) enum SettingRefusal {
    /// The chosen value cannot be set.
    Refused(String),
    /// What the field held cannot be written any more.
    Blocked(String),
}

impl WriteDraft {
    pub(super) fn of(bytes: &HexBytes) -> Self {
        Self { expect: Some(bytes.clone()), write: bytes.as_slice().to_vec() }
    }

    /// Puts what is wanted of a setting into the bytes, as the definition that fits the module now lays it out.
    pub(super) fn put_setting(
        &mut self,
        setting: &SettingDefinition,
        definition: Option<&Definition>,
        wanted: WantedContent<'_>,
        purpose: Purpose,
    ) -> Result<(), SettingRefusal> {
        let layout = setting.layout();
        match wanted {
            WantedContent::Chosen(value) => {
                if purpose == Purpose::Work {
                    setting.check(value).map_err(|why| SettingRefusal::Refused(why.to_string()))?;
                }
                // Several coded values may be shown as one: what already reads as wanted is left alone.
                if layout.decode(&self.write).as_ref() != Ok(value) {
                    layout.encode(value, &mut self.write).map_err(|why| SettingRefusal::Refused(why.to_string()))?;
                }
                Ok(())
            }
            WantedContent::Held(Content::Coded { coded, definition: by, record, .. }, _)
                if Some(by) == definition.map(Definition::id) && record == setting.record() =>
            {
                layout.put_coded(coded, &mut self.write).map_err(|why| SettingRefusal::Blocked(why.to_string()))
            }
            WantedContent::Held(content, _) => match content.clone().typed_by(Some(setting)).value() {
                Some(value) if layout.decode(&self.write).as_ref() == Ok(value) => Ok(()),
                Some(value) => {
                    layout.encode(value, &mut self.write).map_err(|why| SettingRefusal::Blocked(why.to_string()))
                }
                None => Err(SettingRefusal::Blocked(format!("{content} has no meaning that could be written anew"))),
            },
        }
    }
}
