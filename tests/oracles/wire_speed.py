#!/usr/bin/env python3
"""Measure `asfound wire show` on a large candump log beside tshark and beside python-can with can-isotp, in one run.

    python3 wire_speed.py ASFOUND [--folder FOLDER] [--write PAGE]

ASFOUND is a release build of the program. Three logs are made here from a seed, the same in every run, and kept in FOLDER, where they
are used again. *mixed* (1 GB): 40 ordinary identifiers, and in about every twentieth frame one of twelve conversations with
requests, flow control, reads of 1 to 300 bytes and writes. *uneven* (200 MB): the same, but the ordinary identifiers have 1 to 8 bytes, and half of
them 29 bits. *diagnostics* (200 MB): the conversations alone, as behind a gateway that lets nothing else through. tshark and python-can get the
first part of the same log, because they would take very long; their rates are those of that part. How many messages each of
them found is held against what asfound finds in the same part.

asfound reads on one thread and listens on another where there is more than one processor; once more it is measured on one (`taskset`). The
machine's own limit is `wc -l`: reading the file and finding its line ends. Needs tshark, GNU time, taskset, python-can and can-isotp. With
--write the result is written between the marks in PAGE.
"""

import argparse
import importlib.metadata
import json
import os
import random
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

SEED = 20261125
# Bytes of each log, and of the parts of it that tshark and python-can are given.
LOGS = {
    "mixed": (1_000_000_000, 100_000_000, 20_000_000),
    "uneven": (200_000_000, 20_000_000, 5_000_000),
    "diagnostics": (200_000_000, 10_000_000, 5_000_000),
}
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


def make(path, size, share, uneven=False):
    """Writes a log in which every `share`th frame is one of a conversation."""
    chance = random.Random(SEED)
    ordinary = [0x100 + 9 * n for n in range(40)]
    written, number, waiting = 0, 0, iter(())
    with open(path, "w", encoding="ascii", buffering=1 << 20) as log:
        while True:
            if number % share == 0:
                frame = next(waiting, None)
                if frame is None:
                    waiting = conversation(chance)
                    frame = next(waiting)
                channel, data = frame[0], frame[1].ljust(8, b"\xAA").hex().upper()
            else:
                # Not what begins a message: a first byte from 80 on is no frame of the transport.
                channel, data = ordinary[number % 40], f"{chance.getrandbits(64) | 1 << 63:016X}"
                if uneven:
                    data = data[: 2 + number % 40 * 6 % 16]
            wide = 0x18F00000 if uneven and channel < 0x400 and channel % 2 else 0
            digits = f"{wide | channel:0{8 if wide else 3}X}"
            line = f"({1700000000 + number // 4000}.{number % 4000 * 250:06}) can0 {digits}#{data}\n"
            if written + len(line) > size:
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


@dataclass
class Ran:
    """What a command took and wrote."""

    seconds: float
    processor: float
    memory: float
    lines: int
    last: bytes
    messages: int = 0


def run(command, **more):
    """Runs a command to its end."""
    # The kernel counts the memory of whoever starts a program as that of the program, so that a small one starts it.
    memory = tempfile.NamedTemporaryFile("r")
    start = time.perf_counter()
    timed = ["/usr/bin/time", "-f", "%M", "-o", memory.name, *command]
    process = subprocess.Popen(timed, stdout=subprocess.PIPE, **more)
    count, last = 0, b""
    while block := process.stdout.read(1 << 20):
        count += block.count(b"\n")
        last = (last + block)[-1 << 16 :]
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"{command[0]} ended with {process.returncode}")
    return Ran(seconds, usage.ru_utime + usage.ru_stime, int(memory.read()) / 1024, count, last)


def asfound(program, log, only=()):
    """What is measured is the page; the messages are those that its JSON counts."""
    counted = run([program, "wire", "show", str(log), "--json"])
    ran = run([*only, program, "wire", "show", str(log)])
    ran.messages = json.loads(counted.last.splitlines()[-1])["messages"]
    return ran


def tshark(log):
    ids = ",".join(f"0x{channel:x}" for pair in PAIRS for channel in pair)
    ran = run(
        ["tshark", "-r", str(log), "-o", f"iso15765.can.ids:{ids}", "-d", "iso15765.subdissector,uds", "-Y", "uds"]
        + ["-T", "fields", "-e", "frame.number", "-e", "can.id", "-e", "uds.reply", "-e", "uds.sid"],
        stderr=subprocess.DEVNULL,
    )
    ran.messages = ran.lines
    return ran


def python_isotp(log):
    """python-can reads the log, can-isotp puts the messages together; run in a process of its own for its memory."""
    ran = run([sys.executable, __file__, "--isotp", str(log)])
    ran.messages = int(ran.last)
    return ran


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
        # Flow control is nothing to somebody who only listens; can-isotp would write a warning for each.
        if found is None or message.data[0] >> 4 == 3:
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
    load = [os.getloadavg()[0]]
    tables = [line for name in LOGS for line in measured(name, asked)]
    load.append(os.getloadavg()[0])
    page = [
        BEGIN, "## Bus logs", "",
        "*mixed* is a candump log in which every twentieth frame belongs to a conversation; *uneven* likewise, with ordinary frames of 1 to 8 bytes,",
        "half of them with 29 bits; *diagnostics* has conversations alone. All are made from a seed, and in memory.",
        f"One run on {os.cpu_count()} cores with a load average of {load[0]:.2f} before and {load[1]:.2f} after. Seconds are",
        "those of the clock, behind them those of all processors together; *MB a second* and *times* are by the clock, since asfound uses two",
        "processors where it can. In brackets stands what it does on one. Of `wc -l` the fastest of three runs counts, of asfound the middle one.",
        "tshark and python-can were given the first part of the same log; beside their messages stand those that asfound finds in that part.",
        "", *tables,
        f"{version(['tshark', '--version'])}; python-can {importlib.metadata.version('python-can')}, can-isotp "
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


def measured(name, asked):
    """The table of one log."""
    size, for_tshark, for_python = LOGS[name]
    log = asked.folder / f"wire-speed-{SEED}-{name}.log"
    if not log.exists() or not 0 <= size - log.stat().st_size < 1000:
        make(log, size, 1 if name == "diagnostics" else 20, name == "uneven")
    small, smaller = part(log, for_tshark), part(log, for_python)
    # Once, so that all of them find the file in memory.
    run(["wc", "-l", str(log)])
    limit = min((run(["wc", "-l", str(log)]) for _ in range(3)), key=lambda ran: ran.seconds)
    middle = lambda *only: sorted((asfound(asked.asfound, log, only) for _ in range(3)), key=lambda ran: ran.seconds)[1]
    mine, on_one = middle(), middle("taskset", "--cpu-list", "0")
    rivals = [("tshark", small, tshark(small)), ("python-can, can-isotp", smaller, python_isotp(smaller))]
    rate = lambda path, ran: path.stat().st_size / ran.seconds
    rows = [("`wc -l`: reading, finding line ends", log, limit, None, ""), ("`asfound wire show`", log, mine, mine.messages, "")]
    rows.append(("the same on one processor", log, on_one, on_one.messages, ""))
    for rival, path, ran in rivals:
        found = f"{ran.messages:,} ({asfound(asked.asfound, path).messages:,} by asfound)"
        times = [f"{rate(log, ours) / rate(path, ran):,.0f}" for ours in (mine, on_one)]
        rows.append((rival, path, ran, found, f"{times[0]} ({times[1]})"))
    yield f"| {name} | bytes | seconds | MB a second | peak memory | messages | asfound is so many times as fast |"
    yield "| --- | ---: | ---: | ---: | ---: | ---: | ---: |"
    for title, path, ran, found, times in rows:
        found = f"{found:,}" if isinstance(found, int) else found or ""
        seconds = f"{ran.seconds:.2f}, {ran.processor:.2f}"
        yield (
            f"| {title} | {path.stat().st_size:,} | {seconds} | {rate(path, ran) / 1e6:,.1f} | {ran.memory:,.0f} MB "
            f"| {found} | {times} |"
        )
    yield ""


main()
