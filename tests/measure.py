"""Statistics by numpy and scipy: no line of this is shared with the program.

Usage: measure.py FILE. FILE holds lines of two numbers, x and y.
Prints lines of words: "KEY VALUE...".
"""

import sys

import numpy as np
from scipy import stats

x, y = np.loadtxt(sys.argv[1], ndmin=2).T
line = stats.linregress(x, y)
t = stats.t.ppf(0.975, len(x) - 2)
print("slope", line.slope, line.slope - t * line.stderr, line.slope + t * line.stderr)
t *= line.intercept_stderr
print("intercept", line.intercept, line.intercept - t, line.intercept + t)

# Errors in proportion to x: residuals over x, scaled as the textbook does (not as absolute sigmas).
(b, a), covariance = np.polyfit(x, y, 1, w=1 / x, cov=True)
t = stats.t.ppf(0.975, len(x) - 2)
for key, value, error in (("slope", b, covariance[0, 0] ** 0.5), ("intercept", a, covariance[1, 1] ** 0.5)):
    print("weighted-" + key, value, value - t * error, value + t * error)

print("theilslopes", stats.theilslopes(y, x).slope)
print("polyfit", *np.polyfit(x, y, 2))

# Where the parabola's slope is zero. Its interval by inversion: every x at which a t test does
# not tell the slope from zero, found by bisection from the vertex outwards.
(a, b, c), covariance = np.polyfit(x, y, 2, cov=True)
vertex = -b / (2 * a)
quantile = stats.t.ppf(0.975, len(x) - 3)


def undecided(at):
    gradient = np.array([2 * at, 1, 0])
    return abs(2 * a * at + b) <= quantile * np.sqrt(gradient @ covariance @ gradient)


def edge(direction):
    inside, outside = vertex, vertex + direction * 1e4
    if undecided(outside):
        return np.inf * direction
    for _ in range(200):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if undecided(middle) else (inside, middle)
    return inside


print("vertex", vertex, edge(-1), edge(1))
basis = np.array([vertex**2, vertex, 1])
half = quantile * np.sqrt(basis @ covariance @ basis)
top = np.polyval([a, b, c], vertex)
print("top", top, top - half, top + half)
for df in (1, 2, 3, 5, 10, 100):
    print(f"t{df}", stats.t.ppf(0.975, df))
