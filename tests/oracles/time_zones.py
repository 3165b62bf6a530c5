"""Records what Python's zoneinfo says of local times around the changes of clocks in some places.

    python3 tests/oracles/time_zones.py > tests/data/time_zones.tsv

Each line: zone, local time, and

    once   the moment, with the offset that the place had
    twice  the first and the second moment at which its clocks showed that time
    never  what its clocks would have shown next when they were put forward, and what they showed

After PEP 495, a time is one that came twice where its two folds have different offsets and the first is the larger one,
and one that never came where the first is the smaller one.
"""

import random
import sys
from datetime import datetime, timedelta, timezone
from zoneinfo import TZPATH, ZoneInfo

ZONES = [
    "Europe/Berlin",
    "Europe/London",
    "Europe/Lisbon",
    "America/New_York",
    "America/St_Johns",
    "America/Santiago",
    "America/Sao_Paulo",
    "Africa/Casablanca",
    "Asia/Kolkata",
    "Asia/Kathmandu",
    "Asia/Tokyo",
    "Asia/Beirut",
    "Australia/Adelaide",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Pacific/Chatham",
    "Pacific/Apia",
]
# Only what is settled: rules for later years may still change.
FIRST, LAST = datetime(1996, 1, 1), datetime(2025, 1, 1)


def offsets(zone, local):
    return [local.replace(tzinfo=zone, fold=fold).utcoffset() for fold in (0, 1)]


def changes(zone):
    """The moments, in UTC, at which the offset changes, to the second."""

    def offset(at):
        return at.replace(tzinfo=timezone.utc).astimezone(zone).utcoffset()

    found, at = [], FIRST
    while at < LAST:
        behind = at + timedelta(days=7)
        if offset(at) != offset(behind):
            low, high = at, behind
            while high - low > timedelta(seconds=1):
                middle = low + (high - low) // 2
                middle = middle.replace(microsecond=0)
                low, high = (middle, high) if offset(middle) == offset(low) else (low, middle)
            found.append((high, offset(low), offset(high)))
        at = behind
    return found


def described(zone, local):
    first, second = offsets(zone, local)
    moment = lambda offset: local.replace(tzinfo=timezone(offset)).isoformat()
    if first == second:
        return "once", moment(first), "-"
    if first > second:
        return "twice", moment(first), moment(second)
    change = next(at for at, before, after in changes(zone) if at + before <= local < at + after)
    return "never", (change + first).isoformat(), (change + second).isoformat()


def version():
    """Of the database that zoneinfo reads, as its own file says."""
    for folder in TZPATH:
        try:
            with open(f"{folder}/tzdata.zi", encoding="utf-8") as file:
                return file.readline().split()[-1]
        except FileNotFoundError:
            continue
    return "unknown"


def main():
    draw = random.Random(20260329)
    print("# Recorded by tests/oracles/time_zones.py with Python", sys.version.split()[0], "and tz database", version())
    for name in ZONES:
        zone = ZoneInfo(name)
        locals_ = set()
        for at, before, after in draw.sample(changes(zone), min(4, len(changes(zone)))):
            edges = sorted((at + before, at + after))
            for edge in edges:
                locals_ |= {edge - timedelta(seconds=1), edge, edge + timedelta(seconds=1)}
            locals_.add(edges[0] + (edges[1] - edges[0]) / 2)
        for _ in range(16):
            locals_.add(FIRST + timedelta(seconds=draw.randrange(int((LAST - FIRST).total_seconds()))))
        for local in sorted(locals_):
            print(name, local.isoformat(), *described(zone, local), sep="\t")


main()
