//! The transport of a CAN bus: frames to messages and back.

use asfound_wire::frame::{CanFrame, CanId, Interface};
use asfound_wire::transport::{Assembler, CanChannel, Segmentation, TransportEvent, segments};

const SIZES: [usize; 8] = [8, 12, 16, 20, 24, 32, 48, 64];

/// The first two bytes say how. The rest is once a message that must come back, and once frames, each with its length in
/// front, of which nothing may come that was not in them.
pub fn bus_transport(data: &[u8]) {
    let [how, address, rest @ ..] = data else { return };
    let channel = CanChannel {
        interface: Interface::UNNAMED,
        id: CanId::extended(0x18DA_F110).expect("29 bits"),
        address: (how & 0x80 != 0).then_some(*address),
    };
    let filler = (how & 0x40 != 0).then_some(*address);
    let how = Segmentation { frame_bytes: SIZES[usize::from(how & 7)], filler };
    if let Some(frames) = segments(&channel, rest, how) {
        let mut given = Vec::new();
        let mut assembler = Assembler::new(channel);
        for (frame, number) in frames.iter().zip(1..) {
            assert!(assembler.frame(number, frame, &mut |transported| given.push(transported)).is_none());
        }
        let [TransportEvent::Whole(whole)] = &given[..] else { panic!("one message, not {given:?}") };
        assert_eq!(whole.frames as usize, frames.len());
        let mut expected = rest.to_vec();
        assert_eq!(whole.blanked, asfound_wire::secrets::blank(&mut expected));
        assert_eq!(whole.payload, expected);
    }

    let (mut rest, mut number, mut bytes, mut given) = (rest, 0, 0, 0);
    let mut assembler = Assembler::new(channel);
    let mut take = |transported: TransportEvent| {
        given += match transported {
            TransportEvent::Whole(whole) => whole.payload.len(),
            TransportEvent::Broken(broken) => broken.partial.len(),
        };
    };
    while let Some((length, after)) = rest.split_first() {
        let (data, after) = after.split_at(after.len().min(usize::from(length % 65)));
        let frame = CanFrame::new(channel.id, data).expect("at most 64 bytes");
        number += 1;
        bytes += data.len();
        assembler.frame(number, &frame, &mut take);
        rest = after;
    }
    assembler.finish(&mut take);
    assert!(!assembler.is_within());
    assert!(given <= bytes);
}
