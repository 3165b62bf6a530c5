//! Values that no definition types.

use super::form::{AnalysedText, Form};
use super::letters::clean;
use super::number::{Number, Relation};
use super::words::negates;
use super::{Incomparable, Respelling, Sameness};

/// How two values stand to each other that are known by their texts alone.
///
/// They are different only where nothing but another value explains the difference: two numbers of one unit, two rows of bytes, two
/// words of one series (`low`, `high`), a word and its negation, or texts that are alike but for one number.
pub fn compare_texts(a: &str, b: &str) -> Sameness {
    if a == b {
        return Sameness::Same;
    }
    let (first, second) = (AnalysedText::of(a), AnalysedText::of(b));
    if first.says_the_same(&second) {
        return Sameness::SaidDifferently(respelling(a, b, &first, &second));
    }
    if negates(&first.folded, &second.folded) {
        return Sameness::Different;
    }
    match (&first.form, &second.form) {
        (Form::Nothing, _) | (_, Form::Nothing) => Sameness::CannotTell(Incomparable::Absent),
        (Form::Number(a, unit), Form::Number(b, other)) if unit == other => related(a.relation(b, unit.is_none())),
        (Form::Number(..), Form::Number(..)) => Sameness::CannotTell(Incomparable::Unit),
        (Form::Bytes(a), Form::Bytes(b)) if a.may_be_shortened(b) => Sameness::CannotTell(Incomparable::Length),
        (Form::Bytes(a), Form::Bytes(b)) if a.may_be_other_notation(b) => Sameness::CannotTell(Incomparable::Notation),
        (Form::Bytes(_), Form::Bytes(_)) => Sameness::Different,
        (Form::Word(a), Form::Word(b)) if a.series == b.series => Sameness::Different,
        (Form::Other, Form::Other) => alike_but_for_one_number(&first.folded, &second.folded),
        (Form::Word(_) | Form::Other, Form::Word(_) | Form::Other) => Sameness::CannotTell(Incomparable::Words),
        _ => Sameness::CannotTell(Incomparable::Kind),
    }
}

/// In what two texts differ that say the same.
fn respelling(a: &str, b: &str, first: &AnalysedText, second: &AnalysedText) -> Respelling {
    let spaced = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let unspaced = |text: &str| clean(text).replace(' ', "");
    if spaced(a) == spaced(b) {
        return Respelling::Spacing;
    }
    if first.clean == second.clean {
        return Respelling::Characters;
    }
    if first.folded == second.folded {
        return Respelling::Case;
    }
    if unspaced(a) == unspaced(b) {
        return Respelling::Spacing;
    }
    match first.form {
        Form::Number(..) => Respelling::Number,
        Form::Bytes(_) => Respelling::Bytes,
        Form::Word(_) => Respelling::Word,
        Form::Nothing | Form::Other => Respelling::Characters,
    }
}

pub(super) fn related(relation: Relation) -> Sameness {
    match relation {
        Relation::Equal => Sameness::SaidDifferently(Respelling::Number),
        Relation::Different => Sameness::Different,
        Relation::CannotTell(why) => Sameness::CannotTell(why),
    }
}

/// `mode 1` and `mode 2` are different; of anything else that is neither number, bytes nor known word, nobody can tell.
fn alike_but_for_one_number(a: &str, b: &str) -> Sameness {
    let unknown = Sameness::CannotTell(Incomparable::Words);
    let (Some((before, number, behind)), Some((other_before, other, other_behind))) = (one_number(a), one_number(b))
    else {
        return unknown;
    };
    if (before, behind) != (other_before, other_behind) {
        return unknown;
    }
    match number.relation(&other, true) {
        Relation::Different => Sameness::Different,
        // The same number, but not the same text: `H01` and `H1`.
        Relation::Equal => Sameness::CannotTell(Incomparable::Letters),
        Relation::CannotTell(why) => Sameness::CannotTell(why),
    }
}

/// The only number in a text, with what stands before and behind it.
fn one_number(text: &str) -> Option<(&str, Number, &str)> {
    let start = text.find(|c: char| c.is_ascii_digit())?;
    let (before, from) = text.split_at(start);
    let (number, behind) = Number::at_start(from)?;
    (!behind.contains(|c: char| c.is_ascii_digit())).then_some((before, number, behind))
}
