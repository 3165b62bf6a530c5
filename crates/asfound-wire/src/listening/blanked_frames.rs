//! Frames of conversations without seeds and keys.

use std::collections::HashMap;

use crate::frame::CanFrame;
use crate::secrets;
use crate::transport::{Addressing, CanChannel, Pci};

/// What is known of the message that a channel is sending.
#[derive(Debug, Clone, Copy)]
struct Sending {
    secret: bool,
    missing: usize,
    next: u8,
}

/// Blanks seeds and keys in frames. What belongs to no message whose beginning was seen could be the rest of a
/// key, and is blanked too.
#[derive(Debug, Default)]
pub(super) struct BlankedFrames {
    sending: HashMap<CanChannel, Sending>,
}

impl BlankedFrames {
    /// The frame without what must not be kept.
    pub fn blank(&mut self, frame: &CanFrame, addressing: Addressing) -> CanFrame {
        let mut blanked = frame.clone();
        let Some(channel) = CanChannel::of(frame, addressing) else { return blanked };
        let offset = addressing.offset();
        let bytes = &frame.data()[offset..];
        // How many bytes of the frame may be shown.
        let shown = match Pci::read(bytes, offset) {
            Ok(Pci::Single { data, padding }) => {
                self.sending.remove(&channel);
                let secret = data.first().and_then(|service| secrets::shown(*service));
                secret.map(|shown| frame.data().len() - padding.len() - data.len() + shown.min(data.len()))
            }
            Ok(Pci::First { length, data }) => {
                let secret = data.first().and_then(|service| secrets::shown(*service));
                let missing = (length as usize).saturating_sub(data.len());
                self.sending.insert(channel, Sending { secret: secret.is_some(), missing, next: 1 });
                secret.map(|shown| frame.data().len() - data.len() + shown.min(data.len()))
            }
            Ok(Pci::Consecutive { number, data }) => self.further(channel, number, data).then_some(offset + 1),
            Ok(Pci::Flow { .. }) => None,
            Err(_) => Some((offset + 1).min(frame.data().len())),
        };
        if let Some(shown) = shown {
            blanked.bytes[shown..].fill(0);
        }
        blanked
    }

    /// Whether a further frame must be blanked.
    fn further(&mut self, channel: CanChannel, number: u8, data: &[u8]) -> bool {
        let Some(sending) = self.sending.get_mut(&channel) else { return true };
        let secret = sending.secret;
        if number != sending.next || sending.missing <= data.len() {
            let lost = number != sending.next;
            self.sending.remove(&channel);
            return secret || lost;
        }
        sending.missing -= data.len();
        sending.next = (number + 1) & 0x0F;
        secret
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frame::CanId;

    fn frame(data: &[u8]) -> CanFrame {
        CanFrame::new(CanId::standard(0x7E0).unwrap(), data).unwrap()
    }

    fn blanked(frames: &[&[u8]]) -> Vec<Vec<u8>> {
        let mut blanker = BlankedFrames::default();
        frames.iter().map(|data| blanker.blank(&frame(data), Addressing::Normal).data().to_vec()).collect()
    }

    #[test]
    fn keys_are_blanked_in_single_frames_and_in_long_messages() {
        assert_eq!(blanked(&[&[6, 0x27, 2, 9, 9, 9, 9, 0xAA]]), [[6, 0x27, 2, 0, 0, 0, 0, 0]]);
        assert_eq!(
            blanked(&[&[0x10, 12, 0x67, 1, 9, 9, 9, 9], &[0x30, 0, 0], &[0x21, 9, 9, 9, 9, 9, 9, 0xAA]]),
            [vec![0x10, 12, 0x67, 1, 0, 0, 0, 0], vec![0x30, 0, 0], vec![0x21, 0, 0, 0, 0, 0, 0, 0]]
        );
    }

    #[test]
    fn records_stay_and_what_has_no_beginning_goes() {
        let first = [0x10, 10, 0x62, 0xF1, 0x90, 1, 2, 3];
        assert_eq!(blanked(&[&[0x22, 9, 9]]), [[0x22, 0, 0]]);
        assert_eq!(blanked(&[&first, &[0x21, 4, 5, 6, 7]]), [first.to_vec(), vec![0x21, 4, 5, 6, 7]]);
        // After the message is complete, a further frame belongs to another one.
        assert_eq!(blanked(&[&first, &[0x21, 4, 5, 6, 7], &[0x22, 9, 9]])[2], [0x22, 0, 0]);
        assert_eq!(blanked(&[&first, &[0x22, 4, 5, 6, 7]])[1], [0x22, 0, 0, 0, 0]);
    }
}
