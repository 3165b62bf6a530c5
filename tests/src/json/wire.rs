//! `asfound/wire/1`: what `wire show` answers in its last line, after one line for each message.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Answer, rising};

/// A whole message: `asfound/wire-message/1`. Messages come in the order in which they are complete and recognised.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireMessage {
    /// The schema.
    pub schema: String,
    /// The number of its first frame among the log's frames, from 1; on IP that of the message.
    pub number: u64,
    /// When its first frame was logged, in seconds with six decimals.
    pub first: Option<String>,
    /// When its last frame was logged.
    pub last: Option<String>,
    /// Who sent it.
    pub from: WireSender,
    /// `request` or `response`.
    pub role: String,
    /// The service of the request, two hexadecimal digits.
    pub service: String,
    /// Its name; nothing where ISO 14229-1 has none.
    pub service_name: Option<String>,
    /// Code and name of a negative response.
    pub refusal: Option<String>,
    /// The message in hexadecimal.
    pub payload: String,
    /// Whether seeds or keys were set to zero in it.
    pub blanked: bool,
    /// How many frames carried it, without flow control.
    pub frames: u32,
}

/// A message that did not get through: `asfound/wire-broken/1`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireBroken {
    /// The schema.
    pub schema: String,
    /// The number of its first frame.
    pub number: u64,
    /// When its first frame was logged.
    pub first: Option<String>,
    /// When it broke off.
    pub last: Option<String>,
    /// Who sent it.
    pub from: WireSender,
    /// Why, in words.
    pub why: String,
    /// What came of it, in hexadecimal.
    pub partial: String,
}

/// Who sent a message: on a CAN bus `bus`, `id` and `address`, on IP `source` and `target`; the others are absent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireSender {
    /// The bus, where the log names it.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "asfound_present")]
    pub bus: Option<Option<String>>,
    /// The identifier: three hexadecimal digits for 11 bits, eight for 29.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// The byte in front of the transport, in extended and mixed addressing.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "asfound_present")]
    pub address: Option<Option<String>>,
    /// The logical address of the sender.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    /// The logical address of who is meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<String>,
}

/// The whole log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wire {
    /// The schema.
    pub schema: String,
    /// The log's path.
    pub log: String,
    /// `candump`, `pcap` or `pcapng`.
    pub form: String,
    /// What its times count from: `date`, `beginning` of the log, `line-before`, or `none`.
    pub clock: String,
    /// The first moment in it.
    pub first: Option<String>,
    /// The last moment in it.
    pub last: Option<String>,
    /// CAN frames.
    pub frames: u64,
    /// Whole messages.
    pub messages: u64,
    /// Messages that did not get through.
    pub broken: u64,
    /// The modules, by bus and identifier.
    pub modules: Vec<WireModule>,
    /// What is open at the end of the log, the gravest first.
    pub left_open: Vec<WireLeftOpen>,
    /// Identifiers that could be diagnostics and have no partner.
    pub undecided: Vec<WireUndecided>,
    /// Frames that came before their identifier was recognised, and could not be kept.
    pub unrecognised_frames: u64,
    /// Places in the log that could not be read.
    pub problems: u64,
}

/// One module.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireModule {
    /// Where it answers.
    pub module: String,
    /// Who asked it.
    pub testers: Vec<String>,
    /// How many exchanges there were, by service.
    pub services: BTreeMap<String, u64>,
    /// How many records were asked for or written.
    pub records: usize,
    /// How many records with an identifier of one byte (ISO 14230-3).
    pub local_records: usize,
    /// The writes: of records, of records with an identifier of one byte, of memory.
    pub writes: WireWrites,
    /// Answers whose request is not in the log.
    pub without_request: u64,
    /// Requests without an answer in the log.
    pub without_answer: u64,
}

/// The writes of one module.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireWrites {
    /// How many were accepted.
    pub accepted: usize,
    /// How many were refused.
    pub refused: usize,
    /// How many have no answer in the log.
    pub unanswered: usize,
}

/// Something that is open at the end of the log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireLeftOpen {
    /// Where the module answers; nothing where all modules were asked at once.
    pub module: Option<String>,
    /// `transfer-to-module`, `transfer-from-module`, `session`, `codes-off`, `silenced` or `controlled`.
    pub what: String,
    /// The session, the control type, or the record that stands for the output, in hexadecimal.
    pub number: Option<String>,
    /// The blocks of a transfer that got through.
    pub blocks: Option<u64>,
    /// The bytes in them.
    pub bytes: Option<u64>,
    /// Since when, in seconds with six decimals.
    pub since: Option<String>,
    /// Whether the module said yes; otherwise the log has no answer, or none was wanted.
    pub accepted: bool,
}

/// An identifier that could be diagnostics.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WireUndecided {
    /// The bus, where the log names it.
    pub bus: Option<String>,
    /// The identifier.
    pub id: String,
    /// Its frames.
    pub frames: u64,
    /// The identifier that could be its partner.
    pub perhaps: Option<String>,
}

/// A member that is there, and may be `null`.
mod asfound_present {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    #[allow(clippy::option_option, clippy::ref_option, reason = "absent, null and text are three things in JSON")]
    pub fn serialize<S: Serializer>(value: &Option<Option<String>>, to: S) -> Result<S::Ok, S::Error> {
        value.as_ref().expect("what is absent is left out").serialize(to)
    }

    #[allow(clippy::option_option, reason = "absent, null and text are three things in JSON")]
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Option<Option<String>>, D::Error> {
        Option::deserialize(from).map(Some)
    }
}

impl Answer for WireMessage {
    const SCHEMA: &'static str = "asfound/wire-message/1";
    fn check(&self) {
        self.from.check();
    }
}

impl Answer for WireBroken {
    const SCHEMA: &'static str = "asfound/wire-broken/1";
    fn check(&self) {
        self.from.check();
    }
}

impl Answer for Wire {
    const SCHEMA: &'static str = "asfound/wire/1";
    fn check(&self) {
        rising("modules", &self.modules, |module| module.module.clone());
    }
}

impl WireSender {
    /// On a CAN bus or on IP, with all that belongs to it.
    fn check(&self) {
        let can = self.bus.is_some() && self.id.is_some() && self.address.is_some();
        let ip = self.source.is_some() && self.target.is_some();
        let nothing_else = if can { self.source.is_none() && self.target.is_none() } else { self.id.is_none() };
        assert!(can != ip && nothing_else, "{self:?}");
    }
}
