"""Reads trials from a log and tests them with scipy and numpy: no line of this is shared with
the program.

Usage: trial.py LOG. Prints one JSON object: for each trial and outcome the sign-flip P
(scipy.stats.permutation_test), the signed-rank P (the same, of ranks; and scipy.stats.wilcoxon
where nothing ties), the Hodges-Lehmann estimate, and "ends": for each end of the interval given on standard input, the signed-rank P just
outside and just inside it.
"""

import csv
import itertools
import json
import sys

import numpy as np
from scipy import stats

OUTCOMES = {"time_s": "time", "strokes": "strokes", "effort": "effort"}


def number(text):
    """A field in thousandths, so that sums are exact; None where it is empty."""
    return round(float(text.split()[0]) * 1000) if text else None


def differences(rows):
    """One row of three differences a pair, NaN where one is not noted."""
    table = []
    for one, other in zip(rows[::2], rows[1::2]):
        same, opposite = sorted((one, other), key=lambda row: row["pairing"] != "same-side")
        row = []
        for column in OUTCOMES.values():
            a, b = number(same[column]), number(opposite[column])
            row.append(np.nan if a is None or b is None else float(a - b))
        table.append(row)
    return np.array(table)


def flipped_p(values, statistic):
    """P by scipy, all signs counted."""
    test = stats.permutation_test(
        (values,), statistic, permutation_type="samples", n_resamples=np.inf, vectorized=False
    )
    return test.pvalue


def signed_ranks(values):
    ranks = stats.rankdata(np.abs(values))
    return np.sum(np.sign(values) * ranks)


def read(table, ends):
    result = {}
    noted = ~np.isnan(table)
    for at, name in enumerate(OUTCOMES):
        values = table[noted[:, at], at]
        if not len(values):
            continue
        walsh = [(a + b) / 2 for a, b in itertools.combinations_with_replacement(values, 2)]
        one = {"n": len(values), "hodges_lehmann": np.median(walsh) / 1000}
        # scipy's test of one sample wants two values or more.
        if len(values) > 1:
            one["p"] = flipped_p(values, np.sum)
        moved = values[values != 0]
        if len(moved) > 1:
            one["signed_rank_p"] = flipped_p(moved, signed_ranks)
            if len(np.unique(np.abs(values))) == len(values) == len(moved):
                one["wilcoxon_p"] = stats.wilcoxon(values, mode="exact").pvalue
        if name in ends:
            lo, hi = (1000 * end for end in ends[name])
            points = {"outside": (lo - 1e-3, hi + 1e-3), "inside": (lo + 1e-3, hi - 1e-3)}
            one["ends"] = {
                where: [flipped_p(values - point, signed_ranks) for point in both]
                for where, both in points.items()
            }
        result[name] = one
    return result


def main(log):
    ends = json.load(sys.stdin)
    trials = {}
    with open(log, newline="") as file:
        for row in csv.DictReader(file):
            trials.setdefault(row["trial"], []).append(row)
    print(json.dumps({name: read(differences(rows), ends[name]) for name, rows in trials.items()}))


if __name__ == "__main__":
    main(sys.argv[1])
