"""Record what tshark says of the recorded conversations (for crates/asfound-wire/tests/tshark_oracle.rs).

For each conversation that wire_isotp.py made with normal and normal fixed addressing: tshark 4.0.17 is given the frames
of its identifiers, and gives every ISO 14229 message with its bytes. It is given each conversation alone because it takes frames
of different identifiers for parts of one message where they are interleaved. Seeds and keys (27, 67) are blanked here, as
the project never keeps any.

Usage: python wire_tshark.py ../../crates/asfound-wire/tests/data
Writes isotp.tshark.jsonl.gz: group, bus, identifier, payload; in the order of tshark.
"""

import gzip
import json
import subprocess
import sys
import tempfile


def messages(folder, group):
    with gzip.open(f"{folder}/isotp-{group}.truth.jsonl.gz", "rt") as lines:
        truth = [json.loads(line) for line in list(lines)[1:]]
    with gzip.open(f"{folder}/isotp-{group}.log.gz", "rt") as lines:
        log = list(lines)
    for t in truth:
        bus = t["bus"]
        channels = {c for c, _ in t["channels"]} | {m["channel"][0] for m in t["messages"]}
        marks = [f" {bus} {channel}#" for channel in channels]
        short = ",".join(f"0x{c}" for c in sorted(channels) if len(c) == 3)
        long = ",".join(f"0x{c}" for c in sorted(channels) if len(c) == 8)
        with tempfile.NamedTemporaryFile("w", suffix=".log") as part:
            # tshark's reader of candump text takes no direction letters.
            part.writelines(line.replace(" R\n", "\n") for line in log if any(mark in line for mark in marks))
            part.flush()
            said = subprocess.run(
                ["tshark", "-r", part.name, "-o", f"iso15765.can.ids:{short}", "-o", f"iso15765.can.extended_ids:{long}"]
                + ["-d", "iso15765.subdissector,uds", "-Y", "uds", "-T", "json", "-x", "--no-duplicate-keys"],
                capture_output=True, check=True, text=True,
            ).stdout
        for packet in json.loads(said):
            layers = packet["_source"]["layers"]
            number, wide = int(layers["can"]["can.id"]), layers["can"]["can.flags.xtd"] == "1"
            payload = layers["uds_raw"][0].upper()
            if payload[:2] in ("27", "67"):
                payload = payload[:4] + "0" * (len(payload) - 4)
            yield {"group": group, "bus": bus, "id": f"{number:08X}" if wide else f"{number:03X}", "payload": payload}


def main():
    folder = sys.argv[1]
    lines = [json.dumps(message) for group in ("normal", "fixed") for message in messages(folder, group)]
    with open(f"{folder}/isotp.tshark.jsonl.gz", "wb") as raw, gzip.GzipFile("", "wb", 9, raw, mtime=0) as out:
        out.write(("\n".join(lines) + "\n").encode())


main()
