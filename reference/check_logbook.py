#!/usr/bin/env python3
"""Checks a logbook without the program that wrote it.

    python3 reference/check_logbook.py LOGBOOK.jsonl...
    python3 reference/check_logbook.py --print KEY_FILE < SECRET

Only the standard library. The first form reads exports as JSON Lines and recomputes
from their exact bytes: every body's digest, every replica's chain of head hashes, sequence
numbers, clocks, the name of every file, and the version and variant of every entry's id.
It prints for each the counts and then one problem a line (what, entry, number in its chain); its exit
code is 0 when all holds, else 1. The second prints the fingerprint of a secret under a key.

Sources: SHA-256, FIPS 180-4 (hashlib). HMAC, RFC 2104 (hmac). UUID version 7, RFC 9562,
section 5.7; its variant, section 4.1. JSON, RFC 8259. The rest is the project's own format,
as crates/wire describes it.
"""

import base64
import hashlib
import hmac
import json
import pathlib
import re
import sys
import uuid

ZERO = "0" * 64
HEX_64 = re.compile(r"[0-9a-f]{64}")
HEX_16 = re.compile(r"[0-9a-f]{16}")
LARGEST = 2**63 - 1
WHITE = b" \t\r\n"


def raw_value(text, at):
    """The end of the JSON value that begins at `at`, by RFC 8259 and nothing else."""
    if text[at : at + 1] in (b"{", b"["):
        depth = 0
        while True:
            byte = text[at : at + 1]
            if not byte:
                raise ValueError("the line ends within a value")
            if byte == b'"':
                at = raw_value(text, at)
                continue
            depth += (byte in b"{[") - (byte in b"}]")
            at += 1
            if depth == 0:
                return at
    if text[at : at + 1] == b'"':
        at += 1
        while text[at : at + 1] != b'"':
            if not text[at : at + 1]:
                raise ValueError("the line ends within a text")
            at += 2 if text[at : at + 1] == b"\\" else 1
        return at + 1
    while at < len(text) and text[at] not in WHITE + b",]}":
        at += 1
    return at


def raw_members(line):
    """The members of the object on a line, each value cut out to the exact byte."""
    members = {}
    at = skip(line, 0)
    if line[at : at + 1] != b"{":
        raise ValueError("no object")
    at = skip(line, at + 1)
    while line[at : at + 1] != b"}":
        end = raw_value(line, at)
        key = json.loads(line[at:end])
        at = skip(line, end)
        if line[at : at + 1] != b":":
            raise ValueError("no colon")
        at = skip(line, at + 1)
        end = raw_value(line, at)
        if key in members:
            raise ValueError("a key stands twice")
        members[key] = line[at:end]
        at = skip(line, end)
        if line[at : at + 1] == b",":
            at = skip(line, at + 1)
        elif line[at : at + 1] != b"}":
            raise ValueError("no comma")
    if skip(line, at + 1) != len(line):
        raise ValueError("more after the object")
    return members


def skip(text, at):
    while at < len(text) and text[at] in WHITE:
        at += 1
    return at


def sha256(data):
    return hashlib.sha256(data).hexdigest()


class Logbook:
    """What is read so far, and what is wrong with it."""

    def __init__(self):
        self.entries = []
        self.files = 0
        self.erased = 0
        self.problems = []

    def wrong(self, what, entry="", seq=0):
        self.problems.append(f"{what} {entry} {seq}" if entry else what)

    def line(self, number, line):
        try:
            json.loads(line.decode("utf-8"))  # as strict as a reader can be
            members = raw_members(line)
        except ValueError:
            return self.wrong(f"line {number}")
        if number == 1:
            if members != {"holdfast_logbook": b"1"}:
                self.wrong("header")
        elif "file" in members:
            self.file(members)
        elif members.keys() == {"head", "body"}:
            self.entry(members["head"], members["body"])
        else:
            self.wrong(f"line {number}")

    def file(self, members):
        self.files += 1
        if "text" in members:
            data = json.loads(members["text"]).encode("utf-8")
        else:
            data = base64.b64decode(json.loads(members["base64"]), validate=True)
        if sha256(data) != json.loads(members["file"]):
            self.wrong("file")

    def entry(self, head_text, body_text):
        head = json.loads(head_text)
        name, seq = head["id"], head["seq"]
        self.entries.append((head["replica"], seq, name, head["prev"], sha256(head_text), head["clock"]))
        if body_text == b"null":
            self.erased += 1
        elif sha256(body_text) != head["body_sha256"]:
            self.wrong("body", name, seq)
        one = uuid.UUID(name)
        if str(one) != name or one.version != 7 or one.variant != uuid.RFC_4122:
            self.wrong("id", name, seq)
        # RFC 9562, section 5.7: the first 48 bits are Unix time in milliseconds.
        if one.int >> 80 != head["recorded_ms"]:
            self.wrong("id time", name, seq)
        replica = uuid.UUID(head["replica"])
        if replica.version not in (4, 7) or replica.variant != uuid.RFC_4122:
            self.wrong("replica id", name, seq)
        if not HEX_16.fullmatch(head["clock"]) or int(head["clock"], 16) > LARGEST:
            self.wrong("clock", name, seq)
        if not all(HEX_64.fullmatch(head[key]) for key in ("prev", "body_sha256")):
            self.wrong("digest", name, seq)

    def chains(self):
        """Walks every replica's chain: numbers from 1 on, each naming the hash before it."""
        last = {}
        for replica, seq, name, prev, digest, clock in sorted(self.entries):
            at, here, before, clock_before = last.get(replica, (0, [ZERO], [], ""))
            if seq == at:
                self.wrong("fork", name, seq)
                here = [*here, digest]
            else:
                # Nothing can be said of the link across a gap.
                here, before = [digest], here if seq == at + 1 else [prev]
                if seq != at + 1:
                    self.wrong("gap", name, seq)
                if clock <= clock_before:
                    self.wrong("clock order", name, seq)
            if prev not in before:
                self.wrong("prev", name, seq)
            last[replica] = (seq, here, before, clock)
        return len(last)

    def order(self):
        """An export stands in the order of clocks, ties by id."""
        keys = [(clock, name) for _, _, name, _, _, clock in self.entries]
        if keys != sorted(keys):
            self.wrong("order")
        if len({name for _, name in keys}) != len(keys):
            self.wrong("id twice")


def check(path):
    logbook = Logbook()
    data = pathlib.Path(path).read_bytes()
    for number, line in enumerate(data.split(b"\n"), 1):
        if line:
            logbook.line(number, line)
    replicas = logbook.chains()
    logbook.order()
    print(f"{len(logbook.entries)} entries, {logbook.erased} erased, {replicas} replicas, {logbook.files} files")
    for problem in logbook.problems:
        print(problem)
    return 1 if logbook.problems else 0


def fingerprint(key_file):
    """`print:<key id>:<fingerprint>`, as an export of an inventory writes it."""
    key = pathlib.Path(key_file).read_bytes()
    mac = hmac.new(key, sys.stdin.buffer.read(), hashlib.sha256).digest()
    print(f"print:{sha256(key)[:16]}:{mac[:16].hex()}")
    return 0


if __name__ == "__main__":
    if len(sys.argv) == 3 and sys.argv[1] == "--print":
        sys.exit(fingerprint(sys.argv[2]))
    if len(sys.argv) > 1 and not sys.argv[1].startswith("-"):
        sys.exit(max([check(path) for path in sys.argv[1:]]))
    sys.exit(__doc__)
