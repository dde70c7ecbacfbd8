"""When every cue falls: sections 3 and 4 of the design in exact fractions, from its text alone.

In: a session, a swimmer and flags as dictionaries with the keys of the files, quantities as
text, decimals as Fractions. Out: rows of the events table, or a refusal. Nothing is shared
with the program: slow, direct, and without a float.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction
from math import ceil, floor

import quantities as q

KINDS = ["arm", "kick", "fill", "breath", "wall", "count", "start", "end"]  # order on one frame
SIDES = ["left", "right", "both"]
OTHER = {"left": "right", "right": "left"}
LONGEST_S = 12 * 3600
TAIL_S = 3
SHORTEST_REST_S = 5
LONGEST_BREATH_S = 6

# Section 4, "Defaults below the swimmer's".
BUILT_IN = {
    "pairing": "same-side",
    "kick": "two-beat",
    "cues": ["arm", "kick"],
    "catch_after_entry": Fraction(3, 10),
    "right_entry": Fraction(1, 2),
    "pool": "25 m",
    "push_off": "3 s",
    "glide": "4 m",
    "first_arm": "left",
    "three_on": "left",
    "repeats": 1,
    "fade": "none",
    "breath": "none",
    "lead": "0 ms",
    "walls": "through",
}
LEAD_IN = "60 s"
REST = "20 s"


class Refused(Exception):
    """The session must be refused; the words say what the message may be about, one a fault.

    No words: a key is missing without which the other faults cannot be known.
    """


class Unclear(Exception):
    """The design leaves this open: no case is made of it."""


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


class Faults:
    """Everything that is wrong with a session: the program may name whichever it meets first."""

    def __init__(self):
        self.words, self.unclear, self.cut_short = [], False, False

    def unless(self, holds, word):
        if not holds:
            self.words.append(word)

    def settle(self):
        if self.unclear:
            raise Unclear
        if self.words or self.cut_short:
            raise Refused(*([] if self.cut_short else self.words))


class Levels:
    """The keys of one set from the nearest level down: flags, set, session defaults, swimmer."""

    def __init__(self, flags, own, defaults, swimmer):
        self.levels = [flags, own, defaults, swimmer]
        self.own, self.defaults = own, defaults

    def get(self, key):
        for level in self.levels:
            if key in level:
                return level[key]
        return BUILT_IN.get(key)

    def nearest_of(self, one, other, faults):
        """The nearest level's value of two keys that displace each other, and its key."""
        for level in self.levels:
            if one in level and other in level:
                faults.unless(False, one)
                faults.unclear |= level[one] == "none"
        for level in self.levels:
            for key in (one, other):
                if key in level:
                    return key, level[key]
        return None, None


def catches(levels, swimmer):
    """The catch after the entry of each arm, fractions of a cycle."""
    given = levels.get("catch_after_entry")
    coach = any("catch_after_entry" in level for level in levels.levels)
    measured = swimmer.get("measured", {}).get("catch_after_entry")
    if not coach and measured is not None:
        given = (measured["left"] + measured["right"]) / 2 if isinstance(measured, dict) else measured
    return given if isinstance(given, dict) else {"left": given, "right": given}


def rates_in(rate):
    """The rates that one key gives: none, one, or both ends of a ramp."""
    if isinstance(rate, dict):
        return [rate["from"], rate["to"]]
    return [] if rate is None else [rate]


def in_range(spm):
    return 10 <= spm <= 160


class Set:
    """One set, every key decided."""

    def __init__(self, session, swimmer, flags, number, faults):
        own = session["set"][number - 1]
        self.number, self.faults = number, faults
        levels = Levels(flags, own, session.get("defaults", {}), swimmer)
        get = levels.get
        self.repeats = get("repeats")
        self.pairing, self.kick, self.three_on = get("pairing"), get("kick"), get("three_on")
        self.first, self.cues = get("first_arm"), get("cues")
        self.kappa, self.epsilon = catches(levels, swimmer), get("right_entry")
        self.faults.unless(Fraction(35, 100) <= self.epsilon <= Fraction(65, 100), "right_entry")
        for side in ("left", "right"):
            self.faults.unless(0 <= self.kappa[side] <= Fraction(1, 2), "catch_after_entry")
        self.push_off, self.glide = q.time_s(get("push_off")), q.length_m(get("glide"))
        self.pool = q.length_m(get("pool"))
        self.decide_rate(get("rate"), levels, swimmer)
        self.decide_lead(get("lead"))
        self.fade = None if get("fade") == "none" else {"per": "cycle", **get("fade")}
        self.decide_breath(levels)
        self.decide_swim(get("swim"), levels)
        self.walls = get("walls")
        self.check_walls(own)
        self.decide_rest(levels)

    def decide_rate(self, rate, levels, swimmer):
        if rate is None:
            raise Refused
        for level in levels.levels:  # a rate out of range is refused, needed or not
            for given in rates_in(level.get("rate")):
                self.faults.unless(q.is_relative(given) or in_range(q.rate_spm(given)), "rate")
        table = rate if isinstance(rate, dict) else {"from": rate, "to": rate, "by": None}
        self.by = table["by"]
        relative = any(q.is_relative(table[end]) for end in ("from", "to"))
        if relative and "rate" not in swimmer:
            raise Refused
        own = q.rate_spm(swimmer["rate"]) if "rate" in swimmer else None
        self.spm = [q.wished_spm(table[end], own) for end in ("from", "to")]
        for spm in self.spm:
            self.faults.unless(in_range(spm), "rate")

    def decide_lead(self, lead):
        if isinstance(lead, dict):
            arm, kick = (q.time_s(lead.get(key, "0 ms")) for key in ("arm", "kick"))
            self.lead = {"arm": arm, "kick": kick, "fill": kick, "breath": Fraction(0)}
        else:
            self.lead = dict.fromkeys(("arm", "kick", "fill", "breath"), q.time_s(lead))
        for lead_s in self.lead.values():
            self.faults.unless(abs(lead_s) <= Fraction(3, 10), "lead")

    def decide_breath(self, levels):
        table, own, heard = levels.get("breath"), levels.own, "breath" in self.cues
        if not heard and isinstance(own.get("breath"), dict):
            self.faults.unless(False, "breath")
            self.faults.unclear |= "cues" not in own
        self.breath = None
        if heard and table == "none":
            self.faults.unless(False, "breath")
        elif heard:
            self.breath = {"side": "right", **table}
            every = self.breath["every"]
            self.faults.unless(2 <= every <= 5, "breath")
            half = max(self.epsilon, 1 - self.epsilon) if every % 2 else 0
            gap_s = (every // 2 + half) * 120 / min(self.spm)
            # Over 6 s between two breaths, though not on the mean:
            self.faults.unclear |= gap_s > LONGEST_BREATH_S >= every * 60 / min(self.spm)
            self.faults.unless(gap_s <= LONGEST_BREATH_S, "breath")

    def decide_swim(self, swim, levels):
        by, value = levels.nearest_of("pace", "stroke_length", self.faults)
        self.by_distance = q.is_length(swim)
        if not self.by_distance:
            self.swim_s = q.time_s(swim)
            return
        if by is None:
            raise Refused
        self.distance = q.length_m(swim)
        self.lengths = ceil(self.distance / self.pool)
        self.speed = q.pace_m_s(value) if by == "pace" else None
        self.stroke_m = q.stroke_length_m(value) if by == "stroke_length" else None
        if self.stroke_m and (self.pool <= self.glide or self.distance <= self.lengths * self.glide):
            raise Unclear  # nothing to swim between the glides

    def check_walls(self, own):
        needs = []
        if "wall" in self.cues:
            needs.append("cues" in own)
        if self.walls == "pause":
            needs.append("walls" in own)
        if self.fade and self.fade["per"] == "length":
            needs.append(False)
        if self.by_distance or not needs:
            return
        self.faults.unless(False, "wall")
        self.faults.unclear |= not any(needs)

    def decide_rest(self, levels):
        key, value = levels.nearest_of("send_off", "rest", self.faults)
        self.send_off = None
        if key == "send_off" and value != "none":
            self.send_off = q.time_s(value)
        self.rest = q.time_s(levels.get("rest") or REST)
        after = levels.get("rest_after")
        self.rest_after = None if after is None else q.time_s(after)
        if self.send_off is None:
            self.faults.unless(self.rest >= SHORTEST_REST_S, "rest")
        if self.rest_after is not None:
            self.faults.unless(self.rest_after >= SHORTEST_REST_S, "rest_after")

    def ends_spm(self, repeat):
        """The rate at the first entry and at the end of a repeat (from 0)."""
        start, end = self.spm
        if self.by != "repeat":
            return start, end
        steps = self.repeats - 1
        spm = start + (end - start) * repeat / steps if steps else start
        return spm, spm

    def predicted(self, repeat):
        """Swim time and the time from one predicted wall to the next (None without walls)."""
        if not self.by_distance:
            return self.swim_s, None
        if self.speed:
            return self.distance / self.speed, self.pool / self.speed
        speed = sum(self.ends_spm(repeat)) / 2 / 60 * self.stroke_m
        swim = self.lengths * self.push_off + (self.distance - self.lengths * self.glide) / speed
        return swim, self.push_off + (self.pool - self.glide) / speed

    def points(self):
        """Arm, kick and fill cues on the circle: (kind, side, phase from 0 to 1)."""
        entry = {"left": Fraction(0), "right": self.epsilon}
        catch = {side: entry[side] + self.kappa[side] for side in entry}
        same = self.pairing == "same-side"
        arm = catch if same else entry
        paired = catch if same else {side: entry[OTHER[side]] for side in entry}
        for side in entry:
            yield "arm", side, arm[side] % 1
            if self.kick != "pull":
                yield "kick", side, paired[side] % 1
            gap = (paired[OTHER[side]] - paired[side]) % 1
            if self.kick == "six-beat" or (self.kick == "four-beat" and self.three_on == side):
                yield "fill", OTHER[side], (paired[side] + gap / 3) % 1
                yield "fill", side, (paired[side] + 2 * gap / 3) % 1

    def progressions(self):
        """Cues of a swim without a turn: (kind, side, phase, first u, step of u)."""
        first_entry = {"left": Fraction(0), "right": self.epsilon}[self.first]
        for kind, side, phase in self.points():
            if kind in self.cues:
                yield kind, side, phase, (phase - first_entry) % 1, 1
        if self.breath is None:
            return
        every = self.breath["every"]
        hand_at = [self.first, OTHER[self.first]]
        number = 1 if hand_at[1] == OTHER[self.breath["side"]] else 2
        for start in (number, number + every) if every % 2 else (number,):
            hand = hand_at[start % 2]
            phase = {"left": Fraction(0), "right": self.epsilon}[hand]
            u = start // 2 + (phase - first_entry) % 1
            yield "breath", OTHER[hand], phase, u, every if every % 2 else every // 2


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


def decided(session, swimmer, flags, faults):
    """Every set, as far as its keys can be decided."""
    for number in range(1, len(session["set"]) + 1):
        try:
            yield Set(session, swimmer, flags, number, faults)
        except Refused:
            faults.cut_short = True


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
    """Every repeat: its set, number from 0, start, end, time from wall to wall."""
    for group in sets:
        for repeat in range(group.repeats):
            swim, wall_s = group.predicted(repeat)
            end = start + swim
            check_swim(group, repeat, swim, faults)
            if end + TAIL_S > LONGEST_S:
                faults.unless(False, "12 h")
                return
            yield group, repeat, start, end, wall_s
            last = repeat == group.repeats - 1
            if last and group.rest_after is not None:
                start = end + group.rest_after
            elif group.send_off is not None:
                start += group.send_off
            else:
                start = end + group.rest


def check_swim(group, repeat, swim, faults):
    """The limits of one repeat."""
    if group.send_off is not None:
        faults.unless(group.send_off >= swim + SHORTEST_REST_S, "send_off")
    holds = [swim > group.push_off + 120 / spm for spm in group.ends_spm(repeat)]
    faults.unclear |= holds[0] != holds[1]  # one cycle at which end of the ramp?
    faults.unless(all(holds), "push-off")


def rows_of_repeat(group, repeat, start, end, wall_s, hz):
    def row(kind, time, side="both"):
        return Row(floor(time * hz + Fraction(1, 2)), kind, side, group.number, repeat + 1)

    for back in (3, 2, 1):
        yield row("count", start - back)
    yield row("start", start)
    yield row("end", end)
    walls = []
    if wall_s is not None:
        walls = [start + k * wall_s for k in range(1, ceil(group.distance / group.pool))]
    if "wall" in group.cues:
        yield from (row("wall", wall) for wall in walls)
    for segment in segments(group, repeat, start, end, walls):
        yield from cues(group, repeat, segment, walls, hz)


def segments(group, repeat, start, end, walls):
    """One segment a repeat, or one a length where the cues pause at walls."""
    from_spm, to_spm = group.ends_spm(repeat)
    first = start + group.push_off
    slope = (to_spm - from_spm) / 120 / (end - first)
    paused = walls if group.walls == "pause" else []
    cycle = 0
    for length, wall in enumerate([start, *paused]):
        begin = wall + group.push_off
        until = paused[length] if length < len(paused) else end
        frequency = from_spm / 120 + slope * (begin - first)
        segment = Segment(begin, until, frequency, slope, cycle)
        yield segment
        cycle += ceil(segment.phase(until))  # cycles begun


def cues(group, repeat, segment, walls, hz):
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
        frames = frames_of(segment, first_u, step, count, group.lead[kind], hz)
        for i, frame in enumerate(frames):
            at = cycle + i * step
            if plain or sounds(kind, first_u + i * step, at):
                yield Row(
                    frame, kind, side, group.number, repeat + 1, at, phase, segment.slope == 0
                )


def frames_of(segment, first_u, step, count, lead, hz):
    """The frames of the phases first_u + i step, i < count: the nearest, halves up."""
    if segment.slope == 0:
        start = segment.start - lead + first_u / segment.frequency
        period = step / segment.frequency
        bottom = start.denominator * period.denominator
        a, b = int(start * bottom), int(period * bottom)
        return [(2 * hz * (a + b * i) + bottom) // (2 * bottom) for i in range(count)]
    return [
        floor((segment.start - lead + ramp_time(segment, first_u + i * step)) * hz + Fraction(1, 2))
        for i in range(count)
    ]


def ramp_time(segment, u):
    """2u / (f + sqrt(f² + 2 s u)), to 50 digits."""
    if u == 0:
        return Fraction(0)
    with localcontext() as context:
        context.prec = 50
        under = segment.frequency**2 + 2 * segment.slope * u
        root = (Decimal(under.numerator) / Decimal(under.denominator)).sqrt()
        return 2 * u / (segment.frequency + Fraction(root))
