"""A second journal, in the plainest form: state as filed, lives of fields by time, proof, another hand, cannot tell.

Written from docs/format.md, docs/proof.md, docs/architecture.md and docs/moments.md alone, with the standard library alone.
It knows settings of one byte each, settings by value, and records that no definition names (of those the state only).
`moments_histories.py` makes the stories that it is asked about; `crates/asfound-core/tests/moments_oracle.rs` reads both.

Where the pages leave something open, the comment `open:` says what was decided here.
"""

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone

SECOND, DAY, MONTH = "second", "day", "month"


@dataclass(frozen=True)
class Moment:
    """When an entry happened: a span from its first second to its last, what lies after `recorded` cut off."""

    number: int
    first: int
    last: int
    recorded: int
    at_once: bool

    @classmethod
    def of(cls, number, recorded, happened, precision, offset):
        """Seconds since 1970; `offset` in seconds is the one that the moment is told in, which makes days and months."""
        first = last = happened
        if precision != SECOND:
            zone = timezone(timedelta(seconds=offset))
            day = datetime.fromtimestamp(happened, zone).replace(hour=0, minute=0, second=0)
            if precision == DAY:
                end = day + timedelta(days=1)
            else:
                day = day.replace(day=1)
                end = (day + timedelta(days=32)).replace(day=1)
            first, last = int(day.timestamp()), int(end.timestamp()) - 1
        # open: a moment that lies after `recorded` as a whole. Left as it is; no story here has one.
        last = min(last, max(first, recorded))
        return cls(number, first, last, recorded, precision == SECOND and happened == recorded)

    def noted_after(self, earliest):
        """The same of work that nobody told the moment of: it was done by then, and after `earliest`."""
        return replace(self, first=min(self.first, earliest)) if self.at_once else self

    def before(self, other):
        """Whether this is certainly before the other, by the three rules of the page."""
        if self.last < other.first:
            return True
        # open: the page says of rule 3 "the same span". What many files of one day are filed together need not be in order,
        # so it is taken for moments that are known to the second.
        together = (self.first, self.last, self.recorded) == (other.first, other.last, other.recorded)
        begins = other.last if other.at_once else other.first
        return self.number < other.number and self.last <= begins and (other.at_once or together)

    def loose(self, other):
        """Whether the two are not ordered."""
        return not self.before(other) and not other.before(self)


@dataclass
class Known:
    """What is known of a record or of a setting by value, and the latest moment that told it."""

    content: str
    at: Moment


@dataclass
class Module:
    """The state of a module, as filed."""

    serial: str | None = None
    # The latest moment at which a reading gave the module, and the one at which it became another unit.
    seen: Moment | None = None
    renewed: Moment | None = None
    records: dict = field(default_factory=dict)
    values: dict = field(default_factory=dict)


class State:
    """What the journal knows after the entries filed so far. Answers, before each is filed, what of it comes late."""

    def __init__(self):
        self.modules = {}

    def module(self, name):
        return self.modules.setdefault(name, Module())

    def read(self, moment, modules):
        """Files a reading: `modules` is {name: (serial, {record: bytes}, {setting: value})}."""
        for name, (serial, records, values) in modules.items():
            module = self.module(name)
            other = serial is not None and serial != module.serial
            another = other and module.serial is not None
            # All of it is late where the module became another unit since, or the order to that is not known.
            late = module.renewed is not None and not module.renewed.before(moment)
            late = late or (another and not module.seen.before(moment))
            if not late:
                if other:
                    if another:
                        module.renewed = moment
                    module.serial = serial
                self.tell(module.records, records, moment)
                self.tell(module.values, values, moment)
            if module.seen is None or module.seen.before(moment):
                module.seen = moment

    @staticmethod
    def tell(known, said, moment):
        for name, content in said.items():
            if name not in known or known[name].at.before(moment):
                known[name] = Known(content, moment)

    def late_work(self, moment, module, kind, name, found):
        """Whether work on a record (or a setting by value) moves nothing when it is filed now.

        open: moments.md says it of "work that is told later than a reading", format.md of work "done before something that
        was known". What is known certainly later makes it late, and another unit as with readings. Where the order is not
        known, it is late only where it found something else than what is known, because nothing else can be filed.
        """
        module = self.modules.get(module, Module())
        if module.renewed is not None and not module.renewed.before(moment):
            return True
        known = (module.records if kind == "record" else module.values).get(name)
        if known is None or known.at.before(moment):
            return False
        return moment.before(known.at) or known.content != found

    def alter(self, moment, module, kind, name, left):
        """Files work, or what a correction says, that does not come late."""
        module = self.module(module)
        (module.records if kind == "record" else module.values)[name] = Known(left, moment)

    def shown(self):
        return {
            name: {
                "serial": module.serial,
                "records": {record: known.content for record, known in sorted(module.records.items())},
                "values": {setting: known.content for setting, known in sorted(module.values.items())},
            }
            for name, module in sorted(self.modules.items())
        }


@dataclass
class Telling:
    """What one entry tells of one field: a reading its content, work its content as found and as left."""

    moment: Moment
    work: bool
    unit: str | None
    content: str
    found: str | None = None
    # Work on a record writes the whole of it: here of a field that it was not about.
    passive: bool = False
    # Whether it is not known on which unit the work was done, and whether that is only taken to be the unit read first after it.
    astray: bool = False
    taken: bool = False

    @property
    def entry(self):
        return self.moment.number


class Journal:
    """The facts as filed. Bytes are one setting each: `settings` is {(module, record): [setting of byte 0, …]}."""

    def __init__(self, settings, enrolled, offset=0):
        self.settings, self.offset = settings, offset
        self.state = State()
        self.entries = 1
        # Until when each module was last read or altered, as far as the entries so far tell.
        self.told_until, self.enrolled = {}, enrolled
        self.readings, self.works, self.never_made = [], [], set()
        # An enrolment is entry 1 and tells nothing of a module.

    def next_moment(self, recorded, happened, precision):
        return Moment.of(self.entries + 1, recorded, happened, precision, self.offset)

    def tells_of(self, modules, moment):
        for module in modules:
            self.told_until[module] = max(moment.last, self.told_until.get(module, moment.last))

    def read(self, recorded, happened, precision, modules):
        moment = self.next_moment(recorded, happened, precision)
        self.entries += 1
        self.tells_of(modules, moment)
        self.state.read(moment, modules)
        self.readings.append((moment, modules))
        return moment.number

    def work(self, recorded, happened, precision, effects):
        """`effects`: a list of (module, "record" or "value", name, found, left); tells which of them came late."""
        moment = self.next_moment(recorded, happened, precision)
        modules = {module for module, *_ in effects}
        # What is known counts as of the filing, though the work may have been done before.
        noted = moment.noted_after(min(self.told_until.get(module, self.enrolled) for module in modules))
        self.entries += 1
        self.tells_of(modules, noted)
        late = [self.state.late_work(moment, *effect[:4]) for effect in effects]
        for (module, kind, name, _, left), is_late in zip(effects, late):
            if not is_late:
                self.state.alter(moment, module, kind, name, left)
        self.works.append((noted, effects))
        return moment.number, late

    def correct(self, recorded, entry, effects):
        """Files that the work in an entry was never made; `effects` is what is in the vehicle instead."""
        moment = self.next_moment(recorded, recorded, SECOND)
        self.entries += 1
        self.never_made.add(entry)
        for module, kind, name, _, left in effects:
            # open: at which moment what a correction says is known. At the correction's own.
            self.state.alter(moment, module, kind, name, left)
        return moment.number

    # The answers.

    def fields_of(self, module, kind, name, content):
        """The fields in a record or a value: (field, content)."""
        if kind == "value":
            yield f"{module}.{name}", content
        elif (module, name) in self.settings:
            data = bytes.fromhex(content)
            for setting, byte in zip(self.settings[module, name], data):
                yield f"{module}.{setting}", str(byte)

    def tellings(self):
        """Everything that entries tell of each field, in the order of the moments."""
        fields, units = {}, {}
        for moment, modules in self.readings:
            for name, (serial, records, values) in modules.items():
                units.setdefault(name, []).append((moment, serial))
                for kind, contents in (("record", records), ("value", values)):
                    for what, content in contents.items():
                        for path, value in self.fields_of(name, kind, what, content):
                            fields.setdefault(path, []).append(Telling(moment, False, serial, value))
        for moment, effects in self.works:
            if moment.number in self.never_made:
                continue
            for module, kind, name, found, left in effects:
                unit, astray, taken = unit_of_work(moment, units.get(module, []))
                before = dict(self.fields_of(module, kind, name, found)) if found is not None else {}
                for path, value in self.fields_of(module, kind, name, left):
                    was = before.get(path)
                    passive = was == value
                    telling = Telling(moment, True, unit, value, was, passive, astray, taken)
                    fields.setdefault(path, []).append(telling)
        for tellings in fields.values():
            # open: "in the order of their moments; those that are not ordered, in the order in which they were filed" does
            # not say which order that is for three of which only two are ordered. By the end of the span, then by number.
            tellings.sort(key=lambda telling: (telling.moment.last, telling.entry))
        return fields

    def answer(self):
        """{field: (transitions, proofs)}: transitions are (entry, origin), proofs {entry: level}."""
        of_module = {}
        for moment, modules in self.readings:
            for name, (serial, _, _) in modules.items():
                of_module.setdefault(name, []).append((moment, serial))
        lives = sorted(self.tellings().items())
        return {path: Life(tellings, of_module.get(path.split(".")[0], [])).answer() for path, tellings in lives}


def unit_of_work(moment, readings):
    """The unit that work was done on, whether that is not known, and whether it is only taken to be so.

    open: the page does not say. It is the unit of the last readings before the work. Where these differ, or where a reading
    that is not ordered with the work shows another one, it is not known. Work before all readings is taken to be on the unit
    that was read first after it: that may read it back, and cannot contradict it, because nobody saw which unit was there.
    """
    def last_of(some):
        return [one for one in some if not any(one[0].before(other[0]) for other in some)]

    def first_of(some):
        return [one for one in some if not any(other[0].before(one[0]) for other in some)]

    before = last_of([one for one in readings if one[0].before(moment)])
    loose = [one for one in readings if one[0].loose(moment)]
    taken = not before
    if not before and not loose:
        before = first_of([one for one in readings if moment.before(one[0])])
    units = {serial for _, serial in before + loose}
    if len(units) > 1:
        return None, True, False
    unit = next(iter(units), None)
    return unit, False, taken and unit is not None


class Life:
    """Goes through what entries tell of one field, in the order of their moments."""

    def __init__(self, tellings, readings):
        # `readings`: all of the module, whatever they gave, with the unit that each shows.
        self.tellings, self.readings = tellings, readings
        self.transitions = []
        self.proofs = {}
        # What the field holds, and the telling that says so.
        self.running = None
        self.unit = None

    def answer(self):
        for place, telling in enumerate(self.tellings):
            if telling.work:
                self.altered(telling)
            else:
                self.shown(telling, self.tellings[:place])
        return self.transitions, self.proofs

    def step(self, telling, origin):
        self.transitions.append((telling.entry, origin))
        self.running = telling

    def altered(self, work):
        if work.passive:
            # open: what work shows beside what it was about is known by then, but it is neither a reading nor an alteration.
            if self.running is None:
                self.step(work, "first-known")
            return
        self.proofs[work.entry] = "stated"
        # open: it is a step also where its content is there already, as far as the order is known, and so it has a proof.
        self.step(work, "work")

    def shown(self, reading, sooner):
        content, unit = reading.content, reading.unit
        of_unit = [one for one in sooner if one.unit == unit and not one.astray]
        swapped = self.unit is not None and unit != self.unit[0]
        self.unit = (unit,)
        same = self.running is not None and self.running.content == content
        seen = [one for one in of_unit if not one.passive]
        if not seen:
            # Nothing is known of the field in this unit.
            loose = self.loose_works(reading)
            if self.running is None:
                self.step(reading, "first-known")
            elif same:
                pass
            elif swapped:
                self.step(reading, "unit-swapped")
            elif any(content in (one.content, one.found) for one in loose):
                pass
            else:
                # Only work whose unit is not known came before.
                self.step(reading, "cannot-tell")
            return
        returned = swapped and self.was_away(reading)
        earlier = [one for one in of_unit if one.moment.before(reading.moment)]
        last = [one for one in earlier if not any(one.moment.before(other.moment) for other in earlier if not other.passive)]
        fits = [one for one in last if one.content == content]
        loose = self.loose_works(reading)
        for work in fits:
            if work.work and not work.passive and self.proofs[work.entry] == "stated":
                self.proofs[work.entry] = f"read-back {reading.entry}"
        if same and returned and not fits and self.running.work:
            # open: work that was filed while another unit was known to be there may have been done on this one.
            self.step(reading, "cannot-tell")
            return
        if fits or (same and not returned):
            self.fitting(reading, swapped, returned, same, loose)
            return
        if loose:
            if not any(content in (one.content, one.found) for one in loose):
                self.step(reading, "cannot-tell")
            return
        if any(not one.work and one.content == content and one.moment.loose(reading.moment) for one in of_unit):
            # It fits after another reading that is not ordered with it.
            return
        active = [one for one in last if not one.passive]
        works = [one for one in active if one.work]
        if not active:
            # All that is known of this unit may be later.
            self.step(reading, "cannot-tell")
        elif not works:
            self.step(reading, "settings-altered")
        elif len(active) == 1:
            # Contradicted once, it is by whichever reading came first, and the other shows another hand.
            already = self.proofs[works[0].entry] != "stated"
            if returned or already or works[0].taken or self.out_between(works[0], reading):
                self.step(reading, "cannot-tell")
            else:
                self.proofs[works[0].entry] = f"contradicted {reading.entry}"
                self.step(reading, f"contradicts {works[0].entry}")
        else:
            self.step(reading, "cannot-tell")

    def out_between(self, work, reading):
        """Whether a reading shows that the unit was out of the vehicle between the two, or may have been."""
        others = [moment for moment, unit in self.readings if unit != reading.unit]
        return any(not one.before(work.moment) and not reading.moment.before(one) for one in others)

    def was_away(self, reading):
        """Whether another unit was certainly there between an earlier reading of this one and a reading."""
        here = [moment for moment, unit in self.readings if unit == reading.unit]
        others = [moment for moment, unit in self.readings if unit != reading.unit and moment.before(reading.moment)]
        return any(one.before(other) for other in others for one in here)

    def fitting(self, reading, swapped, returned, same, loose):
        if same:
            # The same content; what tells of it is now the later of the two.
            if self.running.moment.before(reading.moment):
                self.running = reading
            return
        if returned:
            self.step(reading, "unit-returned")
        elif swapped or loose or self.running.moment.loose(reading.moment):
            return
        else:
            # It fits after one of several that are not ordered.
            self.step(reading, "cannot-tell")

    def loose_works(self, reading):
        """Work that is not ordered with the reading, or of which nobody knows on which unit it was done."""
        return [
            one for one in self.tellings
            if one.work and (
                (one.unit == reading.unit and one.moment.loose(reading.moment))
                or (one.astray and not reading.moment.before(one.moment))
            )
        ]
