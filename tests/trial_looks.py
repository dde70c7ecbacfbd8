"""Looks at trials by the definition, every way to set the signs listed: no line of this is shared
with the program, and no number is rounded.

Usage: trial_looks.py CASES. CASES is a JSON list of {sizes, looks, both}. Prints a JSON list: for
each case after how many differences each way is given up, 0 for never. The ways are in the order
of their bits, bit i set where the sign of difference i is turned. A case of more than twelve
differences is answered for the signs observed alone, by numpy.
"""

import itertools
import json
import sys
from fractions import Fraction

import numpy as np


def cap(values):
    sizes = sorted(abs(v) for v in values)
    half = len(sizes) // 2
    odd = len(sizes) % 2
    median = Fraction(sizes[half] if odd else sizes[half] + sizes[half - 1], 1 if odd else 2)
    most = median * 5 / 2
    assert most.denominator == 1, "sizes are chosen so that nothing need be rounded"
    return [max(-int(most), min(int(most), v)) for v in values]


def may_go(n, most):
    """The largest k with k / 2^n <= 0.05 (n / most)^1.5, compared as squares of fractions."""
    limit = Fraction(1, 400) * Fraction(n, most) ** 3
    k = 0
    while Fraction(k + 1, 2**n) ** 2 <= limit:
        k += 1
    return k


def every_way(sizes, looks, both):
    """Ways as tuples of signs; what is given up at a look is given up with all that follows it."""
    given_up = {}
    for n in looks:
        values = cap(sizes[:n])
        distances, before = {}, 0
        for way in itertools.product((1, -1), repeat=n):
            if any(way[:m] in given_up for m in looks if m < n):
                before += 1
                continue
            total = sum(sign * value for sign, value in zip(way, values))
            distances.setdefault(abs(total) if both else total, []).append(way)
        left = may_go(n, looks[-1]) - before
        for distance in sorted(distances, reverse=True):
            group = distances[distance]
            if len(group) > left:
                break
            left -= len(group)
            given_up.update((way, n) for way in group)
    answers = []
    for bits in range(2 ** looks[-1]):
        way = tuple(-1 if bits >> i & 1 else 1 for i in range(looks[-1]))
        answers.append(next((m for m in looks if way[:m] in given_up), 0))
    return answers


def observed(values, looks, both):
    dead = np.zeros(1, bool)
    for n in looks:
        ways = np.arange(2**n)
        dead = dead[ways % len(dead)]
        signs = 1 - 2 * (ways[:, None] >> np.arange(n) & 1)
        totals = signs @ np.array(cap(values[:n]), dtype=np.int64)
        far = np.abs(totals) if both else totals
        left = may_go(n, looks[-1]) - int(dead.sum())
        distances, counts = np.unique(far[~dead], return_counts=True)
        fits = np.cumsum(counts[::-1]) <= left
        gone = distances[::-1][: int(np.argmin(fits)) if not fits.all() else len(fits)]
        dead |= ~dead & np.isin(far, gone)
        if dead[0]:
            return [n]
    return [0]


def answer(case):
    exhaustive = case["looks"][-1] <= 12
    return (every_way if exhaustive else observed)(case["sizes"], case["looks"], case["both"])


if __name__ == "__main__":
    with open(sys.argv[1]) as file:
        print(json.dumps([answer(case) for case in json.load(file)]))
