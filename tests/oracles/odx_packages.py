"""Write down what a reference library reads from the records of ODX packages (crates/asfound-odx).

For every layer and every service that reads a data identifier, 1,000 contents are drawn (seeded by what they are for), and
each value is decoded and encoded again by odxtools 11.7.1, an implementation of ISO 22901-1. What comes out is kept as a
digest for each value, with the first eight values in plain.

Nothing here calculates an expected value with the project's own rules. Where odxtools and a setting cannot say the same,
the value is left out by a rule that stands in `unlike`, with its reason.

`heron.pdx` is written by odxtools itself, of the documents of `odx_tables.py`. A record whose identifier is the key of a table
has the values of the row that the key chooses, under the row's short name.

`exported.odx-d` is what the project itself wrote of `exported.toml` (`cargo run -p asfound-odx --example export`).

Usage: python odx_packages.py ../../crates/asfound-odx/tests/data
"""

import hashlib
import importlib.metadata
import io
import json
import re
import sys
import warnings
import zipfile
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import odxtools
import odx_documents
import odx_tables
from odxtools.database import Database
from odxtools.dataobjectproperty import DataObjectProperty
from odxtools.decodestate import DecodeState
from odxtools.encodestate import EncodeState
from odxtools.dtcdop import DtcDop
from odxtools.encoding import Encoding
from odxtools.environmentdatadescription import EnvironmentDataDescription
from odxtools.exceptions import OdxError
from odxtools.parameters.codedconstparameter import CodedConstParameter
from odxtools.parameters.matchingrequestparameter import MatchingRequestParameter
from odxtools.parameters.physicalconstantparameter import PhysicalConstantParameter
from odxtools.parameters.reservedparameter import ReservedParameter
from odxtools.parameters.tablekeyparameter import TableKeyParameter
from odxtools.parameters.tablestructparameter import TableStructParameter
from odxtools.parameters.valueparameter import ValueParameter
from odxtools.staticfield import StaticField
from odxtools.structure import Structure
from odxtools.writepdxfile import write_pdx_file

CONTENTS = 1000
PLAIN = 8
warnings.simplefilter("ignore")


def content(name, number, length):
    """Bytes that both sides draw: half of them anything, a quarter small, a quarter printable."""
    stream, block = b"", 0
    while len(stream) < 2 * length:
        stream += hashlib.sha256(f"{name}/{number}/{block}".encode()).digest()
        block += 1
    out = bytearray()
    for at in range(length):
        byte, kind = stream[2 * at], stream[2 * at + 1] & 3
        out.append(byte & 3 if kind == 1 else 0x20 + byte % 95 if kind == 2 else byte)
    return bytes(out)


def canonical(value):
    """A value as text that both sides can write: numbers to twelve digits, whole ones exactly below 2**53."""
    if isinstance(value, bool):
        raise TypeError(value)
    if isinstance(value, (bytes, bytearray)):
        return "b:" + value.hex().upper()
    if isinstance(value, str):
        return "t:" + value
    if value != value or value in (float("inf"), float("-inf")):
        return str(value)
    if float(value).is_integer() and abs(value) < 2**53:
        return str(int(value))
    mantissa, exponent = f"{float(value):.11e}".split("e")
    return f"{mantissa.rstrip('0').rstrip('.')}e{int(exponent)}"


def unlike(dop, raw, value):
    """Why a setting says nothing of a coded value that odxtools gives a meaning; nothing where it must say the same."""
    coded = dop.diag_coded_type
    if coded.base_type_encoding in (Encoding.BCD_P, Encoding.BCD_UP):
        step = 4 if coded.base_type_encoding == Encoding.BCD_P else 8
        mask = 0xF if step == 4 else 0xFF
        if any((raw >> shift) & mask > 9 for shift in range(0, coded.bit_length, step)):
            return "odxtools reads decimal digits beyond 9, which are none"
    if isinstance(value, str) and coded.base_data_type.value == "A_ASCIISTRING" and not all(0x20 <= ord(c) <= 0x7E for c in value):
        return "a text of settings is printable ASCII"
    return None


def never_ends(dop):
    """Six places for an interpolated number whose slope is no decimal, which a setting shows with so many."""
    method = dop.compu_method
    if method.category.value != "TAB-INTP":
        return None
    points = list(zip(method.internal_points, method.physical_points))
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        rest = (Fraction(y1 - y0) / Fraction(x1 - x0)).denominator
        for factor in (2, 5):
            while rest % factor == 0:
                rest //= factor
        if rest != 1:
            return 6
    return None


class Leaf:
    def __init__(self, path, dop, byte, bit):
        self.path, self.dop, self.byte, self.bit = path, dop, byte, bit

    def raw(self, data):
        """The coded bits as a number, cut out by hand only to tell decimal digits."""
        bits = self.dop.diag_coded_type.get_static_bit_length()
        count = (self.bit + bits + 7) // 8
        piece = data[self.byte : self.byte + count]
        if not self.dop.diag_coded_type.is_highlow_byte_order:
            piece = piece[::-1]
        return int.from_bytes(piece, "big") >> self.bit & ((1 << bits) - 1)

    def decode(self, data):
        state = DecodeState(coded_message=data, origin_byte_position=0, cursor_byte_position=self.byte, cursor_bit_position=self.bit)
        try:
            value = self.dop.decode_from_pdu(state)
        except (OdxError, UnicodeDecodeError, ZeroDivisionError):
            return None
        places = self.dop.physical_type.precision if self.dop.physical_type.precision is not None else never_ends(self.dop)
        if isinstance(value, float) and places is not None:
            # PRECISION says how a value is shown; where a setting needs places, it shows as many.
            value = float(f"{value:.{places}f}")
        return None if unlike(self.dop, self.raw(data), value) else value

    def encode(self, value):
        """The coded bits of a value as a number or as bytes; nothing where odxtools does not encode it."""
        state = EncodeState(coded_message=bytearray())
        try:
            self.dop.encode_into_pdu(value, state)
        except (OdxError, NotImplementedError, OverflowError, ZeroDivisionError):
            return None
        out = bytes(state.coded_message)
        if self.dop.diag_coded_type.base_data_type.value in ("A_INT32", "A_UINT32"):
            if not self.dop.diag_coded_type.is_highlow_byte_order:
                out = out[::-1]
            return str(int.from_bytes(out, "big"))
        return "b:" + out.hex().upper()


class Unplaced(Exception):
    """The structure has a length that is not always the same."""


def object_of(parameter, layer):
    """The data object of a parameter in the layer that is looked at.

    odxtools resolves a short name once, in the layer that the parameter was written in, and says of it that this is "not
    correct" where a lower layer overrides the object (the note at `HierarchyElement._finalize_init`, 11.7.1). The layer's own
    dictionary, which odxtools puts together as the standard asks, has the right one.
    """
    if parameter.dop_snref is None:
        return parameter.dop
    own = layer.diag_data_dictionary_spec.data_object_props
    return own[parameter.dop_snref] if parameter.dop_snref in [one.short_name for one in own] else parameter.dop


def row_object(row, layer):
    """The data object or structure of a table's row in the layer that is looked at, as `object_of` for parameters."""
    if row.dop_snref is None:
        return row.structure or row.dop
    own = layer.diag_data_dictionary_spec.data_object_props
    return own[row.dop_snref] if row.dop_snref in [one.short_name for one in own] else row.dop


def leaves(layer, parameters, origin, path, found, row=None):
    """Places of all simple values, by odxtools' own lengths; the first byte behind them. `row` is what a table's key chooses."""
    cursor = end = origin
    for parameter in parameters:
        byte = cursor if parameter.byte_position is None else origin + parameter.byte_position
        bit = parameter.bit_position or 0
        here = path + [parameter.short_name]
        if isinstance(parameter, (CodedConstParameter, PhysicalConstantParameter, ReservedParameter, MatchingRequestParameter)):
            cursor = byte + (bit + parameter.get_static_bit_length() + 7) // 8
        elif isinstance(parameter, ValueParameter):
            cursor = place(layer, object_of(parameter, layer), byte, bit, here, found)
        elif isinstance(parameter, TableKeyParameter):
            cursor = byte + (bit + parameter.table.key_dop.get_static_bit_length() + 7) // 8
        elif isinstance(parameter, TableStructParameter):
            one = parameter.table_key.table_row or row
            if one is None:
                raise Unplaced(type(parameter).__name__)
            object_ = row_object(one, layer)
            cursor = byte if object_ is None else place(layer, object_, byte, bit, path + [one.short_name], found)
        else:
            raise Unplaced(type(parameter).__name__)
        end = max(end, cursor)
    return end


def place(layer, dop, byte, bit, path, found):
    if isinstance(dop, Structure):
        end = leaves(layer, dop.parameters, byte, path, found)
        return byte + dop.byte_size if dop.byte_size is not None else end
    if isinstance(dop, StaticField):
        for item in range(dop.fixed_number_of_items):
            name = path[:-1] + [f"{path[-1]}[{item + 1}]"]
            place(layer, dop.structure, byte + item * dop.item_byte_size, 0, name, found)
        return byte + dop.fixed_number_of_items * dop.item_byte_size
    if isinstance(dop, EnvironmentDataDescription):
        # Data that go with every trouble code are always there; others make a message that is not always as long.
        if [bool(one.all_value) for one in dop.env_datas] != [True]:
            raise Unplaced(type(dop).__name__)
        return leaves(layer, dop.env_datas[0].parameters, byte, path, found)
    if isinstance(dop, DtcDop):
        # odxtools gives a trouble-code object no length of its own; its coded type has one.
        return byte + (bit + dop.diag_coded_type.get_static_bit_length() + 7) // 8
    if dop.get_static_bit_length() is None:
        raise Unplaced(type(dop).__name__)
    if isinstance(dop, DataObjectProperty):
        found.append(Leaf(path, dop, byte, bit))
    return byte + (bit + dop.get_static_bit_length() + 7) // 8


def records(layer):
    """The data identifiers that a layer's services read, and those that they only write: identifier, service, message with
    the record, first byte of that message, row of a table."""
    read = set()
    for service in layer.services:
        if service.request is None or not service.positive_responses:
            continue
        for row, identifier in rows(service, 0x22):
            read.add(identifier)
            yield identifier.hex().upper(), service, service.positive_responses[0], 0x62, row
        prefix = bytes(service.request.coded_const_prefix())
        if len(prefix) == 3 and prefix[0] == 0x22 and len(service.request.parameters) == 2:
            read.add(prefix[1:])
            yield f"{prefix[1]:02X}{prefix[2]:02X}", service, service.positive_responses[0], 0x62, None
    for service in layer.services:
        prefix = bytes(service.request.coded_const_prefix()) if service.request is not None else b""
        if prefix[:1] == b"\x2e" and len(prefix) >= 3 and prefix[1:3] not in read:
            yield f"{prefix[1]:02X}{prefix[2]:02X}", service, service.request, 0x2E, None


def rows(service, first):
    """Rows of the table whose key is the identifier that a service asks for, with the identifiers that odxtools codes."""
    parameters = service.request.parameters
    if len(parameters) != 2 or not isinstance(parameters[1], TableKeyParameter) or parameters[0].coded_value != first:
        return
    table = parameters[1].table
    for row in table.table_rows:
        if sum(one.key == row.key for one in table.table_rows) > 1:
            continue  # odxtools decodes no message with a key that two rows have, nor does the project.
        state = EncodeState(coded_message=bytearray())
        table.key_dop.encode_into_pdu(row.key, state)
        yield row, bytes(state.coded_message)


def observe(layer, record, service, response, first, row):
    found = []
    try:
        end = leaves(layer, response.parameters, 0, [], found, row)
    except Unplaced:
        return {"layer": layer.short_name, "record": record, "variable": True}
    length = end - 3
    request = bytes([0x22]) + bytes.fromhex(record)
    late = any(
        isinstance(one, ValueParameter) and one.dop_snref and object_of(one, layer) is not one.dop for one in response.parameters
    ) or row is not None and row_object(row, layer) is not (row.structure or row.dop)
    columns, codes = [[] for _ in found], [[] for _ in found]
    for number in range(CONTENTS):
        data = bytes([first]) + bytes.fromhex(record) + content(f"{layer.short_name}/{record}", number, length)
        if not late:
            check_places(response, data, found, row)
        for at, leaf in enumerate(found):
            value = leaf.decode(data)
            columns[at].append(value)
            codes[at].append(None if value is None else leaf.encode(value))
    values = []
    for leaf, column, code in zip(found, columns, codes):
        texts = ["-" if value is None else canonical(value) for value in column]
        category = leaf.dop.compu_method.category.value
        coded = ["-" if one is None else one for one in code]
        decodes = sum(value is not None for value in column)
        # odxtools cuts the interpolated number off (int()), so that a number just below a whole one is one less.
        exact = category != "TAB-INTP" and all(c is not None for v, c in zip(column, code) if v is not None)
        values.append({
            "path": ".".join(leaf.path), "category": category, "decodes": decodes,
            "values": hashlib.sha256("\n".join(texts).encode()).hexdigest(), "first": texts[:PLAIN],
            "codes": hashlib.sha256("\n".join(coded).encode()).hexdigest() if exact else None,
        })
    out = {"layer": layer.short_name, "record": record, "service": service.short_name, "length": length, "values": values}
    if not late:
        out.update(whole(response, request, found, columns, codes, length, first, row))
    return out


def check_places(response, data, found, row):
    """Stops where odxtools, given the whole message, finds another value than in the place that was worked out here."""
    try:
        values = dict(response.decode(data))
        for value in [value for value in values.values() if isinstance(value, tuple)]:
            values[value[0]] = value[1]
    except (OdxError, UnicodeDecodeError, ZeroDivisionError):
        return
    assert row is None or found == [] or row.short_name in values, (response.short_name, row.short_name)
    for leaf in found:
        value = values
        for name in leaf.path:
            name, _, item = name.partition("[")
            value = value[name] if not item else value[name][int(item[:-1]) - 1]
        state = DecodeState(coded_message=data, cursor_byte_position=leaf.byte, cursor_bit_position=leaf.bit)
        alone = leaf.dop.decode_from_pdu(state)
        assert value == alone or value != value, (response.short_name, leaf.path, value, alone)


def nest(target, path, value):
    """Puts a value where odxtools wants it: structures are tables, fields are lists."""
    for name in path[:-1]:
        if name.endswith("]"):
            name, item = name[:-1].split("[")
            items = target.setdefault(name, [])
            while len(items) < int(item):
                items.append({})
            target = items[int(item) - 1]
        else:
            target = target.setdefault(name, {})
    target[path[-1]] = value


def whole(response, request, found, columns, codes, length, first_byte, row):
    """The digest of whole messages encoded from decoded values; nothing where odxtools does not encode all of them."""
    if any(leaf.dop.compu_method.category.value == "TAB-INTP" for leaf in found):
        return {}
    first = []
    for column, code in zip(columns, codes):
        decoded = [v for v in column if v is not None]
        if not decoded or sum(c is not None for c in code) < len(decoded):
            return {}
        first.append(decoded[0])
    lines = []
    for number in range(CONTENTS):
        values = {}
        for at, leaf in enumerate(found):
            value = columns[at][number]
            nest(values, leaf.path, first[at] if value is None else value)
        try:
            asked = {"coded_request": request} if first_byte == 0x62 else {}
            if row is not None:
                struct = next(one for one in response.parameters if isinstance(one, TableStructParameter))
                values = {struct.short_name: (row.short_name, values.get(row.short_name))}
            message = bytes(response.encode(**asked, **values))
        except (OdxError, NotImplementedError):
            return {}
        if len(message) != length + 3:
            # odxtools puts what stands behind a structure with BYTE-SIZE elsewhere when it encodes than when it decodes
            # (basicstructure.py adds the size to the origin of what the structure is in), so that nothing comes back.
            print(response.short_name, "does not come back from odxtools", file=sys.stderr)
            return {}
        lines.append(message[3:].hex().upper())
    return {"messages": hashlib.sha256("\n".join(lines).encode()).hexdigest(), "message": lines[0]}


def written_by_odxtools(documents):
    """Documents as odxtools writes them."""
    database, buffer = Database(), io.BytesIO()
    for text in documents.values():
        database.add_odx_xml_tree(ElementTree.fromstring(text.partition("?>")[2]))
    database.refresh()
    write_pdx_file(buffer, database)
    written = {}
    with zipfile.ZipFile(buffer) as archive:
        for name in archive.namelist():
            text = archive.read(name).decode()
            # odxtools 11.7.1 reads ALL-VALUE of ENV-DATA and does not write it.
            text = re.sub(r'(ID="DOP.Always">.*?</PARAMS>)', r"\1<ALL-VALUE/>", text, count=1, flags=re.DOTALL)
            # The same documents give the same bytes.
            written[name] = re.sub(r' CREATION-DATE="[^"]*"', ' CREATION-DATE="2026-01-01T00:00:00"', text)
    return written


def main(folder):
    (folder / "aviary.pdx").write_bytes(odx_documents.package(odx_documents.aviary()))
    (folder / "heron.pdx").write_bytes(odx_documents.package(written_by_odxtools(odx_tables.heron())))
    for name in ["aviary", "heron", "somersault", "exported"]:
        # The example was written by odxtools 4.0.5; a default case that is no structure stops the present one.
        odxtools.exceptions.strict_mode = name != "somersault"
        if name == "exported":
            database = odxtools.load_odx_d_file(folder / "exported.odx-d")
        else:
            database = odxtools.load_pdx_file(folder / f"{name}.pdx")
        lines = [json.dumps({"odxtools": importlib.metadata.version("odxtools"), "contents": CONTENTS})]
        for layer in database.diag_layers:
            for found in records(layer) if hasattr(layer, "services") else []:
                lines.append(json.dumps(observe(layer, *found)))
        (folder / f"{name}.jsonl").write_text("\n".join(lines) + "\n")
        print(name, len(lines) - 1, "records", file=sys.stderr)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
