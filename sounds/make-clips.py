#!/usr/bin/env python3
"""Speaks every clip of a language's phrase table with flite's voice slt.

    python3 sounds/make-clips.py sounds/en presets

Needs flite (Debian 12: flite 2.2-5, voice slt), Python 3.11 with numpy and scipy. Each clip is
spoken by

    flite -voice slt --setf duration_stretch=0.95 -t WORDS -o CLIP.wav

then cut to where it sounds, faded at both ends, brought to one loudness and written as mono
WAV, 16 kHz, 16 bits. The words are those of phrases.toml, and the names of the sets in the
presets' folder. Licence of the voice: see README.md beside this script.
"""
import pathlib
import re
import subprocess
import sys
import tempfile
import tomllib

import numpy
from scipy.io import wavfile
from scipy.signal import butter, sosfilt

RATE_HZ = 16_000
# RMS of what sounds, above 200 Hz, against full scale. Peaks of speech are some 14 dB above it.
LEVEL_DB = -23.0
# Softer than the loudest stretch by this much is silence at the ends.
SILENCE_DB = -36.0
BLOCK = RATE_HZ // 100


def slug(words):
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")


def fragments(table):
    for template in table["phrases"].values():
        for words in re.split(r"\{[a-z]+\}|\|", template):
            if slug(words):
                yield words.strip()
    numbers = table["numbers"]
    yield from numbers["units"]
    yield from numbers["tens"]
    yield from (numbers[key] for key in ("hundred", "thousand", "point"))


def names(presets):
    for path in sorted(presets.glob("*.toml")):
        for one in tomllib.loads(path.read_text())["set"]:
            if "name" in one:
                yield one["name"]


def levels_db(sound):
    blocks = sound[: len(sound) // BLOCK * BLOCK].reshape(-1, BLOCK)
    return 10 * numpy.log10(numpy.mean(blocks**2, axis=1) + 1e-12)


def spoken(words, folder):
    path = pathlib.Path(folder) / "clip.wav"
    command = ["flite", "-voice", "slt", "--setf", "duration_stretch=0.95", "-t", words, "-o", str(path)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    rate, sound = wavfile.read(path)
    assert rate == RATE_HZ, rate
    sound = sound / 32768
    levels = levels_db(sound)
    loud = numpy.flatnonzero(levels > levels.max() + SILENCE_DB)
    # 10 ms before what sounds and 30 ms after it stay: soft consonants begin and end there.
    sound = sound[max(0, loud[0] - 1) * BLOCK : (loud[-1] + 4) * BLOCK]
    fade = 0.5 - 0.5 * numpy.cos(numpy.pi * numpy.arange(BLOCK) / BLOCK)
    sound[:BLOCK] *= fade
    sound[-BLOCK:] *= fade[::-1]
    heard = sosfilt(butter(2, 200, "highpass", fs=RATE_HZ, output="sos"), sound)
    levels = levels_db(heard)
    active = levels[levels > levels.max() - 15]
    level = 10 * numpy.log10(numpy.mean(10 ** (active / 10)))
    sound *= 10 ** ((LEVEL_DB - level) / 20)
    assert abs(sound).max() < 0.9, words
    # Zero at the first and the last sample: clips join without a click.
    return numpy.concatenate([[0.0], sound, [0.0]])


def main():
    folder, presets = map(pathlib.Path, sys.argv[1:])
    table = tomllib.loads((folder / "phrases.toml").read_text())
    wanted = {slug(words): words for words in [*fragments(table), *names(presets)]}
    for path in folder.glob("*.wav"):
        if path.stem not in wanted:
            path.unlink()
    with tempfile.TemporaryDirectory() as scratch:
        for name, words in sorted(wanted.items()):
            sound = numpy.round(spoken(words, scratch) * 32768).astype(numpy.int16)
            wavfile.write(folder / f"{name}.wav", RATE_HZ, sound)
    print(f"{len(wanted)} clips")


main()
