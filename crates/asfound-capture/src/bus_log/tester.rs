//! Who asked: which writes one tester made, and which another.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::entry::WireAnswer;
use asfound_core::names::ModuleName;
use asfound_wire::conversation::TesterAddress;

use super::address::tester_text;
use super::logged::LoggedWrite;

/// The name of a tester whose address is not in the logs.
pub const UNKNOWN_TESTER: &str = "unknown";

/// A tester, by where it asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Tester(pub(super) TesterAddress);

/// What in an address is the tester's own, whichever module it asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Device {
    /// The logical address on IP.
    Ip(u16),
    /// The source address in normal fixed addressing (ISO 15765-2): 18DA or 18DB, target, source.
    Source(u32),
    /// The identifier in extended addressing, where a byte in the frame names the module.
    Identifier(u32),
}

impl Tester {
    /// Nothing where the identifier asks one module and tells nothing of who asks.
    fn device(self) -> Option<Device> {
        match self.0 {
            TesterAddress::Ip(address) => Some(Device::Ip(address)),
            TesterAddress::Can(channel) => {
                let number = channel.id.number();
                if channel.address.is_some() {
                    Some(Device::Identifier(number))
                } else {
                    let fixed = channel.id.is_extended() && matches!(number >> 16, 0x18DA | 0x18DB);
                    fixed.then_some(Device::Source(number & 0xFF))
                }
            }
        }
    }

    fn text(self) -> String {
        tester_text(self.0)
    }
}

/// What one tester wrote that altered something, as far as can be told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TesterWrites {
    /// Where it asked, sorted: `7E0`, `6F1/12`, `IP 0E80`; [`UNKNOWN_TESTER`] where that is not in the logs.
    pub addresses: Vec<String>,
    /// Its writes, by their place in [`WitnessBody::writes`](asfound_core::entry::BusLogBody::writes).
    pub writes: Vec<usize>,
}

impl TesterWrites {
    /// Whether somebody means it by an address; on IP the digits alone are enough.
    pub fn is(&self, address: &str) -> bool {
        let plain = |text: &str| text.trim_start_matches("IP ").to_ascii_uppercase();
        self.addresses.iter().any(|one| one.eq_ignore_ascii_case(address) || plain(one) == plain(address))
    }
}

#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum TesterKey {
    Device(Device),
    /// All identifiers that ask one module each, while no module was asked by two of them.
    Identifiers,
    Identifier(String),
    Unknown,
}

/// The writes that altered something, tester by tester, in the order in which they come first.
///
/// Two identifiers that ask different modules may be one tester's; two that ask the same module count as two testers.
pub(super) fn testers(writes: &[LoggedWrite]) -> Vec<TesterWrites> {
    let considered = |told: &&LoggedWrite| told.write.answer != WireAnswer::Refused && told.altered != Some(false);
    let mut asking: BTreeMap<&ModuleName, BTreeSet<String>> = BTreeMap::new();
    for told in writes.iter().filter(considered) {
        if let Some(tester) = told.tester.filter(|tester| tester.device().is_none()) {
            asking.entry(&told.write.module).or_default().insert(tester.text());
        }
    }
    let apart = asking.values().any(|identifiers| identifiers.len() > 1);
    let mut testers: Vec<(TesterKey, TesterWrites)> = Vec::new();
    for (place, told) in writes.iter().enumerate().filter(|(_, told)| considered(told)) {
        let text = told.tester.map_or_else(|| UNKNOWN_TESTER.to_owned(), Tester::text);
        let key = match told.tester.map(|tester| tester.device()) {
            None => TesterKey::Unknown,
            Some(Some(device)) => TesterKey::Device(device),
            Some(None) if apart => TesterKey::Identifier(text.clone()),
            Some(None) => TesterKey::Identifiers,
        };
        let at = testers.iter().position(|(known, _)| *known == key).unwrap_or_else(|| {
            testers.push((key, TesterWrites { addresses: Vec::new(), writes: Vec::new() }));
            testers.len() - 1
        });
        let tester = &mut testers[at].1;
        if let Err(at) = tester.addresses.binary_search(&text) {
            tester.addresses.insert(at, text);
        }
        tester.writes.push(place);
    }
    testers.into_iter().map(|(_, tester)| tester).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use asfound_core::entry::WireWrite;
    use asfound_core::names::RecordName;
    use asfound_wire::frame::{CanId, Interface};
    use asfound_wire::transport::CanChannel;

    fn told(module: &str, id: u32, address: Option<u8>) -> LoggedWrite {
        let id = if id > 0x7FF { CanId::extended(id) } else { CanId::standard(id) };
        let channel = CanChannel { interface: Interface::UNNAMED, id: id.unwrap(), address };
        let record = RecordName::Identifier(1);
        LoggedWrite {
            number: 1,
            write: WireWrite::new(module.parse().unwrap(), record, WireAnswer::Accepted),
            tester: Some(Tester(TesterAddress::Can(channel))),
            before: None,
            read_before: None,
            altered: None,
        }
    }

    fn names(writes: &[LoggedWrite]) -> Vec<String> {
        testers(writes).iter().map(|tester| tester.addresses.join("+")).collect()
    }

    #[test]
    fn identifiers_are_one_tester_s_unless_two_ask_one_module() {
        assert_eq!(names(&[told("body", 0x7A4, None), told("door", 0x7E0, None)]), ["7A4+7E0"]);
        let two = [told("body", 0x7A4, None), told("door", 0x7E0, None), told("body", 0x7A5, None)];
        assert_eq!(names(&two), ["7A4", "7E0", "7A5"]);
    }

    #[test]
    fn an_address_that_is_the_tester_s_own_tells_it_from_others() {
        let fixed = [told("body", 0x18DA_0EF1, None), told("door", 0x18DA_03F1, None), told("door", 0x18DA_03F2, None)];
        assert_eq!(names(&fixed), ["18DA03F1+18DA0EF1", "18DA03F2"]);
        let extended =
            [told("body", 0x6F1, Some(0x12)), told("door", 0x6F1, Some(0x13)), told("door", 0x6F2, Some(0x13))];
        assert_eq!(names(&extended), ["6F1/12+6F1/13", "6F2/13"]);
        assert!(testers(&fixed)[1].is("18da03f2") && !testers(&fixed)[1].is("18DA03F1"));
        let ip = TesterWrites { addresses: vec!["IP 0E80".to_owned()], writes: Vec::new() };
        assert!(ip.is("0e80") && ip.is("IP 0E80") && !ip.is("0E81"));
    }
}
