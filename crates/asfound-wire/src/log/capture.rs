//! Captures: pcap and pcapng, with CAN frames or with IP.

use std::io::{self, Read};

use pcap_parser::{
    Block, LegacyPcapReader, Linktype, PcapBlockOwned, PcapError, PcapNGReader, traits::PcapReaderIterator,
};

use super::exported::{self, Content};
use super::sink::Sink;
use super::socketcan::{self, IdOrder, PacketRefusal};
use super::truncated::SourceEnd;
use super::{LineProblem, LogClock, LogFacts, LogForm, LogItem, LogPlace, LogProblem, ProblemKind, linux_sll};
use crate::frame::{CanFrame, Direction, Interface, Timestamp};
use crate::ip::{IpLink, IpLog};

/// How much is read at once, and the largest block that is read at all.
const BLOCK: usize = 1 << 18;
const LARGEST: usize = 1 << 24;

/// One interface of a capture.
#[derive(Debug, Clone, Copy)]
struct Link {
    kind: Linktype,
    interface: Interface,
    /// Units of time in a second.
    resolution: u64,
    /// Seconds to add.
    offset: i64,
}

impl Link {
    fn moment(&self, units: u64) -> Option<Timestamp> {
        let nanoseconds = u128::from(units) * 1_000_000_000 / u128::from(self.resolution.max(1));
        let nanoseconds = i128::try_from(nanoseconds).ok()? + i128::from(self.offset) * 1_000_000_000;
        u64::try_from(nanoseconds).ok().map(Timestamp::from_nanoseconds)
    }
}

struct Capture<'t> {
    facts: LogFacts,
    links: Vec<Link>,
    order: IdOrder,
    ip: IpLog,
    sink: &'t mut dyn Sink,
}

pub(super) fn read(form: LogForm, source: impl Read, ending: &SourceEnd, sink: &mut dyn Sink) -> io::Result<LogFacts> {
    let mut capture = Capture {
        facts: LogFacts::new(form),
        links: Vec::new(),
        order: IdOrder::default(),
        ip: IpLog::default(),
        sink,
    };
    let read = match form {
        LogForm::Pcapng => PcapNGReader::new(BLOCK, source).map(|mut reader| capture.blocks(&mut reader)),
        _ => LegacyPcapReader::new(BLOCK, source).map(|mut reader| capture.blocks(&mut reader)),
    };
    match read {
        Ok(()) => {}
        Err(PcapError::Incomplete(_)) => capture.problem(ProblemKind::Cut),
        Err(_) => capture.problem(ProblemKind::Damaged),
    }
    capture.finish();
    if ending.broke_off()? {
        capture.problem(ProblemKind::Cut);
    }
    Ok(capture.facts)
}

impl Capture<'_> {
    #[cold]
    fn problem(&mut self, what: ProblemKind) {
        *self.facts.problems.entry(what).or_default() += 1;
        self.sink.item(LogItem::Problem(LogProblem { place: LogPlace::Packet(self.facts.pieces), what }));
    }

    fn blocks(&mut self, reader: &mut impl PcapReaderIterator) {
        let mut capacity = BLOCK;
        loop {
            match reader.next() {
                Ok((size, block)) => {
                    self.block(block);
                    reader.consume(size);
                }
                Err(PcapError::Eof) => return,
                Err(PcapError::Incomplete(_)) => {
                    self.sink.pause();
                    if reader.refill().is_err() {
                        return;
                    }
                }
                Err(PcapError::BufferTooSmall) if capacity < LARGEST => {
                    capacity *= 4;
                    if !reader.grow(capacity) || reader.refill().is_err() {
                        return self.problem(ProblemKind::Damaged);
                    }
                }
                Err(PcapError::UnexpectedEof) => return self.problem(ProblemKind::Cut),
                Err(_) => return self.problem(ProblemKind::Damaged),
            }
        }
    }

    fn block(&mut self, block: PcapBlockOwned<'_>) {
        match block {
            PcapBlockOwned::LegacyHeader(header) => {
                let resolution = if header.is_nanosecond_precision() { 1_000_000_000 } else { 1_000_000 };
                let interface = Interface::UNNAMED;
                self.links = vec![Link { kind: header.network, interface, resolution, offset: 0 }];
            }
            PcapBlockOwned::Legacy(packet) => {
                let Some(link) = self.links.first().copied() else { return };
                let units = u64::from(packet.ts_sec) * link.resolution + u64::from(packet.ts_usec);
                let captured = (packet.caplen as usize).min(packet.data.len());
                self.packet(link, link.moment(units), &packet.data[..captured], None);
            }
            PcapBlockOwned::NG(Block::SectionHeader(_)) => self.links.clear(),
            PcapBlockOwned::NG(Block::InterfaceDescription(described)) => {
                let name = match described.if_name() {
                    Some(Ok(name)) => name.to_owned(),
                    _ if self.links.is_empty() => String::new(),
                    _ => self.links.len().to_string(),
                };
                let interface = self.facts.interfaces.number(name.as_bytes());
                self.sink.item(LogItem::Bus(interface, self.facts.interfaces.name(interface)));
                self.links.push(Link {
                    kind: described.linktype,
                    interface,
                    resolution: described.ts_resolution().unwrap_or(1_000_000),
                    offset: described.ts_offset(),
                });
            }
            PcapBlockOwned::NG(Block::EnhancedPacket(packet)) => {
                let Some(link) = self.links.get(packet.if_id as usize).copied() else {
                    self.facts.pieces += 1;
                    return self.problem(ProblemKind::Damaged);
                };
                let units = u64::from(packet.ts_high) << 32 | u64::from(packet.ts_low);
                let captured = (packet.caplen as usize).min(packet.data.len());
                let direction = packet_direction(&packet.options);
                self.packet(link, link.moment(units), &packet.data[..captured], direction);
            }
            PcapBlockOwned::NG(Block::SimplePacket(packet)) => {
                let Some(link) = self.links.first().copied() else {
                    self.facts.pieces += 1;
                    return self.problem(ProblemKind::Damaged);
                };
                let captured = (packet.origlen as usize).min(packet.data.len());
                self.packet(link, None, &packet.data[..captured], None);
            }
            // Statistics, names, secrets: nothing of the bus.
            PcapBlockOwned::NG(_) => {}
        }
    }

    fn packet(&mut self, link: Link, moment: Option<Timestamp>, packet: &[u8], direction: Option<Direction>) {
        self.facts.pieces += 1;
        self.facts.saw(moment);
        let cooked = match link.kind.0 {
            227 => return self.can(link, moment, packet, false, direction),
            1 => return self.ip(IpLink::Ethernet, moment, packet),
            101 | 228 | 229 => return self.ip(IpLink::Raw, moment, packet),
            0 | 108 => {
                // The family in four bytes, in the order of the machine (0) or of the network (108); the packet tells IP by itself.
                let Some((_, packet)) = packet.split_at_checked(4) else { return self.problem(ProblemKind::Short) };
                return self.ip(IpLink::Raw, moment, packet);
            }
            252 => return self.exported(link, moment, packet, direction),
            113 => linux_sll::version_1(packet),
            276 => linux_sll::version_2(packet),
            other => return self.problem(ProblemKind::LinkType(other)),
        };
        let Some(cooked) = cooked else { return self.problem(ProblemKind::Short) };
        let direction = direction.or(cooked.direction);
        match cooked.protocol {
            linux_sll::CAN => self.can(link, moment, cooked.payload, false, direction),
            linux_sll::CAN_FLEXIBLE => self.can(link, moment, cooked.payload, true, direction),
            linux_sll::CAN_XL => self.problem(LineProblem::Kind.into()),
            0x0800 | 0x86DD => self.ip(IpLink::Raw, moment, cooked.payload),
            // Other protocols on the same machine.
            _ => {}
        }
    }

    /// A packet that another program took apart and handed on.
    fn exported(&mut self, link: Link, moment: Option<Timestamp>, packet: &[u8], direction: Option<Direction>) {
        let Some(exported) = exported::read(packet) else { return self.problem(ProblemKind::Short) };
        match exported.content {
            Content::Can { flexible } => {
                let mut frame = CanFrame::empty();
                (frame.moment, frame.interface, frame.direction) = (moment, link.interface, direction);
                match socketcan::raw(exported.payload, flexible, frame) {
                    Ok(raw) => {
                        self.facts.frames += 1;
                        self.sink.item(LogItem::Frame(&socketcan::read_either(raw)));
                    }
                    Err(PacketRefusal::Short) => self.problem(ProblemKind::Short),
                    Err(PacketRefusal::Kind) => self.problem(LineProblem::Kind.into()),
                }
            }
            Content::Ip => self.ip(IpLink::Raw, moment, exported.payload),
            Content::Ethernet => self.ip(IpLink::Ethernet, moment, exported.payload),
            Content::Other => self.problem(ProblemKind::LinkType(link.kind.0)),
        }
    }

    fn can(
        &mut self,
        link: Link,
        moment: Option<Timestamp>,
        packet: &[u8],
        flexible: bool,
        direction: Option<Direction>,
    ) {
        let mut frame = CanFrame::empty();
        frame.moment = moment;
        frame.interface = link.interface;
        frame.direction = direction;
        match socketcan::raw(packet, flexible, frame) {
            Ok(raw) => {
                let (facts, sink) = (&mut self.facts, &mut self.sink);
                self.order.take(raw, &mut |frame| {
                    facts.frames += 1;
                    sink.item(LogItem::Frame(frame));
                });
            }
            Err(PacketRefusal::Short) => self.problem(ProblemKind::Short),
            Err(PacketRefusal::Kind) => self.problem(LineProblem::Kind.into()),
        }
    }

    fn ip(&mut self, link: IpLink, moment: Option<Timestamp>, packet: &[u8]) {
        let place = LogPlace::Packet(self.facts.pieces);
        let (facts, sink) = (&mut self.facts, &mut self.sink);
        self.ip.packet(link, moment, packet, &mut |found| match found {
            Ok(message) => {
                facts.ip_messages += 1;
                sink.item(LogItem::Ip(message));
            }
            Err(what) => {
                *facts.problems.entry(what).or_default() += 1;
                sink.item(LogItem::Problem(LogProblem { place, what }));
            }
        });
    }

    fn finish(&mut self) {
        let (facts, sink) = (&mut self.facts, &mut self.sink);
        self.order.finish(&mut |frame| {
            facts.frames += 1;
            sink.item(LogItem::Frame(frame));
        });
        let place = LogPlace::Packet(facts.pieces);
        self.ip.finish(&mut |found| match found {
            Ok(message) => {
                facts.ip_messages += 1;
                sink.item(LogItem::Ip(message));
            }
            Err(what) => {
                *facts.problems.entry(what).or_default() += 1;
                sink.item(LogItem::Problem(LogProblem { place, what }));
            }
        });
        facts.swapped_identifiers = self.order.swapped();
        facts.clock = LogClock::of_moment(facts.first);
    }
}

/// The two lowest bits of `epb_flags` (pcapng, section on the enhanced packet block): 1 in, 2 out.
fn packet_direction(options: &[pcap_parser::PcapNGOption<'_>]) -> Option<Direction> {
    let flags = options.iter().find(|option| option.code == pcap_parser::OptionCode(2))?.value();
    // The option has the byte order of its section; the two bits are in the first or the last byte.
    match (flags.first()? | flags.get(3)?) & 3 {
        1 => Some(Direction::Received),
        2 => Some(Direction::Sent),
        _ => None,
    }
}
