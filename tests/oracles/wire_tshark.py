"""Record what tshark says of the recorded conversations (for crates/asfound-wire/tests/tshark_oracle.rs).

For each conversation that wire_isotp.py made: tshark 4.0.17 is given the frames of its identifiers, and gives every ISO 14229
message with its bytes. It is given each conversation alone because it takes frames of different identifiers for parts of one
message where they are interleaved, and because it has one setting for the addressing of a whole log (`extended` is
any address byte in front of the transport, and so mixed addressing too). Of diagnostics on IP (wire_doip.py) it is given the whole
capture, and told to put segments in order.

Seeds and keys (27, 67) are blanked here, as the project never keeps any.

Usage: python wire_tshark.py ../../crates/asfound-wire/tests/data
Writes, in the order of tshark, isotp.tshark.jsonl.gz (group, bus, identifier, address byte, payload) and doip.tshark.jsonl.gz (source, target,
payload).
"""

import gzip
import json
import subprocess
import sys
import tempfile

GROUPS = ("normal", "fixed", "address-byte", "flexible")


def tshark(path, *options):
    """The packets with ISO 14229; where a layer comes several times, it is there several times: pairs instead of a dictionary."""
    said = subprocess.run(
        ["tshark", "-r", path, *options, "-Y", "uds", "-T", "json", "-x"], capture_output=True, check=True, text=True
    ).stdout
    for packet in json.loads(said, object_pairs_hook=list):
        yield dict(dict(packet)["_source"])["layers"]


def blanked(payload):
    payload = payload.upper()
    return payload[:4] + "0" * (len(payload) - 4) if payload[:2] in ("27", "67") else payload


def within(layer, name):
    """The value of a field, however deep it stands."""
    for key, value in layer:
        if key == name:
            return value
        if isinstance(value, list) and value and isinstance(value[0], list):
            found = within(value, name)
            if found is not None:
                return found
    return None


def lines_of(folder, name):
    with gzip.open(f"{folder}/{name}.gz", "rt") as lines:
        return list(lines)


def isotp(folder, group):
    truth = [json.loads(line) for line in lines_of(folder, f"isotp-{group}.truth.jsonl")[1:]]
    log = lines_of(folder, f"isotp-{group}.log")
    for t in truth:
        bus = t["bus"]
        channels = {c for c, _ in t["channels"]} | {m["channel"][0] for m in t["messages"]}
        marks = [f" {bus} {channel}#" for channel in channels]
        short = ",".join(f"0x{c}" for c in sorted(channels) if len(c) == 3)
        long = ",".join(f"0x{c}" for c in sorted(channels) if len(c) == 8)
        has_address = t["channels"][0][1] is not None
        with tempfile.NamedTemporaryFile("w", suffix=".log") as part:
            # tshark's reader of candump text takes no direction letters.
            part.writelines(line.replace(" R\n", "\n") for line in log if any(mark in line for mark in marks))
            part.flush()
            options = ["-o", f"iso15765.can.ids:{short}", "-o", f"iso15765.can.extended_ids:{long}"]
            options += ["-o", f"iso15765.addressing:{'extended' if has_address else 'normal'}"]
            for layers in tshark(part.name, *options, "-d", "iso15765.subdissector,uds"):
                layers = dict(layers)
                can = layers["can"] if "can" in layers else layers["canfd"]
                number, wide = int(within(can, "can.id")), within(can, "can.flags.xtd") == "1"
                address = within(layers["iso15765"], "iso15765.address")
                yield {
                    "group": group, "bus": bus, "id": f"{number:08X}" if wide else f"{number:03X}",
                    "address": None if address is None else int(address, 0), "payload": blanked(layers["uds_raw"][0]),
                }


def doip(folder):
    for layers in tshark(f"{folder}/doip.pcap", "-o", "tcp.reassemble_out_of_order:TRUE"):
        for name, layer in layers:
            if name == "doip":
                source, target = within(layer, "doip.source_address"), within(layer, "doip.target_address")
            elif name == "uds_raw":
                yield {"source": int(source, 0), "target": int(target, 0), "payload": blanked(layer[0])}


def write(path, messages):
    with open(path, "wb") as raw, gzip.GzipFile("", "wb", 9, raw, mtime=0) as out:
        out.write("".join(json.dumps(message) + "\n" for message in messages).encode())


def main():
    folder = sys.argv[1]
    write(f"{folder}/isotp.tshark.jsonl.gz", [message for group in GROUPS for message in isotp(folder, group)])
    write(f"{folder}/doip.tshark.jsonl.gz", doip(folder))


main()
