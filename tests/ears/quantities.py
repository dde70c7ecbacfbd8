"""Quantities with their units, as exact fractions: docs/session.md, nothing else.

Every function takes the text as a person writes it and gives a Fraction in SI units
(rates in strokes a minute, speeds in m/s).
"""

import re
from fractions import Fraction
from math import floor

YARD_M = Fraction(9144, 10000)  # exactly, by the agreement of 1959
LENGTH_M = {"m": Fraction(1), "yd": YARD_M}


def split(text):
    """The number and the unit of "54 spm", "33 1/3 m", "+2 SPM"."""
    found = re.fullmatch(r"\s*([+-]?)(\d+(?:\.\d+)?)(?: (\d+)/(\d+))?\s*(\D*?)\s*", text)
    if not found:
        raise ValueError(f"not a quantity: {text!r}")
    sign, number, top, bottom, unit = found.groups()
    value = Fraction(number) + (Fraction(int(top), int(bottom)) if top else 0)
    return sign, (-value if sign == "-" else value), unit.lower()


def rate_spm(text):
    """A rate by itself: spm, cpm, s/stroke, s/cycle."""
    sign, value, unit = split(text)
    if sign:
        raise ValueError(f"not a rate by itself: {text!r}")
    return {
        "spm": lambda: value,
        "cpm": lambda: 2 * value,
        "s/stroke": lambda: 60 / value,
        "s/cycle": lambda: 120 / value,
    }[unit]()


def is_relative(text):
    """Is this rate a change or a share of the swimmer's own?"""
    sign, _, unit = split(text)
    return bool(sign) or unit == "%"


def wished_spm(text, own_spm):
    """A rate as a session asks for it, resolved against the swimmer's own; a share to half a stroke."""
    if not is_relative(text):
        return rate_spm(text)
    _, value, unit = split(text)
    if unit == "%":
        return own_spm if value == 100 else to_half(own_spm * value / 100)
    return own_spm + value


def to_half(spm):
    """The nearest half, halves of that up."""
    return Fraction(floor(2 * spm + Fraction(1, 2)), 2)


def length_m(text):
    """A length: m or yd."""
    _, value, unit = split(text)
    return value * LENGTH_M[unit]


def is_length(text):
    """Is this swim a distance (and not a time)?"""
    return bool(re.search(r"(?<=[\d\s])(m|yd|lengths?)\s*$", text, re.IGNORECASE))


def counted_lengths(text):
    """How many lengths of the pool a swim is, None where it is no count of them."""
    found = re.fullmatch(r"\s*(\S+?)\s*lengths?\s*", text, re.IGNORECASE)
    if not found:
        return None
    # A whole number from 1; 0 is none of these.
    return int(found[1]) if found[1].isdigit() else 0


def time_s(text):
    """A time: s, min, ms, m:ss, m:ss.f."""
    clock = re.fullmatch(r"\s*(\d+):(\d\d(?:\.\d+)?)\s*", text)
    if clock:
        return 60 * int(clock[1]) + Fraction(clock[2])
    _, value, unit = split(text)
    return value * {"s": Fraction(1), "min": Fraction(60), "ms": Fraction(1, 1000)}[unit]


def pace_m_s(text):
    """A clock pace "2:05 / 100 m", as a speed."""
    time, length = text.split("/", 1)
    return length_m(length) / time_s(time)


def stroke_length_m(text):
    """Metres a stroke: "0.95 m/stroke", "1.90 m/cycle", "22 strokes / 25 m"."""
    count = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*strokes\s*/\s*(.*)", text)
    if count:
        return length_m(count[2]) / Fraction(count[1])
    _, value, unit = split(text)
    return value / {"m/stroke": 1, "m/cycle": 2}[unit]
