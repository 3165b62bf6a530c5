//! Which vehicle is there: asked by UDP.

use std::io;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};
use std::time::{Duration, Instant};

use asfound_wire::ip::{Framing, FramingStep, IpKind};

use super::IpRequest;

/// What a vehicle says of itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Announced {
    /// Who said it.
    pub from: SocketAddr,
    /// The VIN as it travels.
    pub vin: [u8; 17],
    /// The gateway's address.
    pub gateway: u16,
}

/// The largest datagram that is looked at.
const LARGEST: usize = 2048;
/// So many vehicles are heard at most.
const MOST: usize = 64;

/// What a datagram announces.
pub fn announced(from: SocketAddr, datagram: &[u8]) -> Option<Announced> {
    let mut framing = Framing::default();
    framing.add(datagram);
    match framing.step() {
        Some(FramingStep::Message(IpKind::Announcement { vin, gateway })) => Some(Announced { from, vin, gateway }),
        _ => None,
    }
}

/// Asks who is there, and listens for so long. Of one address, or a broadcast or multicast address, each vehicle is told once; of one
/// address the first is enough.
///
/// # Errors
/// When the machine has no way there.
pub fn identify(to: SocketAddr, time: Duration) -> io::Result<Vec<Announced>> {
    let any: IpAddr = if to.is_ipv4() { Ipv4Addr::UNSPECIFIED.into() } else { Ipv6Addr::UNSPECIFIED.into() };
    let socket = UdpSocket::bind((any, 0))?;
    let several = match to.ip() {
        IpAddr::V4(address) => address.is_broadcast() || address.is_multicast() || address.octets()[3] == 0xFF,
        IpAddr::V6(address) => address.is_multicast(),
    };
    if several && to.is_ipv4() {
        socket.set_broadcast(true)?;
    }
    socket.send_to(&IpRequest::Identification.bytes(), to)?;
    let (ends, mut found) = (Instant::now() + time, Vec::<Announced>::new());
    let mut datagram = [0; LARGEST];
    while found.len() < MOST && (several || found.is_empty()) {
        let left = ends.saturating_duration_since(Instant::now());
        if left.is_zero() {
            break;
        }
        socket.set_read_timeout(Some(left))?;
        match socket.recv_from(&mut datagram) {
            Ok((length, from)) => {
                let new = announced(from, &datagram[..length]);
                found.extend(new.filter(|new| (several || from == to) && !found.contains(new)));
            }
            // Nobody listens there, which some systems tell as an error of the next call.
            Err(error) if error.kind() == io::ErrorKind::ConnectionRefused => break,
            Err(error) if matches!(error.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::TimedOut) => break,
            Err(error) => return Err(error),
        }
    }
    Ok(found)
}
