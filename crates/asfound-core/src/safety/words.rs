//! The words by which names tell of restricted systems, in English and German.
//!
//! Where a word has a published source it stands beside it, cited from memory; all others are common practice, no
//! source. Umlauts are written as in names: ae, oe, ue, ss.

use super::SafetyTag::{self, Braking, Emissions, HighVoltage, Immobiliser, Powertrain, Restraint, Steering};

/// Words that count where they stand whole.
pub(super) const WORDS: &[(SafetyTag, &[&str])] = &[
    // srs: supplemental restraint system (SAE J1930).
    (Restraint, &["restraint", "restraints", "srs", "seatbelt", "seatbelts", "pretensioner", "pretensioners"]),
    // abs: antilock brake system (SAE J1930); esc: electronic stability control (UN Regulation 140); tcs: traction control
    // system (SAE J1930). esp, asr, epb, ebd: common practice, no source.
    (
        Braking,
        &[
            "brake",
            "brakes",
            "braking",
            "abs",
            "esc",
            "esp",
            "tcs",
            "asr",
            "epb",
            "ebd",
            "handbrake",
            "bremse",
            "bremsen",
            "antilock",
        ],
    ),
    // eps: electric power steering; elv: electric lock of the steering column (common practice, no source).
    (Steering, &["steering", "eps", "elv", "lenkung", "lenkhilfe"]),
    // ecm, pcm, tcm: engine, powertrain and transmission control module (SAE J1930).
    (
        Powertrain,
        &[
            "engine",
            "transmission",
            "gearbox",
            "powertrain",
            "drivetrain",
            "driveline",
            "clutch",
            "throttle",
            "ecm",
            "pcm",
            "tcm",
            "tcu",
            "motor",
            "getriebe",
            "antriebsstrang",
        ],
    ),
    // egr: exhaust gas recirculation, evap: evaporative emission (SAE J1930). agr is the German for egr; dpf, gpf, scr:
    // common practice, no source.
    (
        Emissions,
        &[
            "emission",
            "emissions",
            "exhaust",
            "egr",
            "agr",
            "evap",
            "dpf",
            "gpf",
            "scr",
            "nox",
            "catalyst",
            "auspuff",
            "katalysator",
        ],
    ),
    // wfs is the German abbreviation of an immobiliser.
    (Immobiliser, &["immobiliser", "immobilizer", "immo", "wfs"]),
    (HighVoltage, &["hv", "traction", "inverter", "charger", "wechselrichter"]),
];

/// First parts of compounds, long enough to begin no other word.
pub(super) const STEMS: &[(SafetyTag, &[&str])] = &[
    (Restraint, &["airbag", "gurtstraff", "rueckhaltesystem", "insassenschutz"]),
    (Braking, &["bremsanlage", "bremskraft", "bremsdruck", "bremsassist", "bremsensteuer", "fahrdynamikregel"]),
    (Steering, &["lenkungs", "lenksaeule"]),
    (Powertrain, &["motorsteuer", "motorelektronik", "getriebesteuer"]),
    (Emissions, &["abgas", "russpartikel"]),
    (Immobiliser, &["wegfahrsperre"]),
    (HighVoltage, &["hochvolt", "traktionsbatterie", "antriebsbatterie", "leistungselektronik"]),
];

/// Last parts of compounds.
pub(super) const ENDINGS: &[(SafetyTag, &[&str])] = &[
    (Braking, &["parkbremse", "feststellbremse", "handbremse"]),
    (Steering, &["servolenkung", "achslenkung", "ueberlagerungslenkung"]),
    (Powertrain, &["automatikgetriebe", "schaltgetriebe", "kupplungsgetriebe"]),
    (Emissions, &["partikelfilter"]),
];

/// Words that name a system only together.
pub(super) const PAIRS: &[(SafetyTag, [&str; 2])] = &[
    (Restraint, ["air", "bag"]),
    (Restraint, ["air", "bags"]),
    (Restraint, ["seat", "belt"]),
    (Restraint, ["seat", "belts"]),
    (Restraint, ["belt", "tensioner"]),
    (Braking, ["anti", "lock"]),
    (Braking, ["stability", "control"]),
    // Without its second word it is about the battery of an electric drive.
    (Braking, ["traction", "control"]),
    (Emissions, ["particulate", "filter"]),
    (HighVoltage, ["high", "voltage"]),
    (HighVoltage, ["hoch", "volt"]),
];

/// What stands for something else together: lamps, what is built into a wheel, small motors, chargers of telephones.
pub(super) const OTHER_SENSES: &[&[&[&str]]] = &[
    &[&["brake", "brakes"], &["light", "lights", "lamp", "lamps"]],
    &[
        &["steering"],
        &["wheel"],
        &["heat", "heated", "heater", "heating", "button", "buttons", "key", "keys", "remote", "controls"],
    ],
    &[
        &[
            "wiper", "washer", "window", "windows", "seat", "mirror", "mirrors", "roof", "sunroof", "blower", "fan",
            "flap", "tailgate", "door", "wischer", "fenster", "sitz", "spiegel", "geblaese", "luefter", "klappe",
        ],
        &["motor", "motors"],
    ],
    &[&["usb", "phone", "wireless", "device"], &["charger", "chargers"]],
];
