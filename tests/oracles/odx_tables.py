"""Make a package of an invented control module whose records are rows of tables.

`heron()` gives the documents: identifiers that a table's key gives, in requests and responses, as numbers and as names; rows
with structures and with simple values; rows of other tables; tables that are inherited and that are not; keys within a
record, with and without a row of their own; constants by physical value; environment data; short-name paths; texts in two
languages. `odx_packages.py` has odxtools write the package.
"""

from odx_documents import (
    Services, coded, compu, const, container, dictionary, dop, identical, layer, linear, matching, names, param, parent, scale,
    structure, value,
)

SHARED = ("Shared", "CONTAINER")


def shared(target):
    return f'ID-REF="{target}" DOCREF="Shared" DOCTYPE="CONTAINER"'


def row(table, short, key, target=None, simple=False, long=None, snref=False):
    kind = "DATA-OBJECT-PROP" if simple else "STRUCTURE"
    inner = "" if target is None else f'<{kind}-REF ID-REF="{target}"/>'
    if snref:
        inner = f'<{kind}-SNREF SHORT-NAME="{target}"/>'
    return f'<TABLE-ROW ID="ROW.{table}.{short}">{names(short, long)}<KEY>{key}</KEY>{inner}</TABLE-ROW>'


def table(short, key, rows):
    return f'<TABLE ID="TABLE.{short}">{names(short)}<KEY-DOP-REF ID-REF="DOP.{key}"/>{"".join(rows)}</TABLE>'


def key(service, short, inner, byte):
    return param(short, "TABLE-KEY", inner, byte).replace("<PARAM ", f'<PARAM ID="KEY.{service}.{short}" ', 1)


def chosen(short, by, byte=None, ref=None):
    inner = f'<TABLE-KEY-REF ID-REF="{ref}"/>' if ref else f'<TABLE-KEY-SNREF SHORT-NAME="{by}"/>'
    return param(short, "TABLE-STRUCT", inner, byte)


def phys_const(short, target, text, byte=None):
    return param(short, "PHYS-CONST", f"<PHYS-CONSTANT-VALUE>{text}</PHYS-CONSTANT-VALUE><DOP-REF {shared(target)}/>", byte)


def german(document):
    """The document with the language of its texts."""
    return document.replace("</SHORT-NAME>", "</SHORT-NAME>\n<ADMIN-DATA><LANGUAGE>de-DE</LANGUAGE></ADMIN-DATA>", 1)


def heron():
    u8, u16 = coded("A_UINT32", 8), coded("A_UINT32", 16)
    objects = [
        dop("Byte", u8, identical()),
        dop("Word", u16, identical()),
        dop("Switch", coded("A_UINT32", 1), compu("TEXTTABLE", [scale(0, 0, "off"), scale(1, 1, "on")]), "A_UNICODE2STRING"),
        dop("Speed", u8, linear(0, 5), "A_UINT32", "UNIT.kmh"),
        dop("Halves", u8, linear(0, 1, 2), "A_FLOAT64", "UNIT.kmh"),
        dop("Name", coded("A_ASCIISTRING", 48), identical(), "A_UNICODE2STRING"),
        dop("Named", u16, compu("TEXTTABLE", [scale(0x0D21, 0x0D21, "lamps"), scale(0x0D22, 0x0D22, "doors")]), "A_UNICODE2STRING"),
        dop("Shifted", u16, linear(0x0D00, 1), "A_UINT32"),
    ]
    codes = (
        f'<DTC-DOP ID="DOP.Codes">{names("Codes")}{coded("A_UINT32", 24)}<PHYSICAL-TYPE BASE-DATA-TYPE="A_UINT32"/>{identical()}'
        f'<DTCS><DTC ID="DTC.1">{names("DTC_1")}<TROUBLE-CODE>10099473</TROUBLE-CODE><TEXT>Fog lamp left</TEXT></DTC></DTCS></DTC-DOP>'
    )
    structures = [
        structure("Lamps", [value("Fitted", "DOP.Switch", 0, 0), value("OnFrom", "DOP.Speed", 1)]),
        structure("Doors", [value("Delay", "DOP.Byte"), value("Angle", "DOP.Word"), value("Halves", "DOP.Halves")]),
        structure("Rest", [value("Front", "DOP.Byte", 0), value("Behind", "DOP.Pairs", 1)]),
        structure("Long", [value("First", "DOP.Word", 0), value("Second", "DOP.Word", 2)]),
        structure("Identity", [value("PartNumber", "DOP.Name", 0)]),
    ]
    pairs = f'<END-OF-PDU-FIELD ID="DOP.Pairs">{names("Pairs")}<BASIC-STRUCTURE-REF ID-REF="STRUCT.Lamps"/></END-OF-PDU-FIELD>'

    def environment(short, inner, parameters):
        return f'<ENV-DATA ID="DOP.{short}">{names(short)}<PARAMS>{"".join(parameters)}</PARAMS>{inner}</ENV-DATA>'

    def description(short, data):
        refs = "".join(f'<ENV-DATA-REF ID-REF="DOP.{one}"/>' for one in data)
        return f'<ENV-DATA-DESC ID="DOP.{short}">{names(short)}<PARAM-SNREF SHORT-NAME="Code"/><ENV-DATA-REFS>{refs}</ENV-DATA-REFS></ENV-DATA-DESC>'

    environments = [
        environment("Always", "<ALL-VALUE/>", [value("Speed", "DOP.Speed"), value("Lit", "DOP.Switch", 1, 4)]),
        environment("Sometimes", "<DTC-VALUES><DTC-VALUE>10099473</DTC-VALUE></DTC-VALUES>", [value("Supply", "DOP.Word")]),
    ]
    tables = [
        table("Comfort", "Word", [
            row("Comfort", "Lamps", 0x0D01, "STRUCT.Lamps", long="Lamp settings"), row("Comfort", "Doors", 0x0D02, "STRUCT.Doors"),
            row("Comfort", "Level", 0x0D03, "DOP.Byte", simple=True), row("Comfort", "Rest", 0x0D04, "STRUCT.Rest"),
            row("Comfort", "Late", 0x0D05, "Late", snref=True, simple=True), row("Comfort", "Nothing", 0x0D06),
            '<TABLE-ROW-REF ID-REF="ROW.Other.Elsewhere"/>',
            row("Comfort", "Twice", 0x0D08, "STRUCT.Lamps"), row("Comfort", "Again", 0x0D08, "STRUCT.Doors"),
        ]),
        table("Other", "Word", [row("Other", "Elsewhere", 0x0D07, "STRUCT.Long")]),
        table("ByName", "Named", [row("ByName", "Lamps", "lamps", "STRUCT.Lamps"), row("ByName", "Doors", "doors", "STRUCT.Doors")]),
        table("Shifted", "Shifted", [row("Shifted", "Lamps", 0x0D00 + 0x0131, "STRUCT.Long")]),
        table("Same", "Byte", [row("Same", "One", 1, "STRUCT.Lamps"), row("Same", "Two", 2, "DOP.Word", simple=True)]),
        table("Uneven", "Byte", [row("Uneven", "One", 1, "STRUCT.Lamps"), row("Uneven", "Two", 2, "STRUCT.Long")]),
        table("NotPassedOn", "Word", [row("NotPassedOn", "Wrong", 0x0D99, "STRUCT.Long")]),
    ]
    units = f'<UNITS><UNIT ID="UNIT.kmh">{names("kmh")}<DISPLAY-NAME>km/h</DISPLAY-NAME></UNIT></UNITS>'
    late = dop("Late", u8, linear(0, 2), "A_UINT32", id="DOP.Shared.Late")
    library = layer(
        "ECU-SHARED-DATA", "SharedObjects",
        dictionary([
            ("DTC-DOPS", [codes]), ("ENV-DATA-DESCS", [description("AlwaysThere", ["Always"]), description("Depends", ["Always", "Sometimes"])]),
            ("DATA-OBJECT-PROPS", [*objects, late]), ("STRUCTURES", structures), ("END-OF-PDU-FIELDS", [pairs]), ("ENV-DATAS", environments),
            ("UNIT-SPEC", [units]), ("TABLES", tables),
        ]),
    )
    base = Services("Base")
    first = const("SID", 0x22, 8, 0)
    answer = const("SID", 0x62, 8, 0)

    def by(name):
        return f"<TABLE-REF {shared(f'TABLE.{name}')}/>"

    def reads(short, name, **more):
        base.add(short, [first, key(f"RQ.{short}", "Did", by(name), 1)], [answer, key(f"PR.{short}", "Did", by(name), 1), chosen("Data", "Did", 3, **more)])

    reads("Read_Comfort", "Comfort")
    base.add(
        "Write_Comfort", [const("SID", 0x2E, 8, 0), key("RQ.Write_Comfort", "Did", by("Comfort"), 1), chosen("Data", "Did", 3)],
        [const("SID", 0x6E, 8, 0), matching()],
    )
    reads("Read_ByName", "ByName", ref="KEY.PR.Read_ByName.Did")
    reads("Read_Shifted", "Shifted")
    own = '<TABLE-SNREF SHORT-NAME="Own"/>'
    base.add("Read_Own", [first, key("RQ.Read_Own", "Did", own, 1)], [answer, key("PR.Read_Own", "Did", own, 1), chosen("Data", "Did", 3)])

    def inner(short, did, table_key, *behind):
        base.read(short, did, [key(f"PR.{short}", "Kind", table_key, 3), chosen("Data", "Kind", 4), *behind])

    one = f"<TABLE-ROW-REF {shared('ROW.Same.One')}/>"
    inner("Read_Fixed", 0x0E01, one, value("Behind", "DOP.Byte", 6, doc=SHARED))
    inner("Read_Same", 0x0E02, by("Same"), value("Behind", "DOP.Byte", 6, doc=SHARED))
    inner("Read_Uneven", 0x0E03, by("Uneven"))
    base.add(
        "Read_Constant", [first, phys_const("Did", "DOP.Shifted", 0x0D00 + 0x0141, 1)],
        [answer, phys_const("Did", "DOP.Shifted", 0x0D00 + 0x0141, 1), phys_const("Marker", "DOP.Speed", 25, 3), value("Level", "DOP.Byte", 4, doc=SHARED)],
    )
    base.read("Read_Always", 0x0E04, [value("Code", "DOP.Codes", 3, doc=SHARED), value("Environment", "DOP.AlwaysThere", 6, doc=SHARED), value("Behind", "DOP.Byte", 8, doc=SHARED)])
    base.read("Read_Depends", 0x0E05, [value("Code", "DOP.Codes", 3, doc=SHARED), value("Environment", "DOP.Depends", 6, doc=SHARED)])
    base.read("Read_Identity", 0xF187, [value("Info", "STRUCT.Identity", 3, doc=SHARED)])
    own_rows = '<TABLE ID="TABLE.Own"><SHORT-NAME>Own</SHORT-NAME>' + f"<KEY-DOP-REF {shared('DOP.Word')}/>" + (
        f'<TABLE-ROW ID="ROW.Own.First">{names("First", "Erste Reihe")}<KEY>{0x0D51}</KEY><STRUCTURE-REF {shared("STRUCT.Lamps")}/></TABLE-ROW>'
        "</TABLE>"
    )
    body = layer(
        "BASE-VARIANT", "HeronBody",
        dictionary([("TABLES", [own_rows])]) + base.xml() + f'<PARENT-REFS>{parent("ECU-SHARED-DATA", "SharedObjects", "Shared")}</PARENT-REFS>',
        "Karosserie des Heron",
    )
    variant = Services("One")
    variant.read("Read_Extra", 0x0E09, [value("Extra", "Late", 3, snref=True)], "Extra")
    pattern = (
        "<ECU-VARIANT-PATTERNS><ECU-VARIANT-PATTERN><MATCHING-PARAMETERS><MATCHING-PARAMETER><EXPECTED-VALUE>7M1101</EXPECTED-VALUE>"
        '<DIAG-COMM-SNREF SHORT-NAME="Read_Identity"/><OUT-PARAM-IF-SNPATHREF SHORT-NAME-PATH="Info.PartNumber"/>'
        "</MATCHING-PARAMETER></MATCHING-PARAMETERS></ECU-VARIANT-PATTERN></ECU-VARIANT-PATTERNS>"
    )
    late_here = dop("Late", u8, linear(1, 3), "A_UINT32", id="DOP.One.Late")
    one_layer = layer(
        "ECU-VARIANT", "HeronBody_1",
        dictionary([("DATA-OBJECT-PROPS", [late_here])]) + variant.xml() + pattern + f'<PARENT-REFS>{parent("BASE-VARIANT", "HeronBody", "Body")}</PARENT-REFS>',
    )
    return {
        "Shared.odx-d": container("Shared", [("ECU-SHARED-DATA", library)]),
        "Body.odx-d": german(container("Body", [("BASE-VARIANT", body), ("ECU-VARIANT", one_layer)])),
    }
