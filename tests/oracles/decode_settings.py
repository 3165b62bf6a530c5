"""What a definition makes of a record's bytes, from docs/definitions.md and docs/format.md alone.

Used by verify.py. Nothing is imported but Python's standard library, and nothing of the project.

    python3 decode_settings.py VECTORS

holds it against the vectors that odx_layouts.py recorded from reference libraries, and says how many it read as they do.
"""

import json
import sys
from decimal import Decimal
from fractions import Fraction

FORMATS = ("asfound-definition/1", "asfound-definition/2")
NUMBERS = ("unsigned", "twos-complement", "bcd", "bcd-unpacked")
DIGIT_BITS = {"bcd": 4, "bcd-unpacked": 8}


class CannotType(Exception):
    """The definition says something that this module does not know, so that it cannot tell what the settings should be."""


def settings_of(definition, records):
    """The settings that these records (bytes by name) give, as text by name."""
    if definition.get("format") not in FORMATS:
        raise CannotType(f"a definition of the format {definition.get('format')} is not known")
    found = {}
    for name, setting in definition.get("settings", {}).items():
        if definition["format"] == FORMATS[1] and is_one_bit(setting):
            setting = {"bits": 1} | setting
        value = text_of(setting, records.get(setting["record"]))
        if value is not None:
            found[name] = value
    return found


def text_of(setting, record):
    """What a setting is shown as; None where the record is not there or too short."""
    place = place_of(setting)
    if record is None or place["byte"] + place["bytes"] > len(record):
        return None
    raw = record[place["byte"] : place["byte"] + place["bytes"]]
    coding = setting.get("coding", {"text": "ascii", "bytes": "bytes"}.get(setting["type"], "unsigned"))
    if coding in ("ascii", "bytes"):
        coded = raw.hex(" ").upper()
        value = coded if coding == "bytes" else characters(raw, setting.get("pad"))
    elif coding in NUMBERS:
        number = int.from_bytes(raw, place["order"]) >> place["bit"] & (1 << place["bits"]) - 1
        digits = f"{number:X}"
        coded = digits.zfill(len(digits) + len(digits) % 2)
        meant = interpreted(number, coding, place["bits"])
        value = None if meant is None else shown(setting, meant)
    else:
        raise CannotType(f"the coding {coding} is not known")
    return f"{coded} (no meaning)" if value is None else value


def is_one_bit(setting):
    """Whether a setting is a switch or a choice of two, for 0 and 1: the second format gives it one bit where none is said."""
    means = setting.get("choices", {"off": 0, "on": 1} if setting["type"] == "switch" else {}).values()
    codes = {code for one in means for code in (one.values() if isinstance(one, dict) else [one])}
    unsigned = setting.get("coding", "unsigned") == "unsigned"
    return setting["type"] in ("switch", "choice") and unsigned and len(means) == 2 and codes == {0, 1}


def place_of(setting):
    bit, bits = setting.get("bit", 0), setting.get("bits", 8)
    return {
        "byte": setting["byte"],
        "bit": bit,
        "bits": bits,
        "bytes": -(-(bit + bits) // 8),
        "order": setting.get("order", "big"),
    }


def interpreted(number, coding, bits):
    """The number that coded bits stand for; None where a decimal digit is none."""
    if coding == "twos-complement":
        return number - (1 << bits) if number >> bits - 1 else number
    if coding in DIGIT_BITS:
        step = DIGIT_BITS[coding]
        digits = [number >> at & (1 << step) - 1 for at in reversed(range(0, bits, step))]
        return int("".join(map(str, digits))) if max(digits) <= 9 else None
    return number


def characters(raw, pad):
    """Printable ASCII without the pad bytes at its end; None where a byte is none."""
    if pad is not None:
        raw = raw.rstrip(bytes.fromhex(pad))
    return raw.decode("ascii") if all(0x20 <= byte <= 0x7E for byte in raw) else None


def shown(setting, number):
    kind = setting["type"]
    if kind in ("switch", "choice"):
        return choice(setting.get("choices", {"off": 0, "on": 1}), number)
    if kind not in ("integer", "quantity"):
        raise CannotType(f"the type {kind} is not known for numbers")
    value = converted(setting, number)
    if value is None:
        return None
    text = decimal(value, setting.get("decimals"))
    return text if kind == "integer" else f"{text} {setting['unit']}"


def choice(choices, number):
    for name, means in choices.items():
        first, last = (means["from"], means["to"]) if isinstance(means, dict) else (means, means)
        if first <= number <= last:
            return name
    return None


def converted(setting, number):
    """The number by `scale` or `scales`, exactly; None where no line has it."""
    if "scale" in setting:
        return line(setting["scale"], number)
    if "scales" in setting:
        lines = (scale for scale in setting["scales"] if scale["from"] <= number <= scale["to"])
        found = next(lines, None)
        return None if found is None else line(found, number)
    return Fraction(number)


def line(scale, number):
    offset, factor = map(exact, scale["numerator"])
    return (offset + factor * number) / exact(scale.get("denominator", 1))


def exact(number):
    """Whole numbers, texts, and what TOML calls a float, which is read as a Decimal."""
    return Fraction(Decimal(number))


def decimal(value, places):
    """Rounded half away from zero where the places are given, else as many as it needs; no zeros at the end."""
    if places is None:
        places = next((places for places in range(61) if (value * 10**places).denominator == 1), None)
        if places is None:
            raise CannotType(f"{value} has decimals without end, and the definition does not say how many are shown")
    scaled = abs(value) * 10**places
    units = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    whole, part = divmod(units, 10**places)
    digits = str(part).zfill(places).rstrip("0") if places else ""
    sign = "-" if value < 0 and units else ""
    return f"{sign}{whole}.{digits}" if digits else f"{sign}{whole}"


def as_defined(case):
    """A recorded case as a definition would have it; a quantity without a unit gets one."""
    setting = {key: case[key] for key in ("byte", "bit", "bits", "order", "coding", "type", "pad", "decimals") if key in case}
    setting["unit"] = "u"
    if "scale" in case:
        setting["scale"] = {"numerator": case["scale"][:2], "denominator": case["scale"][2]}
    if "scales" in case:
        keys = ("from", "to", "offset", "factor", "denominator")
        scales = [dict(zip(keys, scale)) for scale in case["scales"]]
        setting["scales"] = [scale | {"numerator": [scale["offset"], scale["factor"]]} for scale in scales]
    if "choices" in case:
        setting["choices"] = {name: {"from": first, "to": last, "write": write} for name, first, last, write in case["choices"]}
    return setting


def as_recorded(case, text):
    """What is shown, as the recorded values are written; None where there is no meaning."""
    if text.endswith(" (no meaning)"):
        return None
    if case["type"] == "quantity":
        return Fraction(Decimal(text.removesuffix(" u")))
    return text.replace(" ", "").lower() if case["type"] == "bytes" else text


def main(path):
    with open(path, encoding="utf-8") as file:
        cases = [json.loads(line) for line in file][1:]
    wrong = 0
    for case in cases:
        found = as_recorded(case, text_of(as_defined(case), bytes.fromhex(case["record"])))
        wanted = case["value"]
        if wanted is not None and case["type"] == "quantity":
            wanted = Fraction(Decimal(wanted))
        if found != wanted:
            wrong += 1
            print(f"{case['case']}: {found} and not {wanted}")
    print(f"{len(cases) - wrong} of {len(cases)} cases are read as the reference libraries read them")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
