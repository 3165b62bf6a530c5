//! The assembler undoes the segmenter, whatever the message, the addressing and the frame; what lies between does no harm;
//! and a log that is cut gives what was complete before.
#![allow(clippy::unwrap_used, clippy::format_collect, reason = "a test stops where something is missing")]

use asfound_wire::frame::{CanFrame, CanId, Interface};
use asfound_wire::listening::{BusEvent, Listener, ListenerOptions};
use asfound_wire::pairing::Role;
use asfound_wire::transport::{Assembler, CanChannel, FailureReason, Segmentation, TransportEvent, segments};
use proptest::prelude::*;

fn channel() -> impl Strategy<Value = CanChannel> {
    let id = prop_oneof![
        (0u32..0x800).prop_map(|number| CanId::standard(number).unwrap()),
        (0u32..0x2000_0000).prop_map(|number| CanId::extended(number).unwrap()),
    ];
    (id, any::<Option<u8>>()).prop_map(|(id, address)| CanChannel { interface: Interface::UNNAMED, id, address })
}

fn how() -> impl Strategy<Value = Segmentation> {
    let sizes = prop::sample::select(vec![8, 12, 16, 20, 24, 32, 48, 64]);
    (sizes, any::<Option<u8>>()).prop_map(|(frame_bytes, filler)| Segmentation { frame_bytes, filler })
}

fn payload() -> impl Strategy<Value = Vec<u8>> {
    let length = prop_oneof![1usize..80, 1usize..600, Just(4095), Just(4096), Just(5000)];
    // No service whose bytes are blanked.
    (length, any::<u8>()).prop_map(|(length, seed)| {
        let rest = (1..length).map(|at| seed.wrapping_add(at.to_le_bytes()[0]).wrapping_mul(31));
        std::iter::once(0x62).chain(rest).collect()
    })
}

fn whole(frames: &[CanFrame], channel: CanChannel) -> Vec<Vec<u8>> {
    let mut assembler = Assembler::new(channel);
    let mut given = Vec::new();
    for (number, frame) in frames.iter().enumerate() {
        assembler.frame(number as u64 + 1, frame, &mut |transported| match transported {
            TransportEvent::Whole(whole) => given.push(whole.payload),
            TransportEvent::Broken(broken) => panic!("{broken:?}"),
        });
    }
    given
}

proptest! {
    #[test]
    fn the_assembler_undoes_the_segmenter(
        channel in channel(), how in how(), payloads in prop::collection::vec(payload(), 1..4),
    ) {
        let frames: Vec<CanFrame> =
            payloads.iter().flat_map(|payload| segments(&channel, payload, how).unwrap()).collect();
        prop_assert_eq!(whole(&frames, channel), payloads);
    }

    #[test]
    fn a_lost_or_repeated_frame_is_told_and_the_next_message_gets_through(
        channel in channel(), how in how(), length in 400usize..800, which in any::<prop::sample::Index>(), twice: bool,
    ) {
        let payload: Vec<u8> = std::iter::once(0x62).chain((1..length).map(|at| at.to_le_bytes()[0])).collect();
        let mut frames = segments(&channel, &payload, how).unwrap();
        // A consecutive frame that is not the last one; a repeated first frame would begin the message anew.
        let place = 1 + which.index(frames.len() - 2);
        if twice {
            frames.insert(place, frames[place].clone());
        } else {
            frames.remove(place);
        }
        frames.extend(segments(&channel, &[0x3E, 0], how).unwrap());
        let mut assembler = Assembler::new(channel);
        let (mut given, mut broken) = (Vec::new(), Vec::new());
        for (number, frame) in frames.iter().enumerate() {
            assembler.frame(number as u64, frame, &mut |transported| match transported {
                TransportEvent::Whole(whole) => given.push(whole.payload),
                TransportEvent::Broken(one) => broken.push(one),
            });
        }
        if twice {
            // What the sender sent is known all the same.
            prop_assert_eq!(given, vec![payload, vec![0x3E, 0]]);
            prop_assert!(broken.is_empty());
            return Ok(());
        }
        prop_assert_eq!(given, vec![vec![0x3E, 0]]);
        prop_assert_eq!(broken.len(), 1);
        prop_assert!(matches!(broken[0].why, FailureReason::WrongNumber { .. }), "{:?}", broken[0].why);
        prop_assert!(payload.starts_with(&broken[0].partial));
    }

    /// Any frames whatsoever: the assembler tells, and nobody panics; what it gives is no longer than what came.
    #[test]
    fn whatever_comes_does_no_harm(
        channel in channel(), all in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..12), 0..60),
    ) {
        let mut assembler = Assembler::new(channel);
        let mut bytes = 0;
        let mut given = 0;
        for (number, data) in all.iter().enumerate() {
            bytes += data.len();
            let frame = CanFrame::new(channel.id, data).unwrap();
            assembler.frame(number as u64, &frame, &mut |transported| given += match transported {
                TransportEvent::Whole(whole) => whole.payload.len(),
                TransportEvent::Broken(broken) => broken.partial.len(),
            });
        }
        prop_assert!(given <= bytes);
    }

    /// Ordinary traffic of any kind is not taken for diagnostics.
    #[test]
    fn ordinary_traffic_stays_out(ids in prop::collection::btree_set(0x100u32..0x7FF, 2..20), seed: u64) {
        let mut listener = Listener::new(ListenerOptions::default());
        let mut random = seed | 1;
        for round in 0..400u64 {
            let low = round.to_le_bytes()[0];
            for (kind, id) in ids.iter().enumerate() {
                random ^= random << 13;
                random ^= random >> 7;
                random ^= random << 17;
                let mut data = random.to_be_bytes();
                match kind % 4 {
                    0 => {}
                    1 => data = [low, 0, 0, 0, 0, 0, 0, !low],
                    2 => data[0] = 0x03,
                    _ => data = [0x02, 0x10, low, 0, 0, 0, 0, 0],
                }
                let frame = CanFrame::new(CanId::standard(*id).unwrap(), &data).unwrap();
                listener.frame(&frame, &mut |heard, _| panic!("{heard:?}"), &mut |_, _| {});
            }
        }
        prop_assert_eq!(listener.finish(&mut |heard, _| panic!("{heard:?}")).found.pairs.iter().count(), 0);
    }
}

/// What a pair that is said beforehand gives, from one side alone.
#[test]
fn a_pair_that_is_said_needs_no_proof() {
    let options =
        || ListenerOptions { pairs: vec!["17FC007B:17FE007B".parse().unwrap()], ..ListenerOptions::default() };
    let frame = CanFrame::new("17FE007B".parse().unwrap(), &[3, 0x6E, 0x10, 0x01]).unwrap();
    let hear = |options: ListenerOptions| {
        let mut heard = Vec::new();
        let mut listener = Listener::new(options);
        listener.frame(&frame, &mut |one, _| heard.push(one), &mut |_, _| {});
        listener.finish(&mut |one, _| heard.push(one));
        heard
    };
    assert_eq!(hear(ListenerOptions::default()), []);
    let [BusEvent::Message(message)] = &hear(options())[..] else { panic!("one message") };
    assert_eq!((message.role, &message.payload[..]), (Role::Response, &[0x6E, 0x10, 0x01][..]));
}

/// The frames of check-values: can-isotp 2.0.7 on a virtual bus, block size 2. One exchange of several frames proves the pair.
#[test]
fn one_message_of_several_frames_proves_its_pair() {
    let text = "7E8#102062F190314734\n7E0#300200\n7E8#2141483539483435\n7E8#2247313138333431\n7E0#300200\n\
                7E8#2300000000000000\n7E8#240000000000AAAA\n";
    let mut listener = Listener::new(ListenerOptions::default());
    let mut heard = Vec::new();
    asfound_wire::log::read_log(text.as_bytes(), |item| listener.item(item, &mut |one, _| heard.push(one))).unwrap();
    let [BusEvent::Message(message)] = &heard[..] else { panic!("{heard:?}") };
    assert_eq!(&message.payload[..20], b"\x62\xF1\x901G4AH59H45G118341".as_slice());
    assert_eq!((message.payload.len(), message.number, message.frames), (32, 1, 5));
}

/// Each message whose last byte came before the cut is there.
#[test]
fn a_conversation_cut_at_every_byte_gives_what_was_complete_before() {
    let text = "(1.0) can0 7E0#0322F190AAAAAAAA\n(1.1) can0 7E8#100A62F190313233\n(1.2) can0 7E0#300000AAAAAAAAAA\n\
                (1.3) can0 7E8#2134353637AAAAAA\n(1.4) can0 7E0#100A2EF190414243\n(1.5) can0 7E8#300000AAAAAAAAAA\n\
                (1.6) can0 7E0#2144454647AAAAAA\n(1.7) can0 7E8#036EF190AAAAAAAA\n";
    let payloads = |text: &str| {
        let options = ListenerOptions { pairs: vec!["7E0:7E8".parse().unwrap()], ..ListenerOptions::default() };
        let mut listener = Listener::new(options);
        let mut given = Vec::new();
        let mut take = |heard| {
            if let BusEvent::Message(message) = heard {
                given.push(message.payload);
            }
        };
        if !text.is_empty() {
            asfound_wire::log::read_log(text.as_bytes(), |item| listener.item(item, &mut |one, _| take(one))).unwrap();
        }
        listener.finish(&mut |one, _| take(one));
        given
    };
    let all = payloads(text);
    assert_eq!(all.len(), 4);
    // The lines that complete a message.
    let ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at).collect();
    let complete = [ends[0], ends[3], ends[6], ends[7]];
    for cut in 0..=text.len() {
        let given = payloads(&text[..cut]);
        assert_eq!(given, all[..given.len()], "at {cut}");
        assert!(given.len() >= complete.iter().filter(|end| **end <= cut).count(), "at {cut}");
    }
}
