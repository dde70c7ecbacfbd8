"""How loud cues are: each voice, and whole exported tracks, with numpy and scipy.

Levels are the largest exponential mean over 125 ms of K-weighted power (ITU-R BS.1770), summed
over both ears, less 0.691 dB. Ways of hearing, the noise of a pool and its masking are a model from
memory (docs/sources.md, "Loudness and hearing"): good for comparing, no proof of what is heard.
"""

import csv
import io
import json
import pathlib
import shutil
import subprocess
import sys

import numpy as np
import scipy.signal as ss

from bench import session, unless
from toml_text import toml_text

# The targets, dB over hand and foot of one ear together. They are ours, set from what the voices reach.
PAIR, PAIR_OFF, PAIR_SPREAD = -20.6, 0.6, 0.6
OVER_PAIR = {"start": (0, 3), "count": (-3, 3), "end": (-4, 3), "wall": (-7, 0),
             "fill": (-8.5, -5.5), "breath": (-6, -3)}
SPEECH = (-1, 3)  # its loudest sentence; the softest is 3 dB less at the least
OVER_START, FOLDED_START = 0.5, 6.0
TRUE_PEAK = -1.0
BOTH = {"start", "count", "end", "wall"}
BOTH_EARS_DB = 10 * np.log10(2)


def k_weighted(x, fs):
    """The two filters of BS.1770 at any rate."""
    def biquad(b, hz, q):
        k = np.tan(np.pi * hz / fs)
        over = 1 + k / q + k * k
        return np.array(b(k, q)), [1, 2 * (k * k - 1) / over, (1 - k / q + k * k) / over], over
    high = 10 ** (3.999843853973347 / 20)
    band = high**0.4996667741545416
    b, a, over = biquad(lambda k, q: [high + band * k / q + k * k, 2 * (k * k - high),
                                      high - band * k / q + k * k],
                        1681.974450955533, 0.7071752369554196)
    x = ss.lfilter(b / over, a, x, axis=0)
    b, a, _ = biquad(lambda k, q: [1, -2, 1], 38.13547087602444, 0.5003270373238773)
    return ss.lfilter(b, a, x, axis=0)


def envelope(x, fs):
    """The mean of 125 ms at each frame, both ears summed, dB. `x` has a column an ear."""
    share = 1 - np.exp(-1 / (0.125 * fs))
    power = ss.lfilter([share], [1, share - 1], (k_weighted(x, fs) ** 2).sum(axis=1))
    return -0.691 + 10 * np.log10(np.maximum(power, 1e-20))


def level(x, fs):
    """Of one sound in one ear."""
    return envelope(np.pad(x, (0, int(0.15 * fs)))[:, None], fs).max()


def true_peak(x):
    return max(np.abs(ss.resample_poly(column, 4, 1)).max() for column in x.T)


def row(told, name, value, low=-np.inf, high=np.inf):
    """A line of the table; what is out of its range ends it in FAIL."""
    holds = low - 1e-9 <= value <= high + 1e-9
    told.append(f"{'pass' if holds else 'FAIL'}  {name:52s} {value:8.2f}  [{low:g}, {high:g}]")
    return holds


# ---- one voice by itself

FS, NF = 48_000, 1 << 14
F = np.fft.rfftfreq(NF, 1 / FS)
BANDS = np.array([(10 ** (n / 21.4) - 1) / 4.37 * 1000 for n in np.arange(7, 33.01, 0.5)])
ERB = 24.7 * (4.37 * BANDS / 1000 + 1)
FILTERS = np.array([(1 + ((F - hz) / (1.019 * erb)) ** 2) ** -4 for hz, erb in zip(BANDS, ERB)])
OCTAVES = np.array([63, 125, 250, 500, 1e3, 2e3, 4e3, 8e3])
NOISE_DB = np.array([66, 72, 77, 81, 81, 77.5, 71, 62])  # a loud pool, 85 dBA
DENSITY = np.interp(np.log2(BANDS), np.log2(OCTAVES),
                    NOISE_DB - 10 * np.log10(OCTAVES * (2**0.5 - 2**-0.5)))


def passes(kind, hz, order=2):
    sections = ss.butter(order, hz, kind, fs=FS, output="sos")
    return np.abs(ss.sosfreqz(sections, worN=F, fs=FS)[1])


WAYS = {  # what is carried, and how much of the noise is kept out, dB
    "in-ear": (np.ones(len(F)), 15),
    "leaky in-ear": (passes("hp", 1000), 5),
    "bone conduction": (passes("hp", 600) * passes("lp", 2000), 10),
    "small speaker": (passes("hp", 350) * passes("lp", 8000, 1), 0),
}
# Full scale at the ear, dB SPL, that a sound may need by this model; what the voices reach and a little.
NEED = {"arm": 106, "kick": 108, "fill": 112, "breath": 111, "wall": 110,
        "count": 110, "start": 110, "end": 110}
NEAREST, OWN_BAND = 8.5, 8


def excitation(x, way):
    power = (np.abs(np.fft.rfft(x, NF)) * WAYS[way][0]) ** 2 * 2 / NF
    return 10 * np.log10(FILTERS @ power / FS + 1e-16)


def need(x, way):
    """Full scale, dB SPL, that lifts a sound 13 dB over its masked threshold (10 dB over the noise)."""
    return (DENSITY + 10 + 13 - 10 * np.log10(2) - excitation(x, way)).min()


def features(x, way):
    """What an ear makes of it: excitation over four stretches of its first 220 ms."""
    x = np.pad(x, (0, int(0.25 * FS)))
    times = (0, 0.02), (0.02, 0.06), (0.06, 0.12), (0.12, 0.22)
    found = np.array([excitation(x[int(a * FS):int(b * FS)], way) for a, b in times])
    return found - found.max()


def distance(one, other):
    heard = (one > -20) | (other > -20)
    return np.sqrt(np.mean((np.clip(one, -20, 0) - np.clip(other, -20, 0))[heard] ** 2))


def own_band(one, other):
    """By how much a sound exceeds another where it is strong itself."""
    return (one - other)[one > one.max() - 15].max()


SIDES = ("left", "right")


def read_voices(folder):
    return {path.stem: np.fromfile(path, "<f4").astype(float)
            for path in sorted(pathlib.Path(folder).glob("*.f32"))}


def voices(_program, _folder, given):
    """The shipped voices, at 48 kHz as given in a folder, against the targets."""
    voice, told = read_voices(given), []
    unless(len(voice) == 12, "voices:", sorted(voice))
    padded = {name: np.pad(x, (0, FS - len(x))) for name, x in voice.items()}
    pairs = [level(padded[f"arm-{a}"] + padded[f"kick-{b}"], FS) for a in SIDES for b in SIDES]
    pair = np.mean(pairs)
    row(told, "hand and foot in one ear", pair, PAIR - PAIR_OFF, PAIR + PAIR_OFF)
    row(told, "spread of left and right", np.ptp(pairs), 0, PAIR_SPREAD)
    for name, x in voice.items():
        kind = name.split("-")[0]
        if kind in OVER_PAIR:
            both = BOTH_EARS_DB if kind in BOTH else 0
            row(told, f"{name} over the pair", level(x, FS) + both - pair, *OVER_PAIR[kind])
    near = [(f"{kind}-left", f"{kind}-right") for kind in ("arm", "kick", "fill", "breath")]
    near += [(f"{one}-{a}", f"{other}-{b}") for a in SIDES for b in SIDES
             for one, other in (("arm", "kick"), ("kick", "fill"), ("arm", "fill"), ("arm", "breath"))]
    near += [("wall", "start"), ("fill-left", "count")]
    for way in WAYS:
        felt = {name: features(x, way) for name, x in voice.items()}
        spread = {name: excitation(x, way) for name, x in voice.items()}
        least, one, other = min((distance(felt[a], felt[b]), a, b) for a, b in near)
        row(told, f"{way}: nearest voices {one}, {other}", least, NEAREST)
        least = min(own_band(spread[x], spread[y]) for a in SIDES for b in SIDES
                    for x, y in ((f"arm-{a}", f"kick-{b}"), (f"kick-{b}", f"arm-{a}")))
        row(told, f"{way}: own band of hand and foot at once", least, OWN_BAND)
        for kind, most in NEED.items():
            names = [name for name in voice if name.split("-")[0] == kind]
            row(told, f"{way}: {kind} needs", max(need(voice[name], way) for name in names),
                high=most)
    finish(told)


def heard(program, folder, given):
    """What `show` says of hearing is what this model makes of the voices, to 1 dB."""
    voice = read_voices(given)
    everything = {"rate": "60 spm", "swim": "50 m", "pace": "2:00 / 100 m", "kick": "six-beat",
                  "cues": ["arm", "kick", "fill", "breath", "wall"], "breath": {"every": 3}}
    (pathlib.Path(folder) / "all.toml").write_text(toml_text(session(everything)))
    shown = json.loads(run(program, folder, "show", "all.toml", "--speech", "off", "--json"))
    kinds = {"hand": ["arm"], "foot": ["kick"], "kick between": ["fill"], "breath": ["breath"],
             "wall": ["wall"], "signals": ["count", "start", "end"]}

    def needed(way, sound):
        names = [name for name in voice if name.split("-")[0] in kinds[sound]]
        return max(need(voice[name], way) for name in names) - WAYS[way][1]

    least = needed("in-ear", "hand")
    unless(len(shown["hearing"]) == len(kinds) * len(WAYS), shown["hearing"])
    for told in shown["hearing"]:
        due = needed(told["listening"], told["sound"]) - least
        unless(abs(told["needs_more_db"] - due) <= 1.0, told, "due", round(due, 1))
    print(len(shown["hearing"]), "ways of hearing a sound")


# ---- tracks

SHORT = [
    session({"rate": "48 spm", "swim": "25 s", "pairing": "same-side", "repeats": 2}),
    session({"rate": "54 spm", "swim": "50 m", "pace": "1:20 / 100 m", "pairing": "opposite-side",
             "cues": ["arm", "kick", "wall"]}),
    session({"rate": "60 spm", "swim": "30 s", "kick": "six-beat", "breath": {"every": 3},
             "cues": ["arm", "kick", "fill", "breath"]}),
]
MOST = 60  # of each kind, spread over the track


def run(program, folder, *words):
    output = subprocess.run([program, *words], cwd=folder, capture_output=True, text=True)
    unless(output.returncode == 0, words, output.stdout, output.stderr)
    return output.stdout


def short(program, folder):
    """A few invented sessions in every form."""
    told = []
    for number, document in enumerate(SHORT):
        document["lead_in"] = "40 s"
        name = f"short-{number}.toml"
        (pathlib.Path(folder) / name).write_text(toml_text(document))
        for channels in ("stereo", "mono", "left"):
            told += track(program, folder, name, [], channels)
    finish(told)


def presets(program, folder, swimmer, *rates):
    """Every preset for a swimmer, at each rate ("own" is the preset's), in every form."""
    told = []
    listed = json.loads(run(program, folder, "list", "presets", "--json"))["presets"]
    for preset in listed:
        for rate in rates:
            flags = ["--swimmer", swimmer]
            flags += [] if rate == "own" else ["--stroke-rate", rate]
            for channels in ("stereo", "mono", "left"):
                told += track(program, folder, preset["name"], flags, channels)
    finish(told)


def track(program, folder, name, flags, channels):
    """One exported file against the targets."""
    folder = pathlib.Path(folder)
    out = folder / "out"
    shutil.rmtree(out, ignore_errors=True)
    fs = 44_100
    form = ["--channels", channels, "--files", "one", "--bits", "16", "--sample-rate", str(fs),
            "--format", "wav"]
    told = json.loads(run(program, folder, "export", name, *flags, *form, "--out", "out", "--json"))
    (path,) = [out / file["name"] for file in told["files"]]
    text = run(program, folder, "show", name, *flags, "--events", "--sample-rate", str(fs))
    events = sorted((int(r["frame"]), r["event"], r["side"]) for r in csv.DictReader(io.StringIO(text)))
    columns = 2 if channels == "stereo" else 1
    x = np.memmap(path, "<i2", offset=44).reshape(-1, columns)
    rows, title = [], f"{name} {' '.join(flags[2:])} {channels}"
    check(rows, x, fs, events, channels, title)
    return rows


def piece(x, fs, begin, end):
    """The mean of 125 ms from frame `begin` to `end`, with a second before it for the filters."""
    before = min(begin, fs)
    found = x[begin - before:end].astype(float) / 32768
    return found, before


def check(told, x, fs, events, channels, title):
    if channels == "left":
        events = [event for event in events if event[2] != "right"]
    cues = [event for event in events if event[1] != "say"]
    alone = {}
    for at, (frame, kind, _) in enumerate(cues):
        about = cues[max(0, at - 8):at + 9]
        together = sorted({e[1] for e in about if abs(e[0] - frame) <= 0.002 * fs})
        before = max((e[0] for e in about if e[0] < frame - 0.002 * fs), default=-fs)
        after = min((e[0] for e in about if e[0] > frame + 0.002 * fs), default=frame + fs)
        if frame - before < 0.35 * fs or after - frame < 0.12 * fs:
            continue  # only what stands alone can be measured
        name = "pair" if together == ["arm", "kick"] else kind if len(together) == 1 else None
        if name:
            alone.setdefault(name, []).append((frame, min(frame + int(0.45 * fs), after)))

    def loudest(begin, end):
        found, before = piece(x, fs, begin, end)
        return envelope(found, fs)[before:].max()

    def levels(name):
        spans = alone.get(name, [])
        return [loudest(*span) for span in spans[:: max(1, len(spans) // MOST)]]

    pairs = levels("pair")
    pair = np.median(pairs) if pairs else PAIR
    if pairs:
        row(told, f"{title}: pair", pair, PAIR - PAIR_OFF, PAIR + PAIR_OFF)
        row(told, f"{title}: spread of pairs", np.ptp(np.percentile(pairs, (1, 99))), 0, 1)
    over = {}
    for kind, (low, high) in OVER_PAIR.items():
        found = levels(kind)
        if found:
            # One ear has half the power of what sounds in both.
            half = BOTH_EARS_DB if channels == "left" and kind in BOTH else 0
            over[kind] = np.median(found) + half - pair
            row(told, f"{title}: {kind} over the pair", over[kind], low, high)
    said = list(speech(x, fs, events, loudest))
    if said:
        half = BOTH_EARS_DB if channels == "left" else 0
        said = np.array(said) + half - pair
        row(told, f"{title}: loudest words over the pair", said.max(), *SPEECH)
        row(told, f"{title}: softest words over the pair", said.min(), SPEECH[0] - 3)
        row(told, f"{title}: loudest words over the start", said.max() - over["start"],
            high=OVER_START)
    row(told, f"{title}: true peak", peak_db(x), high=TRUE_PEAK)
    if channels == "stereo" and "start" in over:
        fold = np.array([0.5, 0.5])
        def folded(spans):
            spans = spans[:: max(1, len(spans) // MOST)]
            for begin, end in spans:
                found, before = piece(x, fs, begin, end)
                yield envelope((found @ fold)[:, None], fs)[before:].max()
        if pairs:
            value = np.median([*folded(alone["start"])]) - np.median([*folded(alone["pair"])])
            row(told, f"{title}: start over the pair, folded by a player", value, high=FOLDED_START)


def speech(x, fs, events, loudest):
    """The loudest moment of each announcement that is followed by another or by a cue."""
    for at, (frame, kind, _) in enumerate(events):
        if kind != "say":
            continue
        after = events[at + 1][0] if at + 1 < len(events) else len(x)
        if after - frame > fs // 2:
            value = loudest(frame, min(after - int(0.05 * fs), frame + 30 * fs))
            if value > -60:
                yield value


def peak_db(x):
    """True peak; a second whose samples stay under half of full scale cannot come near -1 dB."""
    largest, step = 1e-6, 44_100
    for begin in range(0, len(x), step):
        block = x[max(0, begin - 64):begin + step + 64].astype(float) / 32768
        highest = np.abs(block).max()
        largest = max(largest, true_peak(block) if highest > 0.5 else highest)
    return 20 * np.log10(largest)


def finish(told):
    failed = [line for line in told if line.startswith("FAIL")]
    print("\n".join(told) if len(told) < 400 else f"{len(told)} rows")
    unless(not failed, f"{len(failed)} of {len(told)} rows do not hold:\n", "\n".join(failed))
    print(f"{len(told)} rows hold")


CHECKS = {"voices": voices, "heard": heard, "short": short, "presets": presets}

if __name__ == "__main__":
    CHECKS[sys.argv[3]](*sys.argv[1:3], *sys.argv[4:])
