"""Make ODX packages of invented control modules, as text that this script writes by itself.

`aviary()` gives the documents of the package `aviary.pdx`: one of everything that the standard has for records, and
random records (seeded). `odx_packages.py` reads it with a reference library and writes down what it finds.
"""

import io
import random
import zipfile
from xml.sax.saxutils import escape, quoteattr

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<ODX MODEL-VERSION="2.2.0" '
    'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">\n'
)


def names(short, long=None, desc=None):
    text = f"<SHORT-NAME>{escape(short)}</SHORT-NAME>"
    if long:
        text += f"<LONG-NAME>{escape(long)}</LONG-NAME>"
    if desc:
        text += f"<DESC><p>{escape(desc)}</p></DESC>"
    return text


def coded(base, bits=None, order=None, encoding=None, kind="STANDARD-LENGTH-TYPE", inner=None, extra=""):
    attributes = f' BASE-DATA-TYPE="{base}" xsi:type="{kind}"{extra}'
    if encoding:
        attributes += f' BASE-TYPE-ENCODING="{encoding}"'
    if order is not None:
        attributes += f' IS-HIGHLOW-BYTE-ORDER="{"true" if order else "false"}"'
    inner = inner if inner is not None else f"<BIT-LENGTH>{bits}</BIT-LENGTH>"
    return f"<DIAG-CODED-TYPE{attributes}>{inner}</DIAG-CODED-TYPE>"


def limit(which, value, kind=None):
    if value is None:
        return ""
    attribute = f' INTERVAL-TYPE="{kind}"' if kind else ""
    return f"<{which}-LIMIT{attribute}>{value}</{which}-LIMIT>"


def scale(low=None, high=None, text=None, number=None, inverse=None, up=None, down=None, low_kind=None, high_kind=None):
    inner = limit("LOWER", low, low_kind) + limit("UPPER", high, high_kind)
    if inverse is not None:
        inner += f"<COMPU-INVERSE-VALUE><V>{inverse}</V></COMPU-INVERSE-VALUE>"
    if text is not None:
        inner += f"<COMPU-CONST><VT>{escape(text)}</VT></COMPU-CONST>"
    if number is not None:
        inner += f"<COMPU-CONST><V>{number}</V></COMPU-CONST>"
    if up is not None:
        inner += "<COMPU-RATIONAL-COEFFS><COMPU-NUMERATOR>" + "".join(f"<V>{v}</V>" for v in up) + "</COMPU-NUMERATOR>"
        if down:
            inner += "<COMPU-DENOMINATOR>" + "".join(f"<V>{v}</V>" for v in down) + "</COMPU-DENOMINATOR>"
        inner += "</COMPU-RATIONAL-COEFFS>"
    return f"<COMPU-SCALE>{inner}</COMPU-SCALE>"


def compu(category, scales=(), default=None):
    inner = f"<CATEGORY>{category}</CATEGORY>"
    if scales or default is not None:
        inner += "<COMPU-INTERNAL-TO-PHYS>"
        if scales:
            inner += "<COMPU-SCALES>" + "".join(scales) + "</COMPU-SCALES>"
        if default is not None:
            inner += f"<COMPU-DEFAULT-VALUE><VT>{escape(default)}</VT></COMPU-DEFAULT-VALUE>"
        inner += "</COMPU-INTERNAL-TO-PHYS>"
    return f"<COMPU-METHOD>{inner}</COMPU-METHOD>"


def dop(short, coded_type, method, physical="A_UINT32", unit=None, internal="", phys="", long=None, desc=None, precision=None, id=None):
    inner = names(short, long, desc) + method + coded_type
    if precision is None:
        inner += f'<PHYSICAL-TYPE BASE-DATA-TYPE="{physical}"/>'
    else:
        inner += f'<PHYSICAL-TYPE BASE-DATA-TYPE="{physical}"><PRECISION>{precision}</PRECISION></PHYSICAL-TYPE>'
    inner += internal
    if unit:
        inner += f"<UNIT-REF ID-REF={quoteattr(unit)}/>"
    inner += phys
    return f'<DATA-OBJECT-PROP ID="{id or "DOP." + short}">{inner}</DATA-OBJECT-PROP>'


def const(short, value, bits=8, byte=None, bit=None, semantic=None, order=None):
    return param(short, "CODED-CONST", f"<CODED-VALUE>{value}</CODED-VALUE>" + coded("A_UINT32", bits, order), byte, bit, semantic)


def param(short, kind, inner, byte=None, bit=None, semantic=None, long=None, desc=None):
    semantic = f' SEMANTIC="{semantic}"' if semantic else ""
    where = "" if byte is None else f"<BYTE-POSITION>{byte}</BYTE-POSITION>"
    where += "" if bit is None else f"<BIT-POSITION>{bit}</BIT-POSITION>"
    return f'<PARAM xsi:type="{kind}"{semantic}>{names(short, long, desc)}{where}{inner}</PARAM>'


def value(short, target, byte=None, bit=None, snref=False, doc=None, long=None, desc=None):
    if snref:
        inner = f'<DOP-SNREF SHORT-NAME="{target}"/>'
    elif doc:
        inner = f'<DOP-REF ID-REF="{target}" DOCREF="{doc[0]}" DOCTYPE="{doc[1]}"/>'
    else:
        inner = f'<DOP-REF ID-REF="{target}"/>'
    return param(short, "VALUE", inner, byte, bit, "DATA", long, desc)


def reserved(short, bits, byte=None, bit=None):
    return param(short, "RESERVED", f"<BIT-LENGTH>{bits}</BIT-LENGTH>", byte, bit)


def matching(short="Identifier", byte=1, length=2):
    return param(short, "MATCHING-REQUEST-PARAM", f"<REQUEST-BYTE-POS>1</REQUEST-BYTE-POS><BYTE-LENGTH>{length}</BYTE-LENGTH>", byte)


def structure(short, parameters, size=None):
    size = "" if size is None else f"<BYTE-SIZE>{size}</BYTE-SIZE>"
    return f'<STRUCTURE ID="STRUCT.{short}">{names(short)}{size}<PARAMS>{"".join(parameters)}</PARAMS></STRUCTURE>'


class Services:
    """Services of one layer with their messages."""

    def __init__(self, prefix):
        self.prefix, self.comms, self.requests, self.responses = prefix, [], [], []

    def add(self, short, request, response, long=None, classes=()):
        p = f"{self.prefix}.{short}"
        refs = "".join(f'<FUNCT-CLASS-REF ID-REF="{c}"/>' for c in classes)
        refs = f"<FUNCT-CLASS-REFS>{refs}</FUNCT-CLASS-REFS>" if refs else ""
        self.comms.append(
            f'<DIAG-SERVICE ID="DS.{p}" SEMANTIC="CURRENTDATA">{names(short, long)}{refs}<REQUEST-REF ID-REF="RQ.{p}"/>'
            f'<POS-RESPONSE-REFS><POS-RESPONSE-REF ID-REF="PR.{p}"/></POS-RESPONSE-REFS></DIAG-SERVICE>'
        )
        self.requests.append(f'<REQUEST ID="RQ.{p}">{names("RQ_" + short)}<PARAMS>{"".join(request)}</PARAMS></REQUEST>')
        self.responses.append(
            f'<POS-RESPONSE ID="PR.{p}">{names("PR_" + short)}<PARAMS>{"".join(response)}</PARAMS></POS-RESPONSE>'
        )

    def read(self, short, did, parameters, long=None, classes=(), repeat=None):
        repeat = repeat or matching()
        self.add(short, [const("SID", 0x22, 8, 0), const("DID", did, 16, 1)], [const("SID", 0x62, 8, 0), repeat, *parameters], long, classes)

    def write(self, short, did, parameters, long=None):
        self.add(short, [const("SID", 0x2E, 8, 0), const("DID", did, 16, 1), *parameters], [const("SID", 0x6E, 8, 0), matching()], long)

    def xml(self):
        return (
            f"<DIAG-COMMS>{''.join(self.comms)}</DIAG-COMMS><REQUESTS>{''.join(self.requests)}</REQUESTS>"
            f"<POS-RESPONSES>{''.join(self.responses)}</POS-RESPONSES>"
        )


def dictionary(lists):
    inner = "".join(f"<{name}>{''.join(items)}</{name}>" for name, items in lists if items)
    return f"<DIAG-DATA-DICTIONARY-SPEC>{inner}</DIAG-DATA-DICTIONARY-SPEC>" if inner else ""


def layer(tag, short, body, long=None):
    return f'<{tag} ID="{tag}.{short}">{names(short, long)}{body}</{tag}>'


def container(short, layers):
    order = ["PROTOCOL", "FUNCTIONAL-GROUP", "ECU-SHARED-DATA", "BASE-VARIANT", "ECU-VARIANT"]
    text = HEAD + f'<DIAG-LAYER-CONTAINER ID="DLC.{short}">{names(short)}'
    for tag in order:
        inside = [xml for kind, xml in layers if kind == tag]
        if inside:
            text += f"<{tag}S>" + "\n".join(inside) + f"</{tag}S>"
    return (text + "</DIAG-LAYER-CONTAINER></ODX>\n").replace("><", ">\n<")


def parent(tag, short, doc, without=""):
    return (
        f'<PARENT-REF ID-REF="{tag}.{short}" DOCREF="{doc}" DOCTYPE="CONTAINER" xsi:type="{tag}-REF">{without}</PARENT-REF>'
    )


def identical():
    return compu("IDENTICAL")


def linear(offset, factor, denominator=None, low=None, high=None, **kinds):
    return compu("LINEAR", [scale(low, high, up=[offset, factor], down=[denominator] if denominator else None, **kinds)])


def random_dops(rng, count):
    """Random simple objects: (xml, name, bits)."""
    made = []
    for at in range(count):
        name = f"Random_{at:03}"
        order = rng.random() < 0.6
        signed = rng.random() < 0.25
        bits = rng.choice([1, 2, 3, 4, 5, 7, 8, 8, 8, 10, 12, 16, 16, 24, 32]) if not signed else rng.choice([2, 4, 7, 8, 12, 16, 24, 32])
        base = "A_INT32" if signed else "A_UINT32"
        least, most = (-(2 ** (bits - 1)), 2 ** (bits - 1) - 1) if signed else (0, 2**bits - 1)
        kind = rng.choice(["identical", "linear", "linear", "table", "table", "limited", "scales", "points"])
        physical, unit = "A_FLOAT64", rng.choice([None, "UNIT.volt", "UNIT.kmh", "UNIT.rpm", "UNIT.none"])
        if kind == "table" and bits <= 16:
            count_names = rng.randint(1, min(6, 2**bits))
            points = sorted(rng.sample(range(least, most + 1), count_names)) if 2**bits < 5000 else sorted(rng.randint(least, most) for _ in range(count_names))
            points = sorted(set(points))
            scales, before = [], None
            for n, point in enumerate(points):
                if n + 1 < len(points) and points[n + 1] - point > 3 and rng.random() < 0.4:
                    scales.append(scale(point, point + 2, text=f"state {n}", inverse=point + 1))
                else:
                    scales.append(scale(point, point, text=f"state {n}"))
            method, physical, unit = compu("TEXTTABLE", scales), "A_UNICODE2STRING", None
        elif kind == "limited" and bits >= 4:
            low, high = sorted((rng.randint(least, most), rng.randint(least, most)))
            method = linear(rng.randint(-40, 40), rng.choice([1, 2, 5, -1, 3]), rng.choice([1, 2, 4, 10]), low, high)
        elif kind == "scales" and bits >= 4:
            middle = rng.randint(least + 1, most - 1)
            factor, step = rng.choice([1, 2]), rng.choice([3, 4])
            # Both lines meet in the middle, so that the standard lets them be turned round.
            other = factor * middle - step * middle
            method = compu(
                "SCALE-LINEAR",
                [scale(least, middle, up=[0, factor], down=[2]), scale(middle, most, up=[other, step], down=[2])],
            )
        elif kind == "points" and 8 <= bits <= 16:
            xs = sorted(rng.sample(range(least, most + 1), 3))
            ys = sorted(rng.sample(range(-1000, 70000), 3))
            method = compu("TAB-INTP", [scale(x, number=y) for x, y in zip(xs, ys)])
        elif kind == "linear":
            method = linear(rng.randint(-100, 100), rng.choice([1, 2, 5, 25, -1, -4]), rng.choice([None, 1, 2, 4, 8, 10, 100]))
        else:
            method, physical = identical(), base
        made.append((dop(name, coded(base, bits, order, "2C" if signed else None), method, physical, unit), name, bits))
    return made


def random_record(rng, dops):
    """Parameters one after the other, some packed into the same byte, some with a gap."""
    parameters, byte, bit = [], 3, 0
    for number in range(rng.randint(1, 7)):
        _, name, bits = rng.choice(dops)
        if bit + bits > 8:
            byte, bit = byte + (1 if bit else 0), 0
        if rng.random() < 0.15:
            byte, bit = byte + 1, 0
        explicit = bit > 0 or rng.random() < 0.8 or number == 0
        snref = rng.random() < 0.2
        target = name if snref else f"DOP.{name}"
        doc = None if snref else ("Shared", "CONTAINER")
        if explicit:
            parameters.append(value(f"Value_{number}", target, byte, bit or None, snref, doc))
        else:
            parameters.append(value(f"Value_{number}", target, None, None, snref, doc))
        if bits < 8 and bit + bits < 8 and rng.random() < 0.7:
            bit += bits
        else:
            byte, bit = byte + (bit + bits + 7) // 8, 0
    return parameters


def aviary(seed=22901):
    rng = random.Random(seed)
    randoms = random_dops(rng, 60)
    u8 = coded("A_UINT32", 8)
    not_valid = '<SCALE-CONSTRS><SCALE-CONSTR VALIDITY="NOT-VALID"><LOWER-LIMIT>6</LOWER-LIMIT><UPPER-LIMIT>7</UPPER-LIMIT></SCALE-CONSTR></SCALE-CONSTRS>'
    shared_dops = [
        dop("Switch", coded("A_UINT32", 1), compu("TEXTTABLE", [scale(0, 0, "off"), scale(1, 1, "on")]), "A_UNICODE2STRING"),
        dop("Byte", u8, identical()),
        dop("Word", coded("A_UINT32", 16), identical()),
        dop("WordLittle", coded("A_UINT32", 16, False), identical()),
        dop("Signed", coded("A_INT32", 8, encoding="2C"), identical(), "A_INT32"),
        dop("OnesComplement", coded("A_INT32", 8, encoding="1C"), identical(), "A_INT32"),
        dop("SignMagnitude", coded("A_INT32", 8, encoding="SM"), identical(), "A_INT32"),
        dop("Packed", coded("A_UINT32", 16, encoding="BCD-P"), identical()),
        dop("Unpacked", coded("A_UINT32", 16, encoding="BCD-UP"), identical()),
        dop("Float", coded("A_FLOAT32", 32), identical(), "A_FLOAT32"),
        dop("Name", coded("A_ASCIISTRING", 48), identical(), "A_UNICODE2STRING"),
        dop("WideName", coded("A_UNICODE2STRING", 48), identical(), "A_UNICODE2STRING"),
        dop("Raw", coded("A_BYTEFIELD", 24), identical(), "A_BYTEFIELD"),
        dop("Speed", u8, linear(0, 5), "A_UINT32", "UNIT.kmh", long="Speed", desc="Speed from which it acts"),
        dop("Voltage", coded("A_UINT32", 16), linear(0, 1, 1000), "A_FLOAT64", "UNIT.volt"),
        dop("Temperature", u8, linear(-40, 1), "A_INT32", "UNIT.celsius"),
        dop("Third", u8, linear(0, 1, 3), "A_FLOAT64", "UNIT.kmh", precision=3),
        dop("Falling", u8, linear(100, -1, 2), "A_FLOAT64", "UNIT.none"),
        dop("Rounded", u8, linear(0, 1, 2), "A_UINT32"),
        dop("Level", coded("A_UINT32", 3), identical(), internal=f"<INTERNAL-CONSTR><LOWER-LIMIT>1</LOWER-LIMIT><UPPER-LIMIT>5</UPPER-LIMIT></INTERNAL-CONSTR>"),
        dop("Gapped", coded("A_UINT32", 4), identical(), internal=f"<INTERNAL-CONSTR>{not_valid}</INTERNAL-CONSTR>"),
        dop("Bounded", u8, linear(0, 1, 2), "A_FLOAT64", "UNIT.kmh", phys="<PHYS-CONSTR><LOWER-LIMIT>10</LOWER-LIMIT><UPPER-LIMIT INTERVAL-TYPE=\"OPEN\">20</UPPER-LIMIT></PHYS-CONSTR>"),
        dop("Mode", coded("A_UINT32", 4), compu("TEXTTABLE", [scale(0, 0, "never"), scale(1, 3, "sometimes", inverse=2), scale(4, 4, "always")], default="unknown"), "A_UNICODE2STRING"),
        dop("Doubled", coded("A_UINT32", 2), compu("TEXTTABLE", [scale(0, 0, "reserved"), scale(1, 1, "left"), scale(2, 2, "right"), scale(3, 3, "reserved")]), "A_UNICODE2STRING"),
        dop("Curve", u8, compu("TAB-INTP", [scale(0, number=0), scale(100, number=50), scale(250, number=500)]), "A_FLOAT64"),
        dop("Steps", u8, compu("SCALE-LINEAR", [scale(0, 99, up=[0, 1]), scale(100, 200, up=[-400, 5])]), "A_FLOAT64"),
        dop("Quotient", coded("A_UINT32", 4), compu("RAT-FUNC", [scale(up=[0, 0, 1], down=[1])]), "A_FLOAT64"),
        dop("Inverse", coded("A_UINT32", 16), compu("RAT-FUNC", [scale(1, 65535, up=[1000], down=[0, 1])]), "A_FLOAT64"),
        dop("Masked", coded("A_UINT32", 16, inner="<BIT-LENGTH>16</BIT-LENGTH><BIT-MASK>0FFF</BIT-MASK>"), identical()),
        dop("HoleMasked", coded("A_UINT32", 8, inner="<BIT-LENGTH>8</BIT-LENGTH><BIT-MASK>F3</BIT-MASK>"), identical()),
        dop("Wide", coded("A_UINT32", 72), identical()),
        dop("Serial", coded("A_ASCIISTRING", kind="MIN-MAX-LENGTH-TYPE", inner="<MAX-LENGTH>8</MAX-LENGTH><MIN-LENGTH>8</MIN-LENGTH>", extra=' TERMINATION="END-OF-PDU"'), identical(), "A_UNICODE2STRING"),
        dop("FreeText", coded("A_ASCIISTRING", kind="MIN-MAX-LENGTH-TYPE", inner="<MAX-LENGTH>20</MAX-LENGTH><MIN-LENGTH>0</MIN-LENGTH>", extra=' TERMINATION="END-OF-PDU"'), identical(), "A_UNICODE2STRING"),
        dop("Led", coded("A_ASCIISTRING", kind="LEADING-LENGTH-INFO-TYPE", inner="<BIT-LENGTH>8</BIT-LENGTH>"), identical(), "A_UNICODE2STRING"),
        *[xml for xml, _, _ in randoms],
    ]
    dtcs = "".join(
        f'<DTC ID="DTC.{code:06X}">{names(f"DTC_{code:06X}")}<TROUBLE-CODE>{code}</TROUBLE-CODE>'
        f"<DISPLAY-TROUBLE-CODE>{shown}</DISPLAY-TROUBLE-CODE><TEXT>{escape(text)}</TEXT></DTC>"
        for code, shown, text in [(0x9A1B11, "B1A1B-11", "Fog lamp left: short to ground"), (0xC06487, "U0064-87", "Bus A: message missing")]
    )
    dtc_dop = f'<DTC-DOP ID="DOP.Codes">{names("Codes")}{coded("A_UINT32", 24)}<PHYSICAL-TYPE BASE-DATA-TYPE="A_UINT32"/>{identical()}<DTCS>{dtcs}</DTCS></DTC-DOP>'
    structures = [
        structure("Pair", [value("First", "DOP.Byte", 0), value("Second", "DOP.Switch", 1, 3), value("Third", "DOP.Level", 1, 0)]),
        structure("Padded", [value("Only", "DOP.Byte", 1)], 4),
        structure("CaseA", [value("Threshold", "DOP.Word", 0)]),
        structure("CaseB", [value("High", "DOP.Byte", 0), value("Low", "DOP.Byte", 1)]),
        structure("CaseC", [value("Short", "DOP.Byte", 0)]),
    ]
    static = f'<STATIC-FIELD ID="DOP.Three">{names("Three")}<BASIC-STRUCTURE-REF ID-REF="STRUCT.Pair"/><FIXED-NUMBER-OF-ITEMS>3</FIXED-NUMBER-OF-ITEMS><ITEM-BYTE-SIZE>3</ITEM-BYTE-SIZE></STATIC-FIELD>'
    to_end = f'<END-OF-PDU-FIELD ID="DOP.Rest">{names("Rest")}<BASIC-STRUCTURE-REF ID-REF="STRUCT.Pair"/></END-OF-PDU-FIELD>'
    counted = f'<DYNAMIC-LENGTH-FIELD ID="DOP.Counted">{names("Counted")}<BASIC-STRUCTURE-REF ID-REF="STRUCT.Pair"/><OFFSET>1</OFFSET><DETERMINE-NUMBER-OF-ITEMS><BYTE-POSITION>0</BYTE-POSITION><DATA-OBJECT-PROP-REF ID-REF="DOP.Byte"/></DETERMINE-NUMBER-OF-ITEMS></DYNAMIC-LENGTH-FIELD>'

    def mux(short, second):
        case = lambda name, low, target: f'<CASE>{names(name)}<STRUCTURE-REF ID-REF="STRUCT.{target}"/><LOWER-LIMIT>{low}</LOWER-LIMIT><UPPER-LIMIT>{low}</UPPER-LIMIT></CASE>'
        return (
            f'<MUX ID="DOP.{short}">{names(short)}<BYTE-POSITION>1</BYTE-POSITION><SWITCH-KEY><BYTE-POSITION>0</BYTE-POSITION>'
            f'<BIT-POSITION>0</BIT-POSITION><DATA-OBJECT-PROP-REF ID-REF="DOP.Byte"/></SWITCH-KEY>'
            f'<CASES>{case("A", 0, "CaseA")}{case("B", 1, second)}</CASES></MUX>'
        )

    units = [
        ("volt", "V"), ("kmh", "km/h"), ("rpm", "1/min"), ("celsius", "°C"), ("none", "-"),
    ]
    unit_spec = "<UNITS>" + "".join(f'<UNIT ID="UNIT.{n}">{names(n)}<DISPLAY-NAME>{d}</DISPLAY-NAME></UNIT>' for n, d in units) + "</UNITS>"
    shared = layer(
        "ECU-SHARED-DATA", "SharedObjects",
        dictionary([
            ("DTC-DOPS", [dtc_dop]), ("DATA-OBJECT-PROPS", shared_dops), ("STRUCTURES", structures), ("STATIC-FIELDS", [static]),
            ("DYNAMIC-LENGTH-FIELDS", [counted]), ("END-OF-PDU-FIELDS", [to_end]), ("MUXS", [mux("Choice", "CaseB"), mux("Uneven", "CaseC")]),
            ("UNIT-SPEC", [unit_spec]),
        ]),
    )

    def s(short, target, byte=None, bit=None, **more):
        return value(short, target if target.startswith(("STRUCT.", "DOP.")) else f"DOP.{target}", byte, bit, doc=("Shared", "CONTAINER"), **more)

    group = Services("Group")
    group.read("Read_PartNumber", 0xF187, [s("PartNumber", "Name", 3)], "Part number")
    group.read("Read_SoftwareVersion", 0xF195, [s("SoftwareVersion", "Name", 3)], "Software version")
    group.read("Read_Session", 0xF186, [s("Session", "Byte", 3)])
    group.read("Read_Overridden", 0x0100, [s("Wrong", "Byte", 3)])
    functional = layer("FUNCTIONAL-GROUP", "AllModules", group.xml())

    base = Services("Base")
    base.read("Read_Lamps", 0x0D01, [
        s("FogLampFitted", "Switch", 3, 0, long="Fog lamp fitted"), s("FlashCount", "Level", 3, 1, long="Lane-change flashes"),
        s("Mode", "Mode", 3, 4), s("OnFrom", "Speed", 4, long="On from"), s("Supply", "Voltage", 5), s("Outside", "Temperature"),
    ], "Lamp settings", ["FC.Lamps"])
    base.write("Write_Lamps", 0x0D01, [
        s("FogLampFitted", "Switch", 3, 0), s("FlashCount", "Level", 3, 1), s("Mode", "Mode", 3, 4), s("OnFrom", "Speed", 4), s("Supply", "Voltage", 5), s("Outside", "Temperature"),
    ])
    base.read("Read_Numbers", 0x0D02, [
        s("Word", "Word", 3), s("WordLittle", "WordLittle"), s("Signed", "Signed"), s("Packed", "Packed"), s("Unpacked", "Unpacked"),
        s("Ones", "OnesComplement"), s("Magnitude", "SignMagnitude"), s("Third", "Third"), s("Falling", "Falling"), s("Rounded", "Rounded"),
    ])
    base.read("Read_Texts", 0x0D03, [s("Name", "Name", 3), s("Wide", "WideName"), s("Raw", "Raw"), s("Float", "Float")])
    base.read("Read_Limits", 0x0D04, [s("Level", "Level", 3, 0), s("Gapped", "Gapped", 3, 4), s("Bounded", "Bounded", 4), s("Doubled", "Doubled", 5, 2)])
    base.read("Read_Curves", 0x0D05, [s("Curve", "Curve", 3), s("Steps", "Steps"), s("Quotient", "Quotient", 5, 0), s("Inverse", "Inverse", 6)])
    base.read("Read_Structures", 0x0D06, [s("One", "STRUCT.Pair", 3), s("Field", "Three"), s("Padded", "STRUCT.Padded"), s("After", "Byte")])
    base.read("Read_Masks", 0x0D07, [s("Masked", "Masked", 3), s("Hole", "HoleMasked"), s("Wide", "Wide"), s("Serial", "Serial")])
    base.read("Read_Choice", 0x0D08, [s("Choice", "Choice", 3), s("Behind", "Byte")])
    base.read("Read_Uneven", 0x0D09, [s("Front", "Byte", 3), s("Uneven", "Uneven")])
    base.read("Read_Rest", 0x0D0A, [s("Front", "Byte", 3), s("Rest", "Rest")])
    base.read("Read_Counted", 0x0D0B, [s("Counted", "Counted", 3)])
    base.read("Read_FreeText", 0x0D0C, [s("FreeText", "FreeText", 3)])
    base.read("Read_Led", 0x0D0D, [s("Led", "Led", 3), s("Behind", "Byte")])
    base.read("Read_Overlap", 0x0D0E, [s("Whole", "Byte", 3), s("Part", "Switch", 3, 2), s("Behind", "Byte", 4)])
    base.read("Read_Constants", 0x0D0F, [const("Marker", 0xA5, 8, 3), s("Value", "Byte"), reserved("Gap", 8), s("Last", "Word"), const("End", 0x1234, 16, None, None, None, False)])
    base.read("Read_Codes", 0x0D10, [s("Code", "Codes", 3)])
    base.read("Read_RepeatedAsConstant", 0x0D11, [s("Value", "Byte", 3)], repeat=const("DID", 0x0D11, 16, 1))
    base.read("Read_Overridden", 0x0100, [s("Right", "Word", 3)])
    base.read("Read_Local", 0x0D12, [value("Here", "Local", 3, snref=True), value("Twice", "DOP.OnlyBase", 4)])
    base.add("Routine", [const("SID", 0x31, 8, 0), const("Sub", 1, 8, 1), const("Id", 0x0203, 16, 2)], [const("SID", 0x71, 8, 0), const("Sub", 1, 8, 1)])
    base.add("ReadLocal", [const("SID", 0x21, 8, 0), const("Id", 0x1A, 8, 1)], [const("SID", 0x61, 8, 0), matching("Id", 1, 1), s("Value", "Word", 2)])
    for number in range(30):
        base.read(f"Read_Random_{number:02}", 0x2000 + number, random_record(rng, randoms))
    base_classes = f'<FUNCT-CLASSS><FUNCT-CLASS ID="FC.Lamps">{names("ExteriorLamps", "Exterior lamps")}</FUNCT-CLASS></FUNCT-CLASSS>'
    base_dops = [dop("Local", u8, linear(0, 2), "A_UINT32"), dop("OnlyBase", u8, identical())]
    base_layer = layer(
        "BASE-VARIANT", "WrenBody",
        base_classes + dictionary([("DATA-OBJECT-PROPS", base_dops)]) + base.xml()
        + f'<PARENT-REFS>{parent("FUNCTIONAL-GROUP", "AllModules", "Group")}{parent("ECU-SHARED-DATA", "SharedObjects", "Shared")}</PARENT-REFS>',
        "Body module of the Wren",
    )

    def variant(short, long, services, dops, without, expected):
        patterns = "".join(
            f"<ECU-VARIANT-PATTERN><MATCHING-PARAMETERS>"
            + "".join(
                f'<MATCHING-PARAMETER><EXPECTED-VALUE>{v}</EXPECTED-VALUE><DIAG-COMM-SNREF SHORT-NAME="{c}"/><OUT-PARAM-IF-SNREF SHORT-NAME="{p}"/></MATCHING-PARAMETER>'
                for c, p, v in pattern
            )
            + "</MATCHING-PARAMETERS></ECU-VARIANT-PATTERN>"
            for pattern in expected
        )
        without = "".join(f'<NOT-INHERITED-DIAG-COMM><DIAG-COMM-SNREF SHORT-NAME="{n}"/></NOT-INHERITED-DIAG-COMM>' for n in without)
        without = f"<NOT-INHERITED-DIAG-COMMS>{without}</NOT-INHERITED-DIAG-COMMS>" if without else ""
        body = dictionary([("DATA-OBJECT-PROPS", dops)]) + services.xml()
        body += f"<ECU-VARIANT-PATTERNS>{patterns}</ECU-VARIANT-PATTERNS>" if patterns else ""
        body += f'<PARENT-REFS>{parent("BASE-VARIANT", "WrenBody", "Body", without)}</PARENT-REFS>'
        return layer("ECU-VARIANT", short, body, long)

    one, two = Services("One"), Services("Two")
    one.read("Read_Lamps", 0x0D01, [s("FogLampFitted", "Switch", 3, 1), s("OnFrom", "Speed", 4)], "Lamp settings, first series")
    two.read("Read_New", 0x0E01, [s("Extra", "Byte", 3), s("More", "Mode", 4, 2)])
    part, software = ("Read_PartNumber", "PartNumber"), ("Read_SoftwareVersion", "SoftwareVersion")
    variants = [
        variant("WrenBody_1", "Body module, first series", one, [dop("Local", u8, linear(1, 3), "A_UINT32", id="DOP.One.Local")], ["Read_Curves", "Read_Masks"], [[(*part, "7M0951")], [(*part, "7M0952")]]),
        variant("WrenBody_2", "Body module, second series", two, [], [], [[(*part, "7M0960"), (*software, "0200")]]),
        variant("WrenBody_3", "Body module, third series", Services("Three"), [], ["Read_Lamps"], [[("Read_Session", "Session", "1")]]),
    ]
    return {
        "Shared.odx-d": container("Shared", [("ECU-SHARED-DATA", shared)]),
        "Group.odx-d": container("Group", [("FUNCTIONAL-GROUP", functional)]),
        "Body.odx-d": container("Body", [("BASE-VARIANT", base_layer), *(("ECU-VARIANT", v) for v in variants)]),
    }


def package(documents):
    """The documents as a package; the same documents always give the same bytes."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in documents.items():
            archive.writestr(zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0)), text, zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


if __name__ == "__main__":
    import sys

    sys.stdout.buffer.write(package(aviary()))
