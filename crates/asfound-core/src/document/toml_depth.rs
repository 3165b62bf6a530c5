//! A limit on how deep a TOML file nests by dotted keys.
//!
//! The TOML parser limits nested lists and inline tables itself, but `a.a.a.a…` makes a table in a table for every dot,
//! and taking such a tree down again would need more stack than a thread has.

use toml_parser::Source;
use toml_parser::lexer::TokenKind;

use super::Problem;
use super::place::PositionIndex;

/// The most dots in one key. With the parser's 80 levels this stays far from what a thread of 2 MiB can hold.
const MOST_DOTS: usize = 7;

/// Refuses keys of too many parts before a tree is made of them.
pub(super) fn check(source: Source<'_>, places: &PositionIndex<'_>) -> Result<(), Problem> {
    let mut dots = 0;
    for token in source.lex() {
        match token.kind() {
            TokenKind::Dot => dots += 1,
            TokenKind::Atom | TokenKind::Whitespace | TokenKind::LiteralString | TokenKind::BasicString => {}
            _ => dots = 0,
        }
        if dots > MOST_DOTS {
            let message = format!("the key has more than {} parts", MOST_DOTS + 1);
            return Err(Problem::error(Some(places.place(token.span().start())), "", message));
        }
    }
    Ok(())
}
