#!/usr/bin/env python3
"""Measure `asfound wire show` on a large candump log beside tshark and beside python-can with can-isotp, in one run.

    python3 wire_speed.py ASFOUND [--folder FOLDER] [--write PAGE]

ASFOUND is a release build of the program. The log is made here from a seed (1,000,000,000 bytes, the same in every run): 40
ordinary identifiers, and in about every twentieth frame one of twelve conversations with requests, flow control, reads of 1 to
300 bytes and writes. It is kept in FOLDER, where a log of that name and length is used again. tshark and python-can get the
first part of the same log, because they would take very long; their rates are those of that part. How many messages each of
them found is held against what asfound finds in the same part.

The machine's own limit is `wc -l`: reading the file and finding its line ends. Needs tshark, python-can and can-isotp. With --write the
result is written between the marks in PAGE.
"""

import argparse
import importlib.metadata
import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path

SEED = 20261125
BYTES = 1_000_000_000
TSHARK_BYTES = 200_000_000
PYTHON_BYTES = 10_000_000
PAIRS = [(0x700 + n, 0x708 + n) for n in range(0, 8)] + [(0x7A0 + 2 * n, 0x7A1 + 2 * n) for n in range(0, 4)]
BEGIN, END = "<!-- wire: begin; written by tests/oracles/wire_speed.py, not by hand -->", "<!-- wire: end -->"


def frames(channel, other, payload):
    """The frames of one message (ISO 15765-2), with the receiver's flow control."""
    if len(payload) <= 7:
        yield channel, bytes([len(payload)]) + payload
        return
    yield channel, bytes([0x10 | len(payload) >> 8, len(payload) & 0xFF]) + payload[:6]
    yield other, bytes([0x30, 0, 0])
    for number, at in enumerate(range(6, len(payload), 7), 1):
        yield channel, bytes([0x20 | number & 15]) + payload[at : at + 7]


def conversation(chance):
    """One exchange of one of the pairs: a record is read, or written and read again."""
    request, response = PAIRS[chance.randrange(len(PAIRS))]
    record = (0x1000 + chance.randrange(64)).to_bytes(2)
    data = chance.randbytes(chance.choice((1, 4, 4, 12, 40, 300)))
    ask = lambda payload: frames(request, response, payload)
    answer = lambda payload: frames(response, request, payload)
    if chance.randrange(20) == 0:
        yield from ask(b"\x2E" + record + data)
        yield from answer(b"\x6E" + record)
    yield from ask(b"\x22" + record)
    yield from answer(b"\x62" + record + data)


def make(path):
    """Writes the log."""
    chance = random.Random(SEED)
    ordinary = [0x100 + 9 * n for n in range(40)]
    written, number, waiting = 0, 0, iter(())
    with open(path, "w", encoding="ascii", buffering=1 << 20) as log:
        while True:
            if number % 20 == 0:
                frame = next(waiting, None)
                if frame is None:
                    waiting = conversation(chance)
                    frame = next(waiting)
                channel, data = frame[0], frame[1].ljust(8, b"\xAA").hex().upper()
            else:
                # Not what begins a message: a first byte from 80 on is no frame of the transport.
                channel, data = ordinary[number % 40], f"{chance.getrandbits(64) | 1 << 63:016X}"
            line = f"({1700000000 + number // 4000}.{number % 4000 * 250:06}) can0 {channel:03X}#{data}\n"
            if written + len(line) > BYTES:
                # Comments fill the log up to its length.
                log.write("#" * (BYTES - written - 1) + "\n")
                return
            log.write(line)
            written += len(line)
            number += 1


def part(log, length):
    """The first lines of the log that fit into `length` bytes."""
    path = log.with_name(f"{log.stem}-{length // 1_000_000}MB.log")
    if not path.exists():
        with open(log, "rb") as whole:
            first = whole.read(length)
        path.write_bytes(first[: first.rindex(b"\n") + 1])
    return path


def run(command, **more):
    """Runs a command; hands back seconds, peak memory in MB, and its output."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, **more)
    count, last = 0, b""
    while block := process.stdout.read(1 << 20):
        count += block.count(b"\n")
        last = (last + block)[-1 << 16 :]
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"{command[0]} ended with {process.returncode}")
    return seconds, usage.ru_maxrss / 1024, count, last


def asfound(program, log):
    seconds, memory, _, last = run([program, "wire", "show", str(log), "--json"])
    seconds, memory, _, _ = run([program, "wire", "show", str(log)])
    return seconds, memory, json.loads(last.splitlines()[-1])["messages"]


def tshark(log):
    ids = ",".join(f"0x{channel:x}" for pair in PAIRS for channel in pair)
    seconds, memory, count, _ = run(
        ["tshark", "-r", str(log), "-o", f"iso15765.can.ids:{ids}", "-d", "iso15765.subdissector,uds", "-Y", "uds"]
        + ["-T", "fields", "-e", "frame.number", "-e", "can.id", "-e", "uds.reply", "-e", "uds.sid"],
        stderr=subprocess.DEVNULL,
    )
    return seconds, memory, count


def python_isotp(log):
    """python-can reads the log, can-isotp puts the messages together; run in a process of its own for its memory."""
    seconds, memory, _, last = run([sys.executable, __file__, "--isotp", str(log)])
    return seconds, memory, int(last)


def isotp_messages(log):
    import can
    import isotp

    layers, whole = {}, 0
    for pair in PAIRS:
        for receives, sends in (pair, pair[::-1]):
            waiting = []
            address = isotp.Address(isotp.AddressingMode.Normal_11bits, rxid=receives, txid=sends)
            # Somebody who only listens: what the layer wants to send goes nowhere.
            layer = isotp.TransportLayerLogic(
                rxfn=lambda timeout=0, waiting=waiting: waiting.pop() if waiting else None,
                txfn=lambda message: None, address=address, params={"blocking_send": False},
            )
            layers[receives] = (layer, waiting)
    for message in can.LogReader(log):
        found = layers.get(message.arbitration_id)
        if found is None:
            continue
        layer, waiting = found
        waiting.append(isotp.CanMessage(arbitration_id=message.arbitration_id, data=message.data, dlc=message.dlc))
        layer.process()
        while layer.recv() is not None:
            whole += 1
    return whole


def version(command):
    return subprocess.run(command, capture_output=True, text=True).stdout.splitlines()[0]


def main():
    if sys.argv[1:2] == ["--isotp"]:
        print(isotp_messages(sys.argv[2]))
        return
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("asfound")
    arguments.add_argument("--folder", default="/tmp", type=Path)
    arguments.add_argument("--write", type=Path)
    asked = arguments.parse_args()
    log = asked.folder / f"wire-speed-{SEED}.log"
    if not log.exists() or log.stat().st_size != BYTES:
        make(log)
    small, smaller = part(log, TSHARK_BYTES), part(log, PYTHON_BYTES)
    load = [os.getloadavg()[0]]
    # Once, so that all of them find the file in memory.
    run(["wc", "-l", str(log)])
    limit, _, _, last = min(run(["wc", "-l", str(log)]) for _ in range(3))
    lines = int(last.split()[0])
    runs = sorted(asfound(asked.asfound, log) for _ in range(3))
    mine, memory, messages = runs[1]
    shark, shark_memory, shark_messages = tshark(small)
    python, python_memory, python_messages = python_isotp(smaller)
    on_small, on_smaller = asfound(asked.asfound, small)[2], asfound(asked.asfound, smaller)[2]
    load.append(os.getloadavg()[0])
    rate = lambda size, seconds: size / seconds / 1e6
    fast = rate(BYTES, mine)
    rows = [
        ("`wc -l`: reading, and finding line ends", BYTES, limit, None, None, ""),
        ("`asfound wire show`", BYTES, mine, memory, messages, f"{rate(BYTES, limit) / fast:.1f} times the limit's time"),
        ("tshark", small.stat().st_size, shark, shark_memory, shark_messages,
         f"asfound is {fast / rate(small.stat().st_size, shark):,.0f} times as fast; {on_small:,} messages by asfound"),
        ("python-can, can-isotp", smaller.stat().st_size, python, python_memory, python_messages,
         f"asfound is {fast / rate(smaller.stat().st_size, python):,.0f} times as fast; {on_smaller:,} messages by asfound"),
    ]
    page = [
        BEGIN, "## Bus logs", "",
        f"A candump log of {BYTES:,} bytes with {lines:,} lines, made from a seed, in memory; one run on {os.cpu_count()} cores with a",
        f"load average of {load[0]:.2f} before and {load[1]:.2f} after. Of `wc -l` the fastest of three runs counts, of asfound the middle one",
        f"({', '.join(f'{seconds:.2f}' for seconds, *_ in runs)} s). tshark and python-can were given the first part of the log only.",
        "", "| program | bytes | seconds | MB a second | peak memory | messages | |", "| --- | ---: | ---: | ---: | ---: | ---: | --- |",
    ]
    for name, size, seconds, peak, found, note in rows:
        peak, found = f"{peak:,.0f} MB" if peak else "", f"{found:,}" if found is not None else ""
        page.append(f"| {name} | {size:,} | {seconds:.2f} | {rate(size, seconds):,.1f} | {peak} | {found} | {note} |")
    page += [
        "", f"{version(['tshark', '--version'])}; python-can {importlib.metadata.version('python-can')}, can-isotp "
        f"{importlib.metadata.version('can-isotp')}, Python {sys.version.split()[0]}. Again: `python3 tests/oracles/wire_speed.py "
        "target/release/asfound --write docs/performance.md`.", END,
    ]
    text = "\n".join(page)
    print(text)
    if asked.write:
        old = asked.write.read_text()
        before, _, rest = old.partition(BEGIN)
        after = rest.partition(END)[2] if rest else "\n"
        asked.write.write_text(before.rstrip("\n") + "\n\n" + text + after)


main()
