//! The documents say what the program does.
//!
//! `UPDATE_DOCS=1 cargo test -p asfound-tests --test documents` writes `docs/json.md` anew.

mod json_page;
mod modules;
mod readme;
