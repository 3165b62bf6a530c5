//! What is filed as done is what was on the sheet: the steps as they are now are held against it.

use asfound_core::history::History;
use asfound_core::names::{EntryNumber, Tag};
use asfound_core::plan::{Plan, SavedStep, SheetCode, SheetDifference, Targets, plan, sheet_differences};
use asfound_journal::journal::Snapshot;

use crate::arguments::FollowedSheet;
use crate::failure::Failure;
use crate::setup::{DefinedJournal, Prompt, Session};

/// How many entries are gone back to find out what an older sheet said.
const FAR_ENOUGH: u32 = 40;

/// The code of the sheet that was followed: as it was given, or as it is typed at a terminal. `show` is the command that
/// shows the sheet.
///
/// # Errors
/// When it was not said and nobody can be asked.
pub fn followed(sheet: &FollowedSheet, show: &str, session: &mut Session<'_>) -> Result<SheetCode, Failure> {
    if let Some(code) = sheet.code {
        return Ok(code);
    }
    if !session.environment.interactive || session.json {
        return Err(Failure::usage("it is not said which work sheet was followed")
            .hint(format!("say `--sheet CODE` with the code that stands on it; the sheet as it is now: {show}")));
    }
    let stdin = std::io::stdin();
    ask(&mut Prompt { answers: &mut stdin.lock(), questions: &mut *session.err })
}

fn ask(prompt: &mut Prompt<'_>) -> Result<SheetCode, Failure> {
    prompt.ask("What is the code on the work sheet that was followed?", |answer| {
        answer.parse::<SheetCode>().map_err(|error| error.to_string())
    })
}

/// The steps of a plan as they stand on a sheet.
pub fn steps_of(plan: &Plan) -> Vec<SavedStep> {
    plan.steps.iter().map(SavedStep::of).collect()
}

/// That the steps of a plan are those on the sheet with this code.
///
/// # Errors
/// When they are others, with what differs where a recent state of the journal gives the sheet again.
pub fn same_sheet(
    explained: &DefinedJournal,
    before: &Snapshot<'_>,
    code: SheetCode,
    now: &Plan,
    targets: &dyn for<'h> Fn(&DefinedJournal, &'h History) -> Result<Targets<'h>, Failure>,
) -> Result<(), Failure> {
    let steps = steps_of(now);
    if SheetCode::of(&explained.tag, &steps) == code {
        return Ok(());
    }
    let last = before.history.state().last.map_or(0, EntryNumber::get);
    let earlier = (last.saturating_sub(FAR_ENOUGH).max(1)..last).rev().filter_map(EntryNumber::new);
    for number in earlier {
        // What cannot be planned on an older state was no sheet then.
        let Ok(history) = explained.journal().trace(&before.index, before.definitions, Some(number)) else { continue };
        let Ok(targets) = targets(explained, &history) else { continue };
        let Ok(plan) = plan(&history, before.definitions, &targets) else { continue };
        let sheet = steps_of(&plan);
        if SheetCode::of(&explained.tag, &sheet) == code {
            return Err(other_steps(&explained.tag, &sheet_differences(&sheet, &steps), Some(number)));
        }
    }
    // Nobody can say what that sheet asked for.
    let mut message = format!("the steps are not those on the sheet {code}; they are now:");
    for step in &steps {
        let expected = step.expected().map_or_else(|| "not known".to_owned(), |said| said.to_string());
        message.push_str(&format!("\n  {}: look for {expected}, write {}", step.place(), step.wanted()));
    }
    Err(stopped(&explained.tag, message))
}

/// Refuses to file steps that are not those on the sheet. `until` is the last entry that the sheet stood on, where known.
pub fn other_steps(tag: &Tag, differences: &[SheetDifference], until: Option<EntryNumber>) -> Failure {
    let mut message = match until {
        Some(entry) => format!("the steps are not those on the sheet any more: entry {} moved them", entry.get() + 1),
        None => "the steps are not those on the sheet".to_owned(),
    };
    differences.iter().for_each(|difference| message.push_str(&format!("\n  {difference}")));
    stopped(tag, message)
}

fn stopped(tag: &Tag, message: String) -> Failure {
    Failure::refused(message).hint(format!(
        "what was written by that sheet is not what would be filed: read the records and file the reading \
         (asfound read {tag} FILE --as left); or plan anew, work by the new sheet and give its code"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answered(typed: &str) -> (String, Result<SheetCode, Failure>) {
        let (mut answers, mut questions) = (typed.as_bytes(), Vec::new());
        let code = ask(&mut Prompt { answers: &mut answers, questions: &mut questions });
        (String::from_utf8(questions).unwrap(), code)
    }

    #[test]
    fn a_code_is_asked_for_until_it_is_one() {
        let code = SheetCode::of(&"wren".parse().unwrap(), &[]);
        let slip = code.to_string().replace(|c: char| c == code.to_string().chars().next().unwrap(), "U");
        let (asked, given) = answered(&format!("yes\n{slip}\n{}\n", code.to_string().to_lowercase()));
        assert_eq!(given, Ok(code));
        assert_eq!(asked.matches("What is the code").count(), 3, "{asked}");
        let (_, given) = answered("");
        assert_eq!(given.unwrap_err().exit, crate::exit::Exit::Usage);
    }
}
