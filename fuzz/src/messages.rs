//! What holds for every message about a file from elsewhere.

use std::fmt::Display;

use asfound_core::document::Problems;

/// A message is there, and cannot make a terminal do anything.
pub(crate) fn harmless(message: impl Display) {
    let message = message.to_string();
    assert!(!message.trim().is_empty(), "a message says nothing");
    let control = message.chars().find(|character| character.is_control() && *character != '\n');
    assert_eq!(control, None, "control character in the message {message:?}");
}

/// The same for the problems of a file.
pub(crate) fn problems(problems: &Problems) {
    for problem in problems {
        harmless(problem);
        harmless(&problem.message);
        problem.hint().into_iter().for_each(harmless);
    }
}

/// Whether a character, in a text that is kept and shown later on, does more than stand there.
pub(crate) fn breaks_the_line(character: char) -> bool {
    character.is_control() && character != '\t'
}
