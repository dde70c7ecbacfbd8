"""What becomes of the page where the link, the deck or another phone does something."""

import json
import os
import socket
import threading
import time

from deck import Deck
from phone import PAIR, SIZES, Phone, told
from webdriver import Browser


def outage(program, folder):
    """The link is cut for ten seconds while a swimmer comes in."""
    with Deck(program, folder, swimmers=PAIR) as deck, Phone(deck) as phone:
        at, start = phone.begin(deck)
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
        at, start = phone.begin(deck)
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
            phone.begin(deck)
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
        at, _ = phone.begin(deck)
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


def copied(program, folder):
    """A tab is copied with its store, the copy goes on, and the first one comes back."""
    with Deck(program, folder) as deck, Phone(deck) as phone:
        at, start = phone.begin(deck)
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
        phone.begin(deck)
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
