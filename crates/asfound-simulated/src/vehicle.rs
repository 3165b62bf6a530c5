//! All modules of a vehicle behind one gateway.

use std::collections::BTreeMap;

use asfound_wire::frame::CanFrame;

use crate::faults::Faults;
use crate::module::Module;

/// A vehicle that does not exist.
#[derive(Debug, Clone, Default)]
pub struct Vehicle {
    /// The VIN that the gateway announces.
    pub vin: [u8; 17],
    /// The gateway's address.
    pub gateway: u16,
    /// The modules by their addresses.
    pub modules: BTreeMap<u16, Module>,
    /// What goes wrong.
    pub faults: Faults,
    /// With what code the gateway refuses routing activation, if it does.
    pub refuses_activation: Option<u8>,
    /// Whether the gateway asks a tester whether it is still there, once it is let in.
    pub asks_alive: bool,
    /// After so many requests the connection is cut.
    pub cut_after: Option<usize>,
    /// Every byte that was sent to it, in the order of its coming.
    heard: Vec<u8>,
    /// Every frame that was sent to it on a CAN bus.
    frames: Vec<CanFrame>,
    /// Every request that reached a module: its address and bytes.
    requests: Vec<(u16, Vec<u8>)>,
}

impl Vehicle {
    /// Every byte that was sent to it.
    pub fn heard(&self) -> &[u8] {
        &self.heard
    }

    /// Every frame that was sent to it on a CAN bus.
    pub fn frames(&self) -> &[CanFrame] {
        &self.frames
    }

    /// Every request that reached one of its modules: the module's address and the bytes.
    pub fn requests(&self) -> &[(u16, Vec<u8>)] {
        &self.requests
    }

    pub(crate) fn hear(&mut self, bytes: &[u8]) {
        self.heard.extend(bytes);
    }

    pub(crate) fn hear_frame(&mut self, frame: &CanFrame) {
        self.frames.push(frame.clone());
    }

    pub(crate) fn note(&mut self, module: u16, request: &[u8]) {
        self.requests.push((module, request.to_vec()));
    }

    /// Whether the connection is to be cut now.
    pub(crate) fn is_cut(&self) -> bool {
        self.cut_after.is_some_and(|requests| self.requests.len() >= requests)
    }
}
