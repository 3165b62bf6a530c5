//! One control module: what it holds, and what it answers.

use std::collections::BTreeMap;

/// A trouble code in a module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredCode {
    /// The code as it travels.
    pub code: [u8; 3],
    /// Its status bits.
    pub status: u8,
    /// Its snapshot: the number of the record and what follows it.
    pub snapshot: Vec<u8>,
    /// Its extended data likewise.
    pub extended: Vec<u8>,
}

/// One control module.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Module {
    /// What is behind each identifier.
    pub records: BTreeMap<u16, Vec<u8>>,
    /// Identifiers that it refuses, with the code of the refusal. Any other that it does not hold is out of range (31).
    pub refused: BTreeMap<u16, u8>,
    /// Its trouble codes.
    pub codes: Vec<StoredCode>,
    /// The format of the codes.
    pub code_format: u8,
    /// Parameters of SAE J1979, where it is one that answers for them.
    pub parameters: BTreeMap<u8, Vec<u8>>,
    /// It is in the extended session.
    pub extended_session: bool,
}

/// The status bits that a module supports.
const AVAILABLE: u8 = 0xFF;

/// Refusals of ISO 14229-1: service not supported, sub-function not supported, wrong length, out of range.
const NO_SERVICE: u8 = 0x11;
const NO_SUB_FUNCTION: u8 = 0x12;
const WRONG_LENGTH: u8 = 0x13;
const OUT_OF_RANGE: u8 = 0x31;

impl Module {
    /// What it answers; nothing where no answer is wanted.
    pub fn answer(&mut self, request: &[u8]) -> Option<Vec<u8>> {
        let (service, rest) = request.split_first()?;
        let answer = match *service {
            0x22 => self.read(rest),
            0x19 => self.codes(rest),
            0x10 => self.session(rest),
            0x3E => match rest {
                [0x00] => Ok(vec![0x00]),
                [0x80] => return None,
                [_] => Err(NO_SUB_FUNCTION),
                _ => Err(WRONG_LENGTH),
            },
            0x01 if !self.parameters.is_empty() => self.current(rest),
            0x09 if !self.parameters.is_empty() => self.vehicle(rest),
            _ => Err(NO_SERVICE),
        };
        Some(match answer {
            Ok(answer) => [vec![service + 0x40], answer].concat(),
            Err(code) => vec![0x7F, *service, code],
        })
    }

    fn read(&self, rest: &[u8]) -> Result<Vec<u8>, u8> {
        let (identifiers, odd) = rest.as_chunks::<2>();
        if identifiers.is_empty() || !odd.is_empty() {
            return Err(WRONG_LENGTH);
        }
        let (mut answer, mut refusal) = (Vec::new(), OUT_OF_RANGE);
        for identifier in identifiers {
            let number = u16::from_be_bytes(*identifier);
            match (self.records.get(&number), self.refused.get(&number)) {
                (Some(bytes), None) => {
                    answer.extend(identifier);
                    answer.extend(bytes);
                }
                (_, Some(code)) => refusal = *code,
                (None, None) => {}
            }
        }
        if answer.is_empty() { Err(refusal) } else { Ok(answer) }
    }

    fn codes(&self, rest: &[u8]) -> Result<Vec<u8>, u8> {
        let chosen = |mask: u8| self.codes.iter().filter(move |code| code.status & mask != 0);
        let find = |code: &[u8]| self.codes.iter().find(|stored| stored.code == code).ok_or(OUT_OF_RANGE);
        match rest {
            [0x01, mask] => {
                let count = u16::try_from(chosen(*mask).count()).unwrap_or(u16::MAX).to_be_bytes();
                Ok(vec![0x01, AVAILABLE, self.code_format, count[0], count[1]])
            }
            [0x02, mask] => {
                let mut answer = vec![0x02, AVAILABLE];
                for code in chosen(*mask) {
                    answer.extend(code.code);
                    answer.push(code.status);
                }
                Ok(answer)
            }
            [0x04, code @ .., _] if code.len() == 3 => {
                let stored = find(code)?;
                Ok([&[0x04][..], code, &[stored.status], &stored.snapshot].concat())
            }
            [0x06, code @ .., _] if code.len() == 3 => {
                let stored = find(code)?;
                Ok([&[0x06][..], code, &[stored.status], &stored.extended].concat())
            }
            [0x01 | 0x02 | 0x04 | 0x06, ..] | [] => Err(WRONG_LENGTH),
            _ => Err(NO_SUB_FUNCTION),
        }
    }

    /// 50 ms and 5 s are promised.
    fn session(&mut self, rest: &[u8]) -> Result<Vec<u8>, u8> {
        match rest {
            [session @ (0x01 | 0x03)] => {
                self.extended_session = *session == 0x03;
                Ok(vec![*session, 0x00, 0x32, 0x01, 0xF4])
            }
            [_] => Err(NO_SUB_FUNCTION),
            _ => Err(WRONG_LENGTH),
        }
    }

    fn current(&self, rest: &[u8]) -> Result<Vec<u8>, u8> {
        let [parameter] = rest else { return Err(WRONG_LENGTH) };
        let value = self.parameters.get(parameter).ok_or(OUT_OF_RANGE)?;
        Ok([&[*parameter][..], value].concat())
    }

    /// 02: the VIN, one of one.
    fn vehicle(&self, rest: &[u8]) -> Result<Vec<u8>, u8> {
        match (rest, self.records.get(&0xF190)) {
            ([0x02], Some(vin)) => Ok([&[0x02, 0x01][..], vin].concat()),
            ([_], _) => Err(OUT_OF_RANGE),
            _ => Err(WRONG_LENGTH),
        }
    }
}
