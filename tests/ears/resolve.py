"""What a session asks for, decided level by level: docs/session.md and
docs/rules.md, from their text.

In: a session, a swimmer and flags as dictionaries with the keys of the files, quantities as
text, decimals as Fractions. Out: sets with every key decided, and all that is wrong with them.
Nothing is shared with the program.
"""

from fractions import Fraction
from math import ceil

import quantities as q

OTHER = {"left": "right", "right": "left"}
SHORTEST_REST_S = 5
LONGEST_BREATH_S = 6

# docs/session.md, the column "built in".
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
    "arms": "both",
    "compare": "none",
    "arm_cue": "pairing",
    "count": "rate",
}
LEAD_IN = "60 s"
REST = "20 s"


class Refused(Exception):
    """The session must be refused; the words say what the message may be about, one a fault.

    No words: a key is missing without which the other faults cannot be known.
    """


class Unclear(Exception):
    """The pages leave this open: no case is made of it."""


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
    if given == "measured":
        measured = swimmer.get("measured", {}).get("catch_after_entry")
        if measured is None:
            raise Refused
        sides = measured if isinstance(measured, dict) else {"left": measured, "right": measured}
        given = (sides["left"] + sides["right"]) / 2
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
        self.arms, self.arm_cue = get("arms"), get("arm_cue")
        self.kappa, self.epsilon = catches(levels, swimmer), get("right_entry")
        self.faults.unless(Fraction(35, 100) <= self.epsilon <= Fraction(65, 100), "right_entry")
        for side in ("left", "right"):
            self.faults.unless(0 <= self.kappa[side] <= Fraction(1, 2), "catch_after_entry")
        self.push_off, self.glide = q.time_s(get("push_off")), q.length_m(get("glide"))
        self.pool = q.length_m(get("pool"))
        self.decide_rate(get("rate"), levels, swimmer)
        self.decide_compare(get("compare"), levels, swimmer)
        self.decide_lead(get("lead"))
        self.fade = None if get("fade") == "none" else {"per": "cycle", **get("fade")}
        self.decide_breath(levels)
        self.decide_swim(get("swim"), levels)
        self.walls, self.count = get("walls"), get("count")
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

    def decide_compare(self, table, levels, swimmer):
        """Repeats at a rate of their own, by number from 1: each once, ascending, not all."""
        self.compared, self.compare_spm = [], None
        for level in levels.levels:
            given = level.get("compare", "none")
            if given != "none":
                at, rate = given["at"], given["rate"]
                ascending = bool(at) and at[0] >= 1 and all(a < b for a, b in zip(at, at[1:]))
                self.faults.unless(ascending, "compare")
                self.faults.unless(q.is_relative(rate) or in_range(q.rate_spm(rate)), "compare")
        if table == "none":
            return
        if q.is_relative(table["rate"]) and "rate" not in swimmer:
            raise Refused
        own = q.rate_spm(swimmer["rate"]) if "rate" in swimmer else None
        self.compared, self.compare_spm = table["at"], q.wished_spm(table["rate"], own)
        self.faults.unless(in_range(self.compare_spm), "compare")
        there = all(number <= self.repeats for number in self.compared)
        self.faults.unless(there and len(self.compared) < self.repeats, "compare")

    def lowest_spm(self):
        return min(self.spm + ([] if self.compare_spm is None else [self.compare_spm]))

    def decide_lead(self, lead):
        if isinstance(lead, dict):
            kinds = ("arm", "kick", "breath")
            self.lead = {kind: q.time_s(lead.get(kind, "0 ms")) for kind in kinds}
            self.lead["fill"] = self.lead["kick"]
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
            gap_s = (every // 2 + half) * 120 / self.lowest_spm()
            # Over 6 s between two breaths, though not on the mean:
            self.faults.unclear |= gap_s > LONGEST_BREATH_S >= every * 60 / self.lowest_spm()
            self.faults.unless(gap_s <= LONGEST_BREATH_S, "breath")

    def decide_swim(self, swim, levels):
        by, value = levels.nearest_of("pace", "stroke_length", self.faults)
        self.by_distance = q.is_length(swim)
        if not self.by_distance:
            self.swim_s = q.time_s(swim)
            return
        if by is None:
            raise Refused
        counted = q.counted_lengths(swim)
        if counted == 0:
            self.faults.unless(False, "lengths")
            raise Refused("lengths")
        self.distance = q.length_m(swim) if counted is None else counted * self.pool
        self.lengths = ceil(self.distance / self.pool)
        self.speed = q.pace_m_s(value) if by == "pace" else None
        self.stroke_m = q.stroke_length_m(value) if by == "stroke_length" else None
        glides = self.lengths * self.glide
        if self.stroke_m and (self.pool <= self.glide or self.distance <= glides):
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
        if repeat + 1 in self.compared:
            return self.compare_spm, self.compare_spm
        start, end = self.spm
        if self.by != "repeat":
            return start, end
        steps = self.repeats - 1
        if 0 < repeat < steps:
            spm = q.to_half(start + (end - start) * repeat / steps)
            spm = min(max(spm, min(start, end)), max(start, end))
        else:
            spm = end if steps and repeat == steps else start
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
        marked = {"catch": catch, "entry": entry, "pairing": catch if same else entry}
        arm = marked[self.arm_cue]
        paired = catch if same else {side: entry[OTHER[side]] for side in entry}
        for side in entry:
            if self.arms in ("both", side):
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


def decided(session, swimmer, flags, faults):
    """Every set, as far as its keys can be decided."""
    for number in range(1, len(session["set"]) + 1):
        try:
            yield Set(session, swimmer, flags, number, faults)
        except Refused:
            faults.cut_short = True
