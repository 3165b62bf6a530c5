//! A link to a car, whichever way leads there.

use std::collections::BTreeMap;
use std::time::Duration;

use asfound_core::names::{ModuleName, Vin};
use asfound_core::state::State;
use asfound_journal::journal::Attachment;
use asfound_link::can::{CanLink, CanModule, SerialBus, SerialOptions};
use asfound_link::ip::{IpLink, IpOptions, identify};
use asfound_link::{Link, LinkError};
use asfound_wire::conversation::ModuleAddress;
use asfound_wire::frame::{CanId, Interface, Timestamp};

use super::address::{LinkAddress, Way};
use super::args::LinkArgs;
use super::named_module::AskedAt;
use crate::failure::Failure;

/// How long a vehicle is given to say which one it is: the longest that it may wait before it answers is 500 ms (ISO 13400-2, from memory).
const ANNOUNCEMENT: Duration = Duration::from_millis(700);
/// What fills frames on a CAN bus (common practice, no source).
const FILLER: Option<u8> = Some(0xAA);
/// What the bus is called in the log.
const BUS: &str = "can0";

/// A module to ask, with where that is on a CAN bus.
pub type ModuleQuery = BTreeMap<ModuleAddress, (ModuleName, Option<CanModule>)>;

/// The modules to ask: those that are named, else all whose address the journal knows.
///
/// # Errors
/// When none is left, or nobody knows where to ask one.
pub fn modules_to_ask(args: &LinkArgs, from: &LinkAddress, state: &State) -> Result<ModuleQuery, Failure> {
    let mut modules = ModuleQuery::new();
    if args.ask.is_empty() {
        for (name, known) in &state.modules {
            // One that the journal knows no address of, or none that fits this way, is not asked; whoever reads is told that it is lacking.
            if let Some(address) = known.address
                && let Some((at, module)) = place(&from.way, address.0)
            {
                modules.insert(at, (name.clone(), module));
            }
        }
    }
    for asked in &args.ask {
        let known = || state.module(&asked.name)?.address;
        let found = match (asked.at, &from.way) {
            (Some(AskedAt::Pair(_)), Way::Ip(_)) => None,
            (Some(AskedAt::Pair(pair)), Way::Serial { .. }) => {
                let (request, response) = pair.on(Interface::UNNAMED);
                Some((ModuleAddress::Can(response), Some(CanModule::new(request, response))))
            }
            (Some(AskedAt::Address(address)), way) => place(way, u32::from(address)),
            (None, way) => known().and_then(|address| place(way, address.0)),
        };
        let Some((at, module)) = found else {
            return Err(Failure::usage(format!("nothing tells where {} is asked by {from}", asked.name)).hint(
                match from.way {
                    Way::Ip(_) => format!("name its logical address, as in `--ask {}=000E`", asked.name),
                    Way::Serial { .. } => format!(
                        "name its address in normal fixed addressing or its identifiers, as in `--ask {0}=0E` or `--ask {0}=7E0:7E8`",
                        asked.name
                    ),
                },
            ));
        };
        if let Some((other, _)) = modules.insert(at, (asked.name.clone(), module)) {
            return Err(Failure::usage(format!("{other} and {} have one address", asked.name)));
        }
    }
    if modules.is_empty() {
        return Err(Failure::usage("the journal knows no module's address")
            .hint("name the modules, as in `--ask gateway=0007 --ask body=000E`"));
    }
    Ok(modules)
}

/// Where a module with an address is asked.
fn place(way: &Way, address: u32) -> Option<(ModuleAddress, Option<CanModule>)> {
    match way {
        Way::Ip(_) => Some((ModuleAddress::Ip(u16::try_from(address).ok()?), None)),
        Way::Serial { .. } => {
            let module = match u8::try_from(address) {
                Ok(address) => CanModule::of_address(address),
                Err(_) => {
                    let id = CanId::standard(address).or_else(|_| CanId::extended(address)).ok()?;
                    CanModule::answering_on(id).ok()?
                }
            };
            Some((ModuleAddress::Can(module.answers), Some(module)))
        }
    }
}

/// A link to a car.
pub enum OpenLink {
    /// Diagnostics on IP.
    Ip(Box<IpLink>),
    /// A serial-line CAN adapter.
    Serial(Box<CanLink<SerialBus>>),
}

impl OpenLink {
    /// Connects; tells also which VIN the vehicle announces, where it does.
    ///
    /// # Errors
    /// When the car cannot be reached.
    pub fn connect(
        from: &LinkAddress,
        modules: &ModuleQuery,
        tester: Option<u16>,
        now: Timestamp,
    ) -> Result<(Self, Option<Vin>), LinkError> {
        match &from.way {
            Way::Ip(host) => {
                let address = host.resolve()?;
                // Not every gateway answers this, and none has to.
                let announced = identify(address, ANNOUNCEMENT).unwrap_or_default();
                let mut options = IpOptions::at(now);
                options.tester = tester.unwrap_or(options.tester);
                let link = IpLink::connect(address, options)?;
                Ok((Self::Ip(Box::new(link)), announced.first().and_then(|announced| vin(&announced.vin))))
            }
            Way::Serial { path, rate } => {
                let bus = SerialBus::open(path, SerialOptions { rate: *rate, now })?;
                let modules = modules.values().filter_map(|(_, module)| *module);
                Ok((Self::Serial(Box::new(CanLink::new(bus, modules, FILLER, BUS))), None))
            }
        }
    }

    /// The link itself.
    pub fn link(&mut self) -> &mut dyn Link {
        match self {
            Self::Ip(link) => &mut **link,
            Self::Serial(link) => &mut **link,
        }
    }

    /// Everything that was sent and received.
    pub fn exchange(&self) -> Attachment {
        match self {
            Self::Ip(link) => Attachment { name: "exchange.pcap".to_owned(), content: link.capture() },
            Self::Serial(link) => {
                Attachment { name: "exchange.log".to_owned(), content: link.log().as_bytes().to_vec() }
            }
        }
    }
}

/// The VIN as a gateway announces it; nothing where it was never given one.
fn vin(bytes: &[u8; 17]) -> Option<Vin> {
    std::str::from_utf8(bytes).ok()?.parse().ok()
}
