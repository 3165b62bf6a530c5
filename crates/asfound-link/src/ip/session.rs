//! The tester's side of one connection: no socket, no clock.

use asfound_wire::ip::{Framing, FramingStep, IpKind};

use super::IpRequest;
use crate::client::Undelivered;
use crate::error::LinkError;
use crate::link::Arrival;
use crate::request::ReadRequest;

/// What came of the bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum IpEvent {
    /// The gateway lets the tester in.
    Active {
        /// The gateway's address.
        gateway: u16,
    },
    /// This is to be sent back.
    Reply(IpRequest),
    /// Something of a module.
    Module {
        /// Its address.
        address: u16,
        /// What.
        what: Arrival,
    },
}

/// The tester's side of one connection.
#[derive(Debug)]
pub struct IpSession {
    tester: u16,
    framing: Framing,
}

impl IpSession {
    /// A connection on which nothing was sent yet.
    pub fn new(tester: u16) -> Self {
        Self { tester, framing: Framing::default() }
    }

    /// What is to be sent first.
    pub const fn activation(&self) -> IpRequest {
        IpRequest::Activation { tester: self.tester }
    }

    /// A request for a module.
    pub const fn request(&self, module: u16, request: ReadRequest) -> IpRequest {
        IpRequest::Diagnostic { tester: self.tester, module, request }
    }

    /// Takes bytes that came.
    ///
    /// # Errors
    /// When they are no diagnostics on IP, or the gateway refuses the tester or a header.
    pub fn received(&mut self, bytes: &[u8], take: &mut dyn FnMut(IpEvent)) -> Result<(), LinkError> {
        self.framing.add(bytes);
        while let Some(step) = self.framing.step() {
            let FramingStep::Message(kind) = step else { return Err(LinkError::OtherProtocol) };
            if let Some(event) = self.event(kind)? {
                take(event);
            }
        }
        Ok(())
    }

    fn event(&self, kind: IpKind) -> Result<Option<IpEvent>, LinkError> {
        let module = |address, what| Some(IpEvent::Module { address, what });
        if let IpKind::Diagnostic { target, .. } | IpKind::Acknowledged { target, .. } = &kind
            && *target != self.tester
        {
            return Ok(None);
        }
        Ok(match kind {
            IpKind::Diagnostic { source, payload, .. } => module(source, Arrival::Response(payload)),
            IpKind::Acknowledged { source, refused: None, .. } => module(source, Arrival::PassedOn),
            IpKind::Acknowledged { source, refused: Some(code), .. } => {
                module(source, Arrival::Undelivered(Undelivered::Gateway(code)))
            }
            IpKind::ActivationResponse { tester, gateway, code: 0x10 } if tester == self.tester => {
                Some(IpEvent::Active { gateway })
            }
            IpKind::ActivationResponse { code, .. } if code != 0x10 => return Err(LinkError::Activation(code)),
            IpKind::HeaderRefused { code } => return Err(LinkError::Header(code)),
            IpKind::AliveRequest => Some(IpEvent::Reply(IpRequest::Alive { tester: self.tester })),
            _ => None,
        })
    }
}

#[cfg(test)]
mod tests {
    use asfound_wire::ip::framed;
    use proptest::prelude::*;

    use super::*;

    fn events(session: &mut IpSession, bytes: &[u8]) -> Result<Vec<IpEvent>, LinkError> {
        let mut events = Vec::new();
        session.received(bytes, &mut |event| events.push(event))?;
        Ok(events)
    }

    fn message(kind: u16, content: &[u8]) -> Vec<u8> {
        framed(kind, content).unwrap()
    }

    /// The form of these messages is that of doipclient 1.2.2 (see the recorded exchange of the simulated vehicle).
    #[test]
    fn what_leaves_has_the_form_of_the_standard() {
        let session = IpSession::new(0x0E80);
        assert_eq!(IpRequest::Identification.bytes(), [2, 0xFD, 0, 1, 0, 0, 0, 0]);
        assert_eq!(session.activation().bytes(), [2, 0xFD, 0, 5, 0, 0, 0, 7, 0x0E, 0x80, 0, 0, 0, 0, 0]);
        let asked = session.request(0x000E, ReadRequest::Record(0xF190)).bytes();
        assert_eq!(asked, [2, 0xFD, 0x80, 1, 0, 0, 0, 7, 0x0E, 0x80, 0, 0x0E, 0x22, 0xF1, 0x90]);
    }

    #[test]
    fn a_tester_is_let_in_or_told_why_not() {
        let mut session = IpSession::new(0x0E80);
        let active = message(0x0006, &[0x0E, 0x80, 0x00, 0x07, 0x10, 0, 0, 0, 0]);
        assert_eq!(events(&mut session, &active).unwrap(), [IpEvent::Active { gateway: 7 }]);
        for code in [0x00, 0x01, 0x02, 0x03, 0x04, 0x05, 0x06, 0x07, 0x11, 0xE0, 0xFF] {
            let refused = message(0x0006, &[0x0E, 0x80, 0x00, 0x07, code, 0, 0, 0, 0]);
            let error = events(&mut session, &refused).unwrap_err();
            assert!(matches!(error, LinkError::Activation(found) if found == code));
            assert!(error.to_string().starts_with(&format!("the gateway refused routing activation: {code:02X} ")));
            assert!(error.hint().is_some());
        }
    }

    #[test]
    fn modules_and_the_gateway_are_told_apart() {
        let mut session = IpSession::new(0x0E80);
        let bytes = [
            message(0x8002, &[0, 0x0E, 0x0E, 0x80, 0]),
            message(0x8001, &[0, 0x0E, 0x0E, 0x80, 0x62, 0xF1, 0x90, 1]),
            message(0x8003, &[0, 0x0F, 0x0E, 0x80, 3]),
            message(0x8001, &[0, 0x0E, 0x0E, 0x81, 0x62, 0xF1, 0x90, 2]),
            message(0x0007, &[]),
        ]
        .concat();
        // In pieces, as a connection may bring them.
        let mut found = Vec::new();
        for part in bytes.chunks(5) {
            found.extend(events(&mut session, part).unwrap());
        }
        assert_eq!(
            found,
            [
                IpEvent::Module { address: 0x0E, what: Arrival::PassedOn },
                IpEvent::Module { address: 0x0E, what: Arrival::Response(vec![0x62, 0xF1, 0x90, 1]) },
                IpEvent::Module { address: 0x0F, what: Arrival::Undelivered(Undelivered::Gateway(3)) },
                IpEvent::Reply(IpRequest::Alive { tester: 0x0E80 }),
            ]
        );
    }

    #[test]
    fn other_protocols_and_refused_headers_end_it() {
        let other = events(&mut IpSession::new(0x0E80), b"HTTP/1.1 400 Bad Request\r\n\r\n");
        assert!(matches!(other, Err(LinkError::OtherProtocol)));
        for code in 0..=5 {
            let refused = events(&mut IpSession::new(0x0E80), &message(0x0000, &[code]));
            assert!(matches!(refused, Err(LinkError::Header(found)) if found == code));
        }
    }

    proptest! {
        #[test]
        fn any_bytes_are_taken(chunks in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..40), 0..8)) {
            let mut session = IpSession::new(0x0E80);
            for chunk in &chunks {
                if session.received(chunk, &mut |_| {}).is_err() {
                    break;
                }
            }
        }
    }
}
