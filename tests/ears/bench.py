"""The program under test, short sessions to try it on, and what a difference does."""

import csv
import io
import json
import pathlib
import shutil
import subprocess

import wavs
from toml_text import toml_text

# Cues of one ear keep a quarter of a second between them: every voice is heard alone.
APART = {
    "rate": "40 spm",
    "pairing": "opposite-side",
    "kick": "six-beat",
    "cues": ["arm", "kick", "fill", "breath"],
    "breath": {"every": 3, "side": "left"},
    "lead": {"kick": "-250 ms"},
    "swim": "20 s",
}
# Hand and foot in one ear, kicks between, breath and chime on top.
TOGETHER = {
    "rate": "118.7 spm",
    "pairing": "same-side",
    "kick": "six-beat",
    "cues": ["arm", "kick", "fill", "breath", "wall"],
    "breath": {"every": 2, "side": "right"},
    "catch_after_entry": {"left": 0.27, "right": 0.31},
    "swim": "60 m",
    "pace": "1:05 / 100 m",
    "lead": "33 ms",
}


def session(*sets, **defaults):
    return {
        "title": "Held by ear",
        "lead_in": "5 s",
        "defaults": {"rest": "5 s", **defaults},
        "set": [{"name": f"Part {n + 1}", **keys} for n, keys in enumerate(sets)],
    }


class Differs(SystemExit):
    """A track does not hold; ends the script with the reason."""


def unless(holds, *what):
    if not holds:
        raise Differs(" ".join(str(word) for word in what))


class Bench:
    """The program under test and a folder to work in."""

    def __init__(self, program, folder):
        self.program, self.folder = program, pathlib.Path(folder)

    def run(self, *words):
        # These are about the plain track: what is said has tests of its own.
        if words[0] in ("export", "show", "check"):
            words = [*words, "--speech", "off"]
        output = subprocess.run(
            [self.program, *words], cwd=self.folder, capture_output=True, text=True
        )
        unless(output.returncode == 0, words, output.stdout, output.stderr)
        return output.stdout

    def write(self, document, name="session.toml"):
        (self.folder / name).write_text(toml_text(document))
        return name

    def export(self, session, *flags, out="out"):
        """Exports anew; gives what the program says of the files, and their paths in order."""
        shutil.rmtree(self.folder / out, ignore_errors=True)
        told = json.loads(self.run("export", session, "--out", out, "--json", *flags))
        return told, [self.folder / out / file["name"] for file in told["files"]]

    def events(self, session, hz, *flags):
        """The table: (frame, kind, side, set, repeat) a row."""
        text = self.run("show", session, "--events", "--sample-rate", str(hz), *flags)
        rows = csv.DictReader(io.StringIO(text))
        return [
            (int(r["frame"]), r["event"], r["side"], int(r["set"]), int(r["repeat"]))
            for r in rows
        ]


def samples_of(path, bits, channels):
    """Samples by Python's wave, or by sox where that cannot read the header."""
    read = wavs.python_wave(path)
    return wavs.sox_samples(path, bits, channels) if read is None else read[1]
