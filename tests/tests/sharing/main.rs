//! Journals shared between garages: by a bare repository, by a git server, and from garage to garage.

mod apart;
mod orders;
mod refused;
mod server;
mod support;
