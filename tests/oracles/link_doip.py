"""Read the simulated vehicle with doipclient and udsoncan (for crates/asfound-link/tests/doip_oracle.rs).

The vehicle is the invented one of the demonstration, served on loopback by crates/asfound-simulated. A recorder in between keeps
what doipclient sends. What the trouble codes and the VIN mean is what udsoncan makes of the answers; what the parameters of
SAE J1979 mean is what scapy makes of them.

Usage: python link_doip.py ASFOUND_SIMULATED ../../demo-vehicles/readings/wren-2026-03-14-found.toml > ../../crates/asfound-link/tests/data/doip.json
Nothing in it depends on time or ports, so that a run writes the same bytes again.
"""

import importlib.metadata
import json
import socket
import subprocess
import sys
import threading
import tomllib

import udsoncan
from doipclient import DoIPClient
from doipclient.connectors import DoIPClientUDSConnector
from scapy.contrib.automotive.obd.obd import OBD
from udsoncan.client import Client

TESTER = 0x0E80
VIN = "G0MSR41E0LT004217"


class Recorder:
    """Passes bytes on between a tester and the vehicle, and keeps those of the tester."""

    def __init__(self, vehicle):
        self.sent = b""
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.port = self.listener.getsockname()[1]
        self.vehicle = socket.create_connection(vehicle)
        threading.Thread(target=self.accept, daemon=True).start()

    def accept(self):
        tester, _ = self.listener.accept()
        threading.Thread(target=self.back, args=(tester,), daemon=True).start()
        while more := tester.recv(65536):
            self.sent += more
            self.vehicle.sendall(more)

    def back(self, tester):
        while more := self.vehicle.recv(65536):
            tester.sendall(more)

    def take(self):
        sent, self.sent = self.sent, b""
        return sent.hex()


def exchange(connection, recorder, request):
    recorder.take()
    connection.empty_rxqueue()
    connection.send(request)
    answer = connection.wait_frame(timeout=2)
    return {"request": request.hex(), "sent": recorder.take(), "answer": answer.hex()}


def main(program, reading):
    vehicle = subprocess.Popen([program, reading, VIN], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    host, port = vehicle.stdout.readline().strip().rsplit(":", 1)
    address = (host, int(port))
    with open(reading, "rb") as file:
        modules = tomllib.load(file)["modules"]
    out = {
        "made_with": {name: importlib.metadata.version(name) for name in ("doipclient", "udsoncan", "scapy")},
        "modules": {},
    }
    asking = DoIPClient(host, 0x0007, tcp_port=address[1], udp_port=address[1], client_logical_address=TESTER)
    found = asking.request_vehicle_identification()
    out["announcement"] = {"vin": text(found.vin), "gateway": found.logical_address}
    out["same_vin"] = text(asking.request_vehicle_identification(vin=VIN).vin)
    out["power_mode"] = int(asking.request_diagnostic_power_mode().diagnostic_power_mode)
    asking.close()
    for name, said in modules.items():
        module = int(said["address"], 16)
        recorder = Recorder(address)
        client = DoIPClient("127.0.0.1", module, tcp_port=recorder.port, client_logical_address=TESTER)
        activation = recorder.take()
        connection = DoIPClientUDSConnector(client)
        connection.open()
        requests = [bytes([0x3E, 0x00]), bytes([0x10, 0x03]), bytes([0x10, 0x01])]
        identifiers = [0xF187, 0xF188, 0xF189, 0xF18C, 0xF190, 0xF191]
        identifiers += [int(record, 16) for record in said["records"] if is_identifier(record)]
        identifiers += [int(record, 16) for record in said.get("refused", [])]
        requests += [b"\x22" + identifier.to_bytes(2, "big") for identifier in sorted(set(identifiers))]
        requests += [bytes([0x19, 0x01, 0xAF]), bytes([0x19, 0x02, 0xAF])]
        for code in said.get("trouble_codes", []):
            number = bytes.fromhex({"C0035-11": "403511"}[code["code"]])
            requests += [b"\x19\x04" + number + b"\xff", b"\x19\x06" + number + b"\xff"]
        requests += [bytes([0x01, parameter]) for parameter in (0x0C, 0x0D, 0x42, 0xA6)] + [bytes([0x09, 0x02])]
        exchanges = [exchange(connection, recorder, request) for request in requests]
        out["modules"][name] = {
            "address": module,
            "activation": activation,
            "exchanges": exchanges,
            "codes": codes(connection),
            "parameters": parameters(exchanges),
        }
        connection.close()
    vehicle.stdin.close()
    vehicle.wait()
    json.dump(out, sys.stdout, indent=1)
    print()


def text(value):
    return value.decode() if isinstance(value, bytes) else value


def is_identifier(record):
    return len(record) == 4 and all(c in "0123456789ABCDEF" for c in record)


def codes(connection):
    """The trouble codes by udsoncan's client."""
    config = dict(udsoncan.configs.default_client_config)
    with Client(connection, config=config, request_timeout=2) as client:
        found = client.get_dtc_by_status_mask(0xAF).service_data
        return [[dtc.id_iso(), dtc.status.get_byte_as_int()] for dtc in found.dtcs]


def parameters(exchanges):
    """The values of SAE J1979 by scapy."""
    found = {}
    for one in exchanges:
        answer = bytes.fromhex(one["answer"])
        if answer[0] == 0x41:
            value = OBD(answer).data_records[0].payload.fields["data"]
            # Of the odometer scapy knows the bytes and not what they mean.
            if not isinstance(value, bytes):
                found[f"{answer[1]:02X}"] = float(value)
    return found


main(*sys.argv[1:])
