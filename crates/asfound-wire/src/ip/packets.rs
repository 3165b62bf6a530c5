//! From packets to segments and datagrams.

use std::collections::HashSet;
use std::net::SocketAddr;

use etherparse::{SlicedPacket, TransportSlice};

use super::connections::{Connections, PORT, PacketContent, steps};
use super::framing::Framing;
use crate::frame::Timestamp;
use crate::problem::ProblemKind;

/// What stands in front of the IP header.
#[derive(Debug, Clone, Copy)]
pub(crate) enum IpLink {
    /// An Ethernet header, with VLAN tags where there are any.
    Ethernet,
    /// Nothing.
    Raw,
}

/// All diagnostics on IP in a capture.
#[derive(Debug, Default)]
pub(crate) struct IpLog {
    connections: Connections,
    /// Encrypted connections that were told.
    encrypted: HashSet<(SocketAddr, SocketAddr)>,
}

impl IpLog {
    /// Takes one packet. Whatever is not for the port of ISO 13400-2 is passed over.
    pub fn packet(
        &mut self,
        link: IpLink,
        moment: Option<Timestamp>,
        packet: &[u8],
        out: &mut dyn FnMut(PacketContent),
    ) {
        let sliced = match link {
            IpLink::Ethernet => SlicedPacket::from_ethernet(packet),
            IpLink::Raw => SlicedPacket::from_ip(packet),
        };
        let Ok(sliced) = sliced else {
            return out(Err(ProblemKind::Short));
        };
        let Some((source, target)) = addresses(&sliced) else { return };
        if sliced.is_ip_payload_fragmented() {
            return out(Err(ProblemKind::Fragment));
        }
        match &sliced.transport {
            Some(TransportSlice::Tcp(tcp)) => {
                let way = (SocketAddr::new(source, tcp.source_port()), SocketAddr::new(target, tcp.destination_port()));
                if is_encrypted(way) {
                    // Once for each connection, in the direction of the vehicle.
                    if tcp.destination_port() == ENCRYPTED
                        && self.encrypted.len() < MOST_ENCRYPTED
                        && self.encrypted.insert(way)
                    {
                        out(Err(ProblemKind::Encrypted));
                    }
                } else if is_diagnostic(way) {
                    let flags = (tcp.syn(), tcp.fin() || tcp.rst());
                    self.connections.segment(way, moment, flags, tcp.sequence_number(), tcp.payload(), out);
                }
            }
            Some(TransportSlice::Udp(udp)) => {
                let way = (SocketAddr::new(source, udp.source_port()), SocketAddr::new(target, udp.destination_port()));
                if is_diagnostic(way) {
                    let mut framing = Framing::default();
                    framing.add(udp.payload());
                    steps(&mut framing, way.0.port() == PORT, moment, out);
                    if framing.is_waiting() {
                        out(Err(ProblemKind::Short));
                    }
                }
            }
            _ => {}
        }
    }

    /// The capture ends.
    pub fn finish(&mut self, out: &mut dyn FnMut(PacketContent)) {
        self.connections.finish(out);
    }
}

/// The port of ISO 13400-2 for connections that are encrypted (TLS; from memory).
const ENCRYPTED: u16 = 3496;
/// As many encrypted connections are counted apart.
const MOST_ENCRYPTED: usize = 1024;

fn is_encrypted((source, target): (SocketAddr, SocketAddr)) -> bool {
    source.port() == ENCRYPTED || target.port() == ENCRYPTED
}

fn is_diagnostic((source, target): (SocketAddr, SocketAddr)) -> bool {
    source.port() == PORT || target.port() == PORT
}

fn addresses(packet: &SlicedPacket<'_>) -> Option<(std::net::IpAddr, std::net::IpAddr)> {
    match packet.net.as_ref()? {
        etherparse::NetSlice::Ipv4(ip) => {
            Some((ip.header().source_addr().into(), ip.header().destination_addr().into()))
        }
        etherparse::NetSlice::Ipv6(ip) => {
            Some((ip.header().source_addr().into(), ip.header().destination_addr().into()))
        }
        etherparse::NetSlice::Arp(_) => None,
    }
}
