"""Checks a disclosure with Python's standard library only, from the words of docs/format.md and docs/seal.md.

python3 recorded.py recorded.toml
"""

import hashlib
import sys
import tomllib

SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def sha(data):
    return hashlib.sha256(data).digest()


def shape(size, index):
    """From the leaf up: whether the other hash stands on the left (RFC 9162, 2.1.3.1: the definition of PATH)."""
    if size == 1:
        return []
    k = 1
    while 2 * k < size:
        k *= 2
    return shape(k, index) + [False] if index < k else shape(size - k, index - k) + [True]


def short(entries, root):
    digits = str(entries)
    digits = digits.zfill(-(-len(digits) // 5) * 5)
    bits = int.from_bytes(root[:15], "big")
    symbols = [int(d) for d in digits] + [bits >> (5 * i) & 31 for i in range(23, -1, -1)]
    check = 0
    for symbol in symbols + [0]:
        check = check << 1
        if check & 32:
            check ^= 0b100101
        check ^= symbol
    text = "".join(SYMBOLS[s] for s in symbols + [check])
    return "-".join(text[i : i + 5] for i in range(0, len(text), 5))


with open(sys.argv[1], "rb") as file:
    disclosure = tomllib.load(file)
entries, root = disclosure["seal"].split(":")
entries, root = int(entries), bytes.fromhex(root)
for entry in disclosure["entries"]:
    lines = [bytes.fromhex(line) for line in entry["lines"]]
    reached = sha(b"\x00" + b"".join(lines))
    path = [bytes.fromhex(step) for step in entry["path"]]
    sides = shape(entries, entry["number"] - 1)
    assert len(sides) == len(path), entry["number"]
    for left, other in zip(sides, path):
        reached = sha(b"\x01" + (other + reached if left else reached + other))
    assert reached == root, entry["number"]
    for file in entry["files"]:
        line = hashlib.sha256(file["content"].encode()).hexdigest() + "  " + file["path"] + "\n"
        assert sha(bytes.fromhex(file["blind"]) + line.encode()) == lines[file["line"] - 1], file["path"]
    print("entry", entry["number"], "as sealed:", ", ".join(file["path"] for file in entry["files"]))
print("seal", short(entries, root))
