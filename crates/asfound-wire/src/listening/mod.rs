//! From the items of a log to messages, frame by frame.

mod blanked_frames;
mod listener;
mod message;

pub use listener::{BusEvent, Listener, ListenerOptions, ListenerSummary};
pub use message::{Message, Sender};
