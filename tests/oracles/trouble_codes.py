"""Digests of what udsoncan makes of trouble codes and status bytes, for crates/asfound-core/tests/trouble_code_oracle.rs.

A digest is the SHA-256 of lines, each ended by a line feed. Codes are taken block by block, so that a mismatch
is narrowed down.

  two     blocks of 4096: every two-byte code in order. udsoncan knows the three-byte form only, so a failure type of
          00 is put behind the code and its text taken off again.
  three   blocks of 1000: 20,000 three-byte codes by the generator below.
  status  for each of the 256 status bytes, eight characters 0 or 1 for the flags below, in their order.
  formats the identifiers that udsoncan names.
  spellings  400 of the three-byte codes as people and programs write them, each with the text that udsoncan makes of its
          number. The ways of writing are this script's, the numbers and texts are the library's.
"""

import hashlib
import importlib.metadata
import json

from udsoncan.common.dtc import Dtc

SEED, COUNT = 20260314, 20_000
FLAGS = [
    "test_failed",
    "test_failed_this_operation_cycle",
    "pending",
    "confirmed",
    "test_not_completed_since_last_clear",
    "test_failed_since_last_clear",
    "test_not_completed_this_operation_cycle",
    "warning_indicator_requested",
]


def digest(lines):
    return hashlib.sha256("".join(line + "\n" for line in lines).encode()).hexdigest()


def blocks(lines, size):
    return [digest(lines[at : at + size]) for at in range(0, len(lines), size)]


def two(code):
    text = Dtc(code << 8).id_iso()
    assert text.endswith("-00")
    return text[:-3]


def random_codes():
    state = SEED
    for _ in range(COUNT):
        state = (state * 1103515245 + 12345) % 2**31
        yield state >> 7


SPELLINGS = [
    lambda base, failure: f"{base}{failure}",
    lambda base, failure: f"{base} {failure}".lower(),
    lambda base, failure: f"{base.lower()}-{failure}",
    lambda base, failure: f" {base}-{failure.lower()} ",
    lambda base, failure: f"{base}:{failure}",
    lambda base, failure: f"{base} - {failure}",
    lambda base, failure: f"{base}\u2013{failure}",
    lambda base, failure: f"{base}/{failure}".swapcase(),
]


def spellings():
    for at, code in zip(range(400), random_codes()):
        text = Dtc(code).id_iso()
        yield [SPELLINGS[at % len(SPELLINGS)](*text.split("-")), text]


def flags(byte):
    status = Dtc.Status.from_byte(byte)
    return "".join("1" if getattr(status, flag) else "0" for flag in FLAGS)


print(
    json.dumps(
        {
            "udsoncan": importlib.metadata.version("udsoncan"),
            "two": blocks([two(code) for code in range(65536)], 4096),
            "three": {
                "seed": SEED,
                "count": COUNT,
                "blocks": blocks([Dtc(code).id_iso() for code in random_codes()], 1000),
            },
            "status": {"flags": FLAGS, "digest": digest([flags(byte) for byte in range(256)])},
            "spellings": list(spellings()),
            "formats": sorted({value for name, value in vars(Dtc.Format).items() if isinstance(value, int)}),
        },
        indent=1,
    )
)
