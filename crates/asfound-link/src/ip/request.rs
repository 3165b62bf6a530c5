//! Everything that leaves for a vehicle by IP.

use asfound_wire::ip::framed;

use crate::request::ReadRequest;

/// Everything that leaves for a vehicle by IP.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IpRequest {
    /// Which vehicle is there (0001)?
    Identification,
    /// A tester asks to be let in (0005, activation type "default").
    Activation {
        /// Its address.
        tester: u16,
    },
    /// The tester is still there (0008).
    Alive {
        /// Its address.
        tester: u16,
    },
    /// A request for a module (8001).
    Diagnostic {
        /// The tester's address.
        tester: u16,
        /// The module's.
        module: u16,
        /// What is asked.
        request: ReadRequest,
    },
}

impl IpRequest {
    /// The message as it travels.
    pub fn bytes(self) -> Vec<u8> {
        let (kind, content) = match self {
            Self::Identification => (0x0001, Vec::new()),
            Self::Activation { tester } => {
                let [high, low] = tester.to_be_bytes();
                // The activation type, and four bytes that are reserved.
                (0x0005, vec![high, low, 0, 0, 0, 0, 0])
            }
            Self::Alive { tester } => (0x0008, tester.to_be_bytes().to_vec()),
            Self::Diagnostic { tester, module, request } => {
                let addresses = [tester.to_be_bytes(), module.to_be_bytes()].concat();
                (0x8001, [addresses, request.bytes()].concat())
            }
        };
        framed(kind, &content).expect("no request has 2^32 bytes")
    }
}
