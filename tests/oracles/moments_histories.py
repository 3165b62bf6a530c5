"""Plays vehicles whose truth is known, and what people file of them: at once, late, as a day or a month, in any order.

    python3 moments_histories.py HISTORIES SEED OUT.txt.gz
    python3 moments_histories.py explain SEED FIELD

Each line is one history of 40 entries with the answer of `moments_model.py` and the truth behind it. Everybody here tells
moments truly, as exactly as they tell them; what is untrue is marked: work that was never made (`lies`) and what was
altered without an entry (`unrecorded`); bytes that work on a whole record set beside what it was about are neither.
"""

import gzip
import random
import sys
from datetime import datetime, timedelta, timezone

from moments_model import DAY, MONTH, SECOND, Journal

SETTINGS = {
    ("body", "0D01"): ["flashes", "fold"],
    ("body", "0D02"): ["fade"],
    ("seat", "2A01"): ["heat"],
}
RECORDS = {"body": {"0D01": 2, "0D02": 1}, "seat": {"2A01": 1}, "cluster": {"3B01": 1}}
# Words that no definition explains would not compare.
VALUES = {"cluster": {"chime": ["10", "30", "50", "70"]}}
SERIALS = {"body": ["B1", "B2", "B3"], "seat": ["S1", "S2"], "cluster": [None]}
ENTRIES = 40
MINUTE, HOUR, DAYS = 60, 3600, 86400
# How people of a garage are: how often each thing happens, and how often it is filed at once.
HABITS = {
    #            reading work hand swap  at once
    "careful": (0.50, 0.38, 0.08, 0.04, 0.85),
    "diary": (0.45, 0.40, 0.12, 0.03, 0.25),
    "archive": (0.60, 0.25, 0.10, 0.05, 0.45),
    "breaker": (0.50, 0.22, 0.10, 0.18, 0.70),
    "night": (0.45, 0.35, 0.17, 0.03, 0.60),
}


class Vehicle:
    """A vehicle as it truly is: which unit is where, and what each unit holds."""

    def __init__(self, chance):
        others = chance.choice([["seat"], ["cluster"], ["seat", "cluster"]])
        self.modules = ["body", *others]
        self.fitted = {module: SERIALS[module][0] for module in self.modules}
        self.units = {}
        for module in self.modules:
            for serial in SERIALS[module]:
                records = {name: [chance.below(6) + 1 for _ in range(size)] for name, size in RECORDS[module].items()}
                values = {name: chance.choice(all_values) for name, all_values in VALUES.get(module, {}).items()}
                self.units[module, serial] = records, values

    def unit(self, module):
        return self.units[module, self.fitted[module]]


class Chance:
    """Draws that give the same in every version of Python: `random()` alone is promised to."""

    def __init__(self, seed):
        self.random = random.Random(seed).random

    def below(self, end):
        return int(self.random() * end)

    def choice(self, some):
        return some[self.below(len(some))]

    def often(self, share):
        return self.random() < share

    def weighted(self, weights):
        point = self.random() * sum(weights)
        for place, weight in enumerate(weights):
            point -= weight
            if point < 0:
                return place
        return len(weights) - 1


def hexed(content):
    return " ".join(f"{byte:02X}" for byte in content)


class Play:
    """One history: the vehicle goes through time, and facts are filed when their people come to it."""

    def __init__(self, seed):
        self.seed, self.chance = seed, Chance(seed)
        self.habit = self.chance.choice(list(HABITS))
        self.offset = self.chance.choice([0, 0, 60, 120, 330, -300]) * MINUTE
        self.vehicle = Vehicle(self.chance)
        self.now = int(datetime(2025, 1, 27, 8, 0, tzinfo=timezone.utc).timestamp()) + self.chance.below(30) * DAYS
        self.begin = self.now
        self.journal = Journal(SETTINGS, self.begin, self.offset)
        self.happenings = 0
        self.pending = []
        self.facts = [["e", self.now]]
        # True order of the entries, and what is untrue or unsaid.
        self.order = [0]
        self.unrecorded, self.lies, self.beside, self.swaps, self.units = [], [], [], [], {}
        # Which entry told a field of the state last, the work that was filed, and the lies that may be corrected.
        self.holder, self.done, self.open_lies = {}, [], []

    def play(self):
        while self.journal.entries < ENTRIES:
            self.now += self.gap()
            self.file_until(self.now)
            if self.journal.entries >= ENTRIES:
                break
            self.happenings += 1
            reading, work, hand, swap, _ = HABITS[self.habit]
            what = self.chance.weighted([reading, work, hand, swap, 0.04])
            [self.reading, self.work, self.hand, self.swap, self.correct][what]()
        for happening in self.pending:
            # What nobody comes to file any more is in no entry.
            fact = happening["fact"]
            if happening["what"] == "work" and not fact["lie"]:
                self.note_unrecorded(fact["place"], happening["order"], fact["serial"])
        return self

    def gap(self):
        some = [0, MINUTE, 10 * MINUTE, HOUR, 5 * HOUR, DAYS, 3 * DAYS, 10 * DAYS, 35 * DAYS]
        step = some[self.chance.weighted([4, 3, 4, 5, 4, 4, 3, 2, 1])]
        return step + (self.chance.below(5) * 10 * MINUTE if step >= HOUR else 0)

    # What truly happens.

    def reading(self):
        modules = [module for module in self.vehicle.modules if self.chance.often(0.75)]
        said = {}
        for module in modules or ["body"]:
            records, values = self.vehicle.unit(module)
            whole = self.chance.often(0.8)
            given = {name: hexed(content) for name, content in records.items() if whole or self.chance.often(0.5)}
            told = {name: value for name, value in values.items() if whole or self.chance.often(0.5)}
            if given or told:
                said[module] = (self.vehicle.fitted[module], given, told)
        if said:
            self.tell("reading", said)

    def some_field(self):
        """(module, "record" or "value", name, byte) of something that is kept as a setting or as a bare record."""
        some = []
        for module in self.vehicle.modules:
            some += [(module, "record", name, byte) for name, size in RECORDS[module].items() for byte in range(size)]
            some += [(module, "value", name, 0) for name in VALUES.get(module, {})]
        return self.chance.choice(some)

    def content(self, place):
        module, kind, name, byte = place
        records, values = self.vehicle.unit(module)
        return values[name] if kind == "value" else records[name][byte]

    def put(self, place, content):
        module, kind, name, byte = place
        records, values = self.vehicle.unit(module)
        if kind == "value":
            values[name] = content
        else:
            records[name][byte] = content

    def other(self, place, than):
        module, kind, name, _ = place
        some = VALUES[module][name] if kind == "value" else range(1, 7)
        return self.chance.choice([one for one in some if one not in than])

    def snapshot(self, place):
        module, kind, name, _ = place
        records, values = self.vehicle.unit(module)
        return values[name] if kind == "value" else list(records[name])

    def work(self):
        place = self.some_field()
        back = [work for work in self.done if work["place"] == place]
        found = self.snapshot(place)
        before = self.content(place)
        if back and self.chance.often(0.35):
            wanted = self.chance.choice(back)["before"]
            if wanted == before:
                return
        else:
            wanted = self.other(place, [before])
        lie = self.chance.often(0.08)
        if not lie:
            self.put(place, wanted)
        self.tell("work", {
            "place": place, "found": found, "before": before, "wanted": wanted, "lie": lie,
            "serial": self.vehicle.fitted[place[0]],
        })

    def hand(self):
        place = self.some_field()
        self.put(place, self.other(place, [self.content(place)]))
        self.note_unrecorded(place, self.happenings, self.vehicle.fitted[place[0]])

    def note_unrecorded(self, place, happening, serial):
        self.unrecorded.append([happening, field_of(place), serial])

    def swap(self):
        module = self.chance.choice(self.vehicle.modules)
        spares = [serial for serial in SERIALS[module] if serial != self.vehicle.fitted[module]]
        if spares:
            self.vehicle.fitted[module] = self.chance.choice(spares)
            self.swaps.append([self.happenings, module])

    def correct(self):
        """Somebody owns up to work that was never made, provided that no reading shows it."""
        if not self.open_lies:
            return
        lie = self.open_lies.pop(self.chance.below(len(self.open_lies)))
        place, entry = lie["place"], lie["entry"]
        module, kind, name, byte = place
        field = field_of(place)
        _, proofs = self.journal.answer()[field]
        tellings = self.journal.tellings()[field]
        work = next(one for one in tellings if one.entry == entry)
        read_before = any(not one.work and one.moment.before(work.moment) for one in tellings)
        if proofs[entry].startswith("read-back") or not read_before:
            return
        effects = []
        if self.holder.get(place) == entry:
            known = self.known(place)
            restored = lie["before_told"]
            if kind == "record":
                content = list(bytes.fromhex(known))
                content[byte] = restored
                restored = hexed(content)
            if restored != known:
                effects = [(module, kind, name, known, restored)]
        number = self.journal.correct(self.now, entry, effects)
        if effects:
            self.holder[place] = number
        self.facts.append(["c", self.now, entry, [list(effect) for effect in effects]])
        self.order.append(self.happenings)

    # How it is filed.

    def tell(self, what, fact):
        *_, at_once = HABITS[self.habit]
        chance = self.chance
        happening = {"what": what, "fact": fact, "at": self.now, "order": self.happenings, "precision": SECOND}
        if chance.often(at_once):
            self.file(happening, self.now)
            return
        if self.habit == "diary" and chance.often(0.8):
            zone = timezone(timedelta(seconds=self.offset))
            evening = datetime.fromtimestamp(self.now, zone).replace(hour=21, minute=0, second=0)
            later = int(evening.timestamp())
            if later <= self.now:
                later += DAYS
            happening["precision"] = DAY if chance.often(0.5) else SECOND
        else:
            wait = [10 * MINUTE, 2 * HOUR, 9 * HOUR, 2 * DAYS, 12 * DAYS, 50 * DAYS]
            later = self.now + wait[chance.weighted([3, 4, 3, 4, 3, 1])]
            happening["precision"] = [SECOND, DAY, MONTH][chance.weighted([5, 3, 1.5])]
        happening["later"] = later
        self.pending.append(happening)

    def file_until(self, now):
        while True:
            ripe = [one for one in self.pending if one["later"] <= now]
            if not ripe or self.journal.entries >= ENTRIES:
                return
            # What is filed together is filed in the order in which it happened.
            first = min(ripe, key=lambda one: (one["later"], one["order"]))
            self.pending.remove(first)
            self.file(first, first["later"])

    def file(self, happening, recorded):
        number = self.journal.entries + 1
        if happening["what"] == "reading":
            said = happening["fact"]
            held = {place: self.known_at(place) for place in self.places(said)}
            self.journal.read(recorded, happening["at"], happening["precision"], said)
            for place, known in held.items():
                if self.known_at(place) != known:
                    self.holder[place] = number
            modules = {name: list(of) for name, of in said.items()}
            self.facts.append(["r", recorded, happening["at"], happening["precision"], modules])
        elif not self.file_work(happening, recorded, number):
            return
        self.order.append(happening["order"])

    @staticmethod
    def places(said):
        for module, (_, records, values) in said.items():
            for name in records:
                yield from ((module, "record", name, byte) for byte in range(RECORDS[module][name]))
            yield from ((module, "value", name, 0) for name in values)

    def known_at(self, place):
        module, kind, name, _ = place
        of = self.journal.state.modules.get(module)
        known = of and (of.values if kind == "value" else of.records).get(name)
        return known and known.at

    def known(self, place):
        module, kind, name, _ = place
        of = self.journal.state.modules[module]
        return (of.values if kind == "value" else of.records)[name].content

    def file_work(self, happening, recorded, number):
        fact = happening["fact"]
        place = module, kind, name, byte = fact["place"]
        moment = self.journal.next_moment(recorded, happening["at"], happening["precision"])
        noted = fact["found"] if kind == "value" else hexed(fact["found"])
        late = self.journal.state.late_work(moment, module, kind, name, noted)
        known = self.known_at(place) is not None
        wanted = fact["wanted"]
        if late or not known:
            # As found is told from the note that was taken then.
            found = fact["found"]
            if not late and kind == "record" and RECORDS[module][name] > 1:
                found = None
        else:
            found = self.known(place)
            found = found if kind == "value" else list(bytes.fromhex(found))
        if found is not None and kind == "record":
            left = list(found)
            left[byte] = wanted
        else:
            left = wanted
        if found is None or left == found:
            # Nothing to file, as far as the journal knows; the vehicle was altered all the same.
            if not fact["lie"]:
                self.note_unrecorded(place, happening["order"], fact["serial"])
            return False
        at_once = recorded == happening["at"] and happening["precision"] == SECOND
        if at_once and not fact["lie"] and kind == "record" and self.chance.often(0.3):
            self.write_whole(place, left, happening["order"])
        if kind == "record":
            before_told, found, left = found[byte], hexed(found), hexed(left)
        else:
            before_told = found
        effect = (module, kind, name, found, left)
        _, (is_late,) = self.journal.work(recorded, happening["at"], happening["precision"], [effect])
        assert is_late == late
        if not late:
            self.holder[place] = number
        self.facts.append(["w", recorded, happening["at"], happening["precision"], [[*effect, int(late)]]])
        self.done.append({"place": place, "before": fact["before"]})
        self.units[number] = fact["serial"]
        if fact["lie"]:
            self.lies.append(number)
            if kind == "value" or (module, name) in SETTINGS:
                self.open_lies.append({"place": place, "entry": number, "before_told": before_told})
        return True

    def write_whole(self, place, left, order):
        """The tester writes the record as the sheet has it, and so what it did not mean to alter as well."""
        module, kind, name, _ = place
        for byte, content in enumerate(left):
            beside = (module, kind, name, byte)
            if self.content(beside) != content:
                self.put(beside, content)
                self.beside.append([order, field_of(beside), self.vehicle.fitted[module]])


def field_of(place):
    """The setting; of a record that no definition names the record."""
    module, kind, name, byte = place
    if (module, name) in SETTINGS:
        return f"{module}.{SETTINGS[module, name][byte]}"
    return f"{module}.{name}"


# The short form in which histories are recorded. Times are whole minutes, contents one digit each.
LETTERS = {"body": "b", "seat": "s", "cluster": "c"}
PRECISIONS = {SECOND: "", DAY: "d", MONTH: "m"}
FIELDS = ["body.fade", "body.flashes", "body.fold", "cluster.chime", "seat.heat"]
PLACES = [*FIELDS, "cluster.3B01"]
ORIGINS = {
    "first-known": "f", "work": "w", "settings-altered": "a", "unit-swapped": "u", "unit-returned": "b", "contradicts": "k",
    "cannot-tell": "?",
}


def digits(content):
    return "".join(f"{byte:x}" for byte in bytes.fromhex(content))


def short_value(module, name, value):
    return str(VALUES[module][name].index(value))


def short_module(module, serial, records, values):
    """`b1:12/4`: letter, digit of its serial number (0: none), each record (`-`: not given), each value."""
    unit = int(serial[1:]) if serial else 0
    parts = [digits(records[name]) if name in records else "-" for name in RECORDS[module]]
    parts += [short_value(module, name, values[name]) if name in values else "-" for name in VALUES.get(module, {})]
    return f"{LETTERS[module]}{unit}:{'/'.join(parts)}"


def short_effect(module, kind, name, found, left):
    """`b0:12>13`: letter, place of the record or value in its module, as found, as left."""
    if kind == "record":
        return f"{LETTERS[module]}{list(RECORDS[module]).index(name)}:{digits(found)}>{digits(left)}"
    place = len(RECORDS[module]) + list(VALUES[module]).index(name)
    return f"{LETTERS[module]}{place}:{short_value(module, name, found)}>{short_value(module, name, left)}"


def short_fact(fact, before):
    kind, recorded = fact[:2]
    since = (recorded - before) // MINUTE
    if kind == "c":
        return " ".join([f"c{since}", str(fact[2]), *(short_effect(*effect) for effect in fact[3])])
    lag = (recorded - fact[2]) // MINUTE
    head = f"{kind}{since}" + (f"-{lag}" if lag else "") + PRECISIONS[fact[3]]
    if kind == "r":
        return " ".join([head, *(short_module(name, *of) for name, of in fact[4].items())])
    return " ".join([head, *(short_effect(*effect[:5]) + ("~" if effect[5] else "") for effect in fact[4])])


def short_step(entry, origin):
    word, *of = origin.split()
    return f"{entry}{ORIGINS[word]}{''.join(of)}"


def short_proof(entry, proof):
    word, *by = proof.split()
    return f"{entry}{word[0]}{''.join(by)}"


def line(play):
    """A history in the short form, its parts apart by `|`:

    seed, offset in minutes, begin in minutes since 1970 | facts apart by `;` | state | for each field its steps |
    for each field its proofs | true order of the facts | unrecorded, lies, swaps, units of work
    """
    facts, before = [], play.begin
    for fact in play.facts[1:]:
        facts.append(short_fact(fact, before))
        before = fact[1]
    state = [
        short_module(name, of["serial"], of["records"], of["values"]) for name, of in play.journal.state.shown().items()
    ]
    answer = play.journal.answer()
    steps = [" ".join(short_step(*step) for step in answer.get(path, ([], {}))[0]) for path in FIELDS]
    proofs = [" ".join(short_proof(*one) for one in sorted(answer.get(path, ([], {}))[1].items())) for path in FIELDS]
    order = [now - then for then, now in zip(play.order, play.order[1:])]
    def altered(some):
        return " ".join(f"{at}.{PLACES.index(path)}.{0 if unit is None else int(unit[1:])}" for at, path, unit in some)
    truth = [
        altered(play.unrecorded),
        " ".join(map(str, play.lies)),
        " ".join(f"{at}{LETTERS[module]}" for at, module in play.swaps),
        "".join(str(0 if unit is None else int(unit[1:])) for _, unit in sorted(play.units.items())),
    ]
    return "|".join([
        f"{play.seed} {play.offset // MINUTE} {play.begin // MINUTE}", ";".join(facts), " ".join(state), ",".join(steps),
        ",".join(proofs), " ".join(map(str, order)), ",".join(truth),
    ])


def explain(seed, path):
    play = Play(seed).play()
    steps, proofs = play.journal.answer()[path]
    print(f"history {seed}, {path}, {play.habit}")
    for telling in play.journal.tellings()[path]:
        moment, entry = telling.moment, telling.entry
        what = ("beside" if telling.passive else "work") if telling.work else "reading"
        held = f"{telling.found} -> {telling.content}" if telling.work else telling.content
        unit = "unit not known" if telling.astray else telling.unit or "no serial number"
        first, last, recorded = (
            datetime.fromtimestamp(at, timezone.utc).strftime("%m-%d %H:%M") for at in (moment.first, moment.last, moment.recorded)
        )
        said = [origin for at, origin in steps if at == entry] + [proofs.get(entry, "")]
        lie = "never made" if entry in play.lies else ""
        print(
            f"{entry:3} {what:8} {unit:16} {held:16} {first} .. {last} filed {recorded} "
            f"truly {play.order[entry - 1]:3} {'; '.join(filter(None, said))} {lie}".rstrip()
        )
    print("without an entry:", [one for one in play.unrecorded if one[1] == path])
    print("beside other work:", [one for one in play.beside if one[1] == path])
    print("units exchanged:", [one for one in play.swaps if one[1] == path.split(".")[0]])


def main():
    if sys.argv[1] == "explain":
        explain(int(sys.argv[2]), sys.argv[3])
        return
    count, seed, out = int(sys.argv[1]), int(sys.argv[2]), sys.argv[3]
    with open(out, "wb") as file, gzip.GzipFile(fileobj=file, mode="wb", compresslevel=9, mtime=0, filename="") as packed:
        for number in range(count):
            packed.write(line(Play(seed + number).play()).encode() + b"\n")


if __name__ == "__main__":
    main()
