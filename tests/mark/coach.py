"""A coach who marks a film whose frames are known, and what it costs: keys, moves and seconds.

The coach sees of a frame only whether the moment has come yet, as eyes do: leaps by ten frames
until it has, steps back until it has not, and one on. Where the page has foretold the moment, the
coach steps from there. The swim is invented.
"""

import random
import time

CYCLE_S = 120 / 54
CYCLES = 12
# Of a pass filmed from the left: what is seen, where in the cycle, and its key.
NEAR_SIDE = [("left_entry", 0.0, "1"), ("left_catch", 0.3, "2"), ("left_exit", 0.72, "3"), ("left_kick", 0.31, "4")]
BOTH_SIDES = NEAR_SIDE + [
    ("right_entry", 0.5, "6"),
    ("right_catch", 0.8, "7"),
    ("right_exit", 1.22, "8"),
    ("right_kick", 0.82, "9"),
]
# How far cycles wander, and how far moments lie from their phase, as shares of a cycle.
WANDER, SCATTER = 0.015, 0.006
# Farther from what is foretold the coach does not look, s.
LOOKS_S = 0.5
# What the strip shows as outlines, from the picture on.
OUTLINES_AHEAD = """
const isAhead = (moment) => moment.time > film.shown - 0.1 && strip.xAt(moment.time) < strip.width(strip.close);
return foretold().filter(isAhead).map((moment) => moment.event);
"""


def swim(seen, times, seed, start=0.7, cycles=CYCLES):
    """The frames of a swim: (frame, event, key) by frame, each the first that shows its moment."""
    chance = random.Random(seed)
    moments = []
    for _ in range(cycles):
        cycle = CYCLE_S * chance.gauss(1, WANDER)
        for event, phase, key in seen:
            at = start + phase * cycle + CYCLE_S * chance.gauss(0, SCATTER)
            moments.append((next(n for n, shown in enumerate(times) if shown >= at), event, key))
        start += cycle
    return sorted(moments)


class Coach:
    """Marks a swim by keys, in a round for the hands and one for the feet, as the page advises."""

    def __init__(self, bench):
        self.bench = bench
        self.moves = self.keys = 0

    def move(self, key):
        self.moves += 1
        self.press(key)

    def press(self, key):
        self.keys += 1
        self.bench.keys(key)

    def find(self, frame):
        """Goes to the first frame that shows the moment, by leaps of ten and steps."""
        while self.bench.number() < frame:
            self.move("Shift+Right")
        self.settle_on(frame)

    def settle_on(self, frame):
        """The same by steps alone, from nearby."""
        if self.bench.number() >= frame:
            while self.bench.number() >= frame:
                self.move("Left")
            self.move("Right")
        while self.bench.number() < frame:
            self.move("Right")

    def rounds(self, lengths):
        """What is to be marked in each round, length by length, and whether a pass is to begin."""
        for is_foot in [False, True]:
            self.bench.browser.js("return act(() => film.frameAt(0))")
            self.bench.settle()
            for number, length in enumerate(lengths):
                yield [one for one in length if one[1].endswith("kick") == is_foot], number > 0 and not is_foot

    def by_eye(self, lengths):
        for todo, begins in self.rounds(lengths):
            while todo:
                self.by_hand(todo, begins)
                begins = False

    def led(self, lengths, times):
        """Goes where the page foretells, as soon as it does; by eye to what it does not foretell."""
        for todo, begins in self.rounds(lengths):
            while todo:
                outlines = self.bench.browser.js(OUTLINES_AHEAD)
                if begins or todo[0][1] not in outlines:
                    self.by_hand(todo, begins)
                    begins = False
                    continue
                foretold = self.foretold()
                if not foretold:
                    self.move("Enter")
                    foretold = self.foretold()
                apart = lambda one: abs(times[one[0]] - foretold["time"])  # noqa: E731
                there = [one for one in todo if one[1] == foretold["event"] and apart(one) < LOOKS_S]
                if not there:
                    self.move("x")
                    continue
                found = min(there, key=apart)
                self.settle_on(found[0])
                self.press(found[2])
                todo.remove(found)

    def by_hand(self, todo, begins):
        """Marks the next moment; a new length begins with it as a pass of its own."""
        frame, _, key = todo.pop(0)
        self.find(frame)
        if begins:
            self.press("n")
        self.press(key)

    def foretold(self):
        """The moment that the page has gone to, as its words on the screen say."""
        return self.bench.browser.js("return openTarget(foretold()) ?? null")


def work(bench, seen, film="swim.mp4", starts=(0.7,), cycles=CYCLES):
    """Marks the same swim by eye and led by the page: the costs of each, and both files. Each length
    of it starts at its time in the film, s."""
    times = bench.film(film)
    lengths = [swim(seen, times, len(seen) + 100 * number, start, cycles) for number, start in enumerate(starts)]
    truth = [[frame, event, number + 1] for number, length in enumerate(lengths) for frame, event, _ in length]
    found = {"cycles": cycles * len(lengths), "times": times, "truth": truth}
    for name in ["by_eye", "led"]:
        bench.browser.js("localStorage.clear(); marks.clear()")
        bench.open(film)
        coach = Coach(bench)
        began = time.monotonic()
        if name == "led":
            coach.led([list(length) for length in lengths], times)
        else:
            coach.by_eye(lengths)
        costs = {"moves": coach.moves, "keys": coach.keys, "seconds": time.monotonic() - began}
        bench.browser.picture("%s/coach-%s-%d.png" % (bench.folder, name, len(truth)))
        costs["counts"] = bench.browser.text("#counts")
        found[name] = dict(costs, csv=bench.save(film))
    return found


def steady(cycles, seen):
    """The moments of so many cycles of 2 s, by time: what the page is to foretell from."""
    moments = [{"time": 1 + 2 * (cycle + phase), "event": event} for cycle in cycles for event, phase, *_ in seen]
    return sorted(moments, key=lambda moment: moment["time"])


def cycles_foretold(bench):
    """What is foretold where marks are doubled, wrong, missing, or come more or less often."""
    hands = [one for one in BOTH_SIDES if not one[0].endswith("kick")]
    six = hands + [("left_kick", 0.3 + third / 3, "4") for third in range(3)]
    six += [("right_kick", 0.8 + third / 3, "9") for third in range(3)]
    four = steady(range(4), BOTH_SIDES)
    at_7 = [one for one in four if (one["event"], one["time"]) == ("left_entry", 7.0)]
    breaths = [{"time": time, "event": "right_breath"} for time in [1.3, 7.3]]
    cases = {
        "one cycle": (steady(range(1), BOTH_SIDES) + [{"time": 3, "event": "left_entry"}], BOTH_SIDES),
        "steady": (four, BOTH_SIDES),
        "a mark twice": (four + [{"time": 7.05, "event": "left_entry"}], BOTH_SIDES),
        "a mark 0.7 s off": ([one for one in four if one not in at_7] + [{"time": 7.7, "event": "left_entry"}], BOTH_SIDES),
        "a cycle left out": (steady([0, 1, 3, 4], BOTH_SIDES), BOTH_SIDES),
        "six kicks": (steady(range(4), six), six),
        "a breath every third cycle": (steady(range(6), hands) + breaths, hands + [("right_breath", 0.15, "0")]),
        "kicks alone": (steady(range(4), [("left_kick", 0.3, "4")]), []),
    }
    script = "return new Cycle(arguments[0], [], null).foretold()"
    found = []
    for name, (marks, seen) in cases.items():
        marks.sort(key=lambda one: one["time"])
        truth = [one for one in steady(range(10), seen) if one["time"] > 2]
        found.append({"name": name, "foretold": bench.browser.js(script, marks), "truth": truth})
    return found
