//! Pages as a browser shows them: headless Chromium (Debian's package `chromium`), driven by its command line and over its
//! debugging pipe.
//!
//! These tests are left out by default, and so wherever there is no Chromium:
//! `cargo test -p asfound-tests --test browser -- --ignored` runs them. Those that look at what is printed need
//! `pdftotext` (Debian's package `poppler-utils`) beside it.

mod chromium;
mod contrast;
mod hostile;
mod pages;
mod paper;
