"""Record what python-can and can-isotp send through a serial-line CAN adapter (for crates/asfound-link/tests/slcan_oracle.rs).

The adapter is a pseudo-terminal in this script: it takes every command and answers questions with a response of 20 bytes in
segments, so that can-isotp sends a flow control as well.

Usage: python link_slcan.py > ../../crates/asfound-link/tests/data/slcan.json
"""

import importlib.metadata
import json
import os
import sys
import threading
import time
import tty

import can
import isotp

REQUESTS = ["22f190", "1902af", "3e00", "1003", "010d", "19041a0412ff"]
MODULE = 0x0E


def serve(master, heard):
    line = b""
    while True:
        try:
            more = os.read(master, 4096)
        except OSError:
            return
        for byte in more:
            line += bytes([byte])
            if byte != 0x0D:
                continue
            command, line = line.decode(), b""
            heard.append(command)
            os.write(master, b"\r" if command[0] in "SOC" else b"Z\r" if command[0] == "T" else b"z\r")
            if command.startswith("T18DA0EF1") and command[10] == "0":
                os.write(master, b"T18DAF10E8101462F190010203\r")
            if command.startswith("T18DA0EF1") and command[10] == "3":
                os.write(master, b"T18DAF10E82104050607080900\rT18DAF10E8220A0B0C0D0E0F10\r")


def main():
    master, slave = os.openpty()
    tty.setraw(slave)
    heard = []
    threading.Thread(target=serve, args=(master, heard), daemon=True).start()
    bus = can.Bus(interface="slcan", channel=os.ttyname(slave), bitrate=500000, sleep_after_open=0)
    time.sleep(0.5)
    opening = list(heard)
    address = isotp.Address(isotp.AddressingMode.NormalFixed_29bits, source_address=0xF1, target_address=MODULE)
    stack = isotp.CanStack(bus, address=address, params={"tx_padding": 0xAA, "blocksize": 0, "stmin": 0})
    exchanges = []
    stack.start()
    for request in REQUESTS:
        heard.clear()
        stack.send(bytes.fromhex(request))
        answer = stack.recv(block=True, timeout=2)
        exchanges.append({"request": request, "sent": list(heard), "answer": answer.hex()})
    stack.stop()
    heard.clear()
    bus.shutdown()
    versions = {name: importlib.metadata.version(name) for name in ("python-can", "can-isotp", "pyserial")}
    json.dump({"made_with": versions, "opening": opening, "exchanges": exchanges}, sys.stdout, indent=1)
    print()


main()
