"""Named sessions: each shows one rule of docs/rules.md.

A case is (session, swimmer or None, flags). Quantities are text, decimals Fractions.
"""

from fractions import Fraction

SWIMMER = {
    "name": "Nobody (invented)",
    "pool": "25 m",
    "rate": "57 spm",
    "stroke_length": "0.93 m/stroke",
    "pairing": "opposite-side",
}
SIX = {"kick": "six-beat", "cues": ["arm", "kick", "fill"]}
BREATHING = {
    "kick": "six-beat", "cues": ["arm", "kick", "fill", "breath"],
    "breath": {"every": 3, "side": "right"},
}
UNEVEN = {
    "catch_after_entry": {"left": Fraction("0.271"), "right": Fraction("0.338")},
    "right_entry": Fraction("0.473"),
    "first_arm": "right",
}


def one(**keys):
    """A session of one set, without a swimmer."""
    return {"lead_in": "5 s", "set": [{"rate": "56 spm", **keys}]}, None, {}


def sets(*own, lead_in="5 s", swimmer=None, flags=None, **defaults):
    """A session of several sets."""
    document = {"lead_in": lead_in, "defaults": {"rate": "56 spm", **defaults}, "set": list(own)}
    return document, swimmer, flags or {}


def twelve_hours(spm, **keys):
    """lead_in 5 s + swim + 3 s = 12 h to the second."""
    return one(swim="43192 s", rate=f"{spm} spm", **keys)


def kicks():
    """Both pairings of every kick, symmetrical and not."""
    for pairing in ("same-side", "opposite-side"):
        for kick in ("two-beat", "four-beat", "six-beat", "pull"):
            for shape, uneven in (("even", {}), ("uneven", UNEVEN)):
                for three_on in ("left", "right") if kick == "four-beat" else (None,):
                    keys = {"pairing": pairing, "kick": kick, **uneven}
                    if three_on:
                        keys["three_on"] = three_on
                    cues = ["arm"] if kick == "pull" else ["arm", "kick", "fill"]
                    if kick == "two-beat":
                        cues.remove("fill")
                    name = "-".join(filter(None, (pairing, kick, three_on, shape)))
                    yield name, one(swim="45.25 s", cues=cues, **keys)


def breaths():
    """Every second to fifth entry, both sides, either arm first."""
    for every in (2, 3, 4, 5):
        for side in ("left", "right"):
            for arm in ("left", "right"):
                table = {"every": every, "side": side}
                keys = {"cues": ["arm", "breath"], "breath": table, "first_arm": arm}
                yield f"{every}-{side}-{arm}", one(
                    swim="90 m",
                    pace="1:55 / 100 m",
                    right_entry=Fraction("0.55"),
                    **keys,
                )


def limits():
    """Each limit of docs/rules.md and docs/session.md, just kept and (where there is one) just passed: both sides."""
    by_distance = {"swim": "50 m", "pace": "1:40 / 100 m", "repeats": 2}  # 50 s
    pairs = {
        "twelve-hours": ({"swim": "43192 s"}, {"swim": "43192.000000001 s"}),
        "lead-in": ({"lead_in": "5 s"}, {"lead_in": "4.999999999 s"}),
        "rest": ({"rest": "5 s"}, {"rest": "4.999999999 s"}),
        "rest-after": ({"rest_after": "5 s"}, {"rest_after": "4.999999999 s"}),
        "send-off": (
            by_distance | {"send_off": "55 s"},
            by_distance | {"send_off": "54.999999999 s"},
        ),
        # push_off 3 s and one cycle of 2 s: the swim must be longer.
        "one-cycle": (
            {"swim": "5.000000001 s", "rate": "60 spm"},
            {"swim": "5 s", "rate": "60 spm"},
        ),
        "slow-breath": (
            {"rate": "40 spm", "cues": ["breath"], "breath": {"every": 4}},
            {"rate": "39.999999999 spm", "cues": ["breath"], "breath": {"every": 4}},
        ),
        "rare-breath": (
            {"cues": ["breath"], "breath": {"every": 5}},
            {"rate": "160 spm", "cues": ["breath"], "breath": {"every": 6}},
        ),
        "slow": ({"rate": "10 spm"}, {"rate": "9.999999999 spm"}),
        "fast": ({"rate": "160 spm"}, {"rate": "160.000000001 spm"}),
        "early": ({"lead": "300 ms"}, {"lead": "300.000000001 ms"}),
        "late": ({"lead": {"kick": "-300 ms"}}, {"lead": {"kick": "-300.000000001 ms"}}),
        "entry-early": (
            {"right_entry": Fraction("0.35")}, {"right_entry": Fraction("0.349999999")},
        ),
        "entry-late": (
            {"right_entry": Fraction("0.65")}, {"right_entry": Fraction("0.650000001")},
        ),
        "catch": (
            {"catch_after_entry": Fraction("0.5")}, {"catch_after_entry": Fraction("0.500000001")},
        ),
    }
    for name, (kept, passed) in pairs.items():
        for side, keys in (("kept", kept), ("passed", passed)):
            session, swimmer, flags = one(**{"swim": "45 s", **keys})
            (group,) = session["set"]
            if "lead_in" in group:
                session["lead_in"] = group.pop("lead_in")
            yield f"limit-{side}-{name}", (session, swimmer, flags)


def near_halves():
    """An arm cue at 44.1 kHz less than 2^-57 of a frame below a half: as near as nine decimals of
    start, rate and catch can come (found by the Chinese remainder theorem). Rounded down."""
    near = [
        ("6.006471243", "95.448120773", "36", "0.114842359"),
        ("6.009940677", "90.748159307", "12", "0.107385091"),
        ("6.009576977", "81.031896007", "40", "0.302791470"),
        ("6.000625987", "34.299622397", "92", "0.101961651"),
    ]
    for number, (lead_in, spm, swim, catch) in enumerate(near):
        keys = {"catch_after_entry": Fraction(catch), "cues": ["arm"]}
        own = {"swim": f"{swim} s", "rate": f"{spm} spm", "push_off": "3 s", **keys}
        yield f"near-half-{number}", sets(own, lead_in=f"{lead_in} s")


CASES = {
    **dict(limits()),
    **dict(near_halves()),
    **{f"kick-{name}": case for name, case in kicks()},
    **{f"breath-{name}": case for name, case in breaths()},
    "all-cues-for-hours": one(
        swim="4:00",
        repeats=60,
        rate="61.234567891 spm",
        **SIX | {"cues": ["arm", "kick", "fill", "breath"], "breath": {"every": 5, "side": "left"}},
        **UNEVEN,
    ),
    "fade-cycle": one(swim="2:00", fade={"on": 8, "off": 4, "per": "cycle"}, **SIX),
    "fade-cycle-uneven": one(swim="2:00", fade={"on": 1, "off": 2}, **SIX, **UNEVEN),
    "fade-length": one(
        swim="200 m",
        pace="1:50 / 100 m",
        fade={"on": 1, "off": 2, "per": "length"},
        cues=["arm", "kick", "wall"],
    ),
    "walls-through": one(
        swim="150 m",
        stroke_length="0.95 m/stroke",
        cues=["arm", "kick", "breath", "wall"],
        breath={"every": 3, "side": "right"},
    ),
    "walls-pause": one(
        swim="150 m",
        stroke_length="22 strokes / 25 m",
        walls="pause",
        repeats=2,
        cues=["arm", "kick", "fill", "breath", "wall"],
        kick="six-beat",
        breath={"every": 4, "side": "left"},
        **UNEVEN,
    ),
    "walls-pause-fades": one(
        swim="200 m",
        pace="1:47.3 / 100 m",
        walls="pause",
        fade={"on": 3, "off": 2, "per": "cycle"},
        cues=["arm", "kick", "breath"],
        breath={"every": 2, "side": "right"},
    ),
    "walls-pause-fades-by-length": one(
        swim="180 m",
        pace="1:47.3 / 100 m",
        walls="pause",
        fade={"on": 2, "off": 1, "per": "length"},
        cues=["kick", "wall"],
    ),
    # Half a second of push-off turns makes each wall fall on a whole number of cycles.
    "walls-on-whole-cycles": one(
        swim="100 m", pace="1:20 / 100 m", push_off="2 s", rate="60 spm", walls="pause",
        cues=["arm", "kick", "wall"], pairing="opposite-side",
    ),
    "breath-meets-wall": one(
        swim="100 m", pace="1:20 / 100 m", push_off="2 s", rate="60 spm",
        cues=["arm", "breath", "wall"], breath={"every": 2, "side": "right"},
    ),
    "lead-single": one(
        swim="60 s", lead="40 ms", cues=["arm", "kick", "fill", "breath"], kick="four-beat",
        breath={"every": 3, "side": "right"},
    ),
    "lead-negative": one(swim="60 s", lead="-120 ms"),
    "lead-table": one(swim="60 s", lead={"arm": "-300 ms", "kick": "300 ms"}, **SIX),
    "lead-table-breath": one(
        swim="60 s", lead={"kick": "77.7 ms"}, cues=["arm", "kick", "breath"],
        breath={"every": 2, "side": "left"},
    ),
    # The entry of the first arm on T0 + 0.5 s, and a hair before it.
    "start-kept": one(swim="60 s", push_off="0.5 s", pairing="opposite-side"),
    "start-passed": one(swim="60 s", push_off="499.999999 ms", pairing="opposite-side"),
    "start-under-a-ramp": one(
        swim="60 s", push_off="0 s", lead="300 ms", **SIX,
        rate={"from": "140 spm", "to": "160 spm", "by": "time"},
    ),
    # Walls every 25 s: 0.5 s before the end, and a hair nearer to it.
    "chime-kept": one(
        swim="50.5 m", pace="1:40 / 100 m", cues=["arm", "wall"],
    ),
    "chime-passed": one(
        swim="50.499999999 m", pace="1:40 / 100 m", cues=["arm", "wall"],
    ),
    # A pool of 5 m in 0.15 s: nobody swims that, and chimes keep apart all the same.
    "chime-after-chime": one(
        swim="400 m", pool="5 m", pace="3 s / 100 m", glide="1 m", cues=["arm", "wall"],
    ),
    "lead-of-breaths": one(
        swim="60 s", lead={"arm": "12.5 ms", "breath": "-60 ms"}, **BREATHING,
    ),
    "between-gives-way": one(swim="3 min", **BREATHING),
    "between-gives-way-in-fades": one(
        swim="200 m", pace="1:40 / 100 m", fade={"on": 1, "off": 1}, rate="80 spm", **BREATHING,
    ),
    "between-gives-way-at-walls": one(
        swim="200 m", pace="1:10 / 100 m", walls="pause", push_off="0 s", rate="100 spm",
        lead={"kick": "-300 ms", "breath": "300 ms"}, **BREATHING,
    ),
    "between-gives-way-under-a-ramp": one(
        swim="3 min", rate={"from": "60 spm", "to": "120 spm", "by": "time"}, **BREATHING,
    ),
    # A kick between a sixth of a cycle before the entry of the breath, late by its lead. At 50 spm
    # that is 0.18 s before the breath begins, at 100 spm 0.02 s after it.
    **{
        f"between-at-the-edge-{name}": one(
            swim="60 s", rate=rate, pairing="opposite-side", kick="six-beat",
            cues=["fill", "breath"], breath={"every": 2, "side": "right"}, lead={"kick": kick},
        )
        for name, rate, kick in [
            ("before-kept", "50 spm", "-139.999999 ms"),
            ("before-passed", "50 spm", "-140 ms"),
            ("after-kept", "100 spm", "-180 ms"),
            ("after-passed", "100 spm", "-179.999999 ms"),
        ]
    },
    # A stroke of 1.5 s, the longest that counts carry, and a hair longer.
    "count-kept": one(swim="60 s", rate="40 spm"),
    "count-passed": one(swim="60 s", rate="39.999999999 spm"),
    # 1 s of quiet, three counts of 1.5 s: 5.5 s of rest, and a hair less.
    "count-between-kept": one(swim="60 s", rate="40 spm", repeats=2, rest="5.5 s"),
    "count-between-passed": one(swim="60 s", rate="40 spm", repeats=2, rest="5.499999999 s"),
    "count-seconds": sets(
        {"swim": "45 s", "count": "rate", "rate": "71.3 spm"}, {"swim": "45 s"}, count="seconds",
    ),
    "count-of-a-ramp": sets(
        {"swim": "45 s", "rate": {"from": "52 spm", "to": "77 spm", "by": "time"}},
        {"swim": "45 s", "rate": {"from": "36 spm", "to": "77 spm", "by": "repeat"}, "repeats": 5},
    ),
    "lead-before-the-start": one(swim="60 s", push_off="0 s", lead="300 ms"),
    "send-offs": sets(
        {"swim": "50 m", "repeats": 12, "send_off": "1:15"},
        {"swim": "100 m", "repeats": 5, "send_off": "2:20.5"},
        {"swim": "40 s", "repeats": 3, "rest": "12.125 s"},
        stroke_length="0.9 m/stroke",
    ),
    "rests-over-many-sets": sets(
        *({"swim": f"{25 * n} m", "repeats": n, "rate": f"{48 + n}.1 spm"} for n in range(1, 9)),
        rest="17.7 s",
        rest_after="41 s",
        pace="2:03.7 / 100 m",
    ),
    "rest-after-a-send-off": sets(
        {"swim": "25 m", "repeats": 3, "send_off": "45 s", "rest_after": "1:10"},
        {"swim": "25 m", "repeats": 2, "rest": "5 s"},
        {"swim": "25 m", "repeats": 2, "rest": "6 s", "rest_after": "5 s"},
        {"swim": "25 m", "repeats": 1},
        pace="1:40 / 100 m",
    ),
    "send-off-none": sets(
        {"swim": "25 m", "repeats": 2},
        {"swim": "25 m", "repeats": 2, "send_off": "none"},
        {"swim": "25 m", "repeats": 2, "rest": "31 s"},
        pace="1:40 / 100 m",
        send_off="50 s",
    ),
    "send-off-none-falls-to-the-rest-below": sets(
        {"swim": "25 m", "repeats": 2, "send_off": "none"},
        {"swim": "25 m", "repeats": 2, "send_off": "55 s"},
        pace="1:40 / 100 m",
        rest="11 s",
    ),
    "ramp-by-repeat": one(
        swim="50 m", repeats=7, rest="10 s", stroke_length="0.9 m/stroke",
        rate={"from": "52 spm", "to": "60.1 spm", "by": "repeat"}, cues=["arm", "kick", "wall"],
    ),
    "ramp-by-repeat-once": one(
        swim="60 s", rate={"from": "52 spm", "to": "60 spm", "by": "repeat"}
    ),
    "ramp-down-by-repeat": one(
        swim="60 s", repeats=3, rate={"from": "1.03 s/stroke", "to": "2.5 s/cycle", "by": "repeat"}
    ),
    "ramp-by-time": one(
        swim="5 min", rate={"from": "48 spm", "to": "66 spm", "by": "time"}, repeats=2, **SIX
    ),
    # 28 cpm on the mean for half a minute: the 14th cycle would begin on the end itself.
    "ramp-by-time-to-a-whole-cycle": one(
        swim="33 s", rate={"from": "52 spm", "to": "60 spm", "by": "time"},
        pairing="opposite-side",
    ),
    "ramp-down-by-time": one(
        swim="10 min", rate={"from": "160 spm", "to": "10 spm", "by": "time"}, **SIX
    ),
    "ramp-by-time-with-walls": one(
        swim="150 m", stroke_length="0.9 m/stroke",
        rate={"from": "50 spm", "to": "62 spm", "by": "time"}, lead="33.3 ms",
        cues=["arm", "kick", "breath", "wall"], breath={"every": 2, "side": "left"},
        fade={"on": 5, "off": 2},
    ),
    "ramp-by-time-pausing": one(
        swim="150 m", stroke_length="0.9 m/stroke", walls="pause",
        rate={"from": "50 spm", "to": "62 spm", "by": "time"}, cues=["arm", "kick", "wall"],
        fade={"on": 5, "off": 2},
    ),
    "ramp-that-is-level": one(
        swim="60 s", rate={"from": "54.3 spm", "to": "54.3 spm", "by": "time"}
    ),
    "pace-in-yards": one(
        swim="100 yd", pool="25 yd", pace="1:37.77 / 100 yd", glide="4.5 yd",
        cues=["arm", "kick", "wall"], repeats=2,
    ),
    "stroke-length-in-yards": one(
        swim="75 yd", pool="25 yd", stroke_length="1.81 m/cycle", cues=["arm", "kick", "wall"]
    ),
    "metres-in-a-yard-pool": one(
        swim="50 m", pool="25 yd", pace="1:37.77 / 100 m", cues=["arm", "kick", "wall"]
    ),
    "thirds-of-a-hundred": one(
        swim="100 m", pool="33 1/3 m", stroke_length="0.97 m/stroke", cues=["arm", "kick", "wall"],
        walls="pause",
    ),
    "part-of-a-length": one(
        swim="90 m", pool="25 m", stroke_length="0.97 m/stroke", cues=["arm", "kick", "wall"]
    ),
    "nine-decimals": sets(
        *(
            {
                "swim": f"{30 + n}.123456789 s",
                "rate": f"{50 + n}.987654321 spm",
                "repeats": 3,
                "rest": f"{7 + n}.111111111 s",
                "catch_after_entry": Fraction(300000001 + 7 * n, 10**9),
            }
            for n in range(40)
        ),
        push_off="2.999999999 s",
        lead="40.000000001 ms",
    ),
    "nine-decimals-by-distance": sets(
        *(
            {
                "swim": f"{40 + n}.000000001 m",
                "rate": f"{50 + n}.987654321 spm",
                "stroke_length": f"0.9{n:02}000007 m/stroke",
                "repeats": 3,
                "cues": ["arm", "kick", "wall"],
            }
            for n in range(40)
        ),
        pool="24.999999999 m",
        glide="4.000000003 m",
        rest="9.999999999 s",
    ),
    "swimmer-alone": ({"set": [{"swim": "50 m", "rate": "+0 spm"}]}, SWIMMER, {}),
    "measured-catch": (
        {"set": [{"swim": "45 s"}]},
        SWIMMER | {"pairing": "same-side", "catch_after_entry": "measured", "measured": {
            "date": "2026-10-04", "rate": "57 spm",
            "catch_after_entry": {"left": Fraction("0.341"), "right": Fraction("0.312")},
        }},
        {},
    ),
    "measured-catch-not-asked-for": (
        {"set": [{"swim": "45 s"}]},
        SWIMMER | {"pairing": "same-side", "measured": {
            "date": "2026-10-04", "rate": "57 spm",
            "catch_after_entry": {"left": Fraction("0.341"), "right": Fraction("0.312")},
        }},
        {},
    ),
    "measured-catch-never-measured": (
        {"set": [{"swim": "45 s", "catch_after_entry": "measured"}]}, SWIMMER, {},
    ),
    "coach-before-measured": (
        {"set": [{"swim": "45 s"}]},
        SWIMMER | {"pairing": "same-side", "catch_after_entry": Fraction("0.25"), "measured": {
            "date": "2026-10-04", "rate": "57 spm",
            "catch_after_entry": {"left": Fraction("0.341"), "right": Fraction("0.312")},
        }},
        {},
    ),
    "precedence": sets(
        {"swim": "50 m"},
        {"swim": "50 m", "pace": "1:45 / 100 m", "rate": "96 %", "pairing": "same-side"},
        {"swim": "50 m", "push_off": "1.5 s", "rate": "+2.5 spm", "first_arm": "right"},
        {"swim": "50 m", "lead": "0 ms", "kick": "pull", "cues": ["arm"]},
        swimmer=SWIMMER | {
            "lead": {"arm": "10 ms", "kick": "20 ms"}, "kick": "six-beat", "glide": "5 m",
            "right_entry": Fraction("0.51"), "push_off": "2 s",
        },
        rate="-3 spm",
        glide="3 m",
        cues=["arm", "kick", "fill"],
    ),
    "flags-before-sets": sets(
        {"swim": "50 m", "rate": "70 spm", "pairing": "same-side", "kick": "two-beat"},
        {"swim": "45 s"},
        swimmer=SWIMMER,
        flags={"rate": "97.5 %", "pairing": "opposite-side", "kick": "six-beat"},
        cues=["arm", "kick", "fill"],
    ),
    "inherited-breath-is-not-heard": sets(
        {"swim": "45 s"},
        {"swim": "45 s", "cues": ["arm", "breath"]},
        {"swim": "45 s", "breath": {"every": 2, "side": "left"}, "cues": ["breath"]},
        {"swim": "45 s", "breath": "none"},
        breath={"every": 3, "side": "right"},
    ),
    "fade-switched-off": sets(
        {"swim": "45 s"},
        {"swim": "45 s", "fade": "none"},
        {"swim": "45 s", "fade": {"on": 2, "off": 3}},
        fade={"on": 1, "off": 1, "per": "cycle"},
    ),
    "fastest-and-slowest": sets(
        {"swim": "45 s", "rate": "160 spm"},
        {"swim": "45 s", "rate": "10 spm"},
        {"swim": "45 s", "rate": "5 cpm"},
        {"swim": "45 s", "rate": "0.375 s/stroke"},
    ),
    # Both catches at half a cycle: left before right on one frame.
    "one-instant-both-sides": one(
        swim="45 s", catch_after_entry={"left": Fraction("0.5"), "right": Fraction(0)},
    ),
    "one-instant-many-sounds": one(
        # Everything of one repeat that can meet on a frame, and the counts of the next start.
        swim="100 m", pace="1:20 / 100 m", push_off="0 s", rate="60 spm", pairing="opposite-side",
        cues=["arm", "kick", "fill", "breath", "wall"], kick="six-beat", first_arm="right",
        breath={"every": 2, "side": "right"}, rest="5 s", repeats=3, lead={"arm": "-300 ms"},
    ),
}
