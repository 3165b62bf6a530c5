//! Small programs that use the library crates; run one with `cargo run -p asfound-examples --example decode_record`.
