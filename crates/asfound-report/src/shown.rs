//! Text of unknown origin, made fit for print.

pub(crate) use asfound_core::document::by_number;

/// The text with everything made visible that could make paper or screen show something else than what stands there, as
/// [`asfound_core::document::visible`] does it.
pub fn shown(text: &str) -> String {
    asfound_core::document::visible(text).into_owned()
}
