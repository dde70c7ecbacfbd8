"""Random sessions from a seed: every key, on every level, valid and not.

`sessions(seed, count)` gives names and cases as in cases.py. A name says how to get one case
again; cases that the pages leave open are drawn anew.
"""

import random
from fractions import Fraction

import oracle
import quantities as q
import resolve


def sessions(seed, count):
    for number in range(count):
        attempt = 0
        while True:
            name = f"{seed}/{number}/{attempt}"
            case = Draw(name).case()
            try:
                oracle.rows_of(*[part or {} for part in case], 100)
            except resolve.Refused:
                pass
            except resolve.Unclear:
                attempt += 1
                continue
            yield f"random session {name}", case
            break


class Draw:
    """One session, one swimmer, some flags."""

    def __init__(self, name):
        self.random = random.Random(name)
        self.chance = lambda share: self.random.random() < share
        self.pick = lambda *choices: self.random.choice(choices)
        # One fault in one place, in a tenth of the sessions.
        self.fault = self.pick(*FAULTS) if self.chance(0.1) else None

    def case(self):
        swimmer = self.swimmer() if self.chance(0.7) else None
        has_rate = swimmer is not None and "rate" in swimmer
        defaults = self.keys(has_rate, 0.25, own=False)
        own = [self.keys(has_rate, 0.35, own=True) for _ in range(self.pick(1, 1, 2, 3, 4))]
        self.own_level(swimmer or {}, defaults, own)
        session = {"title": "Drawn by lot"}
        if self.chance(0.8):
            session["lead_in"] = self.time(5, 20)
        if self.chance(0.8):
            session["defaults"] = defaults
        session["set"] = own
        flags = {}
        if self.chance(0.1):
            flags["rate"] = self.rate(has_rate, 40, 100)
        if self.chance(0.1):
            flags["pairing"] = self.pick("same-side", "opposite-side")
        if self.chance(0.1):
            flags["kick"] = self.pick("two-beat", "four-beat", "six-beat", "pull")
        if self.fault:
            self.fault(self, session, own[-1])
        self.send_offs(session, swimmer or {}, flags)
        return session, swimmer, flags

    def own_level(self, swimmer, defaults, own):
        """What every set must find on some level."""
        for group in own:
            levels = (group, defaults, swimmer)
            if not any("rate" in level for level in levels) or self.chance(0.3):
                group["rate"] = self.rate_wish("rate" in swimmer)
            distance = q.is_length(group["swim"])
            given = any(k in level for level in levels for k in ("pace", "stroke_length"))
            if distance and not given:
                group.update(self.speed())
            table = next((lv["breath"] for lv in levels if "breath" in lv), "none")
            if "cues" not in group and self.chance(0.7):
                group["cues"] = self.cues(distance, table != "none")
            if "breath" in group.get("cues", []) and table == "none":
                group["breath"] = self.breath()

    def decimal(self, low, high):
        """A decimal between two whole numbers, of 0 to 9 places."""
        places = self.pick(0, 0, 0, 1, 1, 2, 3, 9)
        scaled = self.random.randint(low * 10**places, high * 10**places)
        whole, rest = divmod(scaled, 10**places)
        return f"{whole}.{rest:0{places}d}" if places else str(whole)

    def time(self, low, high):
        form = self.pick("s", "s", "ms", "clock")
        if form == "ms":
            return f"{self.random.randint(low * 1000, high * 1000)} ms"
        if form == "clock" and low < high:
            seconds = self.decimal(max(low, 0), high)
            minutes, rest = divmod(Fraction(seconds), 60)
            decimals = seconds.partition(".")[2]
            return f"{minutes}:{int(rest):02d}" + (f".{decimals}" if decimals else "")
        return self.decimal(low, high) + self.pick(" s", "s")

    def spm(self, low, high):
        return self.pick(
            lambda: self.decimal(low, high) + self.pick(" spm", "spm", " SPM", " spm"),
            lambda: self.decimal(low // 2 + 1, high // 2) + " cpm",
            lambda: f"{60 / self.random.randint(low + 1, high):.2f} s/stroke",
            lambda: f"{120 / self.random.randint(low + 1, high):.2f} s/cycle",
        )()

    def rate(self, relative, low=20, high=140):
        if relative and self.chance(0.6):
            return self.pick(
                lambda: f"{self.pick('+', '-')}{self.decimal(0, 6)} spm",
                lambda: f"{self.decimal(90, 110)} %",
            )()
        return self.spm(low, high)

    def rate_wish(self, relative):
        if self.chance(0.3):
            by = self.pick("repeat", "time")
            return {"from": self.rate(relative), "to": self.rate(relative), "by": by}
        return self.rate(relative)

    def speed(self):
        if self.chance(0.5):
            per = self.pick("100 m", "100 yd", "50 m")
            seconds = (60, 150) if per != "50 m" else (30, 75)
            return {"pace": f"{self.time(*seconds)} / {per}"}
        return {
            "stroke_length": self.pick(
                lambda: f"0.{self.random.randint(65, 99)} m/stroke",
                lambda: f"1.{self.random.randint(30, 99)} m/cycle",
                lambda: f"{self.random.randint(16, 30)} strokes / 25 m",
                lambda: f"{self.random.randint(16, 30)} strokes / 25 yd",
            )()
        }

    def breath(self):
        table = {"every": self.pick(2, 2, 3, 3, 4, 5), "side": self.pick("left", "right")}
        return table if self.chance(0.8) else {"every": table["every"]}

    def cues(self, distance, breath):
        cues = [k for k in ("arm", "kick", "fill") if self.chance(0.8)] or ["arm"]
        if breath or self.chance(0.3):
            cues.append("breath")
        if distance and self.chance(0.5):
            cues.append("wall")
        self.random.shuffle(cues)
        return cues

    def cycle(self, low, high):
        places = self.pick(1, 2, 3, 9)
        scaled = self.random.randint(ceil_to(low, places), int(high * 10**places))
        return Fraction(scaled, 10**places)

    def shape(self, share):
        """Keys of the stroke that the swimmer may have too."""
        drawn = {
            "pairing": lambda: self.pick("same-side", "opposite-side"),
            "kick": lambda: self.pick("two-beat", "four-beat", "six-beat", "pull"),
            "three_on": lambda: self.pick("left", "right"),
            "catch_after_entry": lambda: self.pick(
                self.cycle(0, 0.5), {"left": self.cycle(0, 0.5), "right": self.cycle(0, 0.5)}
            ),
            "right_entry": lambda: self.cycle(0.35, 0.65),
            "first_arm": lambda: self.pick("left", "right"),
            "push_off": lambda: self.time(0, 5),
            "glide": lambda: self.decimal(0, 6) + self.pick(" m", " yd"),
            "pool": lambda: self.pick("25 m", "50 m", "25 yd", "33 1/3 m", "20 m", "24.9876 m"),
            "lead": self.lead,
            "breath": lambda: self.breath() if self.chance(0.8) else "none",
        }
        return {key: draw() for key, draw in drawn.items() if self.chance(share)}

    def lead(self):
        def ms():
            if self.chance(0.1):
                return self.pick("300 ms", "-300 ms", "0.3 s", "-0.3 s")
            return self.pick("", "-") + self.decimal(0, 299) + " ms"

        return self.pick(
            ms(), {"arm": ms(), "kick": ms()}, {"kick": ms()}, {"arm": ms()},
            {"breath": ms()}, {"arm": ms(), "kick": ms(), "breath": ms()},
        )

    def keys(self, has_rate, share, own):
        """A set's keys, for a set of its own or for the session defaults."""
        keys = self.shape(share)
        if not own:
            keys = {k: v for k, v in keys.items() if k != "breath" or self.chance(0.5)}
        if own:
            keys["swim"] = self.pick(
                lambda: self.time(14, 90),
                lambda: self.pick("25 m", "50 m", "75 m", "100 m", "50 yd", "100 yd", "66.6 m"),
                lambda: self.pick("1 length", "2 lengths", "3 lengths", "4Lengths"),
            )()
            keys["name"] = self.pick("Settle", "Hold", "Rise", "Easy")
        if self.chance(0.6):
            keys["repeats"] = self.random.randint(1, 4)
        if self.chance(share):
            keys.update(self.speed())
        if self.chance(share):
            keys["rate"] = self.rate_wish(has_rate)
        if self.chance(share):
            key = self.pick("rest", "rest", "send_off")
            keys[key] = self.time(5, 40) if key == "rest" else self.pick("none", "draw")
        if self.chance(share):
            keys["rest_after"] = self.time(5, 40)
        if self.chance(share):
            keys["fade"] = self.fade(own and q.is_length(keys["swim"]))
        if own and q.is_length(keys["swim"]) and self.chance(0.4):
            keys["walls"] = self.pick("pause", "through")
        if own and self.chance(0.25):
            keys["compare"] = self.compare(keys.get("repeats", 1), has_rate)
        if self.chance(0.15):
            keys["arms"] = self.pick("both", "left", "right")
        if self.chance(0.2):
            keys["arm_cue"] = self.pick("pairing", "catch", "entry")
        if self.chance(share / 2):
            keys["count"] = self.pick("rate", "seconds")
        if not own and self.chance(0.3):
            keys["cues"] = self.pick(["arm"], ["kick", "arm"], ["arm", "fill", "kick"])
        return keys

    def compare(self, repeats, has_rate):
        if repeats == 1 or self.chance(0.2):
            return "none"
        some = self.random.sample(range(1, repeats + 1), self.random.randint(1, repeats - 1))
        return {"rate": self.rate(has_rate), "at": sorted(some)}

    def fade(self, distance):
        if self.chance(0.2):
            return "none"
        fade = {"on": self.random.randint(1, 8), "off": self.random.randint(1, 8)}
        if self.chance(0.7):
            fade["per"] = self.pick("cycle", "length") if distance else "cycle"
        return fade

    def swimmer(self):
        keys = {"name": "Nobody (invented)"} | self.shape(0.4)
        if self.chance(0.8):
            keys["rate"] = self.spm(40, 110)
        if self.chance(0.8):
            keys.update(self.speed())
        if self.chance(0.3):
            catch = {"left": self.cycle(0, 0.5), "right": self.cycle(0, 0.5)}
            keys["measured"] = {
                "date": "2026-10-04", "rate": "60 spm", "catch_after_entry": catch,
            }
            if self.chance(0.5):
                keys["catch_after_entry"] = "measured"
        return keys

    def send_offs(self, session, swimmer, flags):
        """Send-offs are drawn once the swim is known: often just enough, seldom too short."""
        drawn = [lv for lv in (session.get("defaults", {}), *session["set"])
                 if lv.get("send_off") == "draw"]
        if not drawn:
            return
        for level in drawn:
            level["send_off"] = "60 min"
        longest = 30
        for number in range(len(session["set"])):
            try:
                group = resolve.Set(session, swimmer, flags, number + 1, resolve.Faults())
                longest = max(longest, *(group.predicted(i)[0] for i in range(group.repeats)))
            except (resolve.Refused, resolve.Unclear):
                pass
        for level in drawn:
            low = int(longest) + 6
            level["send_off"] = self.time(low, low + 30) if self.chance(0.95) else self.time(4, low)


def ceil_to(low, places):
    return -int(-low * 10**places // 1)


# Each breaks one rule in a set or in the session (docs/rules.md, "What is refused", and docs/session.md).
def too_short_lead_in(draw, session, group):
    session["lead_in"] = draw.pick("4.999999999 s", "0 s", "4999 ms")


def too_short_rest(draw, session, group):
    group.pop("send_off", None)
    group["rest"] = draw.pick("4.999999999 s", "0 s", "4999 ms")


def too_short_rest_after(draw, session, group):
    group["rest_after"] = draw.pick("4.999999999 s", "1 s")


def too_slow(draw, session, group):
    group["rate"] = draw.pick("9.999999999 spm", "4.9 cpm", "6.01 s/stroke")


def too_fast(draw, session, group):
    group["rate"] = draw.pick("160.000000001 spm", "81 cpm", "0.374 s/stroke")


def far_apart(draw, session, group):
    group["right_entry"] = draw.pick(Fraction("0.349999999"), Fraction("0.650000001"))


def late_catch(draw, session, group):
    group["catch_after_entry"] = draw.pick(
        Fraction("0.500000001"), {"left": Fraction("0.3"), "right": Fraction("0.51")}
    )


def much_lead(draw, session, group):
    group["lead"] = draw.pick("300.000001 ms", "-301 ms", {"arm": "0 ms", "kick": "0.31 s"})


def rare_breath(draw, session, group):
    group["cues"] = ["arm", "breath"]
    group["breath"] = {"every": draw.pick(1, 6, 8), "side": "left"}


def slow_breath(draw, session, group):
    group["cues"] = ["arm", "breath"]
    group["breath"] = {"every": 4, "side": "left"}
    group["rate"] = {"from": "60 spm", "to": draw.pick("39.9 spm", "12 spm"), "by": "repeat"}


def breath_without_cue(draw, session, group):
    group["cues"] = ["arm", "kick"]
    group["breath"] = {"every": 3, "side": "left"}


def rivals(draw, session, group):
    group["pace"], group["stroke_length"] = "1:50 / 100 m", "0.9 m/stroke"


def rest_and_send_off(draw, session, group):
    group["rest"], group["send_off"] = "20 s", "5:00"


def too_short_swim(draw, session, group):
    group.pop("walls", None)
    group["swim"], group["push_off"], group["rate"] = "5 s", "3 s", "60 spm"
    group["cues"], group["breath"], group["fade"] = ["arm"], "none", "none"


def half_a_day(draw, session, group):
    group["repeats"], group["rest"] = 4000, "30 s"
    group.pop("send_off", None)


def no_whole_lengths(draw, session, group):
    group["swim"] = draw.pick("0 lengths", "1.5 lengths", "-1 length")


def no_comparison(draw, session, group):
    group["repeats"] = 3
    at = draw.pick([], [4], [0, 1], [2, 1], [1, 1], [1, 2, 3])
    group["compare"] = {"rate": "54 spm", "at": at}


def walls_by_time(draw, session, group):
    group["swim"], group["cues"] = "45 s", ["arm", "wall"]


FAULTS = (
    too_short_lead_in, too_short_rest, too_short_rest_after, too_slow, too_fast, far_apart,
    late_catch, much_lead, rare_breath, slow_breath, breath_without_cue, rivals,
    rest_and_send_off, too_short_swim, half_a_day, walls_by_time,
    no_whole_lengths, no_comparison,
)
