//! Where a module is asked and where it answers.

use asfound_wire::frame::{CanId, Interface};
use asfound_wire::transport::CanChannel;
use thiserror::Error;

/// Where a module is asked and where it answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct CanModule {
    /// On which channel it is asked.
    pub asked: CanChannel,
    /// On which channel it answers.
    pub answers: CanChannel,
}

/// Nothing tells on which identifier a module is asked that answers on this one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("nothing tells on which identifier a module is asked that answers on {0}")]
pub struct UnknownRequestId(pub CanId);

/// The tester in normal fixed addressing (ISO 15765-2; F1 is the external test equipment, from memory).
const TESTER: u32 = 0xF1;

impl CanModule {
    /// A module with these channels.
    pub const fn new(asked: CanChannel, answers: CanChannel) -> Self {
        Self { asked, answers }
    }

    /// A module by its address in normal fixed addressing: asked on 18DA, module, F1, and answering on 18DA, F1, module.
    pub fn of_address(address: u8) -> Self {
        let address = u32::from(address);
        let id = |number| CanId::extended(number).expect("29 bits are enough");
        Self::new(channel(id(0x18DA_0000 | address << 8 | TESTER)), channel(id(0x18DA_0000 | TESTER << 8 | address)))
    }

    /// A module by the identifier on which it answers, where a standard says on which one it is asked: normal fixed addressing
    /// (ISO 15765-2), and 7E8 to 7EF, which answer 7E0 to 7E7 (ISO 15765-4).
    ///
    /// # Errors
    /// When no standard does.
    pub fn answering_on(id: CanId) -> Result<Self, UnknownRequestId> {
        match (id.is_extended(), id.number()) {
            (true, number @ 0x18DA_F100..=0x18DA_F1FF) => {
                Ok(Self::of_address(u8::try_from(number & 0xFF).expect("one byte")))
            }
            (false, number @ 0x7E8..=0x7EF) => {
                let asked = CanId::standard(number - 8).map_err(|_| UnknownRequestId(id))?;
                Ok(Self::new(channel(asked), channel(id)))
            }
            _ => Err(UnknownRequestId(id)),
        }
    }
}

const fn channel(id: CanId) -> CanChannel {
    CanChannel { interface: Interface::UNNAMED, id, address: None }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn standards_say_where_a_module_is_asked() {
        let body = CanModule::of_address(0x0E);
        assert_eq!((body.asked.id.to_string(), body.answers.id.to_string()), ("18DA0EF1".into(), "18DAF10E".into()));
        assert_eq!(CanModule::answering_on(body.answers.id), Ok(body));
        let engine = CanModule::answering_on(CanId::standard(0x7E8).unwrap()).unwrap();
        assert_eq!(engine.asked.id.to_string(), "7E0");
        assert!(CanModule::answering_on(CanId::standard(0x612).unwrap()).is_err());
        assert!(CanModule::answering_on(CanId::extended(0x17FE_007B).unwrap()).is_err());
    }
}
