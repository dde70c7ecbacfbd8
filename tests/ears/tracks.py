"""Holds exported tracks against the events table with ears that are not the program's.

Usage: tracks.py PROGRAM FOLDER CHECK [WORDS...]; each check is a function
here or in levels.py.
Prints one line of counts; the first difference ends it with exit code 1.

Times: the events table is held against the oracle elsewhere (events.py); here it is the truth.
"""

import sys

sys.dont_write_bytecode = True

import itertools
import pathlib

import numpy as np

import levels
import wavs
from bench import APART, TOGETHER, Bench, samples_of, session, unless

ATTACK_MS = 5  # docs/sources.md, "Voices that can be told apart"


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
            readers = (wavs.sox_samples, wavs.ffmpeg_samples)
            decoded = [read(path, bits, channels) for read in readers]
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
    """Frames of each file: cuts at the previous end signal + 1 s, 3 s after the last (docs/rules.md).

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
    many = {"repeats": 12, "swim": "7.3 s", "cues": ["arm", "kick"], "breath": "none"}
    sets = [{**APART, "repeats": 2, "swim": "9.7 s"}, TOGETHER, {**TOGETHER, **many}]
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
    """Every onset is where the table has cues, in the right ear, and there are no others.

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
            unless(len(found) == len(frames), side, len(found), "onsets,", len(frames), "due")
            delays = {}
            for frame, at in zip(frames, found, strict=True):
                kinds = frozenset(groups[frame])
                delay = delays.setdefault(kinds, at - frame)
                unless(at - frame == delay, sorted(kinds), frame, "late by", at - frame, delay)
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
    last, and mono is the sum of both ears, in which what sounds in both has 1.414 times its level
    instead of twice. Rounding to the format's step is the only freedom.
    """
    other = {"pairing": "opposite-side", "swim": "19 s", "cues": APART["cues"], "lead": "-120 ms"}
    name = bench.write(session(APART, TOGETHER, {**TOGETHER, **other}))
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
        if mono:
            for key in clips:
                clips[key] = clips[key] * (0.5**0.5 if key[1] == "both" else 1)
        ears = rebuilt(events, clips, len(samples), "--swap" in flags)
        if mono:
            ears = ears.sum(axis=1, keepdims=True)
        silent = ears == 0
        unless(not samples[silent & padded_silence(ears)].any(), path, "silence is not zero")
        # The one unknown, by least squares: full scale is 2^(bits - 1).
        gain = (samples * ears).sum() / (ears * ears).sum()
        off = np.abs(samples - gain * ears).max()
        # Half a step by rounding, and the noise of single floats in 24 bits.
        unless(off <= (1.0 if bits == 16 else 3.0), path, flags, "off by", off, "steps")
        gains.append(gain / 2 ** (bits - 1))
        # The voices hold their own levels: 1, and 0.955 in one channel.
        due = 0.955 if mono else 1
        unless(abs(gains[-1] - due) < 1e-3, path, flags, "gain", gains[-1], "due", due)
    print(len(gains), "tracks rebuilt, gains", *(f"{gain:.4f}" for gain in gains))


def padded_silence(ears):
    """Where the rebuilt track is zero for a millisecond round about, not just passing through."""
    loud = (ears != 0).astype(np.int32)
    reach = np.ones(97, np.int32)
    return np.stack([np.convolve(column, reach, "same") == 0 for column in loud.T], axis=1)


def folds(bench):
    """One channel is one ear alone where that is asked for; swapped is the other way round."""
    name = bench.write(session(APART, TOGETHER))
    for bits in (16, 24):
        flags = ("--bits", str(bits), "--files", "one")
        _, [stereo] = bench.export(name, *flags, out="stereo")
        ears = samples_of(stereo, bits, 2).astype(np.int64)
        for column, ear in enumerate(("left", "right")):
            _, [path] = bench.export(name, *flags, "--channels", ear, out=ear)
            alone = samples_of(path, bits, 1)
            unless(alone.any() and np.array_equal(alone[:, 0], ears[:, column]), ear, bits)
        swapped = samples_of(bench.export(name, *flags, "--swap", out="swap")[1][0], bits, 2)
        unless(np.array_equal(swapped, ears[:, ::-1]), "swapped is not the other way round")
        unless(not np.array_equal(ears[:, 0], ears[:, 1]), "both ears are the same")
    coarse = samples_of(bench.export(name, "--bits", "16", "--files", "one")[1][0], 16, 2)
    off = np.abs(256 * coarse.astype(np.int64) - ears).max() / 256
    unless(off <= 0.51, "16 bits are not 24 bits rounded:", off)
    print("one ear, swapped, rounded")


def aubio(bench):
    """aubio's onset finder, which knows nothing of our voices, counts and times them the same."""
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
    early, late = late_ms.min(), late_ms.max()
    unless(-2 <= early and late <= 13, "off by", early, late, "ms")
    strokes = sorted({event[0] for event in events if event[1] == "arm"})
    first = np.searchsorted(due, strokes[0] / 44_100)
    rate = 60 * (len(strokes) - 1) / (heard[first + len(strokes) - 1] - heard[first])
    unless(abs(rate - spm) < 0.01, "mean rate", rate)
    print(len(heard), f"onsets, mean rate {rate:.3f} spm")


CHECKS = {
    "headers": headers,
    "padding": padding,
    "joined": joined,
    "onsets": onsets,
    "sums": sums,
    "folds": folds,
    "aubio": aubio,
    "peaks": levels.peaks,
    "loudest": levels.loudest,
    "restarts": levels.restarts,
}

if __name__ == "__main__":
    CHECKS[sys.argv[3]](Bench(*sys.argv[1:3]), *sys.argv[4:])
