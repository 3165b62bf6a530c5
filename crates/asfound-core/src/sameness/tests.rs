use super::*;

fn compare(a: &str, b: &str) -> Sameness {
    assert_eq!(compare_texts(a, a), Sameness::Same);
    let told = compare_texts(a, b);
    assert_eq!(told, compare_texts(b, a), "{a:?} {b:?}");
    told
}

/// Values that were seen to be accused although they are what they were.
#[test]
fn the_same_said_differently_is_the_same() {
    for (a, b, how) in [
        ("30,0 s", "30 s", Respelling::Number),
        ("30 s", "30s", Respelling::Spacing),
        ("Off", "off", Respelling::Case),
        ("0x00 0x1F", "00 1F", Respelling::Bytes),
        ("001f", "00 1F", Respelling::Bytes),
        ("0214", "214", Respelling::Number),
        ("off", "AUS", Respelling::Word),
        ("ja", "Yes", Respelling::Word),
        ("on ", "on", Respelling::Spacing),
        ("Comfort  closing", "comfort closing", Respelling::Case),
        ("ｏｎ", "on", Respelling::Characters),
        ("12 KM/H", "12 km/h", Respelling::Case),
        ("12 km / h", "12km/h", Respelling::Spacing),
        ("5 µs", "5 μs", Respelling::Characters),
        ("Tu\u{308}r", "Tür", Respelling::Characters),
        ("١٢", "12", Respelling::Characters),
    ] {
        assert_eq!(compare(a, b), Sameness::SaidDifferently(how), "{a} {b}");
    }
}

#[test]
fn what_may_be_the_same_said_differently_cannot_be_compared() {
    for (a, b, why) in [
        ("5", "5 x", Incomparable::Unit),
        ("5", "6 x", Incomparable::Unit),
        ("30 s", "0.5 min", Incomparable::Unit),
        ("5 mW", "5 MW", Incomparable::Unit),
        ("active", "on", Incomparable::Words),
        ("1", "on", Incomparable::Kind),
        ("01", "on", Incomparable::Kind),
        ("0x1F", "31", Incomparable::Kind),
        ("31", "1F", Incomparable::Kind),
        ("0x1F", "0x001F", Incomparable::Length),
        ("1F 00", "00 1F", Incomparable::Notation),
        ("10 15", "0x0A 0x0F", Incomparable::Notation),
        ("", "on", Incomparable::Absent),
        ("Komfort", "Comfort", Incomparable::Words),
        ("Maße", "Masse", Incomparable::Words),
        ("H01", "H1", Incomparable::Letters),
        ("1e3", "1000", Incomparable::Kind),
        ("14.03.2026", "03.14.2026", Incomparable::Words),
        ("12.5 V", "12.48 V", Incomparable::Rounding),
        ("12.500 V", "12.5 V", Incomparable::Separator),
        ("KAPALI", "kapalı", Incomparable::Words),
        ("5A", "5 A", Incomparable::Kind),
    ] {
        assert_eq!(compare(a, b), Sameness::CannotTell(why), "{a} {b}");
    }
}

#[test]
fn what_nothing_else_explains_is_different() {
    for (a, b) in [
        ("3", "5"),
        ("30 s", "31 s"),
        ("10 km/h", "16 km/h"),
        ("low", "High"),
        ("on", "aus"),
        ("fitted", "not fitted"),
        ("aktiv", "nicht aktiv"),
        ("00 1F", "00 2F"),
        ("0x1F", "$2F"),
        ("Mode 1", "mode 2"),
        ("-5", "5"),
    ] {
        assert_eq!(compare(a, b), Sameness::Different, "{a} {b}");
    }
}

#[test]
fn names_of_modules_may_be_spaced_folded_and_filled_up() {
    let compare = |a: &str, b: &str| {
        let told = compare_identity_texts(a, b);
        assert_eq!(told, compare_identity_texts(b, a), "{a} {b}");
        told
    };
    for (a, b, how) in [
        ("0214", "214", Respelling::LeadingZeros),
        ("7M0-951 A", "7m0-951 a", Respelling::Case),
        ("7M0 951 A", "7M0951A", Respelling::Spacing),
        ("000123", "123", Respelling::LeadingZeros),
        ("000", "0", Respelling::LeadingZeros),
        ("７M0", "7M0", Respelling::Characters),
    ] {
        assert_eq!(compare(a, b), Sameness::SaidDifferently(how), "{a} {b}");
    }
    for (a, b, why) in [
        ("7M0-951", "7M0951", Incomparable::Letters),
        ("7MO-951", "7M0-951", Incomparable::Letters),
        ("1.02", "1.2", Incomparable::Letters),
        ("0x0214", "0214", Incomparable::Notation),
        ("0x0214", "532", Incomparable::Notation),
        ("1.23457E+11", "123456789012", Incomparable::Notation),
        ("------", "7M0", Incomparable::Absent),
        ("", "7M0", Incomparable::Absent),
    ] {
        assert_eq!(compare(a, b), Sameness::CannotTell(why), "{a} {b}");
    }
    for (a, b) in
        [("0214", "0215"), ("7M0-951 A", "7M0-951 B"), ("7M0-951", "7M0-951 A"), ("0010", "0016"), ("S1", "S2")]
    {
        assert_eq!(compare(a, b), Sameness::Different, "{a} {b}");
    }
}
