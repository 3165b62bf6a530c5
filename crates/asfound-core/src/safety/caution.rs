//! The cautions that belong to every piece of work on a vehicle.

/// Printed with every plan and with the sheet of every change.
///
/// Common practice, no source; the vehicle maker's procedure and local law come first.
pub const GENERAL_CAUTIONS: [&str; 4] = [
    "Vehicle stationary, ignition on, engine off, supply voltage supported; do not interrupt a write.",
    "The vehicle maker's procedure and local law come first.",
    "Restraint, brake, steering, immobiliser, emissions and high-voltage systems are for a qualified technician.",
    "Read the record back after the write and file the reading.",
];
