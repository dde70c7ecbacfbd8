"""When every cue falls: docs/rules.md in exact fractions, from its text alone.

In: a session, a swimmer and flags as resolve.py takes them. Out: rows of the events table, or
a refusal. Nothing is shared with the program: slow, direct, and without a float.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction
from math import ceil, floor

import quantities as q
from resolve import LEAD_IN, SHORTEST_REST_S, Faults, decided

KINDS = ["arm", "kick", "fill", "breath", "wall", "count", "start", "end"]  # order on one frame
SIDES = ["left", "right", "both"]
LONGEST_S = 12 * 3600
TAIL_S = 3
ALONE_S = Fraction(1, 2)  # after a start: no cues; around start and end: no chimes
LONGEST_COUNT_S = Fraction(3, 2)
CUT_S = 1  # after an end
CHIMES_APART_S = Fraction(1, 5)
BREATH_BEFORE_S = Fraction(220, 1000)  # from the beginning of its sound to its entry
RISE_S = Fraction(200, 1000)
CLEAR_S = Fraction(40, 1000)


@dataclass
class Row:
    """One row of the events table. `exact` is False inside a ramp by time."""

    frame: int
    kind: str
    side: str
    set: int
    repeat: int
    cycle: int | None = None
    phase: Fraction | None = None
    exact: bool = True

    def order(self):
        return (self.frame, KINDS.index(self.kind), self.set, self.repeat, SIDES.index(self.side))


@dataclass
class Segment:
    """Swimming without a restart: times in seconds, frequency in cycles/s, slope in cycles/s²."""

    start: Fraction
    end: Fraction
    frequency: Fraction
    slope: Fraction
    cycle: int  # number of the first cycle

    def phase(self, time):
        """Phase gone at a time, 0 before the start."""
        gone = max(time - self.start, Fraction(0))
        return self.frequency * gone + self.slope * gone * gone / 2


def rows_of(session, swimmer, flags, hz):
    """The whole table, in its order."""
    faults = Faults()
    lead_in = q.time_s(session.get("lead_in", LEAD_IN))
    faults.unless(lead_in >= SHORTEST_REST_S, "lead_in")
    sets = list(decided(session, swimmer, flags, faults))
    repeats = list(schedule(sets, lead_in, faults))
    faults.settle()
    rows = [row for at in repeats for row in rows_of_repeat(*at, hz)]
    return sorted(rows, key=Row.order)


def schedule(sets, start, faults):
    """Every repeat: its set, number from 0, start, end, time from wall to wall, from count to
    count."""
    free = 0  # from when on there may be counts
    for group in sets:
        for repeat in range(group.repeats):
            swim, wall_s = group.predicted(repeat)
            end = start + swim
            check_swim(group, repeat, swim, faults)
            if end + TAIL_S > LONGEST_S:
                faults.unless(False, "12 h")
                return
            yield group, repeat, start, end, wall_s, count_s(group, repeat, start, free)
            free = end + CUT_S
            last = repeat == group.repeats - 1
            if last and group.rest_after is not None:
                start = end + group.rest_after
            elif group.send_off is not None:
                start += group.send_off
            else:
                start = end + group.rest


def count_s(group, repeat, start, free):
    """A stroke at the repeat's first rate, or a second."""
    stroke = 60 / group.ends_spm(repeat)[0]
    carried = stroke <= LONGEST_COUNT_S and start - 3 * stroke >= free
    return stroke if group.count == "rate" and carried else 1


def check_swim(group, repeat, swim, faults):
    """The limits of one repeat."""
    if group.send_off is not None:
        faults.unless(group.send_off >= swim + SHORTEST_REST_S, "send_off")
    holds = [swim > group.push_off + 120 / spm for spm in group.ends_spm(repeat)]
    faults.unclear |= holds[0] != holds[1]  # one cycle at which end of the ramp?
    faults.unless(all(holds), "push-off")


def rows_of_repeat(group, repeat, start, end, wall_s, count, hz):
    def row(kind, time, side="both"):
        return Row(floor(time * hz + Fraction(1, 2)), kind, side, group.number, repeat + 1)

    for back in (3, 2, 1):
        yield row("count", start - back * count)
    yield row("start", start)
    yield row("end", end)
    walls = []
    if wall_s is not None:
        walls = [start + k * wall_s for k in range(1, ceil(group.distance / group.pool))]
    if "wall" in group.cues:
        yield from (row("wall", wall) for wall in chimes(start, end, walls))
    swum = list(segments(group, repeat, start, end, walls))
    breaths = []
    if {"breath", "fill"} <= set(group.cues):
        breaths = breath_sounds(group, swum, start, walls)
    for segment in swum:
        yield from cues(group, repeat, segment, start, walls, breaths, hz)


def chimes(start, end, walls):
    """The walls whose chime sounds."""
    sounded = None
    for wall in walls:
        apart = sounded is None or wall - sounded >= CHIMES_APART_S
        if wall - start >= ALONE_S and end - wall >= ALONE_S and apart:
            sounded = wall
            yield wall


def segments(group, repeat, start, end, walls):
    """One segment a repeat, or one a length where the cues pause at walls."""
    from_spm, to_spm = group.ends_spm(repeat)
    first = start + group.push_off
    slope = (to_spm - from_spm) / 120 / (end - first)
    paused = walls if group.walls == "pause" else []
    cycle = 0
    for length, wall in enumerate([start, *paused]):
        begin = wall + group.push_off
        until = min(paused[length], end) if length < len(paused) else end
        frequency = from_spm / 120 + slope * (begin - first)
        segment = Segment(begin, until, frequency, slope, cycle)
        yield segment
        cycle += ceil(segment.phase(until))  # cycles begun


def heard(group, segment, start, walls):
    """Every cue of a segment: kind, side, phase on the circle, elapsed phase and cycle of the
    first, cycles from one to the next, how many there are, and the numbers of those that sound,
    kicks between not yet having given way to breaths."""
    last_u = segment.phase(segment.end)
    swum_u = [segment.phase(wall) for wall in walls]
    free_u = [(u, segment.phase(wall + group.push_off)) for u, wall in zip(swum_u, walls)]
    fade = group.fade

    def sounds(kind, u, cycle):
        if kind == "breath" and any(low <= u < high for low, high in free_u):
            return False
        if fade is None:
            return True
        unit = cycle
        if fade["per"] == "length":
            unit = sum(wall_u <= u for wall_u in swum_u)
        return unit % (fade["on"] + fade["off"]) < fade["on"]

    plain = fade is None and not free_u
    for kind, side, phase, first_u, step in group.progressions():
        count = max(ceil((last_u - first_u) / step), 0)
        cycle = segment.cycle + floor(first_u)
        lead = lead_s(group, kind)
        early = 0  # how many would sound over the start signal
        while early < count and sound_at(segment, first_u + early * step, lead) < start + ALONE_S:
            early += 1
        numbers = range(early, count)
        if not plain:
            numbers = [i for i in numbers if sounds(kind, first_u + i * step, cycle + i * step)]
        yield kind, side, phase, first_u, cycle, step, count, numbers


def cues(group, repeat, segment, start, walls, breaths, hz):
    for kind, side, phase, first_u, cycle, step, count, numbers in heard(
        group, segment, start, walls
    ):
        lead = lead_s(group, kind)
        frames = frames_of(segment, first_u, step, count, lead, hz)
        for i in numbers:
            if kind == "fill" and breaths:
                if hides(sound_at(segment, first_u + i * step, lead), breaths):
                    continue
            yield Row(
                frames[i], kind, side, group.number, repeat + 1, cycle + i * step, phase,
                segment.slope == 0,
            )


def breath_sounds(group, segments, start, walls):
    """When the breaths of a repeat sound, in order."""
    return sorted(
        sound_at(segment, first_u + i * step, lead_s(group, kind))
        for segment in segments
        for kind, _, _, first_u, _, step, _, numbers in heard(group, segment, start, walls)
        if kind == "breath"
        for i in numbers
    )


def hides(cue, breaths):
    """Does a cue begin from shortly before one of the breaths up to the end of its rise?"""
    at = bisect_right(breaths, cue + CLEAR_S)
    return at > 0 and cue < breaths[at - 1] + RISE_S


def lead_s(group, kind):
    """How much earlier than its moment a cue sounds: a breath rises up to it."""
    return group.lead[kind] + (BREATH_BEFORE_S if kind == "breath" else 0)


def frames_of(segment, first_u, step, count, lead, hz):
    """The frames of the phases first_u + i step, i < count: the nearest, halves up."""
    if segment.slope == 0:
        start = segment.start - lead + first_u / segment.frequency
        period = step / segment.frequency
        bottom = start.denominator * period.denominator
        a, b = int(start * bottom), int(period * bottom)
        return [(2 * hz * (a + b * i) + bottom) // (2 * bottom) for i in range(count)]
    return [
        floor(sound_at(segment, first_u + i * step, lead) * hz + Fraction(1, 2))
        for i in range(count)
    ]


def sound_at(segment, u, lead):
    """When the cue of a phase sounds."""
    gone = ramp_time(segment, u) if segment.slope else u / segment.frequency
    return segment.start - lead + gone


def ramp_time(segment, u):
    """2u / (f + sqrt(f² + 2 s u)), to 50 digits."""
    if u == 0:
        return Fraction(0)
    with localcontext() as context:
        context.prec = 50
        under = segment.frequency**2 + 2 * segment.slope * u
        root = (Decimal(under.numerator) / Decimal(under.denominator)).sqrt()
        return 2 * u / (segment.frequency + Fraction(root))
