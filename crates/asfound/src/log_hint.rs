//! What to do with a file that is no log that is read.

use std::path::Path;

use asfound_wire::log::{LogError, LogFacts, OtherForm, ProblemKind};

use crate::failure::Failure;

/// That a log cannot be read.
pub fn unread(log: &Path, error: &LogError) -> Failure {
    let hint = match error {
        LogError::Other(form) => Some(conversion(*form, log)),
        LogError::Empty => Some("was the logger still writing, or did it hear no bus?".to_owned()),
        other => other.hint().map(str::to_owned),
    };
    Failure::usage(format!("{}: {error}", named(log))).maybe_hint(hint)
}

/// That nothing in a file is a frame or a message.
pub fn no_log(log: &Path, facts: &LogFacts) -> Failure {
    let most = facts.problems.iter().max_by_key(|(_, count)| **count).map(|(what, _)| *what);
    let (why, hint) = match most {
        _ if facts.problems.contains_key(&ProblemKind::Encrypted) => (
            "what it holds of diagnostics on IP is encrypted (port 3496, ISO 13400-2)".to_owned(),
            Some("log the unencrypted side, such as the tester's own record, or a CAN bus behind the gateway"),
        ),
        Some(ProblemKind::LinkType(number)) => (
            format!("packets of link type {number} are not read, and there are no others"),
            Some("log the CAN interface itself, or the network card of the tester"),
        ),
        _ => (
            "nothing in it is a bus log".to_owned(),
            Some("save the log as candump text (`candump -L`), pcap or pcapng"),
        ),
    };
    Failure::usage(format!("{}: {why}", named(log))).maybe_hint(hint.map(str::to_owned))
}

/// How a log is called in a message.
pub fn named(log: &Path) -> String {
    if log == Path::new("-") { "standard input".to_owned() } else { log.display().to_string() }
}

/// The line that makes a readable log of a form that is not read.
fn conversion(form: OtherForm, log: &Path) -> String {
    let text = log.display().to_string();
    let plain = text.chars().all(|c| c.is_alphanumeric() || "/._-+:".contains(c));
    let quoted = |text: &str| if plain { text.to_owned() } else { format!("'{}'", text.replace('\'', r"'\''")) };
    let target = |ending: &str| quoted(&log.with_extension(ending).display().to_string());
    let from = quoted(&text);
    let convert = format!("`python -m can.logconvert {from} {}`", target("log"));
    match form {
        OtherForm::Asc | OtherForm::Trc | OtherForm::FrameTable | OtherForm::Database => {
            format!("convert it with python-can: {convert}; then look whether its times are right")
        }
        OtherForm::Blf => format!(
            "convert it with python-can: {convert}; or with Wireshark: `tshark -r {from} -w {}`",
            target("pcapng")
        ),
        OtherForm::Mdf4 => format!("convert it with python-can and asammdf: {convert}"),
        OtherForm::Mdf3 => "save it as MDF 4 with asammdf, and convert that".to_owned(),
        OtherForm::Table => {
            "a table of frames can be converted where its columns are `timestamp,arbitration_id,extended,remote,error,dlc,data`"
                .to_owned()
        }
        OtherForm::Zip => "unpack it and give the log that is in it".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_names_the_file_and_what_it_becomes() {
        let line = conversion(OtherForm::Asc, Path::new("./drive.asc"));
        assert!(line.contains("`python -m can.logconvert ./drive.asc ./drive.log`"), "{line}");
        let line = conversion(OtherForm::Blf, Path::new("my drive.blf"));
        assert!(line.contains("`tshark -r 'my drive.blf' -w 'my drive.pcapng'`"), "{line}");
    }
}
