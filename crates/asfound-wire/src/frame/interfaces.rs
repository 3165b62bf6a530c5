//! The buses that a log names.

/// Which bus of the log: a number that [`Interfaces`] gave out. Number 0 is a bus without a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Interface(pub(crate) u16);

impl Interface {
    /// The bus of logs that name none.
    pub const UNNAMED: Self = Self(0);
}

/// The names of the buses in one log, in the order in which they came.
#[derive(Debug, Clone)]
pub struct Interfaces {
    names: Vec<Box<[u8]>>,
    last: u16,
}

/// More names than any log has; what comes after goes by the unnamed bus.
const MOST: usize = 1024;

impl Default for Interfaces {
    fn default() -> Self {
        Self { names: vec![Box::from([].as_slice())], last: 0 }
    }
}

impl Interfaces {
    /// The number of a name; a new one gets the next number.
    #[inline]
    pub fn number(&mut self, name: &[u8]) -> Interface {
        if *self.names[usize::from(self.last)] == *name { Interface(self.last) } else { self.find(name) }
    }

    /// The name of a bus as it stands in the log; empty for the unnamed one.
    #[inline]
    pub(crate) fn bytes(&self, interface: Interface) -> &[u8] {
        self.names.get(usize::from(interface.0)).map_or(&[], |name| name)
    }

    /// How many there are, with the unnamed one.
    #[inline]
    pub(crate) fn count(&self) -> usize {
        self.names.len()
    }

    /// Those from the `first`th on.
    pub(crate) fn since(&self, first: usize) -> impl Iterator<Item = Interface> + use<> {
        (first..self.names.len()).filter_map(|place| u16::try_from(place).ok()).map(Interface)
    }

    fn find(&mut self, name: &[u8]) -> Interface {
        let known = self.names.iter().position(|known| **known == *name);
        let place = known.unwrap_or_else(|| {
            if self.names.len() >= MOST || name.len() > 64 {
                return 0;
            }
            self.names.push(name.into());
            self.names.len() - 1
        });
        self.last = u16::try_from(place).unwrap_or(0);
        Interface(self.last)
    }

    /// The name of a bus; empty for the unnamed one. Control characters are replaced.
    pub fn name(&self, interface: Interface) -> String {
        String::from_utf8_lossy(self.bytes(interface))
            .chars()
            .map(|c| if c.is_control() { '\u{fffd}' } else { c })
            .collect()
    }
}
