"""What a coach does with the page: buttons, times, results, and how it is laid out."""

import os
import time

from deck import Deck
from phone import PAIR, SIZES, Phone, told

PAGES = ["time", "cues", "results"]
SIX = (*PAIR, "Cynthia Example", "Dominique Example", "Emmanuel Example", "Friederike Example")


def buttons(program, folder):
    """The same by buttons on one deck and by keys on another."""
    folders = [os.path.join(folder, name) for name in ("by-buttons", "by-keys")]
    for one in folders:
        os.mkdir(one)
    # What, by which key, and what the lines tell of it.
    steps = [
        ("faster", "^", "rate: 55 spm"),
        ("faster", "^", "rate: 56 spm"),
        ("slower", "v", "rate: 55 spm"),
        ("pairing", "p", "cues:"),
        ("pairing", "p", "cues:"),
        ("hands", "h", "settings: Silent: hands"),
        ("feet", "f", "settings: Silent: hands, feet"),
        ("hands", "h", "settings: Silent: feet"),
        ("take back", "u", "said: Taken back"),
        ("take back", "u", "said: Taken back"),
        ("feet", "f", "settings:"),
        ("go_on", " ", "clock: running"),
        ("silence", " ", "clock: paused"),
        ("go_on", " ", "clock: running"),
        (None, None, "start:"),
        ("split", "s", "said: Split 1"),
        ("in", "c", "in: Alex"),
        ("take back", "u", "in: Taken back"),
        ("in", "c", "in: Alex"),
        ("again", "a", "said: Repeat 1 again"),
        ("take back", "u", "said: Taken back"),
        ("next", "n", "said: On to the next start"),
        (None, None, "start:"),
        ("next", "n", "said: The swim is over"),
        ("next", "n", "said: On to the next start"),
        (None, None, "start:"),
        ("next", "n", "said: The swim is over"),
        # After the end, too, and from the beginning again.
        (None, None, "end: Settle, repeat 3"),
        ("in", "c", "in: Alex"),
        ("split", "s", "said: Nobody is swimming."),
        ("next", "n", "said: That was the last repeat."),
        ("faster", "^", "rate:"),
        ("hands", "h", "settings: Silent: feet."),
        ("take back", "u", "said: Taken back"),
        ("go_on", " ", "said: At the beginning again."),
        (None, None, None),
        ("in", "c", "said: Nobody has started yet."),
        ("tap", "t", None),
        ("tap", "t", None),
        ("tap", "t", None),
        ("tap", "t", None),
        ("set the tapped rate", "\n", "rate:"),
    ]
    with Deck(program, folders[0]) as one, Deck(program, folders[1]) as other:
        with Phone(one) as phone:
            marks = [len(one.lines), len(other.lines)]
            begun = list(marks)
            # Too short for a hold: nothing comes of it.
            phone.hold("go_on", 0.05)
            time.sleep(0.5)
            # Every button there is, but the three that turn the page and those of a swim's results.
            labels = phone.js(
                """return [...document.querySelectorAll("button:not(nav button)")]
                     .map((one) => one.ariaLabel ?? one.textContent)"""
            )
            for button, key, tells in steps:
                if button is None:
                    for deck, mark in ((one, marks[0]), (other, marks[1])):
                        if tells is not None:
                            deck.wait_for(tells, mark)
                    time.sleep(2)
                elif button in ("go_on", "next", "again"):
                    phone.hold(button)
                    other.keys(key)
                else:
                    phone.press(button)
                    other.keys(key)
                if tells is None:
                    time.sleep(1.1)
                    continue
                marks = [
                    deck.wait_for(tells, mark) + 1 for deck, mark in zip((one, other), marks)
                ]
                # A press within a second is taken for a slip.
                time.sleep(1.1 if button in ("next", "again") else 0.2)
            time.sleep(1)
            # The last line tells the rate of taps by two hands.
            by = [told(one, begun[0]), told(other, begun[1])]
            return {
                "labels": labels,
                "pressed": [button.replace("_", " ") for button, *_ in steps if button],
                "by_buttons": by[0][:-1],
                "by_keys": by[1][:-1],
                "tapped": [lines[-1] for lines in by],
            }


def times(program, folder):
    """Two swimmers timed, and what was seen of them entered."""
    with Deck(program, folder, swimmers=PAIR) as deck, Phone(deck) as phone:
        phone.js("window.shaken = []; navigator.vibrate = (ms) => shaken.push([ms, Date.now()]);")
        at, start = phone.begin(deck)
        started = time.time() * 1000
        phone.until("return shaken.length === 2")
        phone.until("return id('awake').currentTime > 0 || dark !== ''")
        film = phone.js("return [id('awake').currentTime > 0, dark !== '', id('awake').loop]")
        shaken = [[ms, at_ms - started] for ms, at_ms in phone.js("return shaken")]
        shown = [phone.text("#swimmers")]
        pressed = []
        for wait in (6, 3):
            time.sleep(wait)
            pressed.append(phone.press("in") - start)
        deck.wait_for("in: Bo", at)
        phone.until("return state.swimmers[1].time !== null")
        shown.append([phone.state("swimmers"), phone.text("#swimmers")])
        before = deck.rows()
        phone.js("turnTo('results')")
        fill = """const rows = [...document.querySelectorAll("fieldset")];
            const set = (row, name, value) => {
              const input = row.querySelector(`[name=${name}]`);
              input.value = value;
              input.dispatchEvent(new Event("input"));
            };
            set(rows[1], "strokes", "22/length");
            set(rows[1], "kept", "part");
            set(rows[1], "effort", "7");
            return rows.map((row) => row.querySelector("legend").textContent);"""
        legends = phone.js(fill)
        phone.picture(os.path.join(folder, "results-filled.png"))
        phone.js('document.querySelectorAll("fieldset")[1].querySelector("button").click()')
        deck.wait_for("said: Results entered.")
        time.sleep(0.5)
        phone.until("return state.results.rows[1].strokes === '22/length'")
        return {
            "pressed": pressed,
            "shaken": shaken,
            "film": film,
            "shown": shown,
            "before": before,
            "rows": deck.rows(),
            "legends": legends,
            "told": [line for line in deck.lines if " in: " in line],
            "after": phone.js("return state.results.rows"),
        }


def layout(program, folder):
    """The page at every size, in a swim with a result."""
    session = """title = "Evening"
[[set]]
name = "Settle with a long name for it"
repeats = 12
swim = "100 m"
pace = "40 s / 100 m"
rest = "25 s"
rate = "54.3 spm"
pairing = "opposite-side"
"""
    found = []
    # Six have the least room: where they fit, two do.
    for swimmers, sizes in ((PAIR, SIZES[:3]), (SIX, SIZES)):
        deck = Deck(program, folder, swimmers=swimmers, session=session)
        found += pages(deck, sizes, folder)
    return {"pages": found}


def pages(deck, sizes, folder):
    """Every page at some sizes, with what stands on it where."""
    found = []
    with deck, Phone(deck) as phone:
        phone.begin(deck)
        time.sleep(3)
        phone.press("in")
        deck.wait_for("in: Alex")
        phone.press("feet")
        time.sleep(4.2)
        swimmers = len(phone.state("swimmers"))
        for width, height in sizes:
            phone.resize(width, height)
            for page in PAGES:
                phone.js("turnTo(arguments[0])", page)
                name = "%s-%d-%dx%d.png" % (page, swimmers, width, height)
                phone.picture(os.path.join(folder, name))
                boxes = """const inTheMiddle = [...document.querySelectorAll("section")].find((one) => one.checkVisibility());
                  inTheMiddle.scrollTop = 0;
                  words(id("clock"), "Swimming 0:01, 0:21 to go, Bo leaves in 0:03, 0:13 early");
                  words(id("rate"), "112.5");
                  words(id("unit"), "spm to 108.5");
                  words(id("link"), "Times may be wrong by 0.02 s.");
                  words(id("told"), "Written: Bo, Settle with a long name for it, repeat 1, 20.6 s.");
                  const nextIn = state.swimmers.find((one) => one.time === null).name;
                  return [...document.querySelectorAll("button, b, p, h2, li, legend")]
                  .filter((one) => one.checkVisibility() && one.textContent)
                  .map((one) => {
                    const box = one.getBoundingClientRect();
                    const outside = one.closest("details, #results, #cues") ? false
                      : box.bottom > innerHeight + 1;
                    const clips = one.closest("#swimmers, #news, header, section");
                    const around = clips?.getBoundingClientRect() ?? box;
                    const [top, bottom] = [Math.max(box.top, around.top, 0), Math.min(box.bottom, around.bottom, innerHeight)];
                    return {
                      what: one.ariaLabel ?? one.textContent,
                      button: one.matches("button"),
                      line: one.matches("header p:not(.state), #news p"),
                      told: one.matches("#news p"),
                      times: one.closest("#time") !== null,
                      next: one.matches("li") && one.textContent === nextIn,
                      held: one.matches("[data-hold]"),
                      // What is seen of it where its page is longer than its room.
                      seen: [box.left, top, box.right, bottom],
                      out: outside || box.right > innerWidth + 1 || box.left < -1,
                      cut: (one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0)
                        || (one.matches("p") && one.scrollHeight > one.clientHeight + 1),
                      box: [box.left, box.top, box.right, box.bottom],
                      font: parseFloat(getComputedStyle(one).fontSize),
                    };
                  })"""
                found.append({"size": [width, height], "page": page, "boxes": phone.js(boxes)})
    return found


def hands(program, folder):
    """Palms, wet hands and slow ones on "in"."""
    with Deck(program, folder, swimmers=SIX) as deck, Phone(deck) as phone:
        phone.begin(deck)
        time.sleep(9)
        counts = []
        touches = [
            ([("#in", 0.3, 0.4), ("#in", 0.7, 0.5)], 0.05),
            ([("#in", 0.1, 0.8), ("[data-moment=split]", 0.9, 0.5)], 0.05),
            # The hand that holds the phone rests on its edge.
            ([("#heading", 0.1, 0.5), ("#in", 0.5, 0.5)], 0.05),
            ([("#in", 0.5, 0.5)], 3.6),
        ]
        for places, seconds in touches:
            phone.points(places, seconds)
            time.sleep(1.2)
            counts.append(sum(" in: " in line for line in deck.lines))
        # The mouse of a tablet, and a key.
        origin = {"element-6066-11e4-a52e-4f735466cecf": phone.find("#in")}
        steps = [
            {"type": "pointerMove", "duration": 0, "origin": origin, "x": 0, "y": 0},
            {"type": "pointerDown", "button": 0},
            {"type": "pause", "duration": 3600},
            {"type": "pointerUp", "button": 0},
        ]
        mouse = {"type": "pointer", "id": "mouse", "parameters": {"pointerType": "mouse"}}
        phone.ask("POST", "/actions", {"actions": [{**mouse, "actions": steps}]})
        time.sleep(1.2)
        counts.append(sum(" in: " in line for line in deck.lines))
        phone.js("id('in').focus()")
        phone.keys("Enter")
        time.sleep(1.2)
        counts.append(sum(" in: " in line for line in deck.lines))
        return {"counts": counts, "splits": [line for line in deck.lines if "plit" in line]}


def entered(program, folder):
    """Results from two phones, and what is no result."""
    with Deck(program, folder, swimmers=PAIR) as deck, Phone(deck) as one, Phone(deck) as other:
        one.begin(deck)
        time.sleep(4)
        for name in ("Alex", "Bo"):
            one.press("in")
            deck.wait_for("in: " + name)
        for phone in (one, other):
            phone.js("turnTo('results')")
            phone.until("return document.querySelectorAll('fieldset').length === 2")
        # While strokes are typed on one, the other enters the effort.
        one.type(0, "strokes", "4")
        other.type(0, "effort", "7")
        other.save(0)
        one.until("return state.results.rows[0].effort === '7'")
        one.type(0, "strokes", "44")
        shown = one.js("return document.querySelector('[name=effort]').value")
        one.save(0)
        one.until("return state.results.rows[0].strokes === '44'")
        # The row is written after it is told.
        time.sleep(0.5)
        both = deck.rows()[0]
        # Neither sees what the other enters.
        one.wire.is_cut = True
        one.type(0, "kept", "part")
        one.save(0)
        other.type(0, "effort", "9")
        other.save(0)
        other.until("return state.results.rows[0].effort === '9'")
        waits = one.js("return document.querySelector('[name=kept]').value")
        one.wire.is_cut = False
        other.until("return state.results.rows[0].kept === 'part'")
        one.until("return link.isUp && link.kept.length === 0 && state.results.rows[0].effort === '9'")
        time.sleep(0.5)
        apart = deck.rows()[0]
        # Put back as it was, it is no change.
        one.type(0, "strokes", "45")
        drafted = one.js("return document.querySelector('fieldset button').disabled")
        one.type(0, "strokes", "44")
        put_back = one.js(
            """return [document.querySelector("fieldset button").disabled,
                 [...drafts.values()].every((draft) => Object.keys(draft).length === 0)]"""
        )
        one.type(1, "strokes", "abc")
        one.save(1)
        time.sleep(1)
        one.picture(os.path.join(folder, "results-wrong.png"))
        wrong = one.js(
            """const place = document.querySelectorAll("fieldset")[1];
               return [place.querySelector(".wrong").textContent,
                 place.querySelector("[name=strokes]").value, link.kept.length,
                 place.querySelector(".wrong").getBoundingClientRect().bottom
                   <= place.closest("section").getBoundingClientRect().bottom]"""
        )
        row = deck.rows()[1]
        verdicts = []
        for text in ("44", "22/length", "22 / length", "4.5", "+7", "0", "-3", "100000", "100001", "abc", "44/lap", "4,5", "1e2", "4."):
            at = len(deck.lines)
            by_page = one.js(
                """link.keep({ is: "result", swim: state.results.swim, swimmer: 1, strokes: arguments[0], kept: "", effort: "" });
                   return wrongStrokes(arguments[0], "Bo") === "" """,
                text,
            )
            deck.wait_for("said:", at)
            verdicts.append([text, by_page, "said: Results entered." in deck.lines[deck.wait_for("said:", at)]])
        return {
            "shown": shown,
            "both": both,
            "waits": waits,
            "apart": apart,
            "drafted": drafted,
            "put_back": put_back,
            "wrong": wrong,
            "row": row,
            "verdicts": verdicts,
        }


def each(program, folder):
    """What is to be tapped, as the program was asked."""
    told = []
    for more in ([], ["--each", "stroke"]):
        with Deck(program, folder, *more) as deck, Phone(deck) as phone:
            told.append(phone.js("return id('taps').textContent"))
    return {"told": told}
