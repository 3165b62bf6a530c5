"""Write test vectors for the layout of settings (crates/asfound-core/src/layout).

Every vector is one random layout (seeded), a record with the value that a
reference library reads from it, and a second value with the record that the
library makes of it. Nothing in this script calculates an expected value with
the project's own rules.

References, by part:

odxtools (ISO 22901-1)
    Numbers, names, bytes and text without padding: a DATA-OBJECT-PROP of one
    STANDARD-LENGTH-TYPE and one COMPU-METHOD, by decode_from_pdu and
    encode_into_pdu. Base types A_UINT32 (no encoding, BCD-P, BCD-UP),
    A_INT32 (2C), A_ASCIISTRING, A_BYTEFIELD; categories IDENTICAL, LINEAR,
    SCALE-LINEAR, TEXTTABLE.
bitstruct
    A second opinion on the place of every number: the coded bits, cut out of
    the bytes (turned round for little order). The script stops if the two
    libraries disagree.
construct
    Text with pad bytes. ISO 22901-1 has no fixed-length text with padding:
    its STANDARD-LENGTH-TYPE is filled exactly and its MIN-MAX-LENGTH-TYPE
    moves what comes behind. Padding is the project's own addition.

Where odxtools or the standard differ from the project, and what is done:

* The standard limits A_UINT32 and A_INT32 to 32 bits (from memory); odxtools
  does not, nor does the project. Lengths of 33 to 64 bits follow the same
  rule and are checked with both libraries.
* odxtools calculates lines with Python's numbers. The coefficients here are
  integers, so that numerators are exact and each quotient is correctly
  rounded; only values of at most 15 significant digits are taken, whose
  shortest decimal form is exact.
* PRECISION is a display property in the standard. Where `decimals` is given,
  the value is odxtools' value printed by Python to as many places; values
  within 1e-6 of the middle between two neighbours are left out, because
  printing a tie is a choice (the project rounds half away from zero).
* A SCALE-LINEAR method is invertible only if neighbouring scales meet in the
  same value (section 7.3.6.6.4, as quoted in odxtools). The project also
  encodes with scales that do not meet, as long as no value is shown twice.
  For those, only decoding is recorded.
* odxtools reads BCD without checking that digits are 0 to 9, so records are
  made from decimal digits. Other digits are covered by the project's tests.

Usage: python odx_layouts.py > ../../crates/asfound-core/tests/data/layout/odx.jsonl
"""

import importlib.metadata
import json
import random
import sys
from decimal import Decimal
from fractions import Fraction

import bitstruct
import construct
from odxtools.compumethods.compucategory import CompuCategory
from odxtools.compumethods.compuconst import CompuConst
from odxtools.compumethods.compuinternaltophys import CompuInternalToPhys
from odxtools.compumethods.compurationalcoeffs import CompuRationalCoeffs
from odxtools.compumethods.compuscale import CompuScale
from odxtools.compumethods.identicalcompumethod import IdenticalCompuMethod
from odxtools.compumethods.intervaltype import IntervalType
from odxtools.compumethods.limit import Limit
from odxtools.compumethods.linearcompumethod import LinearCompuMethod
from odxtools.compumethods.scalelinearcompumethod import ScaleLinearCompuMethod
from odxtools.compumethods.texttablecompumethod import TexttableCompuMethod
from odxtools.dataobjectproperty import DataObjectProperty
from odxtools.decodestate import DecodeState
from odxtools.encodestate import EncodeState
from odxtools.encoding import Encoding
from odxtools.exceptions import OdxError
from odxtools.odxdoccontext import OdxDocContext  # noqa: F401  (loads the package's types)
from odxtools.odxlink import DocType, OdxDocFragment, OdxLinkId
from odxtools.odxtypes import DataType
from odxtools.physicaltype import PhysicalType
from odxtools.standardlengthtype import StandardLengthType

SEED = 22901
COUNTS = {
    "identical": 1100,
    "linear": 900,
    "rounded": 400,
    "scales": 500,
    "table": 600,
    "text": 200,
    "padded": 200,
    "bytes": 200,
}
BASE = {
    "unsigned": (DataType.A_UINT32, None),
    "twos-complement": (DataType.A_INT32, Encoding.TWOC),
    "bcd": (DataType.A_UINT32, Encoding.BCD_P),
    "bcd-unpacked": (DataType.A_UINT32, Encoding.BCD_UP),
    "ascii": (DataType.A_ASCIISTRING, None),
    "bytes": (DataType.A_BYTEFIELD, None),
}
PRINTABLE = bytes(range(0x20, 0x7F))
ODX_ID = OdxLinkId("dop", (OdxDocFragment("oracle", DocType.CONTAINER),))
rng = random.Random(SEED)


class Unsuitable(Exception):
    """The random layout or value is outside what can be compared; draw another."""


# -- random places ---------------------------------------------------------------------------------------------------


def number_place(codings):
    """A random place for a number, as the definition format writes it."""
    coding = rng.choice(codings)
    step = {"bcd": 4, "bcd-unpacked": 8}.get(coding, 1)
    least = 2 if coding == "twos-complement" else 1
    # Short lengths are what settings mostly have; every length to 64 occurs.
    units = rng.randint(least, 16 if rng.random() < 0.6 else 64 // step)
    bits = min(64, units * step)
    return {
        "byte": rng.randint(0, 6),
        "bit": rng.randint(0, 7),
        "bits": bits,
        "order": rng.choice(["big", "little"]),
        "coding": coding,
    }


def byte_place(coding):
    """A random place for text or bytes."""
    return {"byte": rng.randint(0, 6), "bit": 0, "bits": 8 * rng.randint(1, 12), "order": "big", "coding": coding}


def touched(place):
    return (place["bit"] + place["bits"] + 7) // 8


def random_record(place):
    """Random bytes, long enough for the place and sometimes longer."""
    return rng.randbytes(place["byte"] + touched(place) + rng.randint(0, 3))


def limits(place):
    """The least and the largest interpreted number (for drawing values, not for expectations)."""
    bits = place["bits"]
    return {
        "unsigned": (0, 2**bits - 1),
        "twos-complement": (-(2 ** (bits - 1)), 2 ** (bits - 1) - 1),
        "bcd": (0, 10 ** (bits // 4) - 1),
        "bcd-unpacked": (0, 10 ** (bits // 8) - 1),
    }[place["coding"]]


def random_number(low, high):
    """A number between two limits, the ends more often than chance has it."""
    return rng.choice([low, high, rng.randint(low, high), rng.randint(low, high), rng.randint(low, high)])


# -- the reference ---------------------------------------------------------------------------------------------------


def coded_type(place):
    base, encoding = BASE[place["coding"]]
    return StandardLengthType(
        base_data_type=base,
        base_type_encoding=encoding,
        is_highlow_byte_order_raw=place["order"] == "big",
        bit_length=place["bits"],
    )


def data_object(place, compu_method, physical):
    return DataObjectProperty(
        odx_id=ODX_ID,
        short_name="oracle",
        compu_method=compu_method,
        diag_coded_type=coded_type(place),
        physical_type=PhysicalType(base_data_type=physical),
    )


def decode(dop, place, record):
    """What odxtools reads; None where it says that there is no meaning."""
    state = DecodeState(
        coded_message=bytes(record), cursor_byte_position=place["byte"], cursor_bit_position=place["bit"]
    )
    try:
        return dop.decode_from_pdu(state)
    except OdxError:
        return None


def encode(dop, place, value, record):
    """The record that odxtools makes of `record` with the value put in."""
    state = EncodeState(
        coded_message=bytearray(record),
        used_mask=bytearray(len(record)),
        cursor_byte_position=place["byte"],
        cursor_bit_position=place["bit"],
    )
    dop.encode_into_pdu(value, state)
    assert len(state.coded_message) == len(record)
    return bytes(state.coded_message)


def coded_bits(place, record):
    """The coded bits by bitstruct, the second opinion on where a number is."""
    part = record[place["byte"] : place["byte"] + touched(place)]
    if place["order"] == "little":
        part = part[::-1]
    behind = place["bit"]
    before = 8 * len(part) - behind - place["bits"]
    form = "".join(f"p{bits}" if kind == "p" else f"u{bits}" for kind, bits in
                   [("p", before), ("u", place["bits"]), ("p", behind)] if bits)
    return bitstruct.unpack(form, part)[0]


def check_place(place, record):
    """Stops if odxtools and bitstruct do not find the same bits."""
    plain = dict(place, coding="unsigned")
    dop = data_object(plain, identical(plain), DataType.A_UINT32)
    assert decode(dop, plain, record) == coded_bits(place, record), (place, record.hex())


def with_number(place, number, record):
    """A record in which odxtools has put an interpreted number; to get records that have a meaning."""
    base = BASE[place["coding"]][0]
    return encode(data_object(place, identical(place), base), place, number, record)


# -- conversions -----------------------------------------------------------------------------------------------------


def identical(place):
    base = BASE[place["coding"]][0]
    return IdenticalCompuMethod(category=CompuCategory.IDENTICAL, internal_type=base, physical_type=base)


def limit(value, base, interval=IntervalType.CLOSED):
    return Limit(value_raw=str(value), value_type=base, interval_type=interval)


def rational(base, physical, numerator, denominator, lower=None, upper=None):
    coeffs = CompuRationalCoeffs(value_type=physical, numerators=numerator, denominators=[denominator])
    return CompuScale(
        domain_type=base, range_type=physical, lower_limit=lower, upper_limit=upper, compu_rational_coeffs=coeffs
    )


def method(cls, category, base, physical, scales):
    return cls(
        category=category,
        internal_type=base,
        physical_type=physical,
        compu_internal_to_phys=CompuInternalToPhys(compu_scales=scales),
    )


def decimal_text(value):
    """The exact decimal text of what odxtools gave; only where it has at most 15 significant digits."""
    if value is None:
        return None
    decimal = Decimal(value) if isinstance(value, int) else Decimal(repr(value))
    if not isinstance(value, int) and len(decimal.normalize().as_tuple().digits) > 15:
        raise Unsuitable
    return format(decimal, "f")


def printed(value, exact, decimals):
    """odxtools' value printed to as many places; ties are left out."""
    ticks = abs(exact) * 10**decimals
    if abs(ticks - int(ticks) - Fraction(1, 2)) < Fraction(1, 10**6) or abs(value) * 10**decimals > 1e12:
        raise Unsuitable
    text = format(value, f".{decimals}f")
    return text[1:] if float(text) == 0 and text.startswith("-") else text


# -- cases -----------------------------------------------------------------------------------------------------------


def number_case(place, dop, low, high, show, **extra):
    """A case in which odxtools decodes one number and encodes another."""
    record = with_number(place, random_number(low, high), random_record(place))
    check_place(place, record)
    other = random_number(low, high)
    background = random_record(place)
    value = decode(dop, place, with_number(place, other, background))
    shown = show(value)
    if shown is None:
        raise Unsuitable
    after = encode(dop, place, typed(shown, value), background)
    return dict(
        place,
        **extra,
        record=record.hex(),
        value=show(decode(dop, place, record)),
        put=shown,
        into=background.hex(),
        gives=after.hex(),
    )


def typed(shown, value):
    """The shown text as the Python type that odxtools takes."""
    return int(shown) if isinstance(value, int) else float(shown)


def case_identical():
    place = number_place(["unsigned", "unsigned", "twos-complement", "bcd", "bcd-unpacked"])
    dop = data_object(place, identical(place), BASE[place["coding"]][0])
    return number_case(place, dop, *limits(place), decimal_text, type="integer")


def coefficient():
    return rng.choice([1, 1, 2, 5, 10, 25, rng.randint(1, 999)])


def case_linear():
    """Values that end as decimals, or whole numbers for an integer."""
    place = number_place(["unsigned", "unsigned", "twos-complement", "bcd", "bcd-unpacked"])
    whole = rng.random() < 0.4
    denominator = 1 if whole else rng.choice([1, 2, 4, 5, 8, 10, 16, 20, 25, 100, 1000, -10])
    line = [rng.choice([0, 0, rng.randint(-1000, 1000)]), rng.choice([1, 1, -1]) * coefficient()]
    base = BASE[place["coding"]][0]
    physical = DataType.A_INT32 if whole else DataType.A_FLOAT64
    scale = rational(base, physical, line, denominator)
    dop = data_object(place, method(LinearCompuMethod, CompuCategory.LINEAR, base, physical, [scale]), physical)
    if whole and (place["bits"] > 40):
        raise Unsuitable  # odxtools divides even whole numbers as floats
    extra = {"type": "integer"} if whole else {"type": "quantity"}
    return number_case(place, dop, *limits(place), decimal_text, scale=[*line, denominator], **extra)


def case_rounded():
    """Values rounded to `decimals`; the factor is at least one unit of the last place, so that all differ."""
    place = number_place(["unsigned", "twos-complement", "bcd"])
    decimals = rng.randint(0, 4)
    denominator = rng.choice([1, 3, 7, 9, 12, 30, 60, 64, 81])
    least = -(-denominator // 10**decimals)
    line = [rng.randint(-500, 500), rng.choice([1, -1]) * rng.randint(least, least + 400)]
    base = BASE[place["coding"]][0]
    physical = DataType.A_FLOAT64
    scale = rational(base, physical, line, denominator)
    dop = data_object(place, method(LinearCompuMethod, CompuCategory.LINEAR, base, physical, [scale]), physical)
    plain = data_object(place, identical(place), base)

    def shown(record):
        exact = Fraction(line[0] + line[1] * decode(plain, place, record), denominator)
        return printed(decode(dop, place, record), exact, decimals)

    low, high = limits(place)
    record = with_number(place, random_number(low, high), random_record(place))
    check_place(place, record)
    background = random_record(place)
    text = shown(with_number(place, random_number(low, high), background))
    return dict(
        place,
        type="quantity",
        decimals=decimals,
        scale=[*line, denominator],
        record=record.hex(),
        value=shown(record),
        put=text,
        into=background.hex(),
        gives=encode(dop, place, float(text), background).hex(),
    )


def case_scales():
    """Two to four ranges of coded numbers, each with its own line."""
    place = number_place(["unsigned", "twos-complement"])
    low, high = limits(place)
    high = min(high, low + 10**9)
    count = rng.randint(2, 4)
    if high - low < 4 * count:
        raise Unsuitable
    bounds = sorted(rng.sample(range(low, high + 1), count + 1)) if high - low < 10**6 else sorted(
        rng.randint(low, high) for _ in range(count + 1)
    )
    if len(set(bounds)) != count + 1:
        raise Unsuitable
    meet = rng.random() < 0.6
    return scales_that_meet(place, bounds) if meet else scales_apart(place, bounds)


def scales_that_meet(place, bounds):
    """Half-open ranges whose lines meet, which the standard lets encode."""
    base, physical = BASE[place["coding"]][0], DataType.A_FLOAT64
    denominator = rng.choice([1, 2, 4, 5, 10, 20, 100])
    sign = rng.choice([1, 1, -1])
    scales, given = [], []
    offset = rng.randint(-1000, 1000)
    factor = sign * rng.randint(1, 40)
    for at, (start, behind) in enumerate(zip(bounds, bounds[1:], strict=False)):
        if at:
            steeper = sign * rng.randint(1, 40)
            offset, factor = offset + (factor - steeper) * start, steeper
        lower, upper = limit(start, base), limit(behind, base, IntervalType.OPEN)
        scales.append(rational(base, physical, [offset, factor], denominator, lower, upper))
        given.append([start, behind - 1, offset, factor, denominator])
    compu = method(ScaleLinearCompuMethod, CompuCategory.SCALE_LINEAR, base, physical, scales)
    dop = data_object(place, compu, physical)
    case = number_case(place, dop, bounds[0], bounds[-1] - 1, decimal_text, type="quantity", scales=given)
    return sometimes_outside(case, place, dop, bounds)


def scales_apart(place, bounds):
    """Ranges with gaps whose values do not meet; each stays in a band of its own, so that no value is shown twice."""
    base, physical = BASE[place["coding"]][0], DataType.A_FLOAT64
    denominator = rng.choice([1, 2, 5, 10])
    scales, given, band = [], [], rng.randint(-50, 50)
    for start, behind in zip(bounds, bounds[1:], strict=False):
        last = rng.randint(start, behind - 1)
        factor = rng.randint(1, 20)
        offset = band - factor * start
        band += factor * (last - start) + rng.randint(1, 100)
        scales.append(rational(base, physical, [offset, factor], denominator, limit(start, base), limit(last, base)))
        given.append([start, last, offset, factor, denominator])
    compu = method(ScaleLinearCompuMethod, CompuCategory.SCALE_LINEAR, base, physical, scales)
    dop = data_object(place, compu, physical)
    record = with_number(place, random_number(bounds[0], bounds[-1] - 1), random_record(place))
    check_place(place, record)
    value = decimal_text(decode(dop, place, record))
    return dict(place, type="quantity", scales=given, record=record.hex(), value=value)


def sometimes_outside(case, place, dop, bounds):
    """Replaces the record by one whose number no scale has, now and then."""
    low, high = limits(place)
    outside = [number for number in (low, high) if not bounds[0] <= number < bounds[-1]]
    if outside and rng.random() < 0.2:
        record = with_number(place, rng.choice(outside), random_record(place))
        case.update(record=record.hex(), value=decimal_text(decode(dop, place, record)))
    return case


def case_table():
    place = number_place(["unsigned", "unsigned", "twos-complement"])
    low, high = limits(place)
    high = min(high, low + 10**6)
    count = rng.randint(1, min(6, high - low + 1))
    starts = sorted(rng.sample(range(low, high + 1), count))
    base, physical = BASE[place["coding"]][0], DataType.A_UNICODE2STRING
    scales, given = [], []
    for at, start in enumerate(starts):
        behind = starts[at + 1] if at + 1 < count else high + 1
        last = rng.choice([start, start, rng.randint(start, behind - 1)])
        name, write = f"{rng.choice(['low', 'high', 'left', 'both', 'never'])}-{at}", rng.randint(start, last)
        scales.append(CompuScale(
            domain_type=base, range_type=physical, lower_limit=limit(start, base), upper_limit=limit(last, base),
            compu_const=CompuConst(vt=name, data_type=physical),
            compu_inverse_value=CompuConst(v=str(write), data_type=base),
        ))
        given.append([name, start, last, write])
    order = rng.sample(range(count), count)
    scales, given = [scales[at] for at in order], [given[at] for at in order]
    dop = data_object(place, method(TexttableCompuMethod, CompuCategory.TEXTTABLE, base, physical, scales), physical)
    numbers = [number for _, start, last, _ in given for number in (start, last)]
    number = rng.choice([*numbers, *numbers, random_number(*limits(place))])
    record = with_number(place, number, random_record(place))
    check_place(place, record)
    background, name = random_record(place), rng.choice(given)[0]
    return dict(
        place,
        type="choice",
        choices=given,
        record=record.hex(),
        value=decode(dop, place, record),
        put=name,
        into=background.hex(),
        gives=encode(dop, place, name, background).hex(),
    )


def random_text(length):
    return bytes(rng.choice(PRINTABLE) for _ in range(length))


def put_bytes(place, data, record):
    start = place["byte"]
    return record[:start] + data + record[start + len(data) :]


def case_text():
    place = byte_place("ascii")
    length = place["bits"] // 8
    compu = IdenticalCompuMethod(
        category=CompuCategory.IDENTICAL, internal_type=DataType.A_ASCIISTRING, physical_type=DataType.A_UNICODE2STRING
    )
    dop = data_object(place, compu, DataType.A_UNICODE2STRING)
    record = put_bytes(place, random_text(length), random_record(place))
    background, text = random_record(place), random_text(length).decode()
    return dict(
        place,
        type="text",
        record=record.hex(),
        value=decode(dop, place, record),
        put=text,
        into=background.hex(),
        gives=encode(dop, place, text, background).hex(),
    )


def case_padded():
    """Text with pad bytes at the end, by construct."""
    place = byte_place("ascii")
    length = place["bits"] // 8
    pad = rng.choice([b"\x00", b"\x00", b"\x20", b"\xff", b"*"])
    reader = construct.FixedSized(length, construct.NullStripped(construct.GreedyBytes, pad=pad))
    writer = construct.Padded(length, construct.GreedyBytes, pattern=pad)
    # Texts that end with the pad byte do not come back; the project refuses them, so none is asked for.
    stored, text = (random_text(rng.randint(0, length)).rstrip(pad) for _ in range(2))
    record = put_bytes(place, writer.build(stored), random_record(place))
    background = random_record(place)
    return dict(
        place,
        type="text",
        pad=pad.hex(),
        record=record.hex(),
        value=reader.parse(record[place["byte"] : place["byte"] + length]).decode("ascii"),
        put=text.decode(),
        into=background.hex(),
        gives=put_bytes(place, writer.build(text), background).hex(),
    )


def case_bytes():
    place = byte_place("bytes")
    dop = data_object(place, identical(place), DataType.A_BYTEFIELD)
    record, background, data = random_record(place), random_record(place), rng.randbytes(place["bits"] // 8)
    return dict(
        place,
        type="bytes",
        record=record.hex(),
        value=bytes(decode(dop, place, record)).hex(),
        put=data.hex(),
        into=background.hex(),
        gives=encode(dop, place, data, background).hex(),
    )


MAKERS = {
    "identical": case_identical,
    "linear": case_linear,
    "rounded": case_rounded,
    "scales": case_scales,
    "table": case_table,
    "text": case_text,
    "padded": case_padded,
    "bytes": case_bytes,
}


def main():
    versions = {name: importlib.metadata.version(name) for name in ("odxtools", "bitstruct", "construct")}
    head = {
        "made_by": "tests/oracles/odx_layouts.py",
        "python": sys.version.split()[0],
        **versions,
        "seed": SEED,
        "cases": sum(COUNTS.values()),
    }
    print(json.dumps(head))
    for kind, count in COUNTS.items():
        done = 0
        while done < count:
            try:
                case = MAKERS[kind]()
            except Unsuitable:
                continue
            print(json.dumps({"case": f"{kind}-{done}", **case}, separators=(",", ":")))
            done += 1


if __name__ == "__main__":
    main()
