"""A phone: the page in a real browser, and the wire between it and the deck."""

import os
import re
import sys
import time

sys.path.append(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "mark"))
from webdriver import Browser
from wire import Wire

# Among them what a browser's own bars leave of a small phone.
SIZES = [(360, 640), (640, 360), (1024, 768), (320, 568), (320, 454), (640, 300), (640, 290)]
PAIR = ("Alex Example", "Bo Example")


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

    def picture(self, path):
        """Only where somebody will look at it: it takes longer than all else."""
        if "CUELANE_PICTURES" in os.environ:
            super().picture(path)

    def begin(self, deck):
        """Starts the session; gives the line of the first start, and when it was told."""
        self.hold("go_on")
        return deck.wait_for("start:"), time.monotonic()

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
