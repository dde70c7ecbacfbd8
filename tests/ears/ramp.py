"""Holds a rate that rises by time against numerical integration of the rate itself.

Usage: ramp.py PROGRAM FOLDER. Classical Runge-Kutta on du/dt = f(t), then interpolation; no
closed form of docs/rules.md is used. Prints how many events were held.
"""

import sys

sys.dont_write_bytecode = True

import csv
import io
import pathlib

import numpy as np

import cases
import events
import quantities as q
import resolve

STEP_S = 0.001
NAMES = ("ramp-by-time", "ramp-by-time-to-a-whole-cycle", "ramp-down-by-time")


def integrated(cycles_s, seconds):
    """Phase at every step from 0 to `seconds`, for a frequency as a function of time."""
    steps = int(np.ceil(seconds / STEP_S))
    time = np.linspace(0, seconds, steps + 1)
    step = time[1]
    k1, k2, k4 = cycles_s(time[:-1]), cycles_s(time[:-1] + step / 2), cycles_s(time[1:])
    return time, np.concatenate([[0], np.cumsum(step * (k1 + 4 * k2 + k4) / 6)])


def main(program, folder):
    held = 0
    for name in NAMES:
        session, _, _ = case = cases.CASES[name]
        (keys,) = session["set"]
        start_spm, end_spm = (float(q.rate_spm(keys["rate"][end])) for end in ("from", "to"))
        push_off = float(q.time_s(resolve.BUILT_IN["push_off"]))
        for hz in events.RATES_HZ:
            output = events.run(program, pathlib.Path(folder), case, hz)
            rows = list(csv.DictReader(io.StringIO(output.stdout)))
            for repeat in {row["repeat"] for row in rows}:
                own = [row for row in rows if row["repeat"] == repeat]
                at = {row["event"]: int(row["frame"]) / hz for row in own}
                begin = at["start"] + push_off
                length = at["end"] - begin
                time, phase = integrated(
                    lambda t: (start_spm + (end_spm - start_spm) * t / length) / 120, length
                )
                cues = [row for row in own if row["cycle"] != ""]
                u = np.array([float(r["cycle"]) + float(r["phase_cycle"]) for r in cues])
                due = (begin + np.interp(u, phase, time)) * hz
                off = np.abs(np.array([int(row["frame"]) for row in cues]) - due)
                # Design 4: within a frame.
                if len(cues) == 0 or off.max() > 1:
                    sys.exit(f"{name}, {hz} Hz, repeat {repeat}: off by {off.max()} frames")
                held += len(cues)
    print(held, "events of ramps held")


if __name__ == "__main__":
    main(*sys.argv[1:])
