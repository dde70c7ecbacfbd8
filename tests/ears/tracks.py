"""Holds exported tracks against the events table with ears that are not the program's.

Usage: tracks.py PROGRAM FOLDER CHECK [WORDS...]; each check is a function below.
Prints one line of counts; the first difference ends it with exit code 1.

Times: the events table is held against the oracle elsewhere (events.py); here it is the truth.
"""

import sys

sys.dont_write_bytecode = True

import csv
import io
import itertools
import json
import pathlib
import random
import shutil
import subprocess

import numpy as np

import wavs
from toml_text import toml_text

CEILING = 10 ** (-1 / 20)  # -1 dBFS (design 6)
SIGNALS = ("count", "start", "end")
ATTACK_MS = 5  # design 6: "at most 5 ms of attack"
LONGEST_MS = 500  # no voice is longer; measured in voices.py

# Cues of one ear keep a quarter of a second between them: every voice is heard alone.
APART = {
    "rate": "40 spm",
    "pairing": "opposite-side",
    "kick": "six-beat",
    "cues": ["arm", "kick", "fill", "breath"],
    "breath": {"every": 3, "side": "left"},
    "lead": {"kick": "250 ms"},
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


def headers(bench):
    """Rate, channels, bits and length: three readers and the arithmetic of RIFF agree."""
    name = bench.write(session(APART, TOGETHER))
    held = by_python = 0
    for hz, bits, channels in itertools.product((44_100, 48_000), (16, 24), (2, 1)):
        flags = ["--sample-rate", str(hz), "--bits", str(bits)]
        flags += ["--channels", "stereo" if channels == 2 else "mono", "--files", "per-set"]
        told, paths = bench.export(name, *flags)
        events = bench.events(name, hz)
        for path, file, frames in zip(paths, told["files"], frames_due(events, hz, 3), strict=True):
            facts = (hz, channels, bits, frames)
            for read in (wavs.soxi(path), wavs.ffprobe(path)):
                unless(read == facts, path, "read", read, "due", facts)
            by_wave = wavs.python_wave(path)
            if by_wave is not None:
                by_python += 1
                unless(by_wave[0] == facts, path, "wave read", by_wave[0], "due", facts)
            unless(by_wave is not None or bits > 16, path, "unreadable by wave")
            decoded = [read(path, bits, channels) for read in (wavs.sox_samples, wavs.ffmpeg_samples)]
            decoded += [by_wave[1]] if by_wave else []
            for samples in decoded[1:]:
                unless(np.array_equal(samples, decoded[0]), path, "readers decode differently")
            data = frames * channels * bits // 8
            size = path.stat().st_size
            header, riff_says, data_says = wavs.header_bytes(path)
            due = (44 if bits == 16 else 68) + data
            unless(size == due == file["bytes"], path, "size", size, "due", due, file)
            unless(header == due - data, path, "header of", header)
            unless((riff_says, data_says) == (size - 8, data), path, "says", riff_says, data_says)
            unless(file["frames"] == frames, path, "told", file["frames"])
            unless(abs(file["duration_s"] - frames / hz) <= 5e-7, path, file["duration_s"])
            held += 1
    print(held, "files;", by_python, "read by wave too")


def padding(bench):
    """An odd number of bytes is followed by one byte more, so that the chunk ends on an even place.

    RIFF: chunks are padded to whole 16-bit words, and the pad counts in the file's size only.
    From memory, standard (Multimedia Programming Interface and Data Specifications 1.0, 1991).
    """
    name = bench.write(session({"rate": "60 spm", "swim": "10.00003 s"}))  # 793 801 frames
    flags = ("--bits", "24", "--channels", "mono", "--sample-rate", "44100")
    told, [path] = bench.export(name, *flags)
    (file,), size = told["files"], path.stat().st_size
    data = 3 * file["frames"]
    unless(data % 2 == 1, "this session shows nothing:", file)
    header, riff_says, data_says = wavs.header_bytes(path)
    unless(data_says == data, path, "data of", data_says, "due", data)
    unless(size == header + data + 1, path, "size", size, "due", header + data + 1)
    unless(riff_says == size - 8 and file["bytes"] == size, path, riff_says, file)
    print("padded")


def frames_due(events, hz, division):
    """Frames of each file: cuts at the previous end signal + 1 s, 3 s after the last (design 4, 5).

    `division` is the column whose change begins a file (3 set, 4 repeat) or None for one file.
    """
    cuts, total = [0], 0
    for before, after in itertools.pairwise([e for e in events if e[1] == "end"]):
        if division and before[3 : division + 1] != after[3 : division + 1]:
            cuts.append(before[0] + hz)
    total = max(e[0] for e in events if e[1] == "end") + 3 * hz
    return [b - a for a, b in itertools.pairwise([*cuts, total])]


def joined(bench):
    """Joined end to end the files are the one-file track; names and times are in playing order."""
    sets = [{**APART, "repeats": 2, "swim": "9.7 s"}, TOGETHER, {**TOGETHER, "repeats": 12, "swim": "7.3 s",
            "cues": ["arm", "kick"], "breath": "none"}]
    name = bench.write(session(*sets))
    held = 0
    for hz, bits, channels in ((44_100, 16, 2), (48_000, 24, 1), (44_100, 24, 2)):
        flags = ["--sample-rate", str(hz), "--bits", str(bits)]
        flags += ["--channels", "stereo" if channels == 2 else "mono"]
        _, [whole] = bench.export(name, *flags, "--files", "one", out="one")
        one = samples_of(whole, bits, channels)
        events = bench.events(name, hz)
        unless([len(one)] == frames_due(events, hz, None), "one file of", len(one))
        for files, division in (("per-set", 3), ("per-repeat", 4)):
            _, paths = bench.export(name, *flags, "--files", files, out=files)
            parts = [samples_of(path, bits, channels) for path in paths]
            due = frames_due(events, hz, division)
            unless([len(part) for part in parts] == due, files, [len(p) for p in parts], due)
            unless(np.array_equal(np.concatenate(parts), one), files, "joined differ from one file")
            names = [path.name for path in paths]
            unless(names == sorted(names), "not in playing order:", names)
            found = sorted(p.name for p in (bench.folder / files).glob("*.wav"))
            unless(found == names, "folder holds", found)
            stats = [path.stat() for path in paths]
            times = [stat.st_mtime_ns for stat in stats]
            unless(times == sorted(times), "modified out of playing order")
            if sys.platform == "linux":  # there a file's status changes when it gets its name
                named = [stat.st_ctime_ns for stat in stats]
                unless(named == sorted(named), "named out of playing order")
            held += len(paths)
    print(held, "files joined")


def first_frames(ear, quiet):
    """Onsets: samples over zero after `quiet` frames of exact silence."""
    sounding = np.flatnonzero(ear)
    return sounding[np.diff(sounding, prepend=-quiet - 1) > quiet]


def onsets(bench):
    """Every onset of each ear is where the table has cues, in the right ear, and there are no others.

    A group of cues on one frame of one ear has one constant delay, its own attack, measured at
    its first occurrence; after that the onset may not be off by a frame.
    """
    alone = {**APART, "repeats": 2}
    same = {"rate": "54.3 spm", "pairing": "same-side", "swim": "25.4 s", "first_arm": "right"}
    walls = {"rate": "44 spm", "pairing": "opposite-side", "swim": "75 m", "pace": "1:02 / 100 m",
             "walls": "pause", "cues": ["arm", "wall"], "push_off": "2.5 s", "pool": "25 m"}
    name = bench.write(session(alone, same, walls))
    counts = 0
    for hz, bits, flags in ((44_100, 16, []), (48_000, 24, []), (44_100, 24, ["--swap"])):
        _, [path] = bench.export(
            name, "--sample-rate", str(hz), "--bits", str(bits), "--files", "one", *flags
        )
        samples = samples_of(path, bits, 2)
        events = bench.events(name, hz)
        sides = ("right", "left") if flags else ("left", "right")
        for ear, side in zip(samples.T, sides, strict=True):
            groups = {}
            for frame, kind, where, _, _ in events:
                if where in (side, "both"):
                    groups.setdefault(frame, set()).add(kind)
            frames = sorted(groups)
            found = first_frames(ear, hz // 100)
            unless(len(found) == len(frames), side, "ear:", len(found), "onsets,", len(frames), "due")
            delays = {}
            for frame, at in zip(frames, found, strict=True):
                kinds = frozenset(groups[frame])
                delay = delays.setdefault(kinds, at - frame)
                unless(at - frame == delay, sorted(kinds), "due at", frame, "heard", at - frame, delay)
                unless(0 <= delay <= hz * ATTACK_MS // 1000, sorted(kinds), "heard late:", delay)
            counts += len(found)
    print(counts, "onsets")


def voice_at(folder, kind, side, hz):
    """A voice as it lies in the bank, mono, at its own level."""
    name = kind if side == "both" else f"{kind}-{side}"
    return np.fromfile(folder / f"{name}-{hz}.f32", "<f4").astype(float)


def rebuilt(events, voices, frames, swapped):
    """The track as the plain sum of its voices at the frames of the table, two columns."""
    ears = np.zeros((frames, 2))
    for frame, kind, side, _, _ in events:
        clip = voices[kind, side]
        for column, ear in enumerate(("right", "left") if swapped else ("left", "right")):
            if side in (ear, "both"):
                ears[frame : frame + len(clip), column] += clip[: frames - frame]
    return ears


def sums(bench, voices):
    """A track is one gain times the sum of its voices at the frames of the table, and nothing else.

    So the silence between cues is exactly zero, one gain holds from the first sample to the
    last, and mono is the mean of both ears. Rounding to the format's step is the only freedom.
    """
    name = bench.write(session(APART, TOGETHER, {**TOGETHER, "pairing": "opposite-side", "swim": "19 s",
                               "cues": ["arm", "kick", "fill", "breath"], "lead": "-120 ms"}))
    gains = []
    for hz, bits, flags in (
        (44_100, 16, []), (48_000, 16, ["--swap"]), (44_100, 24, []), (48_000, 24, []),
        (44_100, 16, ["--channels", "mono"]), (48_000, 24, ["--channels", "mono"]),
    ):
        mono = "mono" in flags
        _, [path] = bench.export(
            name, "--sample-rate", str(hz), "--bits", str(bits), "--files", "one", *flags
        )
        samples = samples_of(path, bits, 1 if mono else 2)
        events = bench.events(name, hz)
        clips = {
            (kind, side): voice_at(pathlib.Path(voices), kind, side, hz)
            for kind, side in {event[1:3] for event in events}
        }
        unless(len(clips) == 12, "not every voice sounds:", sorted(clips))
        ears = rebuilt(events, clips, len(samples), "--swap" in flags)
        if mono:
            ears = ears.mean(axis=1, keepdims=True)
        silent = ears == 0
        unless(not samples[silent & padded_silence(ears)].any(), path, "silence is not zero")
        # The one unknown, by least squares: full scale is 2^(bits - 1).
        gain = (samples * ears).sum() / (ears * ears).sum()
        off = np.abs(samples - gain * ears).max()
        # Half a step by rounding, and the noise of single floats in 24 bits.
        unless(off <= (1.0 if bits == 16 else 3.0), path, flags, "off by", off, "steps")
        gains.append(gain / 2 ** (bits - 1))
    unless(np.ptp(gains) < 1e-3 * gains[0], "gains differ:", gains)
    print(len(gains), "tracks rebuilt, gain", f"{gains[0]:.4f}")


def padded_silence(ears):
    """Where the rebuilt track is zero for a millisecond round about, not just passing through."""
    loud = (ears != 0).astype(np.int32)
    reach = np.ones(97, np.int32)
    return np.stack([np.convolve(column, reach, "same") == 0 for column in loud.T], axis=1)


def peaks(bench, swimmer, turn):
    """Every preset: `check` holds, and no sample is over -1 dBFS, by sox and by numpy."""
    forms = itertools.cycle(
        (["--bits", "16"], ["--channels", "mono", "--bits", "16"], ["--bits", "24"],
         ["--sample-rate", "48000", "--bits", "16"], ["--swap", "--bits", "16"])
    )
    loudest = 0
    presets = [p["name"] for p in json.loads(bench.run("list", "presets", "--json"))["presets"]]
    for preset, form in zip(presets, itertools.islice(forms, int(turn), None)):
        bits, channels = (24 if "24" in form else 16), (1 if "mono" in form else 2)
        _, paths = bench.export(preset, "--swimmer", swimmer, "--files", "per-set", *form)
        swapped = ["--swap"] if "--swap" in form else []
        told = json.loads(bench.run("check", "out", preset, "--swimmer", swimmer, "--json", *swapped))
        hz = 48_000 if "48000" in form else told["tracks"][0]["sample_rate_hz"]
        events = bench.events(preset, hz, "--swimmer", swimmer)
        due = {"cues_expected": len(events), "cues_found": len(events), "missing": 0, "extra": 0,
               "worst_error_frames": 0, "ok": True}
        unless({key: told[key] for key in due} == due, preset, told)
        for path in paths:
            loudest = max(loudest, peak_of(path, bits, channels))
    unless(len(presets) >= 12, presets)
    print(len(presets), f"presets, loudest {20 * np.log10(loudest):.2f} dBFS")


def peak_of(path, bits, channels):
    """The largest magnitude, full scale 1: numpy and sox agree, and it is at most -1 dBFS."""
    samples = samples_of(path, bits, channels)
    peak = max(int(samples.max()), -int(samples.min())) / 2 ** (bits - 1)
    unless(peak <= CEILING, path, "peak", peak)
    stats = subprocess.run(["sox", str(path), "-n", "stats"], capture_output=True, text=True)
    (line,) = [line for line in stats.stderr.splitlines() if line.startswith("Pk lev dB")]
    by_sox = float(line.split()[3])
    unless(by_sox <= -1.0, path, "sox says", by_sox)
    unless(abs(by_sox - 20 * np.log10(peak)) <= 0.006, path, by_sox, peak)
    return peak


def loudest(bench, seed, count):
    """The loudest session that a seeded search finds stays at or below -1 dBFS.

    It looks where sounds meet: leads that put hand and foot of one ear on one frame, the same
    with breath, chime and signals, high rates, and cues that begin again at a wall.
    """
    draw = random.Random(seed)
    worst = (0, None)
    for number in range(int(count)):
        spm = draw.choice([40, 80, 100, 120, 150, 160])
        cycle_ms = 120_000 / spm
        pairing = draw.choice(["same-side", "opposite-side"])
        lead = draw.choice([0, 0, cycle_ms / 2, -cycle_ms / 2, draw.uniform(-600, 600)])
        half = max(-300, min(300, lead / 2))
        paused = draw.random() < 0.5
        distance = draw.choice([25.5, 26, 50.1, 75.02])
        keys = {
            "swim": f"{distance} m",
            "pace": draw.choice(["0:50 / 100 m", "1:20 / 100 m", "2:00 / 100 m"]),
            "rate": f"{spm} spm",
            "pairing": pairing,
            "kick": draw.choice(["two-beat", "four-beat", "six-beat"]),
            "cues": ["arm", "kick", "fill", "breath", "wall"],
            "breath": {"every": draw.choice([2, 3]), "side": draw.choice(["left", "right"])},
            "lead": {"arm": f"{half:.6f} ms", "kick": f"{-half:.6f} ms"},
            "push_off": draw.choice(["0 s", "0 s", "0.5 s", "3 s"]),
            "walls": "pause" if paused else "through",
            "first_arm": draw.choice(["left", "right"]),
            "right_entry": draw.choice([0.35, 0.5, 0.65]),
            "catch_after_entry": draw.choice([0.0, 0.1666667, 0.3, 0.5]),
        }
        if draw.random() < 0.3:
            keys["cues"] = [kind for kind in keys["cues"] if kind in ("arm", "wall")]
            del keys["breath"]
        name = bench.write(session(keys))
        for flags in ((), ("--channels", "mono")):
            _, [path] = bench.export(name, "--bits", "16", "--files", "one", *flags)
            worst = max(worst, (peak_of(path, 16, 1 if flags else 2), number))
    print(count, "sessions from", seed, f"loudest {20 * np.log10(worst[0]):.2f} dBFS")


def restarts(bench):
    """Cues that begin again at a wall, a moment after the last ones, stay at or below -1 dBFS.

    Without a push-off a cue can sound into the same cue of the next length: 25 m take ten cycles
    and a little more, so an entry falls just before the wall and another one on it.
    """
    loudest = 0
    for cues, pairing in ((["arm"], "opposite-side"), (["kick"], "opposite-side"),
                          (["arm", "kick"], "same-side"), (["arm", "kick"], "opposite-side")):
        for late_us in (25, 100, 300, 550, 1000):
            for distance in ("25.001 m", "50 m"):
                keys = {"swim": distance, "pool": "25 m", "push_off": "0 s", "rate": "60 spm",
                        "pace": f"{80 + 4e-6 * late_us:.6f} s / 100 m", "walls": "pause",
                        "cues": cues, "pairing": pairing, "catch_after_entry": 0.0}
                name = bench.write(session(keys))
                _, [path] = bench.export(name, "--bits", "16", "--files", "one")
                loudest = max(loudest, peak_of(path, 16, 2))
    print(f"loudest {20 * np.log10(loudest):.2f} dBFS")


def folds(bench):
    """The mono track is the mean of the stereo track's ears, within one step of the format."""
    name = bench.write(session(APART, TOGETHER))
    for bits in (16, 24):
        flags = ("--bits", str(bits), "--files", "one")
        _, [stereo] = bench.export(name, *flags, out="stereo")
        _, [mono] = bench.export(name, *flags, "--channels", "mono", out="mono")
        ears = samples_of(stereo, bits, 2).astype(np.int64)
        fold = samples_of(mono, bits, 1).astype(np.int64)
        off = np.abs(2 * fold[:, 0] - ears.sum(axis=1)).max() / 2
        unless(off <= 1, bits, "bits: off by", off, "steps")
        unless(fold.any(), "silent")
        swapped = samples_of(bench.export(name, *flags, "--swap", out="swap")[1][0], bits, 2)
        unless(np.array_equal(swapped, ears[:, ::-1]), "swapped is not the other way round")
        unless(not np.array_equal(ears[:, 0], ears[:, 1]), "both ears are the same")
    coarse = samples_of(bench.export(name, "--bits", "16", "--files", "one")[1][0], 16, 2)
    off = np.abs(256 * coarse.astype(np.int64) - ears).max() / 256
    unless(off <= 0.51, "16 bits are not 24 bits rounded:", off)
    print("folded, swapped, rounded")


def aubio(bench):
    """aubio's onset finder, which knows nothing of our voices, counts and times them the same."""
    if shutil.which("aubioonset") is None:
        print("skipped: no aubioonset here (Debian: aubio-tools)")
        return
    spm = 56
    keys = {"rate": f"{spm} spm", "swim": "3:00", "pairing": "same-side"}
    name = bench.write(session(keys))
    _, [path] = bench.export(name, "--sample-rate", "44100", "--bits", "16", "--files", "one")
    heard = wavs.called("aubioonset", "-i", str(path), "-O", "energy", "-H", "64").split()
    heard = np.array([float(word) for word in heard])
    events = bench.events(name, 44_100)
    # The end signal has a second, lower tone; aubio may hear it as an onset of its own.
    over = max(event[0] for event in events) / 44_100
    heard = heard[heard < over + 0.05]
    due = np.array(sorted({event[0] for event in events})) / 44_100
    unless(len(heard) == len(due), "aubio heard", len(heard), "of", len(due))
    late_ms = 1000 * (heard - due)
    # A hop is 1.5 ms and the analysis window 11.6 ms (512 frames).
    unless(-2 <= late_ms.min() and late_ms.max() <= 13, "off by", late_ms.min(), late_ms.max(), "ms")
    strokes = sorted({event[0] for event in events if event[1] == "arm"})
    first = np.searchsorted(due, strokes[0] / 44_100)
    rate = 60 * (len(strokes) - 1) / (heard[first + len(strokes) - 1] - heard[first])
    unless(abs(rate - spm) < 0.01, "mean rate", rate)
    print(len(heard), f"onsets, mean rate {rate:.3f} spm")


CHECKS = {
    "headers": headers, "padding": padding, "joined": joined, "onsets": onsets, "sums": sums, "peaks": peaks,
    "loudest": loudest, "restarts": restarts, "folds": folds, "aubio": aubio,
}

if __name__ == "__main__":
    CHECKS[sys.argv[3]](Bench(*sys.argv[1:3]), *sys.argv[4:])
