//! What one module was asked and answers, one request after the other.

use std::collections::BTreeMap;

use asfound_wire::frame::Timestamp;
use asfound_wire::service::Refusal;

use super::fit::{Fit, fit};
use super::pending::{Pending, Turn};
use super::{Outcome, Silence, Timing, Undelivered};
use crate::request::ReadRequest;

/// So often at most nothing is asked for a while until a refusal is certain.
const MOST_PAUSES: u32 = 3;

/// What is to be done next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DialogueStep {
    /// Nothing until something comes or the time is over.
    Wait,
    /// This goes to the module.
    Send(ReadRequest),
    /// The request is over.
    Done(Outcome),
}

/// What one module was asked and answers, one request after the other.
///
/// A positive response repeats what was asked for, and belongs to it. A refusal repeats the service alone, so that one which comes late
/// or twice could be taken for the refusal of a later request. Where that is possible, nothing is asked for a while, and then the same
/// again. Where an answer is still to come, the module is asked first whether it is there (3E 00): it answers in the order of the requests, so
/// that what is left of older ones comes before that.
#[derive(Debug)]
pub struct Dialogue {
    timing: Timing,
    current: Option<Current>,
    /// Requests of each service that nothing was answered to yet.
    owed: BTreeMap<u8, u32>,
    /// When each service was refused last.
    refused: BTreeMap<u8, Timestamp>,
    /// More came than was asked for.
    strays: bool,
}

#[derive(Debug)]
struct Current {
    request: ReadRequest,
    /// When it is over, whatever the module says.
    ends: Timestamp,
    stage: Stage,
    /// A refusal of this service came shortly before, and may come twice.
    recently_refused: bool,
    /// How often nothing was asked for a while because the refusal was in doubt.
    pauses: u32,
}

#[derive(Debug)]
enum Stage {
    /// The request itself.
    Request(Pending),
    /// Is the module there? What comes before it says so are answers to what was asked before.
    Order { probe: Pending, refusal: Refusal, positive: Option<Vec<u8>> },
    /// Nothing is asked until this moment; what has not come then is lost, where it is a long while.
    Quiet { until: Timestamp, long: bool, refusal: Refusal },
    /// The request once more.
    Again { pending: Pending, refusal: Refusal },
}

impl Current {
    /// What is waited for.
    const fn pending(&mut self) -> Option<&mut Pending> {
        match &mut self.stage {
            Stage::Request(pending) | Stage::Order { probe: pending, .. } | Stage::Again { pending, .. } => {
                Some(pending)
            }
            Stage::Quiet { .. } => None,
        }
    }
}

impl Dialogue {
    /// A dialogue in which nothing was asked yet.
    pub const fn new(timing: Timing) -> Self {
        Self { timing, current: None, owed: BTreeMap::new(), refused: BTreeMap::new(), strays: false }
    }

    /// Whether a request is under way.
    pub const fn is_asking(&self) -> bool {
        self.current.is_some()
    }

    /// Whether nothing is asked for a while.
    pub fn is_pausing(&self) -> bool {
        self.current.as_ref().is_some_and(|current| matches!(current.stage, Stage::Quiet { .. }))
    }

    /// When [`time`](Self::time) is to be called at the latest.
    pub fn due(&self) -> Option<Timestamp> {
        let current = self.current.as_ref()?;
        let due = match &current.stage {
            Stage::Request(pending) | Stage::Order { probe: pending, .. } | Stage::Again { pending, .. } => {
                pending.due()
            }
            Stage::Quiet { until, .. } => *until,
        };
        Some(due.min(current.ends))
    }

    /// Begins a request, which is to be sent now. One that was under way is given up.
    pub fn ask(&mut self, request: ReadRequest, now: Timestamp) -> DialogueStep {
        let before = self.refused.get(&request.service());
        let recently_refused = before.is_some_and(|last| u128::from(now.since(*last)) < self.timing.quiet.as_nanos());
        let stage = Stage::Request(Pending::new(request, self.timing, now));
        let ends = now.after(self.timing.longest);
        self.current = Some(Current { request, ends, stage, recently_refused, pauses: 0 });
        self.send(request)
    }

    fn send(&mut self, request: ReadRequest) -> DialogueStep {
        *self.owed.entry(request.service()).or_default() += 1;
        DialogueStep::Send(request)
    }

    /// The gateway passed the request on.
    pub fn passed_on(&mut self, now: Timestamp) {
        if let Some(pending) = self.current.as_mut().and_then(Current::pending) {
            pending.passed_on(now);
        }
    }

    /// The gateway did not pass the request on.
    pub fn undelivered(&mut self, why: Undelivered, now: Timestamp) -> DialogueStep {
        let Some(pending) = self.current.as_mut().and_then(Current::pending) else { return DialogueStep::Wait };
        let owed = self.owed.entry(pending.request.service()).or_default();
        *owed = owed.saturating_sub(1);
        let turn = pending.undelivered(why, now);
        self.turn(turn, now)
    }

    /// Takes a response of the module.
    pub fn response(&mut self, bytes: &[u8], now: Timestamp) -> DialogueStep {
        self.count(bytes, now);
        let Some(current) = &mut self.current else { return DialogueStep::Wait };
        let own = fit(current.request, bytes);
        let turn = match &mut current.stage {
            Stage::Request(pending) | Stage::Again { pending, .. } => pending.response(own, bytes, now),
            Stage::Order { probe, refusal, positive } => {
                match own {
                    Fit::Positive => *positive = Some(bytes.to_vec()),
                    Fit::Refused(why) => *refusal = why,
                    Fit::Sibling | Fit::Foreign => {}
                }
                let fit = fit(probe.request, bytes);
                probe.response(fit, bytes, now)
            }
            Stage::Quiet { .. } if own == Fit::Positive => return self.done(Outcome::Answered(bytes.to_vec())),
            Stage::Quiet { until, long, .. } => {
                // Another response is promised, to whichever request.
                let promised = matches!(bytes, [0x7F, _, code] if Refusal(*code) == Refusal::PENDING);
                *until = now.after(if promised || *long { self.timing.pending } else { self.timing.quiet });
                Turn::Wait
            }
        };
        self.turn(turn, now)
    }

    /// Keeps count of what is still to come.
    fn count(&mut self, bytes: &[u8], now: Timestamp) {
        let service = match bytes {
            [0x7F, _, code] if Refusal(*code) == Refusal::PENDING => return,
            [0x7F, service, _] => *service,
            [positive, ..] => positive.wrapping_sub(0x40),
            [] => return,
        };
        match self.owed.get_mut(&service) {
            Some(owed) if *owed > 0 => *owed -= 1,
            _ => self.strays = true,
        }
        if bytes[0] == 0x7F {
            self.refused.insert(service, now);
        }
    }

    /// Time went on.
    pub fn time(&mut self, now: Timestamp) -> DialogueStep {
        let Some(current) = &mut self.current else { return DialogueStep::Wait };
        let over = now >= current.ends;
        let turn = match &mut current.stage {
            Stage::Order { refusal, .. } | Stage::Quiet { refusal, .. } | Stage::Again { refusal, .. } if over => {
                Turn::Done(Outcome::Silent(Silence::DoubtfulRefusal(*refusal)))
            }
            Stage::Request(pending) | Stage::Order { probe: pending, .. } | Stage::Again { pending, .. } => {
                pending.time(now)
            }
            Stage::Quiet { until, .. } if now < *until => Turn::Wait,
            Stage::Quiet { refusal, long, .. } => {
                let (refusal, long) = (*refusal, *long);
                if long {
                    self.owed.clear();
                }
                // What came twice has come by now. What was answered late may still come.
                let still_owed = self.owed.get(&current.request.service()).is_some_and(|owed| *owed > 0);
                return if still_owed || self.strays { self.probe(refusal, now) } else { self.ask_again(refusal, now) };
            }
        };
        if over && let Turn::Done(outcome) = turn {
            return self.done(outcome);
        }
        self.turn(turn, now)
    }

    fn done(&mut self, outcome: Outcome) -> DialogueStep {
        self.current = None;
        DialogueStep::Done(outcome)
    }

    fn turn(&mut self, turn: Turn, now: Timestamp) -> DialogueStep {
        let Some(current) = &mut self.current else { return DialogueStep::Wait };
        let outcome = match turn {
            Turn::Wait => return DialogueStep::Wait,
            Turn::Send => {
                let Some(request) = current.pending().map(|pending| pending.request) else { return DialogueStep::Wait };
                return self.send(request);
            }
            Turn::Done(outcome) => outcome,
        };
        let is_owed = self.owed.get(&current.request.service()).is_some_and(|owed| *owed > 0);
        match (&mut current.stage, outcome) {
            (Stage::Request(_), Outcome::Refused(why)) if is_owed || current.recently_refused || self.strays => {
                self.pause(why, false, now)
            }
            (Stage::Order { probe, positive, refusal }, outcome) if outcome.is_answer() => {
                // An answer to an older question of this kind: the one to the last is still to come.
                if self.owed.get(&ReadRequest::Present.service()).is_some_and(|owed| *owed > 0) {
                    *probe = Pending::new(ReadRequest::Present, probe_timing(self.timing), now);
                    return DialogueStep::Wait;
                }
                let (positive, refusal) = (positive.take(), *refusal);
                match positive {
                    Some(bytes) => self.done(Outcome::Answered(bytes)),
                    // Whatever was still to come is here: a refusal that comes now is about what is asked now.
                    None => self.ask_again(refusal, now),
                }
            }
            (Stage::Order { positive, refusal, .. }, _) => match positive.take() {
                Some(bytes) => self.done(Outcome::Answered(bytes)),
                None => {
                    let refusal = *refusal;
                    self.pause(refusal, true, now)
                }
            },
            (Stage::Again { refusal, .. }, Outcome::Refused(why)) if is_owed || why != *refusal => {
                self.pause(why, false, now)
            }
            (Stage::Again { refusal, .. }, Outcome::Silent(_)) => {
                let doubtful = Silence::DoubtfulRefusal(*refusal);
                self.done(Outcome::Silent(doubtful))
            }
            (Stage::Request(_) | Stage::Again { .. }, outcome) => self.done(outcome),
            (Stage::Quiet { .. }, _) => DialogueStep::Wait,
        }
    }

    fn probe(&mut self, refusal: Refusal, now: Timestamp) -> DialogueStep {
        let Some(current) = &mut self.current else { return DialogueStep::Wait };
        let probe = Pending::new(ReadRequest::Present, probe_timing(self.timing), now);
        current.stage = Stage::Order { probe, refusal, positive: None };
        self.send(ReadRequest::Present)
    }

    fn pause(&mut self, refusal: Refusal, long: bool, now: Timestamp) -> DialogueStep {
        let Some(current) = &mut self.current else { return DialogueStep::Wait };
        if current.pauses >= MOST_PAUSES {
            return self.done(Outcome::Silent(Silence::DoubtfulRefusal(refusal)));
        }
        current.pauses += 1;
        let time = if long { self.timing.pending } else { self.timing.quiet };
        current.stage = Stage::Quiet { until: now.after(time), long, refusal };
        DialogueStep::Wait
    }

    fn ask_again(&mut self, refusal: Refusal, now: Timestamp) -> DialogueStep {
        let Some(current) = &mut self.current else { return DialogueStep::Wait };
        let request = current.request;
        current.stage = Stage::Again { pending: Pending::new(request, self.timing, now), refusal };
        // What did not come before the module said that it is there is lost.
        self.owed.insert(request.service(), 0);
        self.send(request)
    }
}

/// The question whether the module is there is asked once.
const fn probe_timing(timing: Timing) -> Timing {
    Timing { silent_repeats: 0, ..timing }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;
    use crate::request::{CodesReport, ReadSession};

    const A: ReadRequest = ReadRequest::Record(0xF187);
    const B: ReadRequest = ReadRequest::Record(0xF189);

    fn at(milliseconds: u64) -> Timestamp {
        Timestamp::from_nanoseconds(milliseconds * 1_000_000)
    }

    fn dialogue() -> Dialogue {
        Dialogue::new(Timing::default())
    }

    fn answered(bytes: &[u8]) -> DialogueStep {
        DialogueStep::Done(Outcome::Answered(bytes.to_vec()))
    }

    fn silent(why: Silence) -> DialogueStep {
        DialogueStep::Done(Outcome::Silent(why))
    }

    const ANSWER_A: [u8; 4] = [0x62, 0xF1, 0x87, 7];
    const ANSWER_B: [u8; 4] = [0x62, 0xF1, 0x89, 9];

    #[test]
    fn an_answer_ends_it() {
        let mut dialogue = dialogue();
        assert_eq!(dialogue.ask(A, at(0)), DialogueStep::Send(A));
        assert!(dialogue.is_asking());
        assert_eq!(dialogue.due(), Some(at(1000)));
        assert_eq!(dialogue.response(&ANSWER_A, at(20)), answered(&ANSWER_A));
        assert!(!dialogue.is_asking());
        assert_eq!(dialogue.due(), None);
        assert_eq!(dialogue.response(&ANSWER_A, at(21)), DialogueStep::Wait);
    }

    #[test]
    fn any_number_of_pendings_are_waited_for_each_with_its_limit_and_all_with_one() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        for second in 1..12 {
            assert_eq!(dialogue.response(&[0x7F, 0x22, 0x78], at(second * 5000)), DialogueStep::Wait);
            assert_eq!(dialogue.time(at(second * 5000 + 4999)), DialogueStep::Wait);
        }
        assert_eq!(dialogue.response(&ANSWER_A, at(59_900)), answered(&ANSWER_A));

        dialogue.ask(A, at(0));
        for second in 1..=12 {
            dialogue.response(&[0x7F, 0x22, 0x78], at(second * 4999));
        }
        assert_eq!(dialogue.due(), Some(at(60_000)));
        assert_eq!(dialogue.time(at(60_000)), silent(Silence::StillPending));
    }

    #[test]
    fn a_module_that_falls_silent_after_pending_is_asked_once_more() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        dialogue.response(&[0x7F, 0x22, 0x78], at(10));
        assert_eq!(dialogue.time(at(6009)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(6010)), DialogueStep::Send(A));
        dialogue.response(&[0x7F, 0x22, 0x78], at(6020));
        assert_eq!(dialogue.time(at(12_020)), silent(Silence::AfterPending));
    }

    #[test]
    fn a_busy_module_is_asked_again_after_a_pause_and_not_for_ever() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        let mut now = 0;
        for _ in 0..20 {
            assert_eq!(dialogue.response(&[0x7F, 0x22, 0x21], at(now)), DialogueStep::Wait);
            assert_eq!(dialogue.time(at(now + 249)), DialogueStep::Wait);
            now += 250;
            assert_eq!(dialogue.time(at(now)), DialogueStep::Send(A));
        }
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x21], at(now)), silent(Silence::Busy));
    }

    #[test]
    fn a_silent_module_is_asked_twice() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        dialogue.passed_on(at(400));
        assert_eq!(dialogue.time(at(1000)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(1400)), DialogueStep::Send(A));
        assert_eq!(dialogue.time(at(2400)), silent(Silence::Nothing));
    }

    #[test]
    fn what_answers_something_else_is_no_answer() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        assert_eq!(dialogue.response(&ANSWER_B, at(1)), DialogueStep::Wait);
        dialogue.time(at(1000));
        dialogue.response(&[0x59, 0x02, 0xFF], at(1001));
        assert_eq!(dialogue.time(at(2000)), silent(Silence::SomethingElse(vec![0x59, 0x02, 0xFF])));
    }

    #[test]
    fn the_gateways_word_is_kept_and_lack_of_memory_passes() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        let unknown = Undelivered::Gateway(0x03);
        assert_eq!(dialogue.undelivered(unknown, at(1)), DialogueStep::Done(Outcome::Undelivered(unknown)));
        dialogue.ask(A, at(0));
        assert_eq!(dialogue.undelivered(Undelivered::Gateway(0x05), at(1)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(251)), DialogueStep::Send(A));
        assert_eq!(dialogue.response(&ANSWER_A, at(252)), answered(&ANSWER_A));
    }

    #[test]
    fn a_first_refusal_is_believed() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        let refused = DialogueStep::Done(Outcome::Refused(Refusal(0x31)));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(1)), refused);
        // And another one where it comes long after.
        dialogue.ask(B, at(5000));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(5001)), refused);
    }

    #[test]
    fn a_refusal_that_comes_twice_does_not_refuse_the_next_request() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        dialogue.response(&[0x7F, 0x22, 0x31], at(1));
        dialogue.ask(B, at(2));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(3)), DialogueStep::Wait);
        assert_eq!(dialogue.response(&ANSWER_B, at(4)), answered(&ANSWER_B));
    }

    #[test]
    fn of_two_refusals_in_a_row_the_second_is_asked_for_again_after_a_while() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        dialogue.response(&[0x7F, 0x22, 0x31], at(1));
        dialogue.ask(B, at(2));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x33], at(3)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(62)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(63)), DialogueStep::Send(B));
        let refused = DialogueStep::Done(Outcome::Refused(Refusal(0x33)));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x33], at(64)), refused);
    }

    #[test]
    fn a_late_refusal_does_not_refuse_the_next_request() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        dialogue.time(at(1000));
        assert_eq!(dialogue.time(at(2000)), silent(Silence::Nothing));
        dialogue.ask(B, at(2001));
        // Both answers to the two requests before.
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(2010)), DialogueStep::Wait);
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(2011)), DialogueStep::Wait);
        assert_eq!(dialogue.response(&ANSWER_B, at(2012)), answered(&ANSWER_B));
    }

    /// Two requests without an answer, and one answer after them: the dialogue in which it was asked whether the module is there.
    fn with_one_answer_missing() -> Dialogue {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        dialogue.time(at(1000));
        dialogue.time(at(2000));
        dialogue.ask(B, at(2001));
        dialogue.response(&[0x7F, 0x22, 0x31], at(2010));
        assert_eq!(dialogue.time(at(2070)), DialogueStep::Send(ReadRequest::Present));
        dialogue
    }

    #[test]
    fn a_refusal_in_doubt_is_asked_for_again_once_the_module_is_there() {
        let mut dialogue = with_one_answer_missing();
        assert_eq!(dialogue.response(&[0x7E, 0x00], at(2071)), DialogueStep::Send(B));
        let refused = DialogueStep::Done(Outcome::Refused(Refusal(0x31)));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(2120)), refused);

        let mut dialogue = with_one_answer_missing();
        dialogue.response(&ANSWER_B, at(2071));
        assert_eq!(dialogue.response(&[0x7E, 0x00], at(2072)), answered(&ANSWER_B));
    }

    #[test]
    fn two_refusals_with_different_reasons_are_no_certain_one() {
        let mut dialogue = with_one_answer_missing();
        dialogue.response(&[0x7E, 0x00], at(2071));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x33], at(2072)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(2132)), DialogueStep::Send(B));
        let refused = DialogueStep::Done(Outcome::Refused(Refusal(0x33)));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x33], at(2140)), refused);
    }

    #[test]
    fn where_more_came_than_was_asked_no_refusal_is_believed_at_once() {
        let mut dialogue = dialogue();
        dialogue.ask(A, at(0));
        dialogue.response(&ANSWER_A, at(1));
        dialogue.response(&ANSWER_A, at(2));
        dialogue.ask(B, at(5000));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(5001)), DialogueStep::Wait);
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(5040)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(5099)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(5100)), DialogueStep::Send(ReadRequest::Present));
        assert_eq!(dialogue.response(&[0x7E, 0x00], at(5101)), DialogueStep::Send(B));
        assert_eq!(dialogue.response(&ANSWER_B, at(5102)), answered(&ANSWER_B));
    }

    #[test]
    fn a_refusal_nobody_repeats_stays_in_doubt() {
        let mut dialogue = with_one_answer_missing();
        assert_eq!(dialogue.response(&[0x7E, 0x00], at(2071)), DialogueStep::Send(B));
        assert_eq!(dialogue.time(at(3071)), DialogueStep::Send(B));
        assert_eq!(dialogue.time(at(4071)), silent(Silence::DoubtfulRefusal(Refusal(0x31))));
    }

    #[test]
    fn a_module_that_does_not_say_that_it_is_there_is_left_alone_for_long() {
        let mut dialogue = with_one_answer_missing();
        assert_eq!(dialogue.time(at(3070)), DialogueStep::Wait);
        assert_eq!(dialogue.time(at(9069)), DialogueStep::Wait);
        // Whatever was to come is lost.
        assert_eq!(dialogue.time(at(9070)), DialogueStep::Send(B));
        let refused = DialogueStep::Done(Outcome::Refused(Refusal(0x31)));
        assert_eq!(dialogue.response(&[0x7F, 0x22, 0x31], at(9080)), refused);
    }

    #[test]
    fn nothing_takes_longer_than_its_limit_even_where_the_module_never_stops() {
        let mut dialogue = dialogue();
        dialogue.ask(ReadRequest::Session(ReadSession::Extended), at(0));
        dialogue.ask(A, at(0));
        dialogue.response(&[0x7F, 0x22, 0x31], at(1));
        dialogue.ask(B, at(2));
        dialogue.response(&[0x7F, 0x22, 0x31], at(3));
        dialogue.response(&[0x7F, 0x3E, 0x78], at(4));
        let mut now = 5;
        loop {
            assert!(now < 60_052);
            if let DialogueStep::Done(outcome) = dialogue.time(at(now)) {
                assert_eq!(outcome, Outcome::Silent(Silence::DoubtfulRefusal(Refusal(0x31))));
                break;
            }
            dialogue.response(&[0x7F, 0x22, 0x31], at(now));
            now += 50;
        }
    }

    #[test]
    fn trouble_codes_are_asked_for_like_records() {
        let mut dialogue = Dialogue::new(Timing { response: Duration::from_millis(50), ..Timing::default() });
        let list = ReadRequest::Codes(CodesReport::List { mask: 0xAF });
        dialogue.ask(list, at(0));
        assert_eq!(dialogue.due(), Some(at(50)));
        let codes = [0x59, 0x02, 0xFF, 0x1A, 0x04, 0x12, 0x2F];
        assert_eq!(dialogue.response(&codes, at(1)), answered(&codes));
    }
}
