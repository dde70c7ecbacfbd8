"""Holds the events table that the program prints against the oracle, row by row.

Usage: events.py PROGRAM FOLDER cases PATTERN...      named cases (shell patterns)
       events.py PROGRAM FOLDER hours SPM HZ          every event of twelve hours
       events.py PROGRAM FOLDER shipped DIR           every preset with every invented swimmer,
                                                      their files in DIR as JSON
       events.py PROGRAM FOLDER random SEED COUNT     seeded random sessions
Prints one line of counts; the first difference ends it with exit code 1.
"""

import sys

sys.dont_write_bytecode = True

import fnmatch
import itertools
import json
import pathlib
import subprocess
from collections import Counter
from fractions import Fraction

import cases
import generator
import oracle
import resolve
from toml_text import toml_text

HEADER = "frame,time_s,event,side,set,repeat,cycle,phase_cycle"
FLAGS = {"rate": "--stroke-rate", "pairing": "--pairing", "kick": "--kick"}
RATES_HZ = (44_100, 48_000)


class Differs(Exception):
    """The program and the oracle do not agree."""


def run(program, folder, case, hz):
    """What `show --events` prints for a case, or its refusal."""
    session, swimmer, flags = case
    (folder / "session.toml").write_text(toml_text(session))
    command = [program, "show", "session.toml", "--events", "--sample-rate", str(hz)]
    if swimmer is not None:
        (folder / "swimmer.toml").write_text(toml_text(swimmer))
        command += ["--swimmer", "swimmer.toml"]
    command += [f"{FLAGS[key]}={value}" for key, value in flags.items()]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True)


def parsed(line, hz):
    """One printed row, its time held against its frame."""
    frame, time, kind, side, number, repeat, cycle, phase = line.split(",")
    whole, decimals = time.split(".")
    micros = int(whole + decimals)
    # time_s = frame / rate to 6 decimals: within half of the last one (arithmetic).
    if len(decimals) != 6 or 2 * abs(micros * hz - int(frame) * 1_000_000) > hz:
        raise Differs(f"time_s is not frame / rate: {line}")
    return int(frame), kind, side, int(number), int(repeat), cycle, phase


def phase_fits(text, phase):
    """Is this the phase to 6 decimals?"""
    if phase is None:
        return text == ""
    return len(text) == 8 and abs(Fraction(text) - phase) * 2_000_000 <= 1


def compare(printed, expected, hz):
    """Every row, in its order. Raises Differs with the first that does not fit."""
    lines = printed.split("\n")
    if lines[0] != HEADER or lines[-1] != "":
        raise Differs(f"header {lines[0]!r}, last line {lines[-1]!r}")
    got = [parsed(line, hz) for line in lines[1:-1]]
    order = [
        (frame, oracle.KINDS.index(kind), number, repeat, oracle.SIDES.index(side))
        for frame, kind, side, number, repeat, _, _ in got
    ]
    if order != sorted(order):
        first = next(i for i in range(1, len(order)) if order[i - 1] > order[i])
        raise Differs(f"rows out of order: {lines[first]} | {lines[first + 1]}")
    if not all(row.exact for row in expected):
        # Inside a ramp by time one frame more or less is equal, and may change places.
        def place(row):
            return row[3], row[4], row[1], row[2], row[5] and int(row[5]), row[0]

        got.sort(key=lambda row: tuple(-1 if part == "" else part for part in place(row)))
        expected = sorted(
            expected,
            key=lambda row: (
                row.set, row.repeat, row.kind, row.side,
                -1 if row.cycle is None else row.cycle, row.frame,
            ),
        )
    fits = {}  # phases are few and rows are many
    for have, want in itertools.zip_longest(got, expected):
        if have is None or want is None:
            raise Differs(f"{len(got)} rows, expected {len(expected)}; printed {have}, due {want}")
        frame, kind, side, number, repeat, cycle, phase = have
        off = abs(frame - want.frame)
        key = (phase, want.phase)
        if key not in fits:
            fits[key] = phase_fits(*key)
        same = (kind, side, number, repeat) == (want.kind, want.side, want.set, want.repeat)
        same_cycle = cycle == ("" if want.cycle is None else str(want.cycle))
        if off > (0 if want.exact else 1) or not (same and same_cycle and fits[key]):
            raise Differs(f"printed {have}, due {want}")
    return Counter(kind for _, kind, *_ in got)


def hold(program, folder, name, case, rates_hz=RATES_HZ, shipped=None):
    """One case at each sample rate; gives the counts of its events, or of its refusal."""
    counts = Counter()
    for hz in rates_hz:
        try:
            expected, refusal = oracle.rows_of(*[part or {} for part in case], hz), None
        except resolve.Refused as refused:
            refusal = refused
        if shipped:
            command = [program, "show", shipped[0], "--swimmer", shipped[1], "--events"]
            command += ["--sample-rate", str(hz)]
            output = subprocess.run(command, cwd=folder, capture_output=True, text=True)
        else:
            output = run(program, folder, case, hz)
        try:
            if refusal is not None:
                named = not refusal.args or any(word in output.stderr for word in refusal.args)
                if output.returncode != 2 or not named:
                    raise Differs(f"not refused for {refusal}: {output.stderr}")
                return Counter(refused=1)
            if output.returncode != 0:
                raise Differs(output.stderr)
            counts += compare(output.stdout, expected, hz)
        except Differs as difference:
            texts = "\n---\n".join(toml_text(part) for part in case if part)
            sys.exit(f"{name}, {hz} Hz: {difference}\n{texts[:6000]}")
    return counts


def read_json(path):
    """A shipped file, its decimals exact."""
    return json.loads(path.read_text(), parse_float=Fraction)


def main(program, folder, what, *words):
    folder = pathlib.Path(folder)
    counts, held = Counter(), 0
    if what == "shipped":
        for file in sorted(pathlib.Path(words[0]).glob("*.json")):
            for swimmer in sorted(pathlib.Path(words[0]).glob("swimmers/*.json")):
                names = file.stem, swimmer.stem
                case = (read_json(file), read_json(swimmer), {})
                counts += hold(program, folder, " ".join(names), case, shipped=names)
                held += 1
    else:
        rates_hz = RATES_HZ
        if what == "cases":
            names = [n for n in cases.CASES if any(fnmatch.fnmatchcase(n, w) for w in words)]
            work = [(name, cases.CASES[name]) for name in names]
        elif what == "hours":
            rates_hz = [int(words[1])]
            pairings = ("same-side", "opposite-side")
            work = [(p, cases.twelve_hours(words[0], pairing=p)) for p in pairings]
        else:
            work = generator.sessions(words[0], int(words[1]))
        for name, case in work:
            counts += hold(program, folder, name, case, rates_hz)
            held += 1
    print(held, *(f"{kind}={n}" for kind, n in sorted(counts.items())))


if __name__ == "__main__":
    main(*sys.argv[1:])
