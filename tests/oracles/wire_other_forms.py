"""Write the frames of `frames.log` in forms that are named and not read, and captures of rarer link types.

    python wire_other_forms.py ../../crates/asfound-wire/tests/data

Needs python-can (4.6.1), asammdf (8.8), and Wireshark's editcap and tshark (4.0.17). Which bytes stand in a form is decided by
these programs: python-can writes ASC, BLF, TRC, CSV and its database; asammdf a measurement; editcap hands candump text on as
pcapng with link type 252. The packets of `doip.pcap` are written again with link types 0 and 108 (the family in four bytes in
front, by the registry of tcpdump.org), and tshark says what diagnostics it reads there.
"""

import struct
import subprocess
import sys
from pathlib import Path

import can
from asammdf import MDF, Signal


def frames(path):
    """The classic frames of the log: most of these forms have no place for others."""
    with can.LogReader(path) as reader:
        return [m for m in reader if not (m.is_fd or m.is_error_frame or m.is_remote_frame)]


def loopback(source, target, link, order):
    data = source.read_bytes()
    out = data[:20] + struct.pack("<I", link)
    at = 24
    while at < len(data):
        seconds, micros, captured, _ = struct.unpack_from("<IIII", data, at)
        packet = data[at + 16 : at + 16 + captured]
        at += 16 + captured
        if packet[12:14] != b"\x08\x00":
            continue
        packet = struct.pack(order + "I", 2) + packet[14:]
        out += struct.pack("<IIII", seconds, micros, len(packet), len(packet)) + packet
    target.write_bytes(out)


def main(folder):
    messages = frames(folder / "frames.log")
    for ending in ["asc", "blf", "trc", "csv", "db"]:
        target = folder / f"other.{ending}"
        target.unlink(missing_ok=True)
        with can.Logger(target) as writer:
            for message in messages:
                writer.on_message_received(message)
    mdf = MDF(version="4.10")
    mdf.append([Signal(samples=[1, 2], timestamps=[0.0, 0.1], name="speed")])
    mdf.save(folder / "other.mf4", overwrite=True)
    subprocess.run(["editcap", "-F", "pcapng", folder / "frames.log", folder / "frames-exported.pcapng"], check=True)
    loopback(folder / "doip.pcap", folder / "doip-loopback.pcap", 0, "<")
    loopback(folder / "doip.pcap", folder / "doip-loopback-network.pcap", 108, ">")
    for name in ["doip", "doip-loopback", "doip-loopback-network"]:
        said = subprocess.run(
            ["tshark", "-r", folder / f"{name}.pcap", "-o", "tcp.reassemble_out_of_order:TRUE", "-Y", "doip.type == 0x8001",
             "-T", "fields", "-e", "doip.type"],
            check=True, capture_output=True, text=True,
        ).stdout
        print(name, said.replace(",", " ").split().count("0x8001"), "diagnostic messages by tshark")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
