"""How loud tracks get: presets, sessions that a search finds, cues that begin again."""

import itertools
import json
import random
import subprocess

import numpy as np

from bench import samples_of, session, unless

CEILING = 10 ** (-1 / 20)  # -1 dBFS (docs/sources.md, "Voices that can be told apart")


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
        words = ("check", "out", preset, "--swimmer", swimmer, "--json", *swapped)
        told = json.loads(bench.run(*words))
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
