#!/usr/bin/env python3
"""Verifies the journals of a garage, from docs/format.md alone.

    python3 verify.py GARAGE [TAG ...]

Needs Python 3.11 or later and git; nothing of the project. Checks, for each entry of each journal: the commit (one
parent, author, committer, dates, message), the tree (paths, plain files, files that an entry has), the manifest against the
contents, the blind, `entry.toml` (format, number, kind and sections, salt, chain), the chain against the leaves of the
entries before (RFC 9162), the fold of the effects against `modules/*.toml` and `trouble-codes.toml`, `vehicle.toml` and
the evidence, and whether each entry that names a key has a signature by it that holds (`git verify-commit`, which needs
`ssh-keygen`); and, with decode_settings.py beside it, written from docs/definitions.md, whether `[settings]` of each module is what
its definition makes of the bytes. Checksums, rules and permitted values are not looked at, because no file follows from them.

Prints one line for each thing that is wrong, one for each thing that it cannot type, and at the end what was checked. Exit code 0 when nothing is wrong, 1 when
something is, 2 when it was called wrongly.
"""

import base64
import hashlib
import re
import shutil
import subprocess
import sys
import tomllib
from datetime import datetime
from decimal import Decimal
from pathlib import Path

sys.dont_write_bytecode = True  # no folder with a copy of what is imported
from decode_settings import CannotType, settings_of

SECTIONS = {
    "enrolled": set(),
    "reading": {"reading"},
    "change": {"work"},
    "put-back": {"put_back", "work"},
    "correction": {"correction"},
    "note": {"note"},
    "order-opened": {"order"},
    "order-extended": {"order"},
    "order-closed": {"order"},
    "witness": {"witness"},
}
HEAD_KEYS = {"format", "number", "kind", "recorded", "happened", "why", "salt", "author", "chain"}
TAG = re.compile(r"[a-z](-?[a-z0-9])*")
PATH = re.compile(r"[A-Za-z0-9._/-]+")
LINE = re.compile(r"([0-9a-f]{64})  (.+)")


class Wrong(Exception):
    """An entry cannot be examined further."""


class Objects:
    """The objects of a repository, by one `git cat-file`."""

    def __init__(self, repository):
        self.repository = repository
        # Objects as they were written, whatever git was told to show in their place.
        command = ["git", "--no-replace-objects", "--git-dir", str(repository), "cat-file", "--batch"]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    def get(self, name, kind):
        self.process.stdin.write(name.encode() + b"\n")
        self.process.stdin.flush()
        head = self.process.stdout.readline().decode().split()
        if len(head) != 3:
            raise Wrong(f"{kind} {name} cannot be read ({' '.join(head) or 'git gave up'})")
        content = self.process.stdout.read(int(head[2]))
        self.process.stdout.read(1)
        if head[1] != kind:
            raise Wrong(f"{name} is a {head[1]} and not a {kind}")
        # Git trusts its packs when it reads; the id is the SHA-1 of the object.
        if hashlib.sha1(b"%s %d\0" % (kind.encode(), len(content)) + content).hexdigest() != name:
            raise Wrong(f"{kind} {name} is not what its id says")
        return content

    def branches(self):
        command = ["git", "--git-dir", str(self.repository), "for-each-ref", "--format=%(objectname) %(refname)", "refs/heads/"]
        lines = subprocess.run(command, capture_output=True, text=True, check=True).stdout.splitlines()
        named = (line.split(" ", 1) for line in lines)
        return {name.removeprefix("refs/heads/"): commit for commit, name in named}

    def oddities(self):
        """What makes git read another history than was written; here all of it is read past."""
        command = ["git", "--git-dir", str(self.repository), "for-each-ref", "--format=%(refname)", "refs/replace/"]
        replaced = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
        if replaced:
            yield f"refs/replace has {len(replaced)} object{'s' if len(replaced) > 1 else ''} that git shows in the place of others"
        for name in ("info/grafts", "shallow"):
            if (self.repository / name).is_file():
                yield f"{name} is there: git takes other parents for some commits than they have"

    def close(self):
        self.process.stdin.close()
        self.process.wait()


def parse_commit(text):
    head, _, message = text.partition(b"\n\n")
    fields = {}
    for line in head.split(b"\n"):
        if not line.startswith(b" "):
            name, _, value = line.partition(b" ")
            fields.setdefault(name.decode(), []).append(value.decode("utf-8", "replace"))
    return fields, message.decode("utf-8", "replace")


def signature_of(text):
    """The signature in a commit, its lines joined again; None where there is none."""
    head = text.partition(b"\n\n")[0].decode("utf-8", "replace")
    found = re.findall(r"^gpgsig[^ ]* .*(?:\n .*)*", head, re.MULTILINE)
    if len(found) > 1:
        raise Wrong("it has more than one signature")
    return found[0].removeprefix("gpgsig ").replace("\n ", "\n") if found else None


def fingerprint_in(signature):
    """The fingerprint of the key in an SSH signature (OpenSSH, PROTOCOL.sshsig: magic, version, key as a string)."""
    match = re.fullmatch("-----BEGIN SSH SIGNATURE-----\n(.+)\n-----END SSH SIGNATURE-----", signature.strip(), re.DOTALL)
    data = base64.b64decode(match[1]) if match else b""
    if data[:6] != b"SSHSIG":
        raise Wrong("its signature is no SSH signature")
    length = int.from_bytes(data[10:14], "big")
    return "SHA256:" + base64.b64encode(sha256(data[14 : 14 + length])).decode().rstrip("=")


def listing(objects, tree, prefix=""):
    files, content, before = {}, objects.get(tree, "tree"), ""
    while content:
        head, _, rest = content.partition(b"\0")
        mode, _, name = head.decode().partition(" ")
        path, child, content = prefix + name, rest[:20].hex(), rest[20:]
        # Git sorts a folder as if its name ended in a slash.
        if before >= (before := name + "/" * (mode == "40000")):
            raise Wrong(f"{path} is out of order or there twice")
        if "/" in name or len(child) != 40:
            raise Wrong(f"{path} is no name of a file, or its tree is cut short")
        if mode == "40000":
            files |= listing(objects, child, path + "/")
        elif mode == "100644":
            files[path] = child
        else:
            raise Wrong(f"{path} has the mode {mode}")
    return files


def case_only(paths):
    """Paths that part where two names differ in nothing but the case of letters; attached files may."""
    parts = {}
    for path in paths:
        names = path.split("/")
        for depth, name in enumerate(names):
            above = "/".join(names[:depth])
            parts.setdefault((above, name.lower()), set()).add(name)
    for (above, _), names in sorted(parts.items()):
        if len(names) > 1 and not above.startswith("evidence"):
            yield f"{' and '.join(sorted(names))} in /{above} differ only in the case of letters"


def sha256(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


class Tree:
    """The Merkle tree of RFC 9162 over a growing list of leaves, kept as its perfect subtrees, largest first."""

    def __init__(self):
        self.peaks = []  # (number of leaves, hash)

    def append(self, data):
        self.peaks.append((1, sha256(b"\0", data)))
        while len(self.peaks) > 1 and self.peaks[-1][0] == self.peaks[-2][0]:
            (size, right), (_, left) = self.peaks.pop(), self.peaks.pop()
            self.peaks.append((2 * size, sha256(b"\1", left, right)))

    def root(self):
        if not self.peaks:
            return sha256()
        root = self.peaks[-1][1]
        for _, left in reversed(self.peaks[:-1]):
            root = sha256(b"\1", left, root)
        return root

    def chain(self):
        entries = sum(size for size, _ in self.peaks)
        return {"entries": entries, "root": self.root().hex(), "peaks": [peak.hex() for _, peak in self.peaks]}


def is_other(found, left):
    """Whether a module is another unit or has other software: both know some part of its identity, with another text."""
    return any(found[part] != left[part] for part in set(found) & set(left))


class State:
    """What the entries so far give."""

    def __init__(self):
        self.modules = {}

    def module(self, name):
        empty = {"identity": {}, "records": {}, "stated": {}, "refused": set(), "address": None, "codes": None}
        # The entry that shows it as another one last, and for each record the last that read or wrote it.
        empty |= {"other_since": 0, "seen": {}}
        return self.modules.setdefault(name, empty)

    def apply(self, number, entry):
        """Moves on by an entry; hands back what in it does not follow."""
        wrong = []
        body = entry.get("work") or entry.get("reading") or entry.get("correction") or {}
        effects = body.get("effects", {})
        for effect in effects.get("identities", []):
            module = self.module(effect["module"])
            if module["identity"] != effect.get("found", {}):
                wrong.append(f"{effect['module']}: another identity was found than was known")
            if is_other(module["identity"], effect["left"]):
                module["other_since"] = number
            module["identity"] = effect["left"]
        for kind, key, name in (("records", "records", "record"), ("stated", "stated", "setting")):
            for effect in effects.get(kind, []):
                known = self.module(effect["module"])[key]
                what = effect[name]
                if what in known and known[what] != effect.get("found"):
                    wrong.append(f"{effect['module']} {what}: another content was found than was known")
                if "left" in effect:
                    known[what] = effect["left"]
                else:
                    known.pop(what, None)
                if key == "records":
                    self.module(effect["module"])["seen"][what] = number
        for name, covered in entry.get("reading", {}).get("covered", {}).items():
            module, late = self.module(name), entry["reading"].get("late", {}).get(name, {})
            # What is late tells of its own moment and moves nothing.
            records = set(covered.get("records", [])) - set(late.get("records", {}))
            module["address"] = covered.get("address", module["address"])
            module["refused"] -= records
            module["seen"].update(dict.fromkeys(records, number))
            module["refused"] |= set(covered.get("refused", [])) - set(late.get("refused", []))
            if "trouble_codes" in covered and not late.get("trouble_codes", False):
                module["codes"] = {"read_in_entry": number, "codes": covered["trouble_codes"]}
        return wrong

    def expected_module(self, name):
        """What `modules/<name>.toml` must say, but for the definition and what it makes of the records."""
        module = self.modules[name]
        file = {"identity": module["identity"]}
        if module["address"] is not None:
            file["address"] = module["address"]
        if module["refused"]:
            file["refused"] = sorted(module["refused"])
        if module["records"]:
            file["records"] = module["records"]
        if module["stated"]:
            file["settings_by_value_alone"] = module["stated"]
        return file

    def expected_settings(self, name, definition):
        """What `[settings]` must say: nothing of records not seen since the module became another one, nor of what is stated."""
        module = self.modules[name]
        current = {
            record: bytes.fromhex(content)
            for record, content in module["records"].items()
            if module["seen"][record] >= module["other_since"]
        }
        decoded = settings_of(definition, current)
        return {setting: value for setting, value in decoded.items() if setting not in module["stated"]}

    def expected_codes(self):
        return {name: module["codes"] for name, module in self.modules.items() if module["codes"]}


class Journal:
    """One journal, examined entry by entry."""

    def __init__(self, objects, tag, trusted):
        self.objects, self.tag, self.trusted = objects, tag, trusted
        self.signed, self.good = 0, 0
        self.tree, self.state = Tree(), State()
        self.vehicle = None
        self.definitions = set()
        self.problems, self.notes = [], []

    def line(self, tip):
        commits, commit = [], tip
        while commit:
            text = self.objects.get(commit, "commit")
            fields, message = parse_commit(text)
            commits.append((commit, fields, message, text))
            parents = fields.get("parent", [])
            if len(parents) > 1:
                self.problems.append(f"commit {commit} has {len(parents)} parents")
            commit = parents[0] if parents else None
        return commits[::-1]

    def examine(self, tip):
        try:
            commits = self.line(tip)
        except Wrong as wrong:
            self.problems.append(str(wrong))
            return 0
        for number, (commit, fields, message, text) in enumerate(commits, 1):
            try:
                for problem in self.entry(number, fields, message):
                    self.problems.append(f"entry {number}: {problem}")
                for problem in self.check_signature(commit, text):
                    self.problems.append(f"entry {number}: {problem}")
            except (Wrong, KeyError, ValueError) as wrong:
                # What comes after it cannot be judged without it.
                self.problems.append(f"entry {number} (commit {commit}): {wrong}; the rest was not examined")
                return number
        return len(commits)

    def entry(self, number, fields, message):
        files = listing(self.objects, fields["tree"][0])
        content = {path: self.objects.get(blob, "blob") for path, blob in files.items()}
        entry = tomllib.loads(content["entry.toml"].decode())
        lines = manifest_lines(content["manifest"])
        yield from self.check_files(number, content)
        yield from check_manifest(content, lines)
        yield from check_entry(number, entry)
        if entry["chain"] != self.tree.chain():
            yield "its chain is not what the entries before it give"
        self.tree.append(leaf_data(content["blind"], lines))
        self.key = entry["author"].get("key")
        if ("meaning" in entry["author"]) != (self.key is not None):
            yield "it names a key and no meaning of the signature, or the other way round"
        yield from check_commit(entry, fields, message)
        yield from self.state.apply(number, entry)
        yield from self.check_derived(content)

    def check_files(self, number, content):
        yield from case_only(content)
        definitions = set()
        for path in content:
            folder, _, name = path.rpartition("/")
            if not PATH.fullmatch(path) or any(part.startswith(".") or ".." in part or not part for part in path.split("/")):
                yield f"{path} is not allowed as a path"
            if folder == "definitions":
                definitions.add(path)
            elif folder == "modules" or path in ("entry.toml", "vehicle.toml", "trouble-codes.toml", "blind", "manifest"):
                pass
            elif folder != f"evidence/{number}":
                yield f"{path} is no file of this entry"
        for path in sorted(self.definitions - definitions):
            yield f"{path} is gone"
        self.definitions = definitions
        vehicle = content["vehicle.toml"]
        if self.vehicle is None:
            told = tomllib.loads(vehicle.decode())
            if told["format"] != "asfound-vehicle/1" or told["tag"] != self.tag or not re.fullmatch("[0-9a-f]{32}", told["salt"]):
                yield "vehicle.toml is not that of this vehicle"
        elif vehicle != self.vehicle:
            yield "vehicle.toml was altered"
        self.vehicle = vehicle

    def check_signature(self, commit, text):
        signature = signature_of(text)
        if signature is None:
            if self.key is not None:
                yield f"it was signed with {self.key}, and the signature is gone"
            return
        self.signed += 1
        if self.key is not None and fingerprint_in(signature) != self.key:
            yield f"it was signed with {self.key}, and the signature is by {fingerprint_in(signature)}"
        if shutil.which("ssh-keygen"):
            trusted = f"gpg.ssh.allowedSignersFile={self.trusted}"
            command = ["git", "--no-replace-objects", "--git-dir", str(self.objects.repository), "-c", trusted, "verify-commit", commit]
            result = subprocess.run(command, capture_output=True, text=True, check=False)
            if 'Good "git" signature' not in result.stdout + result.stderr:
                yield "its signature does not hold"
            self.good += result.returncode == 0

    def check_derived(self, content):
        named = {path.removeprefix("modules/").removesuffix(".toml") for path in content if path.startswith("modules/")}
        for name in sorted(named ^ set(self.state.modules)):
            yield f"modules/{name}.toml: the file is there and no entry tells of it, or the other way round"
        for name in sorted(named & set(self.state.modules)):
            file = tomllib.loads(content[f"modules/{name}.toml"].decode())
            definition = file.pop("definition", None)
            if definition is not None and f"definitions/{definition}.toml" not in content:
                yield f"modules/{name}.toml names the definition {definition}, which is not there"
            if definition is None and "settings" in file:
                yield f"modules/{name}.toml decodes settings and names no definition"
            settings = file.pop("settings", {})
            if file != self.state.expected_module(name):
                yield f"modules/{name}.toml does not say what the entries give"
            elif definition is not None:
                yield from self.check_settings(name, settings, content.get(f"definitions/{definition}.toml"))
        codes = tomllib.loads(content.get("trouble-codes.toml", b"").decode())
        if codes != self.state.expected_codes():
            yield "trouble-codes.toml does not say what the entries give"


    def check_settings(self, name, settings, definition):
        if definition is None:
            return
        try:
            expected = self.state.expected_settings(name, tomllib.loads(definition.decode(), parse_float=Decimal))
        except (CannotType, KeyError, TypeError, ValueError) as why:
            note = f"modules/{name}.toml: its settings were not checked: {why}"
            if note not in self.notes:
                self.notes.append(note)
            return
        for setting in sorted(set(settings) | set(expected)):
            if settings.get(setting) != expected.get(setting):
                told = [f"`{said[setting]}`" if setting in said else "nothing" for said in (settings, expected)]
                yield f"modules/{name}.toml says {told[0]} of {setting}, its definition makes {told[1]} of the bytes"


def manifest_lines(text):
    """The lines as (bytes with LF, digest, path)."""
    lines = []
    for line in text.decode().splitlines(keepends=True):
        match = LINE.fullmatch(line.removesuffix("\n"))
        if not match or not line.endswith("\n"):
            raise Wrong("the manifest is not well formed")
        lines.append((line.encode(), match[1], match[2]))
    paths = [path.encode() for _, _, path in lines]
    if paths != sorted(set(paths)):
        raise Wrong("the manifest is not sorted, or lists a path twice")
    return lines


def check_manifest(content, lines):
    listed = {path: digest for _, digest, path in lines}
    for path in sorted(set(content) - {"manifest"} ^ set(listed)):
        yield f"{path} is in the manifest or among the files, and not in both"
    for path, digest in listed.items():
        if path in content and hashlib.sha256(content[path]).hexdigest() != digest:
            yield f"{path} is not what the manifest says"


def leaf_data(blind, lines):
    if not re.fullmatch(rb"[0-9a-f]{64}\n", blind):
        raise Wrong("the blind is not well formed")
    bits = bytes.fromhex(blind.decode().strip())
    return b"".join(sha256(sha256(bits, path.encode()), line) for line, _, path in lines)


def check_entry(number, entry):
    if entry["format"] != "asfound-entry/1":
        raise Wrong(f"the format {entry['format']} is not known")
    if entry["number"] != number:
        yield f"it is numbered {entry['number']}"
    if (entry["kind"] == "enrolled") != (number == 1):
        yield "the first entry, and no other, is the enrolment"
    if set(entry) - HEAD_KEYS - {"replayed", "source", "precision"} != SECTIONS[entry["kind"]]:
        yield f"an entry of kind {entry['kind']} has other sections"
    if (entry["kind"] in ("order-opened", "order-extended")) != ("consent" in entry.get("order", {})):
        yield "the terms of an order, and nothing else, have a consent"
    if "estimate" in entry.get("order", {}) and "consent" not in entry["order"]:
        yield "an estimate stands where no consent does"
    before = entry.get("replayed")
    if before is not None and (
        set(before) != {"number", "commit", "recorded", "by"}
        or not re.fullmatch("[0-9a-f]{40}", before["commit"])
        or not 1 < before["number"] <= number
    ):
        yield "what it says of where it stood before is not well formed"
    if not re.fullmatch("[0-9a-f]{64}", entry.get("source", "0" * 64)):
        yield "what it was taken from is not well formed"
    if not re.fullmatch("[0-9a-f]{32}", entry["salt"]):
        yield "the salt is not well formed"
    if not entry["why"].strip():
        yield "it has no reason"


def check_commit(entry, fields, message):
    author = entry["author"]
    recorded = datetime.fromisoformat(entry["recorded"])
    offset = recorded.strftime("%z")[:5]
    # Git trims these from the edges of names and addresses.
    trimmed = [part.strip(" ,:;\"'\\") for part in (author["name"], author.get("email", "not-stated@invalid"))]
    stated = f"{trimmed[0]} <{trimmed[1]}> {int(recorded.timestamp())} {offset}"
    for role in ("author", "committer"):
        if fields[role] != [stated]:
            yield f"the commit's {role} is {fields[role][0]}, the entry says {stated}"
    if not re.match(rf"{entry['number']} {entry['kind']}[ :\n]", message):
        yield "the commit's message does not begin with number and kind"
    _, _, rest = message.partition("\n")
    reason = f"\n{entry['why']}\n"
    if not rest.startswith(reason) or rest[len(reason) :][:1] not in ("", "\n"):
        yield "the commit's message does not give the reason"


def main(arguments):
    if not arguments or not (Path(arguments[0]) / "journals.git").is_dir():
        print(__doc__, file=sys.stderr)
        return 2
    garage = tomllib.loads((Path(arguments[0]) / "garage.toml").read_text())
    if garage["format"] != "asfound-garage/1":
        print(f"the garage has the format {garage['format']}, which is not known")
        return 1
    objects = Objects(Path(arguments[0]) / "journals.git")
    branches = objects.branches()
    wrong = 0
    for oddity in objects.oddities():
        print(oddity)
        wrong += 1
    for tag in arguments[1:] or sorted(tag for tag in branches if TAG.fullmatch(tag)):
        if tag not in branches:
            print(f"{tag}: there is no such journal")
            wrong += 1
            continue
        journal = Journal(objects, tag, Path(arguments[0]) / "allowed_signers")
        checked = journal.examine(branches[tag])
        for line in journal.problems + journal.notes:
            print(f"{tag}: {line}")
        wrong += len(journal.problems)
        chain = journal.tree.chain()
        print(f"{tag}: {checked} entries checked; root over {chain['entries']}: {chain['root']}")
        if journal.signed:
            by = "by keys that allowed_signers trusts" if shutil.which("ssh-keygen") else "checked, as there is no ssh-keygen"
            print(f"{tag}: {journal.signed} signed, {journal.good} {by}")
    objects.close()
    print("something is wrong" if wrong else "nothing is wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
