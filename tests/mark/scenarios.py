"""What a coach does with the marking page, in a real browser; prints what came of it as JSON.

Usage: scenarios.py SCENARIO PAGE FOLDER. The films are made in FOLDER, where pictures of the
page (PNG) are left too, for whoever wants to look.
"""

import csv
import http.server
import io
import json
import os
import subprocess
import sys
import threading

sys.dont_write_bytecode = True
import coach
import films
import inside
from webdriver import ELEMENT, Browser

SIZES = [(1024, 768), (1280, 800), (1024, 1366)]


class Bench:
    """The page in a browser, and what a coach does on it."""

    def __init__(self, browser, page, folder):
        self.browser, self.page, self.folder = browser, page, folder
        self.times = {}
        browser.go("file://" + page)

    def film(self, name):
        if name not in self.times:
            self.times[name] = films.make(os.path.join(self.folder, name), name)
        self.open(name)
        return self.times[name]

    def open(self, name):
        self.browser.choose_file("#choose", os.path.join(self.folder, name))
        script = "return document.body.dataset.film === 'open' && film.file.name === arguments[0]"
        self.browser.until(script, name)

    def refused(self, name, content):
        """What the page says of a file that is no film."""
        with open(os.path.join(self.folder, name), "wb") as file:
            file.write(content)
        self.browser.choose_file("#choose", os.path.join(self.folder, name))
        script = "return document.body.dataset.film === 'none' && said.textContent.includes(arguments[0])"
        self.browser.until(script, name)
        return self.said()

    def settle(self):
        self.browser.until("return waiting === 0")

    def keys(self, *names):
        self.browser.keys(*names)
        self.settle()

    def touch(self, action):
        self.browser.touch('[data-do="%s"]' % action)
        self.settle()

    def number(self):
        return self.browser.js(films.READ_NUMBER)

    def said(self):
        return self.browser.text("#said")

    def save(self, film, by_touch=False):
        """The file that Save marks writes."""
        if by_touch:
            self.touch("save")
        else:
            self.keys("s")
        return self.browser.download(film.rsplit(".", 1)[0] + "-marks.csv")


def walk(bench):
    """Steps through each film; what number was seen, and what time the page has for it."""
    walks = []
    # Over a stretch of the phone's film in which it halves its rate and takes it up again.
    for film, leaps, steps in [("even.webm", 0, 16), ("uneven.webm", 1, 24), ("phone.mp4", 5, 45)]:
        times = bench.film(film)
        bench.keys(*["Shift+Right"] * leaps)
        seen = []
        for key in ["Right"] * steps + ["Left"] * (steps + 3):
            bench.keys(key)
            seen.append([bench.number(), bench.browser.js("return film.shown")])
        walks.append({"film": film, "steps": steps, "seen": seen, "times": times})
    bench.film("even.webm")
    bench.keys("Left")
    first = [bench.said(), bench.number()]
    bench.keys(*["Shift+Right"] * 14)
    tens = bench.number()
    bench.keys(*["Right"] * 12)
    return {"walks": walks, "tens": tens, "first": first, "last": [bench.said(), bench.number()]}


def mark(bench):
    """Marks known frames in each film by keys; the file that was saved."""
    marked = []
    for film in ["even.webm", "uneven.webm", "phone.mp4"]:
        times = bench.film(film)
        seen = []
        for digit in "1234567890":
            bench.keys("Right", "Right", "Shift+Right", digit)
            seen.append(bench.number())
        marked.append({"film": film, "seen": seen, "csv": bench.save(film), "times": times})
    return {"marked": marked, "said": bench.said()}


def without_frame_times(bench):
    """A browser that cannot tell the time of a frame: an asked rate stands in."""
    browser = bench.browser
    script = "delete HTMLVideoElement.prototype.requestVideoFrameCallback"
    browser.cdp("Page.addScriptToEvaluateOnNewDocument", {"source": script})
    browser.reload()
    times = bench.film("even.webm")
    asked = browser.js("return !document.getElementById('ask-rate').hidden")
    seen = []
    for digit in "1234567890":
        bench.keys("Right", "Right", "Right", "Left", digit)
        seen.append(bench.number())
    return {"asked": asked, "seen": seen, "csv": bench.save("even.webm"), "times": times}


def play(bench):
    """Marks while the film plays slowly, and once it has stopped."""
    times = bench.film("phone.mp4")
    bench.keys("Down", "Space")
    bench.browser.until("return film.shown > 0.3")
    bench.keys("1")
    playing = bench.browser.js("return film.playing")
    bench.browser.until("return film.shown > 0.6")
    bench.keys("Space", "6")
    seen = bench.number()
    learnt = bench.browser.js("return [...film.after].map(([a, b]) => [a / 1e6, b / 1e6])")
    saved = bench.save("phone.mp4")
    # A browser that leaves a frame out and does not count it as dropped.
    skips = bench.browser.js(inside.A_FRAME_LEFT_OUT, times[100], times[102])
    return {"playing": playing, "seen": seen, "learnt": learnt, "csv": saved, "times": times, "skips": skips}


def edit(bench, press):
    """Moves, undoes, deletes, splits: what was said and saved after each, however pressed."""
    film = "even.webm"
    bench.film(film)
    by_touch = press == bench.touch
    steps = []

    def then(*actions):
        for action in actions:
            press(action)
        said = bench.said()
        steps.append([" ".join(actions), said, bench.save(film, by_touch), bench.number()])

    then("on10", "left_entry", "on10", "left_catch", "on10", "right_entry")
    then("moveOn")
    then("moveBack", "moveBack")
    then("undo")
    then("earlierMark")
    then("delete")
    then("undo")
    then("back", "back", "split", "on10", "right_kick")
    then("join")
    then("undo")
    then("right_kick")
    return {"steps": steps, "by_touch": by_touch}


def edit_by_keys(bench):
    keys = {
        "on10": "Shift+Right",
        "back": "Left",
        "left_entry": "1",
        "left_catch": "2",
        "right_entry": "6",
        "right_kick": "9",
        "moveOn": ".",
        "moveBack": ",",
        "undo": "Control+z",
        "earlierMark": "PageUp",
        "delete": "Delete",
        "split": "n",
        "join": "j",
    }
    return edit(bench, lambda action: bench.keys(keys[action]))


def edit_by_touch(bench):
    found = edit(bench, bench.touch)
    # Touching the strip: the mark at frame 20, then a place a second before the picture.
    browser = bench.browser
    width = browser.js("return document.getElementById('close').clientWidth")
    x = browser.js("return strip.xAt(marks.list[1].time)") - width / 2
    y = browser.js("return strip.yOf(marks.list[1])") - 78
    browser.touch("#close", round(x) + 15, round(y) - 10)
    bench.settle()
    found["touched"] = [bench.said(), bench.number()]
    browser.touch("#whole")
    bench.settle()
    found["middle"] = bench.number()
    return found


def reload(bench):
    """Work outlives a reload; a film of another size has none of it; forgetting."""
    browser = bench.browser
    bench.film("even.webm")
    bench.keys("Right", "1", "Shift+Right", "n", "9", "Right")
    before = bench.save("even.webm")
    at = bench.number()
    browser.reload()
    told = browser.text("#kept")
    shown = browser.js("return document.getElementById('kept').checkVisibility()")
    bench.open("even.webm")
    welcome, again = bench.said(), bench.number()
    after = bench.save("even.webm")
    browser.keys("u")
    bench.settle()
    bench.film("uneven.webm")
    other = browser.js("return marks.list.length")
    browser.reload()
    browser.touch("#kept-films button", kind="mouse")
    question = browser.answer_alert()
    left = browser.js("return Object.keys(localStorage).length")
    facts = {"before": before, "after": after, "told": told, "shown": shown, "welcome": welcome}
    facts.update({"at": at, "again": again, "other": other, "question": question, "left": left})
    return facts


def foretell(bench):
    """One cycle marked by hand; then the page leads. Buttons and keys in turn."""
    browser = bench.browser
    film = "even.webm"
    bench.film(film)
    for _ in range(10):
        bench.keys("Right")
    bench.keys("1", "Shift+Right", "2", "Shift+Right", "Right", "Right", "Right", "Right", "Right", "3")
    steps = []

    def step(name, press):
        press()
        steps.append([name, bench.said(), bench.number()])

    def on_and(press, name):
        bench.keys("Right")
        press(name)

    step("next", lambda: bench.keys("Enter"))
    bench.keys("Shift+Right", "Right", "Right", "Right", "Right", "Right", "1")
    step("next", lambda: bench.touch("next"))
    browser.picture(os.path.join(bench.folder, "foretold.png"))
    outlines = browser.js("return document.querySelectorAll('#close .foretold').length > 2")
    step("left_catch", lambda: on_and(bench.keys, "2"))
    step("miss", lambda: bench.keys("x"))
    step("left_entry", lambda: on_and(bench.touch, "left_entry"))
    step("left_catch", lambda: on_and(bench.keys, "2"))
    step("miss", lambda: bench.touch("miss"))
    exits = browser.js("return foretold().filter((moment) => moment.event === 'left_exit').length")
    # The key of another moment: a catch where an entry is foretold.
    step("left_catch", lambda: bench.keys("2"))
    doubted = browser.js("return document.querySelectorAll('#close .doubted').length")
    browser.picture(os.path.join(bench.folder, "doubted.png"))
    step("undo", lambda: bench.keys("u"))
    csv = bench.save(film)
    unseen = browser.js("keep(); return JSON.parse(localStorage.getItem(key)).unseen.length")
    kept_foretold = browser.js("return localStorage.getItem(key).includes('foretold')")
    facts = {"steps": steps, "csv": csv, "unseen": unseen, "kept_foretold": kept_foretold}
    facts.update({"exits": exits, "doubted": doubted, "outlines": outlines, "counts": browser.text("#counts")})
    return facts


def lead_past(bench):
    """Enter and "not seen" again and again: where the picture goes, and what is in the file."""
    browser = bench.browser
    film = "even.webm"
    bench.film(film)
    bench.keys(*["Right"] * 10)
    bench.keys("1", "Right", "Right", "4", "Shift+Right", "Shift+Right", "Shift+Right", *["Right"] * 8, "1")
    before = bench.save(film)
    goes = [bench.number()]
    for _ in range(4):
        bench.keys("Enter")
        goes.append(bench.number())
    # Back to the first of them, then not seen, until nothing is foretold any more.
    browser.js("passed = []; return act(() => film.frameAt(1.5))")
    bench.settle()
    said = []
    for _ in range(6):
        bench.keys("Enter", "x")
        said.append(bench.said())
    marked = browser.js("return marks.list.length")
    bench.keys("Space")
    bench.keys("Space")
    return {"before": before, "after": bench.save(film), "goes": goes, "said": said, "marked": marked}


def next_pass(bench):
    """A cycle of both hands and a foot, then a new pass with one mark in it, of the other side."""
    browser = bench.browser
    film = "even.webm"
    bench.film(film)
    at = {"1": [5, 35], "2": [14], "6": [20], "4": [10]}
    frames = sorted((frame, key) for key, frames in at.items() for frame in frames)
    for frame, key in frames + [(90, "n"), (95, "6")]:
        browser.js("const [frame] = arguments; return act(() => film.frameAt(frame / 30 + 0.01))", frame)
        bench.settle()
        bench.keys(key)
    script = "return foretold().filter((moment) => moment.time > 3).map(({ time, event }) => [event, time * 30])"
    return {"foretold": browser.js(script), "csv": bench.save(film)}


def spreadsheet(bench):
    """The file of a film with a name that spreadsheets stumble over, as Python's csv reads it."""
    name = '=2+3, "lane 4".webm'
    bench.film("even.webm")
    os.rename(os.path.join(bench.folder, "even.webm"), os.path.join(bench.folder, name))
    bench.open(name)
    bench.keys("Right", "1", "Shift+Right", "n", "9")
    saved = bench.save(bench.browser.js("return csvName(film).replace('-marks.csv', '.webm')"))
    rows = list(csv.DictReader(io.StringIO(saved, newline="")))
    return {"name": name, "csv": saved, "rows": rows}


def flip(bench):
    """A film through a mirror: sides set before are exchanged, the picture is turned."""
    browser = bench.browser
    film = "even.webm"
    bench.film(film)

    def turn():
        browser.keys("f")
        question = browser.answer_alert()
        bench.settle()
        return question

    bench.keys("Shift+Right", "1", "Shift+Right", "9", "Shift+Right", "Shift+Right")
    straight = browser.js(inside.IN_WINDOW)
    magnified = []
    browser.js("look.nextMode()")
    for _ in range(2):
        # The blocks are read in the order in which they stand in the window.
        read = [browser.js(inside.IN_LENS, block) for block in range(films.BITS)]
        magnified.append(read == browser.js(inside.IN_WINDOW))
        if len(magnified) == 1:
            question = turn()
    seen_turned = browser.js(inside.IN_WINDOW) == straight[::-1] and straight != straight[::-1]
    bench.keys("2")
    turned = bench.save(film)
    notice = browser.js("return document.getElementById('turned').checkVisibility()")
    browser.picture(os.path.join(bench.folder, "turned.png"))
    browser.reload()
    bench.open(film)
    after_reload = bench.save(film)
    turn()
    back = bench.save(film)
    bench.keys("u")
    undone = bench.save(film)
    facts = {"question": question, "turned": turned, "notice": notice, "after_reload": after_reload}
    facts.update({"back": back, "undone": undone, "seen_turned": seen_turned, "magnified": magnified})
    return facts


def play_around(bench):
    """The loop around a chosen mark, and what is in the picture before, while and after."""
    browser = bench.browser
    bench.film("even.webm")
    bench.keys("Shift+Right", "Shift+Right", "Shift+Right", "1", "Right")
    before = browser.js("return marks.selected.time")
    bench.keys("l")
    browser.js("window.times = []; const see = loop.see; loop.see = (time) => { times.push(time); see.call(loop, time); }")
    browser.until("return times.filter((time, at) => at && time < times[at - 1]).length >= 2")
    speed = browser.js("return film.video.playbackRate")
    seen = browser.js("return times")
    bench.keys("Space")
    facts = {"seen": seen, "mark": before, "before": before, "speed": speed}
    facts.update({"back": browser.js("return film.shown"), "playing": browser.js("return film.playing")})
    return facts


def look(bench):
    """Brightness and contrast, and where the magnifier is."""
    browser = bench.browser
    bench.film("even.webm")
    bench.keys("p")
    for name, value in [("brightness", 200), ("contrast", 150)]:
        script = "const one = document.getElementById(arguments[0]); one.value = arguments[1]; one.dispatchEvent(new Event('input'))"
        browser.js(script, name, value)
    filter_of = "return getComputedStyle(document.querySelector(arguments[0])).filter"
    bench.keys("m")
    place = "const { left, top } = document.getElementById('lens').style; return [left, top]"
    places = []
    for dx in [-90, 60]:
        browser.touch(".picture", dx, 20, kind="mouse")
        places.append(browser.js(place))
    bench.keys("m")
    browser.hover(".picture", -90, 20)
    places.append(browser.js(place))
    browser.touch(".picture", 10, -40)
    places.append(browser.js(place))
    browser.picture(os.path.join(bench.folder, "look.png"))
    filters = [browser.js(filter_of, "video"), browser.js(filter_of, "#lens")]
    bench.keys("m")
    off = browser.js("return document.getElementById('lens').hidden")
    # Once the slider is let go of, the arrows step again.
    browser.touch("#contrast", 0, 0, kind="mouse")
    bench.keys("Right")
    facts = {"filter": filters[0], "lens_filter": filters[1], "places": places, "off": off}
    facts["arrow_steps"] = bench.number()
    return facts


def cues(bench):
    """Cues that the program has written into the page."""
    browser = bench.browser
    bench.film("even.webm")
    said = bench.said()
    bench.keys("Shift+Right", "1")
    knocks = browser.js(inside.KNOCKS)
    should = browser.js(inside.KNOCKS_SHOULD)
    browser.picture(os.path.join(bench.folder, "cues.png"))
    saved = bench.save("even.webm")
    command = bench.said()
    bench.keys("c")
    facts = {"said": said, "knocks": knocks, "should": should, "csv": saved}
    return dict(facts, refused=bench.said(), command=command)


def names(bench):
    """Marks that leave the strip to the left, past the lanes' names; and the command in a narrow page."""
    browser = bench.browser
    bench.film("even.webm")
    bench.keys(*["Right"] * 9)
    for digit in "14569":
        bench.keys(digit)
    covered = {}
    for frame in range(84, 110, 3):
        browser.js("const [frame] = arguments; return act(() => film.frameAt(frame / 30 + 0.01))", frame)
        bench.settle()
        for name in browser.js(inside.COVERED):
            covered.setdefault(name, []).append(frame)
        if frame == 96:
            browser.picture(os.path.join(bench.folder, "names.png"))
    bench.save("even.webm")
    browser.picture(os.path.join(bench.folder, "command.png"))
    broken, heights = set(), set()
    for width in range(200, 900, 15):
        flags, height = browser.js(inside.BROKEN, width)
        broken.update(flags)
        heights.add(height)
    shown = browser.js("return document.querySelectorAll('#close .lane-name').length")
    facts = {"covered": covered, "broken": sorted(broken), "heights": len(heights), "shown": shown}
    return dict(facts, command=bench.said())


def cue_by_hand(bench):
    """One arm cue heard: the last one set counts."""
    browser = bench.browser
    bench.film("even.webm")
    said = bench.said()
    muted = [browser.js("return film.video.muted")]
    bench.keys("v")
    muted.append(browser.js("return film.video.muted"))
    bench.keys("1", "Shift+Right", "c", "Shift+Right", "p")
    bench.touch("right_cue")
    time = browser.js("return film.shown")
    return {"said": said, "muted": muted, "time": time, "csv": bench.save("even.webm")}


class Counting(http.server.BaseHTTPRequestHandler):
    """A server that nobody should ask."""

    asked = []

    def do_GET(self):  # noqa: N802 - the name that http.server calls
        self.asked.append(self.path.split("?")[0])
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()

    do_POST = do_GET  # noqa: N815

    def log_message(self, *_):
        pass


def network(bench):
    """Everything the page asks for while it is used, and what its policy stops."""
    browser = bench.browser
    bench.film("even.webm")
    bench.keys("Right", "1", "Space")
    bench.keys("Space")
    bench.save("even.webm")
    asked = []
    for entry in browser.log("performance"):
        message = json.loads(entry["message"])["message"]
        about = message["params"]
        if message["method"] == "Network.requestWillBeSent" and about["documentURL"].startswith("file:"):
            asked.append(about["request"]["url"])
    complaints = [entry["message"] for entry in browser.log("browser")]
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Counting)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    where = "http://127.0.0.1:%d" % server.server_port
    stopped = browser.ask("POST", "/execute/async", {"script": inside.ATTEMPTS, "args": [where]})
    from_page = list(Counting.asked)
    # The same attempts from a page without a policy: so they would have come through.
    browser.go(where + "/bare")
    browser.js("const [script, where] = arguments; new Function(script)(where, () => {})", inside.ATTEMPTS, where)
    browser.until("return location.pathname === '/form'")
    bare = list(Counting.asked)
    server.shutdown()
    facts = {"page": "file://" + bench.page, "asked": asked, "complaints": complaints}
    facts.update({"stopped": sorted(set(stopped)), "from_page": from_page, "bare": bare})
    return facts


def errors(bench):
    """What the page says of files that are no film, and where nothing can be kept."""
    browser = bench.browser
    silent = ["ffmpeg", "-v", "error", "-f", "lavfi", "-i", "sine=d=1", "-f", "webm", "-"]
    sound = subprocess.run(silent, check=True, capture_output=True).stdout
    facts = {
        "before": [bench.keys("1"), bench.touch("left_entry"), bench.said()][-1],
        "text": bench.refused("notes.webm", b"This is no film.\n" * 100),
        "empty": bench.refused("empty.mp4", b""),
        "sound": bench.refused("sound.webm", sound),
    }
    bench.film("even.webm")
    facts["then_a_film"] = bench.said()
    for name in ["QuotaExceededError", "SecurityError"]:
        script = "Storage.prototype.setItem = () => { throw new DOMException('', '%s'); };" % name
        made = browser.cdp("Page.addScriptToEvaluateOnNewDocument", {"source": script})
        browser.reload()
        bench.open("even.webm")
        bench.keys("1")
        browser.picture(os.path.join(bench.folder, name + ".png"))
        facts[name] = [browser.text("#trouble"), bench.save("even.webm")]
        browser.cdp("Page.removeScriptToEvaluateOnNewDocument", made)
    return facts


def layout(bench):
    """Boxes at every size, names for those who cannot see, where the keyboard is."""
    browser = bench.browser
    bench.film("phone.mp4")
    for digit in "1420936758":
        bench.keys(digit, "Shift+Right")
    bench.keys("n", "PageUp", "PageUp")
    sizes = []
    for width, height in SIZES:
        browser.resize(width, height)
        browser.until("return innerWidth === arguments[0] && innerHeight === arguments[1]", width, height)
        browser.js("scrollTo(0, 0)")
        # With the row for picture and sound, and without it.
        for more in ["-more", ""]:
            bench.keys("p")
            browser.picture(os.path.join(bench.folder, "page-%dx%d%s.png" % (width, height, more)))
            wide = browser.js("return document.documentElement.scrollWidth")
            boxes = browser.js(inside.BOXES)
            sizes.append({"size": [width, height], "scroll_width": wide, "boxes": boxes})
    bench.keys("p")
    names = {}
    for found in browser.ask("POST", "/elements", {"using": "css selector", "value": "button, input, video, svg[role]"}):
        path = "/element/%s/" % found[ELEMENT]
        what = browser.js("const one = arguments[0]; return one.checkVisibility() && (one.id || one.dataset.do)", found)
        if what:
            names[what] = browser.ask("GET", path + "computedlabel")
    focus = []
    for _ in range(len(names)):
        browser.keys("Tab")
        focus.append(browser.js(inside.FOCUS))
    contrast = browser.js(inside.CONTRAST)
    return {"sizes": sizes, "names": names, "focus": focus, "contrast": contrast}


SCENARIOS = {
    "coach-few-cycles": lambda bench: coach.work(bench, coach.NEAR_SIDE, cycles=4),
    "coach-near-side": lambda bench: coach.work(bench, coach.NEAR_SIDE),
    "coach-both-sides": lambda bench: coach.work(bench, coach.BOTH_SIDES),
    "coach-two-lengths": lambda bench: coach.work(bench, coach.BOTH_SIDES, "lengths.mp4", (0.7, 31.4)),
    "walk": walk,
    "mark": mark,
    "without-frame-times": without_frame_times,
    "play": play,
    "edit-by-keys": edit_by_keys,
    "edit-by-touch": edit_by_touch,
    "cycles-foretold": coach.cycles_foretold,
    "foretell": foretell,
    "lead-past": lead_past,
    "next-pass": next_pass,
    "spreadsheet": spreadsheet,
    "flip": flip,
    "loop": play_around,
    "look": look,
    "cues": cues,
    "cue-by-hand": cue_by_hand,
    "names": names,
    "reload": reload,
    "network": network,
    "errors": errors,
    "layout": layout,
}


def main():
    scenario, page, folder = sys.argv[1:]
    with Browser(*SIZES[0]) as browser:
        print(json.dumps(SCENARIOS[scenario](Bench(browser, page, folder))))


main()
