//! One request until its end: "pending", "busy" and silence.

use asfound_wire::frame::Timestamp;
use asfound_wire::service::Refusal;

use super::fit::Fit;
use super::{Outcome, Silence, Timing, Undelivered};
use crate::request::ReadRequest;

/// What is to be done next.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Turn {
    /// Nothing until something comes or the time is over.
    Wait,
    /// The request is made again.
    Send,
    /// It is over.
    Done(Outcome),
}

/// One request from being sent to its end.
#[derive(Debug)]
pub(super) struct Pending {
    pub(super) request: ReadRequest,
    timing: Timing,
    /// When it is over, whatever the module says.
    ends: Timestamp,
    until: Timestamp,
    pausing: bool,
    promised: bool,
    busy: u32,
    silent: u32,
    something_else: Option<Vec<u8>>,
}

impl Pending {
    /// A request that is sent now.
    pub fn new(request: ReadRequest, timing: Timing, now: Timestamp) -> Self {
        Self {
            request,
            timing,
            ends: now.after(timing.longest),
            until: now.after(timing.response),
            pausing: false,
            promised: false,
            busy: 0,
            silent: 0,
            something_else: None,
        }
    }

    /// When [`time`](Self::time) is to be called at the latest.
    pub fn due(&self) -> Timestamp {
        self.until.min(self.ends)
    }

    /// The request was passed on to the module only now.
    pub fn passed_on(&mut self, now: Timestamp) {
        if !self.pausing && !self.promised {
            self.until = now.after(self.timing.response);
        }
    }

    /// Takes a response.
    pub fn response(&mut self, fit: Fit, bytes: &[u8], now: Timestamp) -> Turn {
        match fit {
            Fit::Positive => return Turn::Done(Outcome::Answered(bytes.to_vec())),
            Fit::Refused(Refusal::PENDING) => {
                (self.promised, self.pausing) = (true, false);
                self.until = now.after(self.timing.pending);
            }
            Fit::Refused(Refusal::BUSY) => return self.busy(now),
            Fit::Refused(why) => return Turn::Done(Outcome::Refused(why)),
            Fit::Sibling | Fit::Foreign => self.something_else = Some(bytes.to_vec()),
        }
        Turn::Wait
    }

    /// The module did not get the request.
    pub fn undelivered(&mut self, why: Undelivered, now: Timestamp) -> Turn {
        match why {
            // ISO 13400-2: no memory at the moment; an error of the transport behind the gateway. Both pass.
            Undelivered::Gateway(0x05 | 0x08) => match self.busy(now) {
                Turn::Done(_) => Turn::Done(Outcome::Undelivered(why)),
                turn => turn,
            },
            Undelivered::Gateway(_) => Turn::Done(Outcome::Undelivered(why)),
        }
    }

    fn busy(&mut self, now: Timestamp) -> Turn {
        if self.busy >= self.timing.busy_repeats {
            return Turn::Done(Outcome::Silent(Silence::Busy));
        }
        self.busy += 1;
        self.pausing = true;
        self.until = now.after(self.timing.busy_pause);
        Turn::Wait
    }

    /// Time went on.
    pub fn time(&mut self, now: Timestamp) -> Turn {
        if now >= self.ends {
            return Turn::Done(Outcome::Silent(if self.promised {
                Silence::StillPending
            } else if self.busy > 0 {
                Silence::Busy
            } else {
                Silence::Nothing
            }));
        }
        if now < self.until {
            return Turn::Wait;
        }
        if !self.pausing {
            if self.silent >= self.timing.silent_repeats {
                return Turn::Done(Outcome::Silent(self.silence()));
            }
            self.silent += 1;
        }
        (self.pausing, self.promised) = (false, false);
        self.until = now.after(self.timing.response);
        Turn::Send
    }

    fn silence(&mut self) -> Silence {
        match self.something_else.take() {
            _ if self.promised => Silence::AfterPending,
            Some(bytes) => Silence::SomethingElse(bytes),
            None => Silence::Nothing,
        }
    }
}
