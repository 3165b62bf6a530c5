//! The files of the invented vehicles, inside the program.

/// Path in the folder of the demonstration, and content.
pub(super) const FILES: &[(&str, &str)] = &[
    ("definitions/merl-body-1.toml", include_str!("../../../../demo-vehicles/definitions/merl-body-1.toml")),
    ("definitions/merl-body-2.toml", include_str!("../../../../demo-vehicles/definitions/merl-body-2.toml")),
    ("definitions/merl-body-3.toml", include_str!("../../../../demo-vehicles/definitions/merl-body-3.toml")),
    ("definitions/merl-brakes-2.toml", include_str!("../../../../demo-vehicles/definitions/merl-brakes-2.toml")),
    ("definitions/merl-climate-2.toml", include_str!("../../../../demo-vehicles/definitions/merl-climate-2.toml")),
    ("definitions/merl-cluster-4.toml", include_str!("../../../../demo-vehicles/definitions/merl-cluster-4.toml")),
    ("definitions/merl-doors-2.toml", include_str!("../../../../demo-vehicles/definitions/merl-doors-2.toml")),
    ("definitions/merl-gateway-3.toml", include_str!("../../../../demo-vehicles/definitions/merl-gateway-3.toml")),
    ("definitions/merl-lamps-2.toml", include_str!("../../../../demo-vehicles/definitions/merl-lamps-2.toml")),
    (
        "definitions/merl-parking-aid-1.toml",
        include_str!("../../../../demo-vehicles/definitions/merl-parking-aid-1.toml"),
    ),
    ("definitions/merl-restraint-1.toml", include_str!("../../../../demo-vehicles/definitions/merl-restraint-1.toml")),
    ("logs/wren-2026-09-05-climate.log", include_str!("../../../../demo-vehicles/logs/wren-2026-09-05-climate.log")),
    (
        "readings/plover-2026-04-11-found.json",
        include_str!("../../../../demo-vehicles/readings/plover-2026-04-11-found.json"),
    ),
    ("readings/plover-values.csv", include_str!("../../../../demo-vehicles/readings/plover-values.csv")),
    (
        "readings/wren-2026-03-14-found.toml",
        include_str!("../../../../demo-vehicles/readings/wren-2026-03-14-found.toml"),
    ),
    (
        "readings/wren-2026-03-14-left.toml",
        include_str!("../../../../demo-vehicles/readings/wren-2026-03-14-left.toml"),
    ),
    (
        "readings/wren-2026-05-02-partial.toml",
        include_str!("../../../../demo-vehicles/readings/wren-2026-05-02-partial.toml"),
    ),
    (
        "readings/wren-2026-06-20-check.toml",
        include_str!("../../../../demo-vehicles/readings/wren-2026-06-20-check.toml"),
    ),
    (
        "readings/wren-2026-07-05-after.toml",
        include_str!("../../../../demo-vehicles/readings/wren-2026-07-05-after.toml"),
    ),
    (
        "readings/wren-2026-09-01-update.toml",
        include_str!("../../../../demo-vehicles/readings/wren-2026-09-01-update.toml"),
    ),
    (
        "readings/wren-2026-09-12-lamp.toml",
        include_str!("../../../../demo-vehicles/readings/wren-2026-09-12-lamp.toml"),
    ),
];
