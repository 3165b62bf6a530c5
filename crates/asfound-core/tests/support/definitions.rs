//! Invented definitions, small enough to work out every byte by hand.

/// A body module before its software update. In record 0D01: byte 0 holds `flashes` (bits 0 to 2) and `fold` (bit 3), byte 1
/// holds `fade` (bits 0 to 3), byte 2 changes by itself, byte 3 is the sum of bytes 0 and 1. Bits 4 to 7 of bytes 0 and 1
/// are named by nobody. In record 0D02: byte 0 is `speed` in steps of 5 km/h, byte 1 is named by nobody.
pub const BODY_1: &str = r#"
format = "asfound-definition/1"
id = "test-body-1"
title = "Body module, first software"

[applies_to]
module = "body"
software = { below = "0200" }

[records.0D01]
label = "Comfort"
length = 4
volatile = ["2"]
checksum = { at = 3, over = "0-1", kind = "sum" }

[records.0D02]
label = "Speeds"
length = 2

[settings.flashes]
label = "Lane-change flashes"
record = "0D01"
byte = 0
bit = 0
bits = 3
type = "integer"
range = { min = 1, max = 7 }
tags = ["lighting"]

[settings.fold]
label = "Fold mirrors when locked"
record = "0D01"
byte = 0
bit = 3
bits = 1
type = "switch"
tags = ["comfort"]

[settings.fade]
label = "Fade of the cabin lamp"
record = "0D01"
byte = 1
bit = 0
bits = 4
type = "choice"
choices = { none = 0, short = 1, long = { from = 2, to = 5, write = 2 }, slow = 6 }
tags = ["comfort"]

[settings.speed]
label = "Speed at which doors lock"
record = "0D02"
byte = 0
type = "quantity"
unit = "km/h"
scale = { numerator = [0, 5], denominator = 1 }
tags = ["locking"]
"#;

/// The same module after its update: record 0D01 has one more byte in front, `fold` has moved to record 0D02, and `fade`
/// knows two values only.
pub const BODY_2: &str = r#"
format = "asfound-definition/1"
id = "test-body-2"
title = "Body module, second software"

[applies_to]
module = "body"
software = { from = "0200" }

[records.0D01]
label = "Comfort"
length = 5
volatile = ["3"]
checksum = { at = 4, over = "0-2", kind = "sum" }

[records.0D02]
label = "Speeds"
length = 2

[settings.flashes]
label = "Lane-change flashes"
record = "0D01"
byte = 1
bit = 0
bits = 3
type = "integer"
range = { min = 1, max = 7 }
tags = ["lighting"]

[settings.fold]
label = "Fold mirrors when locked"
record = "0D02"
byte = 1
bit = 0
bits = 1
type = "switch"
tags = ["comfort"]

[settings.fade]
label = "Fade of the cabin lamp"
record = "0D01"
byte = 2
bit = 0
bits = 4
type = "choice"
choices = { short = 0, long = 1 }
tags = ["comfort"]

[settings.speed]
label = "Speed at which doors lock"
record = "0D02"
byte = 0
type = "quantity"
unit = "km/h"
scale = { numerator = [0, 5], denominator = 1 }
tags = ["locking"]
"#;

/// A brake module with one comfort-like setting and bits that nobody has named; whatever its identity.
pub const BRAKES: &str = r#"
format = "asfound-definition/1"
id = "test-brakes"
title = "Brake module"

[applies_to]
module = "brakes"

[records.2A01]
label = "Assistance"
length = 2

[records.2A02]
label = "Named to the last bit"
length = 1

[settings.hill_hold]
label = "Hill hold"
record = "2A01"
byte = 0
bit = 0
bits = 1
type = "switch"
tags = ["comfort"]

[settings.lamp_test]
label = "Lamp test"
record = "2A02"
byte = 0
type = "integer"
tags = ["display"]
"#;

/// A cluster whose chime needs the body module's mirrors to fold; whatever its identity.
pub const CLUSTER: &str = r#"
format = "asfound-definition/1"
id = "test-cluster"
title = "Cluster"

[applies_to]
module = "cluster"

[records.3B01]
label = "Tones"
length = 1

[settings.chime]
label = "Chime"
record = "3B01"
byte = 0
bit = 0
bits = 1
type = "switch"
tags = ["audible"]

[settings.volume]
label = "Volume"
record = "3B01"
byte = 0
bit = 4
bits = 4
type = "integer"
tags = ["audible"]

[[rules]]
name = "loud-chime-needs-light"
when = { volume = { at_least = 8 } }
needs = { "gateway.light_level" = { at_least = 2 } }
because = "Invented"
"#;
