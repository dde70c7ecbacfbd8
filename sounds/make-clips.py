#!/usr/bin/env python3
"""Speaks every clip of a language: its phrase table, and what the presets say.

    python3 sounds/make-clips.py sounds/en presets [--errors]

Needs Python 3.11, numpy, scipy and ffmpeg with libvorbis, and from PyPI hibari-tts 0.2.1, whose wheel
holds the voice (licence: README.md beside this script). Sentences are those into which the program
splits a text. Each is spoken, cut to where it sounds, made clear and loud by the steps below, and
written as mono Ogg Vorbis, 24 kHz, quality 2. clips.csv beside the clips says which words each
holds and by which steps it was made: one whose words and steps are the same is not made again.

--errors has a recogniser (PyPI: pocketsphinx) write down what it hears in the clips of three words and
more, clean and in the noise of a pool, and prints the share of words that it gets wrong.
"""
import csv
import hashlib
import inspect
import pathlib
import re
import subprocess
import sys
import tempfile
import tomllib

import numpy
from scipy import signal
from scipy.ndimage import minimum_filter1d

RATE_HZ = 24_000
VOICE = ("hibari-tts", "0.2.1", "heart")
# K125 in both ears, LUFS, of the loudest 125 ms of every clip: that of the start signal.
LEVEL_LUFS = -19.31
# Softer than the loudest 10 ms by this much is silence at the ends.
SILENCE_DB = -36.0
BLOCK = RATE_HZ // 100
QUALITY = "2"


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


def sentences(text):
    return [found.strip() for found in re.findall(r"[^.!?;:]*[.!?;:]|[^.!?;:]+$", text) if slug(found)]


def of_presets(presets):
    for path in sorted(presets.glob("*.toml")):
        for one in tomllib.loads(path.read_text())["set"]:
            if "name" in one:
                yield one["name"]
            yield from sentences(one.get("say", ""))


def k_weighted(sound):
    """BS.1770's two filters, from their analogue forms."""
    f0, gain_db, q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
    k = numpy.tan(numpy.pi * f0 / RATE_HZ)
    high = 10 ** (gain_db / 20)
    band = high**0.4996667741545416
    over = 1 + k / q + k * k
    b = numpy.array([high + band * k / q + k * k, 2 * (k * k - high), high - band * k / q + k * k]) / over
    sound = signal.lfilter(b, [1, 2 * (k * k - 1) / over, (1 - k / q + k * k) / over], sound)
    f0, q = 38.13547087602444, 0.5003270373238773
    k = numpy.tan(numpy.pi * f0 / RATE_HZ)
    over = 1 + k / q + k * k
    return signal.lfilter([1, -2, 1], [1, 2 * (k * k - 1) / over, (1 - k / q + k * k) / over], sound)


def k125_lufs(sound):
    """The largest exponential mean over 125 ms, heard in both ears."""
    share = 1 - numpy.exp(-1 / (0.125 * RATE_HZ))
    power = k_weighted(numpy.pad(sound, (0, RATE_HZ // 8))) ** 2
    return -0.691 + 10 * numpy.log10(2 * signal.lfilter([share], [1, share - 1], power).max())


def trimmed(sound):
    blocks = sound[: len(sound) // BLOCK * BLOCK].reshape(-1, BLOCK)
    levels = 10 * numpy.log10(numpy.mean(blocks**2, axis=1) + 1e-12)
    loud = numpy.flatnonzero(levels > levels.max() + SILENCE_DB)
    # 20 ms before what sounds and 40 ms after it stay: soft consonants begin and end there.
    return sound[max(0, loud[0] - 2) * BLOCK : (loud[-1] + 5) * BLOCK]


def clear(sound):
    """Without rumble, with more consonants: they are what a leaky earpiece and noise take first."""
    sound = signal.sosfilt(signal.butter(2, 180, "highpass", fs=RATE_HZ, output="sos"), sound)
    # A high shelf of 6 dB at 1.5 kHz, slope 0.7 (the usual biquad of audio equalisers).
    a = 10 ** (6 / 40)
    w = 2 * numpy.pi * 1500 / RATE_HZ
    root = numpy.sqrt(a) * numpy.sin(w) * numpy.sqrt((a + 1 / a) * (1 / 0.7 - 1) + 2)
    cos = numpy.cos(w)
    over = (a + 1) - (a - 1) * cos + root
    b = [a * ((a + 1) + (a - 1) * cos + root), -2 * a * ((a - 1) + (a + 1) * cos), a * ((a + 1) + (a - 1) * cos - root)]
    return signal.lfilter(numpy.array(b) / over, [1, 2 * ((a - 1) - (a + 1) * cos) / over, ((a + 1) - (a - 1) * cos - root) / over], sound)


def compressed(sound):
    """3 to 1 above 15 dB under the loud parts; 3 ms to come down, 80 ms to come back."""
    mean = numpy.convolve(sound**2, numpy.ones(BLOCK) / BLOCK, "same")
    level = 10 * numpy.log10(mean + 1e-12)
    loud = numpy.percentile(level[level > level.max() - 30], 95)
    wanted = -numpy.maximum(level - (loud - 15), 0) * (1 - 1 / 3)
    down, back = numpy.exp(-1 / (0.003 * RATE_HZ)), numpy.exp(-1 / (0.08 * RATE_HZ))
    gain, now = numpy.empty_like(wanted), 0.0
    for at, aim in enumerate(wanted):
        keep = down if aim < now else back
        now = keep * now + (1 - keep) * aim
        gain[at] = now
    return sound * 10 ** (gain / 20)


def limited(sound):
    """No peak over 8 dB above the loudest 125 ms in one ear; the gain looks 4 ms ahead."""
    ceiling = 10 ** ((k125_lufs(sound) - 10 * numpy.log10(2) + 0.691 + 8) / 20)
    gain = numpy.minimum(1, ceiling / numpy.maximum(abs(sound), 1e-9))
    ahead = RATE_HZ * 4 // 1000
    window = numpy.hanning(2 * ahead + 1)
    gain = numpy.pad(minimum_filter1d(gain, 2 * ahead + 1), ahead, mode="edge")
    return sound * numpy.convolve(gain, window / window.sum(), "valid")


def spoken(words, voice):
    ended = re.sub(r"[-;:]$", "", words)
    ended += "" if ended[-1] in ".!?" else "."
    sound = limited(compressed(clear(trimmed(numpy.asarray(voice(ended, seed=0), float)))))
    sound *= 10 ** ((LEVEL_LUFS - k125_lufs(sound)) / 20)
    fade = 0.5 - 0.5 * numpy.cos(numpy.pi * numpy.arange(BLOCK) / BLOCK)
    sound[:BLOCK] *= fade
    sound[-BLOCK:] *= fade[::-1]
    assert abs(sound).max() < 0.5, words
    # Silence at both ends: clips join without a click.
    return numpy.pad(sound, BLOCK // 2)


def write(path, sound):
    command = ["ffmpeg", "-v", "error", "-y", "-f", "f32le", "-ar", str(RATE_HZ), "-ac", "1", "-i", "-"]
    command += ["-c:a", "libvorbis", "-q:a", QUALITY, "-flags", "+bitexact", "-fflags", "+bitexact", str(path)]
    subprocess.run(command, input=sound.astype("<f4").tobytes(), check=True)


def write_level(path, sound):
    """At this quality a clip comes out a decibel louder than it went in: what comes out counts."""
    gain_db = 0.0
    for _ in range(3):
        write(path, sound * 10 ** (gain_db / 20))
        gain_db += LEVEL_LUFS - k125_lufs(read(path))


def read(path):
    command = ["ffmpeg", "-v", "error", "-i", str(path), "-f", "f32le", "-"]
    return numpy.frombuffer(subprocess.run(command, capture_output=True, check=True).stdout, "<f4")


STEPS = (k_weighted, k125_lufs, trimmed, clear, compressed, limited, spoken, write, write_level)
RECIPE = repr((RATE_HZ, VOICE, LEVEL_LUFS, SILENCE_DB, QUALITY)) + "".join(map(inspect.getsource, STEPS))


def made_by(words):
    return hashlib.sha256((words + "\n" + RECIPE).encode()).hexdigest()[:16]


def make(folder, wanted):
    table = folder / "clips.csv"
    rows = csv.DictReader(table.open()) if table.exists() else []
    before = {row["clip"]: row["made"] for row in rows}
    for path in folder.glob("*.ogg"):
        if path.stem not in wanted:
            path.unlink()
    stale = [name for name, words in wanted.items() if before.get(name) != made_by(words) or not (folder / f"{name}.ogg").exists()]
    if stale:
        from hibari import Hibari

        voice = Hibari(voice=VOICE[2])
        for name in stale:
            write_level(folder / f"{name}.ogg", spoken(wanted[name], voice))
    with table.open("w", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(("clip", "words", "made"))
        writer.writerows((name, words, made_by(words)) for name, words in sorted(wanted.items()))
    size = sum(path.stat().st_size for path in folder.glob("*.ogg"))
    print(f"{len(wanted)} clips, {len(stale)} of them made now, {size / 1e6:.2f} MB")


def pool_noise(length, rate_hz):
    """Noise with the octave levels of a loud pool (85 dBA, from memory), K-weighted power 1."""
    centres = numpy.array([63, 125, 250, 500, 1000, 2000, 4000, 8000.0])
    levels = numpy.array([66, 72, 77, 81, 81, 77.5, 71, 62]) - 10 * numpy.log10(centres)
    bins = numpy.fft.rfftfreq(length, 1 / rate_hz)
    bins[0] = 1
    shape = 10 ** (numpy.interp(numpy.log2(bins), numpy.log2(centres), levels) / 20)
    noise = numpy.fft.irfft(numpy.fft.rfft(numpy.random.default_rng(3).standard_normal(length)) * shape)
    return noise / numpy.sqrt(numpy.mean(k_weighted(noise) ** 2))


def misheard(said, heard):
    costs = list(range(len(heard) + 1))
    for row, word in enumerate(said, 1):
        before, costs[0] = costs[0], row
        for at, other in enumerate(heard, 1):
            before, costs[at] = costs[at], min(costs[at] + 1, costs[at - 1] + 1, before + (word != other))
    return costs[-1]


def errors(folder, wanted):
    from pocketsphinx import Decoder

    texts = {name: slug(words).split("-") for name, words in wanted.items()}
    texts = {name: words for name, words in texts.items() if len(words) >= 3}
    grammar = "#JSGF V1.0;\ngrammar g;\npublic <s> = (%s)+;\n" % " | ".join(sorted({w for words in texts.values() for w in words}))
    narrow = {"beam": 1e-30, "wbeam": 1e-15, "pbeam": 1e-30, "maxhmmpf": 1000, "ds": 2, "topn": 2}
    with tempfile.TemporaryDirectory() as scratch:
        loop = pathlib.Path(scratch) / "any-words.jsgf"
        loop.write_text(grammar)
        decoder = Decoder(samprate=16000, lm=None, jsgf=str(loop), loglevel="FATAL", **narrow)
    noise = pool_noise(RATE_HZ * 60, RATE_HZ)
    for under_db in (None, 25):
        wrong = words_said = 0
        for place, (name, said) in enumerate(sorted(texts.items())):
            sound = numpy.pad(read(folder / f"{name}.ogg"), RATE_HZ // 10) * 10 ** (-(LEVEL_LUFS - 2.32) / 20)
            if under_db:
                at = place * 7919 % (RATE_HZ * 30)
                sound = sound + noise[at : at + len(sound)] * 10 ** (-under_db / 20)
            sound = signal.resample_poly(sound, 2, 3)
            decoder.start_utt()
            decoder.process_raw((sound / abs(sound).max() * 16000).astype(numpy.int16).tobytes(), full_utt=True)
            decoder.end_utt()
            heard = decoder.hyp().hypstr.split() if decoder.hyp() else []
            wrong += misheard(said, heard)
            words_said += len(said)
        where = f"noise {under_db} dB under the loudest 125 ms" if under_db else "clean"
        print(f"{where}: {wrong} of {words_said} words wrong, {wrong / words_said:.2f}", flush=True)


def main():
    folder, presets = map(pathlib.Path, sys.argv[1:3])
    table = tomllib.loads((folder / "phrases.toml").read_text())
    wanted = {slug(words): words for words in [*fragments(table), *of_presets(presets)]}
    make(folder, wanted)
    if "--errors" in sys.argv[3:]:
        errors(folder, wanted)


main()
