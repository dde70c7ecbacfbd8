"""What a coach does with the page on a phone, in a real browser and against a real deck; prints what
came of it as JSON.

Usage: scenarios.py SCENARIO PROGRAM FOLDER. Pictures of the page (PNG) are left in FOLDER.
"""

import json
import os
import re
import socket
import sys
import threading
import time

sys.dont_write_bytecode = True
sys.path.append(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "mark"))
from deck import Deck
from webdriver import Browser
from wire import Wire

# Among them what a browser's own bars leave of a small phone.
SIZES = [(360, 640), (640, 360), (1024, 768), (320, 568), (320, 454), (640, 300), (640, 290)]
PAGES = ["time", "cues", "results"]
PAIR = ("Alex Example", "Bo Example")
SIX = (*PAIR, "Cynthia Example", "Dominique Example", "Emmanuel Example", "Friederike Example")


class Phone(Browser):
    """The page in a browser; `wire` is what stands between it and the deck."""

    def __init__(self, deck, size=SIZES[0]):
        self.wire = Wire(deck.port)
        rule = "MAP 127.0.0.1:%d 127.0.0.1:%d" % (deck.port, self.wire.port)
        super().__init__(*size, ["--host-resolver-rules=" + rule])
        try:
            self.open(deck.address)
        except Exception:
            self.close()
            raise

    def open(self, address):
        self.go(address)
        self.until("return state !== null && link.own.within_ms !== null")

    def state(self, name):
        return self.js("return state[arguments[0]]", name)

    def press(self, label):
        """Touches a button on the page where it stands; gives when, on this process's clock."""
        place = self.js(
            """const button = [...document.querySelectorAll("button")].find(
                 (one) => (one.ariaLabel ?? one.textContent) === arguments[0]);
               const section = button.closest("section");
               if (section) turnTo(section.id);
               button.scrollIntoView();
               button.id ||= "button-" + arguments[0].replaceAll(" ", "-");
               return "#" + button.id;""",
            label,
        )
        at = time.monotonic()
        self.touch(place)
        return at

    def points(self, places, seconds=0.05):
        """Touches the page at once at points, each a selector with shares of its width and height."""
        at = self.js(
            """return arguments[0].map(([selector, x, y], id) => {
                 const box = document.querySelector(selector).getBoundingClientRect();
                 return { id, x: box.left + x * box.width, y: box.top + y * box.height };
               })""",
            places,
        )
        self.cdp("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": at})
        time.sleep(seconds)
        self.cdp("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})

    def type(self, row, name, value):
        """Types into a field of a swimmer's results."""
        self.js(
            """const [row, name, value] = arguments;
               const input = document.querySelectorAll("fieldset")[row].querySelector(`[name=${name}]`);
               input.focus();
               input.value = value;
               input.dispatchEvent(new Event("input"));""",
            row,
            name,
            value,
        )

    def save(self, row):
        self.js('document.querySelectorAll("fieldset")[arguments[0]].querySelector("button").click()', row)

    def hold(self, name, seconds=0.7):
        origin = {"element-6066-11e4-a52e-4f735466cecf": self.find("[data-hold=%s]" % name)}
        steps = [
            {"type": "pointerMove", "duration": 0, "origin": origin, "x": 0, "y": 0},
            {"type": "pointerDown", "button": 0},
            {"type": "pause", "duration": int(seconds * 1000)},
            {"type": "pointerUp", "button": 0},
        ]
        pointer = {"type": "pointer", "id": "touch", "parameters": {"pointerType": "touch"}}
        self.ask("POST", "/actions", {"actions": [{**pointer, "actions": steps}]})


def told(deck, since=0):
    """What lines tell, without the clock, and without measured figures."""
    lines = [line.split(" ", 1)[1] for line in deck.lines[since:]]
    lines = [line for line in lines if not line.startswith(("phone:", "next:", "result:"))]
    return [re.sub(r"[\d.]+(?= s\b)|\d+:\d\d|± [\d.]+", "#", line) for line in lines]


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
        phone.hold("go_on")
        at = deck.wait_for("start:")
        start = time.monotonic()
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


def outage(program, folder):
    """The link is cut for ten seconds while a swimmer comes in."""
    with Deck(program, folder, swimmers=PAIR) as deck, Phone(deck) as phone:
        phone.hold("go_on")
        at = deck.wait_for("start:")
        start = time.monotonic()
        time.sleep(2)
        before = phone.state("rate_spm")
        phone.wire.is_cut = True
        cut = time.monotonic()
        # Nobody knows yet that nothing goes through: this is not done later either.
        phone.press("faster")
        phone.until("return !link.isUp")
        noticed = time.monotonic() - cut
        pressed = [phone.press("in") - start]
        time.sleep(1.5)
        pressed.append(phone.press("in") - start)
        greyed = phone.js(
            """return [...document.querySelectorAll("button:disabled")]
                 .map((one) => one.ariaLabel ?? one.textContent)"""
        )
        open_still = phone.js(
            """return [...document.querySelectorAll("button:not(:disabled)")]
                 .map((one) => one.ariaLabel ?? one.textContent)"""
        )
        said = phone.text("#link")
        phone.picture(os.path.join(folder, "cut.png"))
        rows_meanwhile = deck.rows()
        time.sleep(max(0, cut + 10 - time.monotonic()))
        phone.wire.is_cut = False
        deck.wait_for("in: Bo", at)
        phone.until("return link.isUp && link.kept.length === 0")
        time.sleep(1.5)
        after = phone.state("rate_spm")
        # What the deck tells of a clock that it knows badly, and not at all.
        phone.until("return link.undone === null")
        doubts = [
            phone.js(
                """show({ ...state, happened: "Written." });
                   link.take({ ...link.own, within_ms: arguments[0], is_sure: false });
                   return [id("link").textContent, id("told").textContent,
                     ...["faster", "silence"].map((wish) =>
                       document.querySelector(`[data-wish=${wish}]`).disabled)]""",
                within_ms,
            )
            for within_ms in (27, None)
        ]
        return {
            "doubts": doubts,
            "noticed": noticed,
            "pressed": pressed,
            "greyed": greyed,
            "open": open_still,
            "said": said,
            "rows_meanwhile": rows_meanwhile,
            "rows": deck.rows(),
            "ins": [line for line in deck.lines if " in: " in line],
            "rate": [before, after],
        }


def reload(program, folder):
    """The page is opened anew with something kept that the deck has, and has not, got."""
    with Deck(program, folder, swimmers=PAIR) as deck, Phone(deck) as phone:
        phone.hold("go_on")
        at = deck.wait_for("start:")
        start = time.monotonic()
        time.sleep(2)
        phone.wire.is_cut = True
        # The first is on its way as the link goes, the second is kept.
        pressed = [phone.press("in") - start]
        time.sleep(3)
        pressed.append(phone.press("in") - start)
        kept = phone.js("return link.kept.length")
        threading.Timer(1.0, lambda: setattr(phone.wire, "is_cut", False)).start()
        phone.reload()
        phone.until("return state !== null && link.own.within_ms !== null")
        deck.wait_for("in: Bo", at)
        phone.until("return link.kept.length === 0")
        time.sleep(1)
        return {
            "pressed": pressed,
            "kept": kept,
            "rows": deck.rows(),
            "ins": [line for line in deck.lines if " in: " in line],
        }


def two(program, folder):
    """Two phones at once."""
    with Deck(program, folder) as deck, Phone(deck) as one, Phone(deck) as other:

        def until(name, value):
            for phone in (one, other):
                phone.until("return state[arguments[0]] === arguments[1]", name, value)

        one.press("faster")
        until("rate_spm", "55")
        other.press("feet")
        until("feet_silent", True)
        one.press("hands")
        until("hands_silent", True)
        # Each takes back what it did itself.
        other.press("take back")
        until("feet_silent", False)
        states = [phone.js("return state") for phone in (one, other)]
        # The last change holds.
        one.press("faster")
        until("rate_spm", "56")
        other.press("slower")
        until("rate_spm", "55")
        one.press("take back")
        one.until("return (state.happened ?? '').includes('it stays')")
        deck.keys("v")
        until("rate_spm", "54")
        return {"states": states, "rate": [one.state("rate_spm"), other.state("rate_spm")]}


def ended(program, folder):
    """The deck is quit, or killed and started anew at the same port."""
    with Deck(program, folder) as deck:
        phone = Phone(deck)
        with phone:
            phone.hold("go_on")
            deck.wait_for("start:")
            deck.kill()
            phone.until("return !link.isUp")
            phone.press("in")
            with Deck(program, folder, "--port", str(deck.port)) as anew:
                time.sleep(4)
                old = [phone.js("return link.isUp"), phone.text("#link")]
                phone.open(anew.address)
                new = [phone.js("return link.isUp"), phone.state("rate_spm")]
                kept = phone.js("return link.kept.length")
                phone.press("faster")
                anew.wait_for("rate: 55 spm")
                ins = [line for line in anew.lines if " in: " in line]
                anew.keys("qq")
                anew.process.wait(10)
                phone.until("return link.end !== ''")
                quit_words = phone.text("#link")
                time.sleep(2)
                again = phone.js("return link.socket === null")
    same = deck.address.rsplit("/", 1)[1] == anew.address.rsplit("/", 1)[1]
    return {"old": old, "new": new, "kept": [kept, ins], "quit": quit_words, "again": again, "same_secret": same}


def over(program, folder):
    """The session comes to its end, and is begun anew."""
    session = """title = "Evening"
lead_in = "12 s"
[[set]]
name = "Settle"
repeats = 1
swim = "50 m"
pace = "20 s / 50 m"
rate = "54 spm"
"""

    def seen():
        silence, go_on = "#silence", "[data-hold=go_on]"
        disabled = [
            phone.js("return document.querySelector(arguments[0]).disabled", button)
            for button in (silence, go_on)
        ]
        hint = phone.text("#go-on-hint")
        return [disabled, hint, phone.js("return [state.over, state.running, state.results]")]

    with Deck(program, folder, session=session) as deck, Phone(deck) as phone:
        phone.hold("go_on")
        at = deck.wait_for("start:")
        time.sleep(5)
        phone.press("in")
        deck.wait_for("in: Alex", at)
        phone.until("return state.over")
        time.sleep(0.5)
        rows, at_the_end = deck.rows(), seen()
        # From a page that does not know of the end yet.
        mark = len(deck.lines)
        phone.js("link.wish('silence')")
        deck.wait_for("said:", mark)
        time.sleep(0.5)
        silenced = [told(deck, mark), seen()]
        mark = len(deck.lines)
        phone.hold("go_on")
        phone.until("return !state.over")
        time.sleep(2)
        phone.press("in")
        deck.wait_for("said: Nobody", mark)
        anew = [told(deck, mark), phone.js("return [state.over, state.running, state.starts]")]
        return {
            "at_the_end": at_the_end,
            "silenced": silenced,
            "anew": anew,
            "rows": [rows, deck.rows()],
        }


def late(program, folder):
    """What is wished for as the link stalls is not done later, and the phone hears so."""
    with Deck(program, folder) as deck, Phone(deck) as phone:
        before = phone.state("rate_spm")
        phone.wire.is_cut = True
        phone.press("faster")
        time.sleep(2.5)
        phone.wire.is_cut = False
        phone.until("return link.own.late !== null")
        time.sleep(0.5)
        late = phone.js("return link.own.late")
        return {"late": late, "told": phone.text("#link"), "rate": [before, phone.state("rate_spm")]}


def six(program, folder):
    """The page at an address of IPv6; none where this machine has no such."""
    try:
        socket.create_server(("::1", 0), family=socket.AF_INET6).close()
    except OSError:
        return None
    with Deck(program, folder, at="::1") as deck, Browser(*SIZES[0]) as phone:
        phone.go(deck.address)
        phone.until("return state !== null && link.own.within_ms !== null")
        phone.js("link.wish('faster')")
        deck.wait_for("rate: 55 spm")
        other = """const [where, done] = arguments;
            const stopped = [];
            document.addEventListener("securitypolicyviolation",
              (event) => stopped.push(event.blockedURI));
            new WebSocket(where);
            fetch(where.replace("ws", "http")).catch(() => {});
            setTimeout(() => done(stopped), 700);"""
        elsewhere = "ws://[::1]:%d/" % (deck.port - 1)
        body = {"script": other, "args": [elsewhere]}
        stopped = phone.ask("POST", "/execute/async", body)
        said = [entry["message"] for entry in phone.log("browser")]
        return {"stopped": stopped, "said": [one for one in said if "invalid source" in one]}


def elsewhere(program, folder):
    """Browsers and pages for which this is not."""
    with Deck(program, folder) as deck, Phone(deck) as phone:
        asked = [
            json.loads(entry["message"])["message"]
            for entry in phone.log("performance")
        ]
        asked = [
            one["params"].get("request", one["params"]).get("url", "")
            for one in asked
            if one["method"] in ("Network.requestWillBeSent", "Network.webSocketCreated")
        ]
        attempts = """const [where, done] = arguments;
            const stopped = [];
            document.addEventListener("securitypolicyviolation",
              (event) => stopped.push(event.effectiveDirective));
            fetch(where).catch(() => {});
            new Image().src = where;
            new WebSocket(where.replace("http", "ws"));
            for (const [name, key] of [["script", "src"], ["iframe", "src"], ["video", "src"]]) {
              const made = document.createElement(name);
              made[key] = where;
              document.body.append(made);
            }
            setTimeout(() => done(stopped), 700);"""
        body = {"script": attempts, "args": ["http://127.0.0.1:9/elsewhere"]}
        stopped = phone.ask("POST", "/execute/async", body)
        complaints = [entry["message"] for entry in phone.log("browser")]
        # A film that cannot be played keeps no screen on.
        phone.js("id('awake').src = 'data:video/mp4,none'")
        phone.press("hands")
        phone.until("return id('told').textContent.startsWith('If the screen goes dark')")
        # A page of another origin, in the same browser.
        other = os.path.join(folder, "other.html")
        with open(other, "w") as file:
            file.write("<!doctype html><title>Other</title>")
        phone.go("file://" + other)
        tries = """const [address, done] = arguments;
            const socket = new WebSocket(address.replace("http", "ws") + "/socket");
            socket.onopen = () => done("open");
            socket.onerror = () => done("refused");"""
        foreign = phone.ask("POST", "/execute/async", {"script": tries, "args": [deck.address]})
        phone.cdp(
            "Page.addScriptToEvaluateOnNewDocument", {"source": "delete window.WebSocket;"}
        )
        phone.go(deck.address)
        without = [
            phone.text("#told"),
            phone.js("return [...document.querySelectorAll('button')].some((one) => one.checkVisibility())"),
        ]
        broken = [entry["message"] for entry in phone.log("browser")]
        return {
            "address": deck.address,
            "asked": asked,
            "stopped": stopped,
            "complaints": complaints,
            "foreign": foreign,
            "without": without,
            "broken": broken,
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
    for swimmers in (PAIR, SIX):
        found += pages(Deck(program, folder, swimmers=swimmers, session=session), folder)
    return {"pages": found}


def pages(deck, folder):
    """Every page at every size, with what stands on it where."""
    found = []
    with deck, Phone(deck) as phone:
        phone.hold("go_on")
        deck.wait_for("start:")
        time.sleep(3)
        phone.press("in")
        deck.wait_for("in: Alex")
        phone.press("feet")
        time.sleep(4.2)
        swimmers = len(phone.state("swimmers"))
        for width, height in SIZES:
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
        phone.hold("go_on")
        deck.wait_for("start:")
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


def copied(program, folder):
    """A tab is copied with its store, the copy goes on, and the first one comes back."""
    with Deck(program, folder) as deck, Phone(deck) as phone:
        phone.hold("go_on")
        at = deck.wait_for("start:")
        start = time.monotonic()
        phone.press("tap")
        phone.until("return link.kept.length === 0")
        first = phone.ask("GET", "/window")
        phone.js("window.open(location.href)")
        time.sleep(1)
        copy = next(one for one in phone.ask("GET", "/window/handles") if one != first)
        phone.ask("POST", "/window", {"handle": copy})
        known = "return state !== null && link.own.within_ms !== null"
        phone.until(known)
        same = phone.js("return link.phone")
        for _ in range(3):
            phone.press("tap")
            time.sleep(0.5)
        phone.until("return link.kept.length === 0")
        phone.ask("POST", "/window", {"handle": first})
        said = phone.text("#link")
        phone.reload()
        phone.until(known)
        pressed = [phone.press("in") - start]
        deck.wait_for("in: Alex", at)
        phone.until("return link.kept.length === 0")
        return {
            "same": same == phone.js("return link.phone"),
            "said": said,
            "pressed": pressed,
            "rows": deck.rows(),
        }


def undone(program, folder):
    """Presses on a good link, and on one that has just gone."""
    with Deck(program, folder) as deck, Phone(deck) as phone:
        phone.hold("go_on")
        deck.wait_for("start:")
        time.sleep(6)
        # Where all is well, nothing is said of it.
        phone.js(
            """window.seen = [];
               new MutationObserver(() => seen.push(id("link").textContent))
                 .observe(id("link"), { childList: true, characterData: true, subtree: true });"""
        )
        for label in ("tap", "faster", "tap"):
            phone.press(label)
            time.sleep(1.2)
        seen = phone.js("return seen")
        phone.wire.is_cut = True
        at = phone.press("silence")
        phone.until("return id('link').textContent !== ''")
        after = time.monotonic() - at
        said = phone.text("#link")
        phone.picture(os.path.join(folder, "silence-lost.png"))
        time.sleep(2.5)
        phone.wire.is_cut = False
        phone.until("return link.isUp")
        time.sleep(1)
        later = phone.text("#link")
        runs = phone.state("running")
        phone.press("silence")
        deck.wait_for("clock: paused")
        phone.until("return !state.running")
        return {"seen": seen, "after": after, "said": said, "later": later, "runs": runs, "end": phone.text("#link")}


def doubt(program, folder):
    """How long after the last exchange the page doubts its clock."""
    with Deck(program, folder) as deck, Phone(deck) as phone:
        time.sleep(2)
        phone.wire.is_cut = True
        phone.until("return !link.isUp")
        sure = phone.js("return [link.own.is_sure, link.own.sure_for_s]")
        phone.until("return id('link').textContent.includes('Times taken now may be wrong')", seconds=70)
        return {"sure": sure, "after": phone.js("return (performance.now() - link.last) / 1000")}


def entered(program, folder):
    """Results from two phones, and what is no result."""
    with Deck(program, folder, swimmers=PAIR) as deck, Phone(deck) as one, Phone(deck) as other:
        one.hold("go_on")
        deck.wait_for("start:")
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


if __name__ == "__main__":
    scenario, program, folder = sys.argv[1:]
    found = globals()[scenario](program, folder)
    print(json.dumps(found))
