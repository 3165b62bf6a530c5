//! What was begun and is not ended when the log ends.

use std::collections::BTreeMap;

use crate::frame::Timestamp;
use crate::service::{Request, Response};

/// What is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OpenMatter {
    /// A transfer to the module (`up` false) or from it.
    Transfer {
        /// From the module.
        up: bool,
        /// The blocks that got through.
        blocks: u64,
        /// The bytes in them.
        bytes: u64,
    },
    /// A session other than the default one.
    Session(u8),
    /// Trouble codes are not recorded (85 02).
    CodesOff,
    /// Ordinary communication is off in part or whole (28), by the control type.
    Silenced(u8),
    /// An output is under the tester's control (2F).
    Controlled(u16),
}

/// One thing that is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOpen {
    /// What.
    pub what: OpenMatter,
    /// Since when.
    pub since: Option<Timestamp>,
    /// Where in the log.
    pub number: u64,
    /// Whether the module said yes to it; otherwise no answer is in the log, or none was wanted.
    pub accepted: bool,
    /// Whether no positive response was wanted.
    pub quiet: bool,
}

/// Since when and where something is open.
#[derive(Debug, Clone, Copy)]
pub(super) struct Since {
    pub(super) at: Option<Timestamp>,
    pub(super) number: u64,
    pub(super) accepted: bool,
    /// No positive response was wanted.
    pub(super) quiet: bool,
}

impl Since {
    /// Whether what it asks for counts as ended.
    const fn ends(self) -> bool {
        self.accepted || self.quiet
    }
}

/// What is open as far as the log has come.
#[derive(Debug, Clone, Default)]
pub(super) struct OpenMatters {
    transfer: Option<(bool, u64, u64, Since)>,
    session: Option<(u8, Since)>,
    codes_off: Option<Since>,
    silenced: Option<(u8, Since)>,
    controlled: BTreeMap<u16, Since>,
}

/// So many outputs are followed.
const MOST_CONTROLLED: usize = 1_000;

impl OpenMatters {
    /// Takes the next exchange. What was refused opens and ends nothing. What has no answer although it wanted one may have been
    /// done or not: it opens, and ends nothing.
    pub(super) fn exchange(&mut self, since: Since, request: Option<&Request<'_>>, response: Option<&Response<'_>>) {
        if matches!(response, Some(Response::Refused { .. })) {
            return;
        }
        match (request, response) {
            (_, Some(Response::Session { session, .. })) | (Some(Request::Session { session, .. }), _) => {
                self.session(*session, since);
            }
            (Some(Request::Reset { .. }), _) | (_, Some(Response::Reset { .. })) if since.ends() => self.begin_anew(),
            (Some(Request::CodeRecording { setting, .. }), _) | (_, Some(Response::CodeRecording { setting })) => {
                match setting {
                    1 if since.ends() => self.codes_off = None,
                    2 => self.codes_off = Some(self.codes_off.filter(|open| open.accepted).unwrap_or(since)),
                    _ => {}
                }
            }
            (Some(Request::Communication { control, .. }), _) | (_, Some(Response::Communication { control })) => {
                match control {
                    0x00 | 0x05 if since.ends() => self.silenced = None,
                    0x01..=0x04 => self.silenced = Some((*control, since)),
                    _ => {}
                }
            }
            (Some(Request::Control { record, data }), _) => match data.first() {
                Some(0) if since.ends() => {
                    self.controlled.remove(record);
                }
                Some(1..) if self.controlled.len() < MOST_CONTROLLED => {
                    self.controlled.entry(*record).or_insert(since);
                }
                _ => {}
            },
            _ => self.transfer(request, response, since),
        }
    }

    /// 01 and 81 (ISO 14230-3) are the default session. With it ends what another session had altered, and so it does with a
    /// restart (ISO 14229-1, clause 10.2; from memory).
    fn session(&mut self, session: u8, since: Since) {
        if matches!(session, 0x01 | 0x81) {
            if since.ends() {
                self.begin_anew();
            }
        } else {
            let same = self.session.filter(|(open, open_since)| *open == session && open_since.accepted);
            self.session = same.or(Some((session, since)));
        }
    }

    /// A transfer that was not ended stays so: what it was to bring is not there.
    fn begin_anew(&mut self) {
        *self = Self { transfer: self.transfer, ..Self::default() };
    }

    fn transfer(&mut self, request: Option<&Request<'_>>, response: Option<&Response<'_>>, since: Since) {
        match (request, response) {
            (Some(Request::BeginTransfer { up, .. }), _) | (_, Some(Response::TransferBegun { up })) => {
                self.transfer = Some((*up, 0, 0, since));
            }
            // Request file transfer: 04 and 05 read, 02 deletes, others write.
            (Some(Request::Other { bytes: [0x38, mode, ..] }), _) if *mode != 2 => {
                self.transfer = Some((matches!(mode, 4 | 5), 0, 0, since));
            }
            (request, Some(Response::Transferred { length, .. })) => {
                let sent = match request {
                    Some(Request::Transfer { length, .. }) => *length,
                    _ => 0,
                };
                // The log may begin in the middle of a transfer.
                let (up, blocks, bytes, since) = self.transfer.unwrap_or((sent == 0, 0, 0, since));
                let more = if up { *length } else { sent };
                self.transfer = Some((up, blocks + 1, bytes + more as u64, since));
            }
            (_, Some(Response::TransferEnded)) => self.transfer = None,
            _ => {}
        }
    }

    /// Takes what was asked of all modules at once, which nobody answered: what it ends is ended for this one too. What it opens is
    /// told once for all.
    pub(super) fn asked_of_all(&mut self, since: Since, request: &Request<'_>) {
        let ends = match request {
            Request::Session { session, .. } => *session == 1,
            Request::Reset { .. } => true,
            Request::CodeRecording { setting, .. } => *setting == 1,
            Request::Communication { control, .. } => matches!(control, 0 | 5),
            _ => false,
        };
        if ends {
            self.exchange(since, Some(request), None);
        }
    }

    /// Everything that is open, the gravest first.
    pub(super) fn all(&self) -> Vec<LeftOpen> {
        let open = |what, since: Since| LeftOpen {
            what,
            since: since.at,
            number: since.number,
            accepted: since.accepted,
            quiet: since.quiet,
        };
        let transfer =
            self.transfer.map(|(up, blocks, bytes, since)| open(OpenMatter::Transfer { up, blocks, bytes }, since));
        let session = self.session.map(|(session, since)| open(OpenMatter::Session(session), since));
        let codes = self.codes_off.map(|since| open(OpenMatter::CodesOff, since));
        let silenced = self.silenced.map(|(control, since)| open(OpenMatter::Silenced(control), since));
        let controlled = self.controlled.iter().map(|(record, since)| open(OpenMatter::Controlled(*record), *since));
        transfer.into_iter().chain(session).chain(codes).chain(silenced).chain(controlled).collect()
    }
}
