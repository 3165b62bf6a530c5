"""Record conversations on a CAN bus (for crates/asfound-wire/tests/isotp_oracle.rs).

Both ends of every conversation are can-isotp (ISO 15765-2); payloads are built by udsoncan (ISO 14229-1); the log is
written by python-can in candump's form. The bus between the ends is a list in this script, with a clock of
its own, so that a run writes the same bytes again. The truth is what each end was given to send and what the other end
received; nothing here puts frames together.

What goes wrong on purpose, per message (`trouble`):

bus     one consecutive frame reaches nobody; the receiver gives up
log     one consecutive frame reaches the receiver but not the log
twice   one consecutive frame comes twice; the receiver gives up
mute    the flow control reaches nobody; the sender gives up after its first frame
full    the receiver's flow control says that it has no room (can-isotp's max_frame_size)
wait    the receiver's first flow control is preceded by two that say "wait"; the message gets through

Usage: python wire_isotp.py ../../crates/asfound-wire/tests/data
Writes isotp-<group>.log.gz and isotp-<group>.truth.jsonl.gz.
"""

import gzip
import importlib.metadata
import io
import json
import logging
import random
import sys
import types

import can
import isotp
import isotp.tools
import udsoncan
from udsoncan import services

SEED = 20260807


class Clock:
    """Simulated time, for can-isotp's timers too."""

    def __init__(self):
        self.ns = 0

    def perf_counter_ns(self):
        return self.ns

    def perf_counter(self):
        return self.ns / 1e9


CLOCK = Clock()
isotp.tools.time = types.SimpleNamespace(
    perf_counter_ns=CLOCK.perf_counter_ns, perf_counter=CLOCK.perf_counter, sleep=lambda _: None
)
START = 1700000000.0


class Bus:
    """Carries every frame to all ends but the sender, and into the log."""

    def __init__(self, name, writer):
        self.name = name
        self.writer = writer
        self.ends = []

    def log(self, frame):
        CLOCK.ns += 120_000
        self.writer.on_message_received(
            can.Message(
                timestamp=START + CLOCK.ns / 1e9,
                arbitration_id=frame.arbitration_id,
                is_extended_id=frame.is_extended_id,
                data=frame.data,
                is_fd=frame.is_fd,
                bitrate_switch=frame.bitrate_switch,
                channel=self.name,
                is_rx=True,
            )
        )

    def carry(self, sender, frame, logged=True, delivered=True):
        if logged:
            self.log(frame)
        if delivered:
            for end in self.ends:
                if end is not sender:
                    end.queue.append(frame)


class End:
    """One end of a conversation: can-isotp with the troubles of the current message."""

    def __init__(self, bus, address, params, offset):
        self.bus = bus
        self.queue = []
        self.errors = []
        self.offset = offset
        self.trouble = None  # (kind, which consecutive frame), for what this end sends
        self.flow_trouble = None  # for this end's flow controls
        self.consecutive = 0
        self.layer = isotp.TransportLayerLogic(
            rxfn=lambda timeout: self.queue.pop(0) if self.queue else None,
            txfn=self.send_frame,
            address=address,
            error_handler=self.errors.append,
            params=params,
        )
        bus.ends.append(self)

    def send_frame(self, frame):
        kind = frame.data[self.offset] >> 4
        if kind == 3 and self.flow_trouble == "mute":
            return
        if kind == 3 and self.flow_trouble == "wait":
            self.flow_trouble = None
            for _ in range(2):
                wait = bytearray(frame.data)
                wait[self.offset] = 0x31
                self.bus.carry(
                    self,
                    isotp.CanMessage(
                        arbitration_id=frame.arbitration_id,
                        dlc=frame.dlc,
                        data=bytes(wait),
                        extended_id=frame.is_extended_id,
                        is_fd=frame.is_fd,
                        bitrate_switch=frame.bitrate_switch,
                    ),
                )
        if kind == 2:
            self.consecutive += 1
            trouble, which = self.trouble or (None, 0)
            if self.consecutive == which:
                if trouble == "bus":
                    return
                if trouble == "log":
                    return self.bus.carry(self, frame, logged=False)
                if trouble == "twice":
                    self.bus.carry(self, frame)
        self.bus.carry(self, frame)

    def start(self, payload, trouble, functional=False):
        self.trouble = trouble
        self.consecutive = 0
        kind = isotp.TargetAddressType.Functional if functional else isotp.TargetAddressType.Physical
        self.layer.send(payload, target_address_type=kind)


def word(rng):
    return rng.randrange(0x0100, 0xFF00)


def some_bytes(rng, longest):
    length = min(longest, max(1, int(rng.lognormvariate(3.2, 1.3))))
    return rng.randbytes(length)


def exchange(rng, kind, longest):
    """A request and its responses, as udsoncan writes them."""
    request = lambda service, **rest: udsoncan.Request(service=service, **rest).get_payload()
    good = udsoncan.Response.Code.PositiveResponse

    def response(service, data, code=good):
        return udsoncan.Response(service=service, code=code, data=data).get_payload()

    record = word(rng).to_bytes(2, "big")
    if kind == "read":
        s = services.ReadDataByIdentifier
        return request(s, data=record), [response(s, record + some_bytes(rng, longest - 3))]
    if kind == "write":
        s = services.WriteDataByIdentifier
        return request(s, data=record + some_bytes(rng, longest - 3)), [response(s, record)]
    if kind == "refused":
        s = services.WriteDataByIdentifier
        code = rng.choice([0x22, 0x31, 0x33, 0x7F, 0x21])
        return request(s, data=record + some_bytes(rng, 20)), [response(s, None, code)]
    if kind == "pending":
        s = services.RoutineControl
        return request(s, subfunction=1, data=record), [
            response(s, None, 0x78),
            response(s, None, 0x78),
            response(s, bytes([1]) + record + some_bytes(rng, 12)),
        ]
    if kind == "transfer":
        s = services.TransferData
        block = bytes([rng.randrange(256)])
        return request(s, data=block + rng.randbytes(longest - 2)), [response(s, block)]
    if kind == "seed":
        s = services.SecurityAccess
        return request(s, subfunction=1), [response(s, bytes([1]) + rng.randbytes(rng.randrange(2, 30)))]
    if kind == "key":
        s = services.SecurityAccess
        return request(s, subfunction=2, data=rng.randbytes(rng.randrange(2, 30))), [response(s, bytes([2]))]
    raise ValueError(kind)


def addresses(rng, mode, taken):
    """Two addresses, and the channels as the log will show them: [id, address byte or None]."""
    modes = isotp.AddressingMode
    while True:
        a, b = rng.sample(range(1, 255), 2)
        extension = rng.randrange(256)
        wide = mode.name.endswith("29bits")
        limit = 0x1FFFFFFF if wide else 0x7FF
        one, other = rng.sample(range(0x100, limit), 2)
        text = lambda n: f"{n:08X}" if wide else f"{n:03X}"
        functional = None
        if mode in (modes.Normal_11bits, modes.Normal_29bits):
            ends = [isotp.Address(mode, txid=one, rxid=other), isotp.Address(mode, txid=other, rxid=one)]
            channels = [[text(one), None], [text(other), None]]
        elif mode is modes.NormalFixed_29bits:
            ends = [
                isotp.Address(mode, source_address=a, target_address=b),
                isotp.Address(mode, source_address=b, target_address=a),
            ]
            channels = [[f"18DA{b:02X}{a:02X}", None], [f"18DA{a:02X}{b:02X}", None]]
            functional = [f"18DB{b:02X}{a:02X}", None]
        elif mode in (modes.Extended_11bits, modes.Extended_29bits):
            ends = [
                isotp.Address(mode, txid=one, rxid=other, source_address=a, target_address=b),
                isotp.Address(mode, txid=other, rxid=one, source_address=b, target_address=a),
            ]
            channels = [[text(one), b], [text(other), a]]
        elif mode is modes.Mixed_11bits:
            ends = [
                isotp.Address(mode, txid=one, rxid=other, address_extension=extension),
                isotp.Address(mode, txid=other, rxid=one, address_extension=extension),
            ]
            channels = [[text(one), extension], [text(other), extension]]
        else:
            ends = [
                isotp.Address(mode, source_address=a, target_address=b, address_extension=extension),
                isotp.Address(mode, source_address=b, target_address=a, address_extension=extension),
            ]
            channels = [[f"18CE{b:02X}{a:02X}", extension], [f"18CE{a:02X}{b:02X}", extension]]
        ids = {channel[0] for channel in channels}
        if not ids & taken:
            taken |= ids
            return ends, channels, functional


class Conversation:
    def __init__(self, rng, bus, mode, flexible, taken, number):
        ends, self.channels, self.functional = addresses(rng, mode, taken)
        offset = 0 if self.channels[0][1] is None else 1
        size = rng.choice([12, 16, 20, 24, 32, 48, 64]) if flexible else 8
        self.about = {"number": number, "mode": mode.name, "frame": size, "channels": self.channels}
        self.ends = []
        for end in ends:
            padding = rng.choice([None, 0x00, 0x55, 0xAA, 0xCC, 0xFF])
            params = {
                "stmin": rng.choice([0, 0, 1, 2, 5, 0xF3]),
                "blocksize": rng.choice([0, 0, 1, 2, 3, 8, 15]),
                "tx_padding": padding,
                "tx_data_length": size,
                "can_fd": flexible,
                "wftmax": 4,
                "max_frame_size": 20000,
            }
            self.ends.append(End(bus, end, params, offset))
        self.plan = self.make_plan(rng)
        self.truth = []
        self.step = -1
        self.wait_until = CLOCK.ns + rng.randrange(20_000_000)
        self.expected = None
        self.replies = []

    def make_plan(self, rng):
        plan = [("read", None, 60)]
        for _ in range(rng.randrange(3, 6)):
            kind = rng.choice(["read", "read", "write", "write", "refused", "pending", "seed", "key"])
            longest = rng.choice([30, 30, 120, 120, 500])
            trouble = None
            if rng.random() < 0.25 and kind in ("read", "write"):
                trouble = rng.choice(["bus", "log", "twice", "mute", "full", "wait"])
                longest = 500
            plan.append((kind, trouble, longest))
        if rng.random() < 0.06:
            plan.append(("transfer", None, rng.choice([4094, 4095, 4096, 5000, 6000])))
        if self.functional:
            plan.append(("functional", None, 4))
        plan.append(("read", None, 30))
        return plan

    def next_exchange(self, rng):
        self.step += 1
        for end in self.ends:
            end.layer.reset()
            end.queue.clear()
            end.trouble = end.flow_trouble = None
            end.layer.params.set("max_frame_size", 20000)
        if self.step >= len(self.plan):
            return
        kind, trouble, longest = self.plan[self.step]
        functional = kind == "functional"
        request, replies = exchange(rng, "read" if functional else kind, longest)
        if trouble:
            # Long enough for at least three consecutive frames of any size.
            filler = rng.randbytes(200)
            if kind == "read":
                replies = [replies[0] + filler]
            else:
                request += filler
        self.replies = [(reply, trouble if kind == "read" else None) for reply in replies]
        self.send(rng, 0, request, trouble if kind != "read" else None, functional)

    def send(self, rng, who, payload, trouble, functional=False):
        sender, receiver = self.ends[who], self.ends[1 - who]
        if trouble == "full":
            receiver.layer.params.set("max_frame_size", 20)
        receiver.flow_trouble = trouble if trouble in ("mute", "wait") else None
        on_frame = (trouble, rng.randrange(1, 4)) if trouble in ("bus", "log", "twice") else None
        channel = self.functional if functional else self.channels[who]
        self.truth.append({"channel": channel, "payload": bytes(payload).hex().upper(), "trouble": trouble, "received": None})
        sender.start(payload, on_frame, functional)
        self.expected = who
        # Nothing is given up while it still runs: the longest takes some seconds of simulated time.
        self.wait_until = CLOCK.ns + (1_500_000_000 if trouble else 60_000_000_000)

    def turn(self, rng):
        """One step; False when the conversation is over."""
        if self.step >= len(self.plan):
            return False
        for end in self.ends:
            end.layer.process(do_rx=True, do_tx=True)
        if self.expected is None:
            if CLOCK.ns >= self.wait_until:
                self.next_exchange(rng)
            return True
        received = self.ends[1 - self.expected].layer.recv()
        if received is not None:
            self.truth[-1]["received"] = bytes(received).hex().upper()
            assert self.truth[-1]["received"] == self.truth[-1]["payload"]
            if self.expected == 0 or self.replies:
                if self.replies:
                    reply, trouble = self.replies.pop(0)
                    self.send(rng, 1, reply, trouble)
                    return True
            self.expected = None
            self.wait_until = CLOCK.ns + rng.randrange(1_000_000, 20_000_000)
        elif CLOCK.ns >= self.wait_until:
            self.expected = None
            self.replies = []
        return True


class Ordinary:
    """Traffic that is no diagnostics, some of which looks a little like it."""

    def __init__(self, rng, taken):
        self.ids = []
        kinds = ["random", "counter", "signals", "like-single", "like-first", "like-flow", "multiplexed"]
        while len(self.ids) < 14:
            wide = rng.random() < 0.4
            number = rng.randrange(0x100, 0x1FFFFFFF if wide else 0x7FF)
            text = f"{number:08X}" if wide else f"{number:03X}"
            if text not in taken:
                taken.add(text)
                self.ids.append((number, wide, kinds[len(self.ids) % len(kinds)], rng.randrange(2, 12)))
        self.count = 0

    def turn(self, rng, bus):
        self.count += 1
        for number, wide, kind, every in self.ids:
            if self.count % (every * 12):
                continue
            data = bytearray(rng.randbytes(8))
            n = self.count // (every * 12)
            if kind == "counter":
                data = bytearray([n & 0xFF, 0, 0, 0, 0, 0, 0, (255 - n) & 0xFF])
            elif kind == "signals":
                data = bytearray([0x80, n // 50 & 0xFF, 0x7F, 0xFF, n & 0x0F, 0, 0, 0])
            elif kind == "like-single":
                data[0:2] = [3, n & 0xFF]
                data[2:] = bytes(6)
            elif kind == "like-first":
                data[0:2] = [0x10, 0x20 + n % 8]
            elif kind == "like-flow":
                data = bytearray([0x30, n % 16, n % 5, 0, 0, 0, 0, 0])
            elif kind == "multiplexed":
                data[0] = [0x10, 0x21, 0x22, 0x23][n % 4]
            bus.log(isotp.CanMessage(arbitration_id=number, data=bytes(data), extended_id=wide))


def write_gz(path, text):
    with open(path, "wb") as raw, gzip.GzipFile("", "wb", 9, raw, mtime=0) as out:
        out.write(text.encode())


def record(folder, group, modes, count, flexible, with_ordinary):
    rng = random.Random(f"{SEED}/{group}")
    CLOCK.ns = 0
    log = io.StringIO()
    writer = can.CanutilsLogWriter(log)
    truth = []
    number = 0
    for start in range(0, count, 9):
        bus = Bus(f"can{start // 9}", writer)
        taken = set()
        ordinary = Ordinary(rng, taken) if with_ordinary else None
        here = [
            Conversation(rng, bus, rng.choice(modes), flexible, taken, number + i) for i in range(min(9, count - start))
        ]
        number += len(here)
        running = list(here)
        while running:
            CLOCK.ns += 300_000
            running = [conversation for conversation in running if conversation.turn(rng)]
            if ordinary:
                ordinary.turn(rng, bus)
        for conversation in here:
            truth.append({**conversation.about, "bus": bus.name, "messages": conversation.truth})
    head = {name: importlib.metadata.version(name) for name in ["can-isotp", "udsoncan", "python-can"]}
    lines = [json.dumps({"made_with": head, "seed": SEED, "conversations": len(truth)})] + [json.dumps(t) for t in truth]
    write_gz(f"{folder}/isotp-{group}.log.gz", log.getvalue())
    write_gz(f"{folder}/isotp-{group}.truth.jsonl.gz", "\n".join(lines) + "\n")
    messages = [m for t in truth for m in t["messages"]]
    print(group, len(truth), "conversations", len(messages), "messages", sum(m["received"] is None for m in messages),
          "not received", log.getvalue().count("\n"), "frames", file=sys.stderr)


def main():
    folder = sys.argv[1]
    logging.disable(logging.CRITICAL)
    m = isotp.AddressingMode
    record(folder, "normal", [m.Normal_11bits, m.Normal_29bits], 72, False, True)
    record(folder, "fixed", [m.NormalFixed_29bits], 36, False, True)
    record(folder, "address-byte", [m.Extended_11bits, m.Extended_29bits, m.Mixed_11bits, m.Mixed_29bits], 72, False, True)
    record(folder, "flexible", list(m), 36, True, False)


main()
