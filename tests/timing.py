"""Stroke timing held against scipy: timing.py RESULT.json MARKS.csv [CHART.svg]

The marks have entries that are exactly even, so that folding is a division; the kicks are random.
"""

import csv
import json
import sys
from xml.dom import minidom

import numpy as np
from scipy import stats


def near(what, found, expected, within):
    if not abs(found - expected) <= within:
        sys.exit(f"{what}: found {found}, scipy {expected}")


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        result = json.load(file)
    times = {}
    with open(sys.argv[2], encoding="utf-8") as file:
        for row in csv.DictReader(file):
            times.setdefault(row["event"], []).append(float(row["time"]))
    entries = np.array(times["left_entry"])
    slope = stats.theilslopes(entries, np.arange(len(entries)))[0]
    near("cycle time", result["cycle_time_s"]["value"], slope, 1e-6)
    near("rate", result["rate_spm"]["value"], 120 / slope, 1e-5)
    for leg in ("left", "right"):
        phases = (np.array(times[f"{leg}_kick"]) - entries[0]) / slope % 1
        found = result["kick_phase"][leg]
        mean = stats.circmean(phases, high=1, low=0)
        off = (found["mean_cycle"] - mean + 0.5) % 1 - 0.5
        near(f"{leg} circmean", off, 0, 2e-6)
        near(f"{leg} circstd", found["sd_cycle"], stats.circstd(phases, high=1, low=0), 2e-6)
        near(f"{leg} 1 - circvar", found["resultant"], 1 - stats.circvar(phases, high=1, low=0), 1e-6)
        if found["n"] != len(phases):
            sys.exit(f"{leg}: {found['n']} of {len(phases)} kicks")
    delays = (np.array(times["left_catch"]) - entries) / slope
    mean, error = delays.mean(), stats.sem(delays)
    low, high = stats.t.interval(0.95, len(delays) - 1, loc=mean, scale=error)
    catch = result["catch_after_entry_cycle"]["left"]
    for key, expected in (("value", mean), ("lo", low), ("hi", high)):
        near(f"left catch {key}", catch[key], expected, 2e-6)
    if len(sys.argv) > 3:
        minidom.parse(sys.argv[3])
    print("holds")


main()
