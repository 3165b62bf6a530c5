//! How fast a candump log is read, with and without putting messages together: `cargo bench -p asfound-wire`.
//!
//! The log is made here: 40 ordinary identifiers, and one conversation in about every twentieth frame.

use asfound_wire::frame::{CanFrame, CanId, Interface};
use asfound_wire::listening::{Listener, ListenerOptions};
use asfound_wire::log::{LogItem, read_log, read_log_passing_over};
use asfound_wire::transport::{Assembler, CanChannel, Segmentation, segments};
use divan::Bencher;
use divan::counter::{BytesCount, ItemsCount};

fn main() {
    divan::main();
}

/// A number without pattern from a counter (the finalizer of `SplitMix64`).
fn mixed(n: u64) -> u64 {
    let n = (n ^ (n >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let n = (n ^ (n >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    n ^ (n >> 31)
}

fn channel(id: u32) -> CanChannel {
    CanChannel { interface: Interface::UNNAMED, id: CanId::standard(id).expect("11 bits"), address: None }
}

const CLASSIC: Segmentation = Segmentation { frame_bytes: 8, filler: Some(0xAA) };

/// The frames of one exchange: a record of 60 bytes is read.
fn exchange(round: u64) -> Vec<CanFrame> {
    let record = (0x1000 + round % 0x800).to_be_bytes();
    let mut response = vec![0x62, record[6], record[7]];
    response.extend((0..60).map(|at| mixed(round + at).to_le_bytes()[0]));
    let request = segments(&channel(0x7E0), &[0x22, record[6], record[7]], CLASSIC);
    let mut frames = request.expect("it fits");
    let mut answer = segments(&channel(0x7E8), &response, CLASSIC).expect("it fits").into_iter();
    frames.extend(answer.next());
    frames.extend(CanFrame::new(channel(0x7E0).id, &[0x30, 0, 0, 0xAA, 0xAA, 0xAA, 0xAA, 0xAA]));
    frames.extend(answer);
    frames
}

fn log(frames: u64) -> Vec<u8> {
    let mut text = String::new();
    let mut waiting = Vec::new();
    for number in 0..frames {
        if number % 20 == 0 {
            if waiting.is_empty() {
                waiting = exchange(number / 20);
                waiting.reverse();
            }
            let frame: CanFrame = waiting.pop().expect("just filled");
            text.push_str(&format!(
                "({}.{:06}) can0 {}#",
                1_700_000_000 + number / 4000,
                number % 4000 * 250,
                frame.id
            ));
            frame.data().iter().for_each(|byte| text.push_str(&format!("{byte:02X}")));
            text.push('\n');
        } else {
            let (id, data) = (0x100 + number % 40 * 9, mixed(number));
            text.push_str(&format!(
                "({}.{:06}) can0 {id:03X}#{data:016X}\n",
                1_700_000_000 + number / 4000,
                number % 4000 * 250
            ));
        }
    }
    text.into_bytes()
}

const FRAMES: u64 = 400_000;

#[divan::bench]
fn find_line_ends(bencher: Bencher) {
    let log = log(FRAMES);
    bencher
        .counter(BytesCount::new(log.len()))
        .counter(ItemsCount::new(FRAMES))
        .bench(|| memchr::memchr_iter(b'\n', &log).count());
}

#[divan::bench]
fn read_candump(bencher: Bencher) {
    let log = log(FRAMES);
    bencher.counter(BytesCount::new(log.len())).counter(ItemsCount::new(FRAMES)).bench(|| {
        let mut bytes = 0;
        let facts = read_log(log.as_slice(), |item| {
            if let LogItem::Frame(frame) = item {
                bytes += frame.data().len();
            }
        });
        (facts.expect("it is a log").frames, bytes)
    });
}

#[divan::bench]
fn read_and_listen(bencher: Bencher) {
    let log = log(FRAMES);
    bencher.counter(BytesCount::new(log.len())).counter(ItemsCount::new(FRAMES)).bench(|| {
        let mut listener = Listener::new(ListenerOptions::default());
        let mut heard = 0;
        let ordinary = listener.ordinary();
        let facts =
            read_log_passing_over(log.as_slice(), &ordinary, |item| listener.item(item, &mut |_, _| heard += 1));
        assert!(heard > 1000);
        (facts.expect("it is a log").frames, heard)
    });
}

#[divan::bench(args = [7, 100, 4095])]
fn assemble(bencher: Bencher, length: usize) {
    let frames = segments(&channel(0x7E8), &vec![0x62; length], CLASSIC).expect("it fits");
    bencher.counter(BytesCount::new(length)).counter(ItemsCount::new(frames.len())).bench(|| {
        let mut assembler = Assembler::new(channel(0x7E8));
        let mut whole = 0;
        for (number, frame) in frames.iter().enumerate() {
            assembler.frame(number as u64, frame, &mut |_| whole += 1);
        }
        assert_eq!(whole, 1);
        assembler
    });
}
