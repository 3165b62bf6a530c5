//! Bus logs in, diagnostic conversations out.
//!
//! [`log::read_log`] turns a log (candump text, pcap, pcapng; gzip or zstd around it) into frames of a CAN bus and messages of
//! diagnostics on IP. A [`listening::Listener`] finds out which identifiers carry diagnostics and puts their messages together
//! (ISO 15765-2). [`service`] says what a message means (ISO 14229-1), and [`conversation`] what was
//! asked and answered: which records were read, written, refused and read again.
//!
//! Nothing here opens files, sends anything or keeps seeds and keys: they are blanked before a message leaves
//! ([`secrets`]). What could not be read, put together or understood comes out as a value with its place.
//! The memory that is used does not grow with the log.

pub mod conversation;
pub mod frame;
pub mod ip;
pub mod listening;
pub mod log;
pub mod pairing;
mod problem;
pub mod secrets;
pub mod service;
pub mod transport;
