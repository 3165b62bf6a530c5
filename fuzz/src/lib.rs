//! What the fuzz targets do with an input: one function a target, from any bytes to a panic where something is wrong.
//!
//! "Parses without a panic" is the least of it. Whatever was parsed is used, written and read back, and held against
//! another implementation where there is one.

mod bus_log;
mod bus_services;
mod bus_transport;
mod column_mapping;
mod definition;
mod descriptions;
mod disclosure;
mod documents;
mod drive;
mod entry;
mod manifest;
mod messages;
mod odx;
mod reading;
mod saved_columns;
mod seals;
mod settings;
mod small_texts;
mod table;
mod vehicle;

pub use bus_log::bus_log;
pub use bus_services::bus_services;
pub use bus_transport::bus_transport;
pub use column_mapping::column_mapping;
pub use definition::definition;
pub use descriptions::descriptions;
pub use disclosure::disclosure;
pub use documents::documents;
pub use drive::drive;
pub use entry::entry;
pub use manifest::manifest;
pub use odx::odx;
pub use reading::reading;
pub use saved_columns::saved_columns;
pub use seals::seals;
pub use small_texts::small_texts;
pub use table::table;
pub use vehicle::vehicle;

/// Makes a fuzz target, a whole program, of one of this crate's functions.
#[macro_export]
macro_rules! target {
    ($exercise:path) => {
        libfuzzer_sys::fuzz_target!(|data: &[u8]| $exercise(data));

        fn main() -> std::process::ExitCode {
            $crate::drive()
        }
    };
}

/// The text before the first zero byte, which no text format has, and the bytes behind it.
fn text_and_bytes(data: &[u8]) -> Option<(&str, &[u8])> {
    let end = data.iter().position(|byte| *byte == 0).unwrap_or(data.len());
    let text = std::str::from_utf8(&data[..end]).ok()?;
    Some((text, data.get(end + 1..).unwrap_or_default()))
}
