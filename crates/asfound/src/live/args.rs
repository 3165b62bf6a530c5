//! What the command line says of a reading that the program takes itself.

use asfound_link::reading::{CodesWanted, Wanted};
use clap::Args;

use super::address::LinkAddress;
use super::named_module::{NamedModule, logical_address, status_bits};

/// The heading of these options in the help.
const HEADING: &str = "The car itself";

/// What the command line says of a reading that the program takes itself.
#[derive(Debug, Clone, Default, Args)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of the command line")]
pub struct LinkArgs {
    /// Read the car itself: doip:HOST for diagnostics on IP (ISO 13400-2), slcan:PORT for a serial-line CAN adapter. Nothing is ever
    /// written to it
    #[arg(long, value_name = "LINK", conflicts_with_all = ["files", "value"], help_heading = HEADING)]
    pub from: Option<LinkAddress>,

    /// The car stands, parking brake on, ignition on, engine off, supply supported: without this, it is asked
    #[arg(long, requires = "from", help_heading = HEADING)]
    pub ready: bool,

    /// A module to ask: NAME=ADDRESS, on a CAN bus also NAME=ID:ID, or NAME where the journal knows its address. Without it,
    /// all that the journal knows
    #[arg(long, value_name = "MODULE", requires = "from", help_heading = HEADING)]
    pub ask: Vec<NamedModule>,

    /// The tester's address, where the gateway takes no other
    #[arg(long, value_name = "ADDRESS", requires = "from", value_parser = logical_address, help_heading = HEADING)]
    pub tester: Option<u16>,

    /// Go into the extended session to read, and back into the default one after
    #[arg(long, requires = "from", help_heading = HEADING)]
    pub extended_session: bool,

    /// Read trouble codes that have one of these status bits
    #[arg(long, value_name = "BITS", requires = "from", value_parser = status_bits, help_heading = HEADING)]
    pub status_bits: Option<u8>,

    /// Read the snapshots of each trouble code
    #[arg(long, requires = "from", help_heading = HEADING)]
    pub snapshots: bool,

    /// Read the extended data of each trouble code; it is kept in the exchange
    #[arg(long, requires = "from", help_heading = HEADING)]
    pub extended_data: bool,

    /// Read no trouble codes
    #[arg(long, requires = "from", conflicts_with_all = ["status_bits", "snapshots", "extended_data"], help_heading = HEADING)]
    pub without_codes: bool,
}

impl LinkArgs {
    /// What is wanted of every module.
    pub fn wanted(&self) -> Wanted {
        let codes = CodesWanted {
            mask: self.status_bits.unwrap_or(CodesWanted::MASK),
            snapshots: self.snapshots,
            extended: self.extended_data,
        };
        Wanted { codes: (!self.without_codes).then_some(codes), extended_session: self.extended_session }
    }
}
