#!/usr/bin/env bash
# Writes the same frames in other forms of log (for crates/asfound-wire/tests/formats.rs):
#
#     tests/oracles/wire_formats.sh PYTHON
#
# PYTHON is a python3 with scapy. Needs tshark and editcap (4.0.17), can-utils (2020.11.0) and zstd. What each form
# holds is decided by these programs: log2long writes columns; scapy reads `frames.log` and writes it as pcap (link types
# 227, 113 and 276); editcap makes pcapng and other orders and resolutions of it; tshark then says what is in frames.pcap.
set -euo pipefail
python=$1
[[ $python == /* ]] || python=$PWD/$python
cd "$(dirname "$0")/../../crates/asfound-wire/tests/data"

{
    zcat isotp-normal.log.gz | sed -n '1,60p'
    zcat isotp-flexible.log.gz | sed -n '1,30p'
    zcat isotp-fixed.log.gz | sed -n '1,30p'
} | sed 's/ R$//' >frames.log
# A remote frame, an error frame and an empty one.
cat >>frames.log <<'END'
(1700000099.000001) can0 123#R
(1700000099.000002) can0 20000008#0000080000000000
(1700000099.000003) can0 7E0#
END

log2long <frames.log >frames-columns.log
zstd -q -f -9 frames.log -o frames.log.zst
# Several members in one file, as gzip allows.
{ sed -n '1,60p' frames.log | gzip -9n; sed -n '61,$p' frames.log | gzip -9n; } >frames.log.gz

"$python" - <<'END'
"""The frames as captures; with cooked headers, and with the lowest byte of identifiers first."""
import struct
from scapy.all import CookedLinux, RawPcapWriter, load_layer
load_layer("can")
from scapy.layers.can import CandumpReader

def as_link_type_says(packet, line):
    """Two things that scapy's reader of candump text gets wrong: the flags of flexible data rate (the digit in the log, and
    04 in the sixth byte), and that a frame is an error frame."""
    packet_bytes = bytearray(bytes(packet))
    if "##" in line:
        packet_bytes[5] = 4 | int(line.split("##")[1][0], 16)
    if line.split()[2].startswith("2000"):
        packet_bytes[0] = 0x20
    return bytes(packet_bytes)

packets = [
    (as_link_type_says(p, line), int(p.time), round(float(p.time - int(p.time)) * 1e6))
    for p, line in zip(CandumpReader("frames.log"), open("frames.log"))
]

def write(name, link, change=lambda packet: packet):
    with RawPcapWriter(name, linktype=link) as out:
        out.write_header(None)
        for packet, seconds, micros in packets:
            out.write_packet(change(packet), sec=seconds, usec=micros)

def protocol(packet):
    return 0x000D if packet[5] & 4 or packet[4] > 8 else 0x000C

def swapped(packet):
    return packet[3::-1] + packet[4:]

def cooked(packet):
    return bytes(CookedLinux(pkttype=1, lladdrtype=280, lladdrlen=0, proto=protocol(packet))) + packet

def cooked_2(packet):
    # Link type 276 of tcpdump.org: protocol, reserved, interface, address type, packet type, address length, address.
    return struct.pack(">HHIHBB8x", protocol(packet), 0, 3, 280, 1, 0) + packet

write("frames.pcap", 227)
write("frames-cooked.pcap", 113, cooked)
write("frames-cooked-2.pcap", 276, cooked_2)
write("frames-swapped.pcap", 227, swapped)
END
editcap -F pcapng frames.pcap frames.pcapng
editcap -F nsecpcap frames.pcap frames-nanoseconds.pcap
tshark -r frames.pcap -T fields -E separator=, -e frame.time_epoch -e can.id -e can.flags.xtd -e can.flags.rtr -e can.flags.err \
    -e can.len -e data.data -d can.subdissector,data >frames.tshark.csv
