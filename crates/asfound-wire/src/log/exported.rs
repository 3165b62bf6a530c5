//! Packets that Wireshark hands on as upper-layer data (link type 252 of the registry of tcpdump.org): tags that say what
//! follows, each with a type and a length in two bytes, the highest first (Wireshark, `epan/exported_pdu.h`).

/// Ends the tags.
const END: u16 = 0;
/// The name of the dissector that reads what follows.
const DISSECTOR: u16 = 12;

/// What follows the tags.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Content {
    /// A CAN frame in the form of link type 227, whose identifier has the order of the machine that wrote it.
    Can { flexible: bool },
    /// An IP packet.
    Ip,
    /// A packet with an Ethernet header.
    Ethernet,
    /// Something else.
    Other,
}

/// A packet without its tags.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct ExportedPacket<'p> {
    pub(super) content: Content,
    pub(super) payload: &'p [u8],
}

/// Takes the tags off; nothing where they do not end.
pub(super) fn read(packet: &[u8]) -> Option<ExportedPacket<'_>> {
    let (mut content, mut rest) = (Content::Other, packet);
    loop {
        let (head, after) = rest.split_at_checked(4)?;
        let (tag, length) = (u16::from_be_bytes([head[0], head[1]]), u16::from_be_bytes([head[2], head[3]]));
        let (value, after) = after.split_at_checked(usize::from(length))?;
        match tag {
            END => return Some(ExportedPacket { content, payload: after }),
            DISSECTOR => content = named(value),
            _ => {}
        }
        rest = after;
    }
}

/// What a dissector reads. Values are filled with zeros.
fn named(name: &[u8]) -> Content {
    let end = name.iter().position(|byte| *byte == 0).unwrap_or(name.len());
    match &name[..end] {
        b"can-hostendian" | b"can-bigendian" | b"can" => Content::Can { flexible: false },
        b"canfd" => Content::Can { flexible: true },
        b"ip" => Content::Ip,
        b"eth" | b"eth_withoutfcs" | b"eth_maybefcs" => Content::Ethernet,
        _ => Content::Other,
    }
}
