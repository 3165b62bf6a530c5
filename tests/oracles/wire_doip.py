"""Record diagnostics on IP (for crates/asfound-wire/tests/doip_oracle.rs).

The tester is doipclient (ISO 13400-2) on a real TCP connection over the loopback interface; the other end is a small
server in this script, whose messages are packed by doipclient's message classes and whose payloads are udsoncan's. What went over
the connection is then written as packets by scapy: cut at random places, some twice, some in the wrong order, on IPv4 and
IPv6, with and without a VLAN tag. The truth is what doipclient sent and received.

Usage: python wire_doip.py ../../crates/asfound-wire/tests/data
Writes doip.pcap and doip.truth.json. Times and ports are set by the script, so that a run writes the same bytes again.
"""

import importlib.metadata
import json
import random
import socket
import struct
import sys
import threading

import udsoncan
from doipclient import DoIPClient
from doipclient import messages as doip
from scapy.all import IP, TCP, UDP, Dot1Q, Ether, IPv6, RawPcapWriter
from udsoncan import services

TESTER, GATEWAY, MODULES = 0x0E00, 0x1000, [0x1010, 0x1020, 0x4001]
PORT = 13400


def framed(message):
    """The generic header of ISO 13400-2 around a message: version 2, its complement, type, length."""
    kind = {v: k for k, v in doip.payload_type_to_message.items()}[type(message)]
    payload = message.pack()
    return struct.pack(">BBHL", 2, 0xFD, kind, len(payload)) + payload


class Recorded:
    """What went over one connection: (from the vehicle, bytes), in order."""

    def __init__(self):
        self.pieces = []


def serve(listener, recorded, answers):
    connection, _ = listener.accept()
    buffer = b""
    while True:
        more = connection.recv(65536)
        if not more:
            return
        recorded.pieces.append((False, more))
        buffer += more
        while len(buffer) >= 8:
            kind, length = struct.unpack(">HL", buffer[2:8])
            if len(buffer) < 8 + length:
                break
            payload, buffer = buffer[8 : 8 + length], buffer[8 + length :]
            out = []
            if kind == 0x0005:
                out = [doip.RoutingActivationResponse(TESTER, GATEWAY, 0x10, 0)]
            elif kind == 0x8001:
                target = struct.unpack(">H", payload[2:4])[0]
                out = [doip.DiagnosticMessagePositiveAcknowledgement(target, TESTER, 0)]
                out += [doip.DiagnosticMessage(target, TESTER, answer) for answer in answers.pop(0)]
            for message in out:
                data = framed(message)
                recorded.pieces.append((True, data))
                connection.sendall(data)


def conversation(rng):
    """Requests and answers, as udsoncan writes them: (target, request, answers)."""
    s = services
    good = udsoncan.Response.Code.PositiveResponse
    answer = lambda service, data, code=good: udsoncan.Response(service=service, code=code, data=data).get_payload()
    ask = lambda service, **rest: udsoncan.Request(service=service, **rest).get_payload()
    for _ in range(30):
        target = rng.choice(MODULES)
        record = rng.randrange(0x100, 0xFF00).to_bytes(2, "big")
        data = rng.randbytes(rng.choice([1, 5, 40, 300, 3000]))
        kind = rng.choice(["read", "write", "refused", "pending", "key"])
        if kind == "read":
            yield target, ask(s.ReadDataByIdentifier, data=record), [answer(s.ReadDataByIdentifier, record + data)]
        elif kind == "write":
            yield target, ask(s.WriteDataByIdentifier, data=record + data), [answer(s.WriteDataByIdentifier, record)]
        elif kind == "refused":
            yield target, ask(s.WriteDataByIdentifier, data=record + data), [answer(s.WriteDataByIdentifier, None, 0x31)]
        elif kind == "pending":
            pending = answer(s.RoutineControl, None, 0x78)
            yield target, ask(s.RoutineControl, subfunction=1, data=record), [
                pending, pending, answer(s.RoutineControl, b"\x01" + record)
            ]
        else:
            yield target, ask(s.SecurityAccess, subfunction=2, data=rng.randbytes(8)), [answer(s.SecurityAccess, b"\x02")]


def run(rng):
    plan = list(conversation(rng))
    recorded = Recorded()
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        listener.listen()
        thread = threading.Thread(target=serve, args=(listener, recorded, [list(a) for _, _, a in plan]))
        thread.start()
        client = DoIPClient("127.0.0.1", GATEWAY, tcp_port=listener.getsockname()[1], client_logical_address=TESTER)
        truth = []
        for target, request, answers in plan:
            client.send_diagnostic_to_address(target, bytearray(request))
            truth.append({"source": TESTER, "target": target, "payload": bytes(request).hex().upper()})
            for _ in answers:
                received = client.read_doip(timeout=5)
                payload = bytes(received.user_data).hex().upper()
                truth.append({"source": received.source_address, "target": received.target_address, "payload": payload})
        client.close()
        thread.join()
    together = []
    for vehicle, data in recorded.pieces:
        if together and together[-1][0] == vehicle:
            together[-1] = (vehicle, together[-1][1] + data)
        else:
            together.append((vehicle, data))
    return together, truth


def packets(rng, pieces, number):
    """Segments of both directions, in the order of the network."""
    if number % 2:
        ip = lambda vehicle: IPv6(src="fe80::2" if vehicle else "fe80::1", dst="fe80::1" if vehicle else "fe80::2")
    else:
        ip = lambda vehicle: IP(src="192.0.2.2" if vehicle else "192.0.2.1", dst="192.0.2.1" if vehicle else "192.0.2.2")

    def link():
        ether = Ether(src="02:00:00:00:00:01", dst="02:00:00:00:00:02")
        return ether / Dot1Q(vlan=5) if number == 2 else ether

    port = 50000 + number
    ports = lambda vehicle: {"sport": PORT if vehicle else port, "dport": port if vehicle else PORT}
    # Close to the end of the range, so that sequence numbers begin again at 0.
    sequence = {False: 0xFFFFFF00, True: 0xFFFF0000}
    out = []
    for vehicle, flags in ((False, "S"), (True, "SA")):
        out.append(link() / ip(vehicle) / TCP(flags=flags, seq=sequence[vehicle], **ports(vehicle)))
        sequence[vehicle] = (sequence[vehicle] + 1) % 2**32
    for vehicle, data in pieces:
        while data:
            size = rng.choice([1, 7, 9, 100, 1400])
            part, data = data[:size], data[size:]
            segment = link() / ip(vehicle) / TCP(flags="PA", seq=sequence[vehicle], **ports(vehicle)) / part
            sequence[vehicle] = (sequence[vehicle] + len(part)) % 2**32
            out.append(segment)
            if rng.random() < 0.1:
                out.append(segment)
            # Two of the same direction change places.
            if rng.random() < 0.2 and len(out) > 4 and out[-2][TCP].sport == segment[TCP].sport:
                out[-1], out[-2] = out[-2], out[-1]
    for vehicle in (False, True):
        out.append(link() / ip(vehicle) / TCP(flags="FA", seq=sequence[vehicle], **ports(vehicle)))
    return [bytes(packet) for packet in out]


def main():
    folder = sys.argv[1]
    rng = random.Random(20260807)
    announcement = doip.VehicleIdentificationResponse("1M8GDM9AXKP042788", GATEWAY, b"\x02\0\0\0\0\1", b"\x02\0\0\0\0\1", 0, 0)
    udp = Ether(src="02:00:00:00:00:02", dst="ff:ff:ff:ff:ff:ff") / IP(src="192.0.2.2", dst="255.255.255.255")
    all_packets = [bytes(udp / UDP(sport=PORT, dport=PORT) / framed(announcement))]
    connections = []
    for number in range(3):
        pieces, truth = run(rng)
        connections.append(truth)
        all_packets += packets(rng, pieces, number)
    with RawPcapWriter(f"{folder}/doip.pcap", linktype=1) as out:
        out.write_header(None)
        for number, packet in enumerate(all_packets):
            out.write_packet(packet, sec=1700000000 + number // 1000, usec=number % 1000 * 1000)
    versions = {name: importlib.metadata.version(name) for name in ["doipclient", "udsoncan", "scapy"]}
    with open(f"{folder}/doip.truth.json", "w") as file:
        json.dump({"made_with": versions, "connections": connections}, file, indent=0)


main()
