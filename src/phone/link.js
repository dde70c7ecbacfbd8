// The socket, the clock, and what is kept until it was taken.

// Nothing heard for so long: the link is down. Longer: another socket is tried. Milliseconds.
const QUIET = 2500;
const GIVE_UP = 6000;
const AGAIN = 1000;
// Answers after which the program knows this page's clock again.
const ANSWERS = 3;
// A phone that slept may have stopped this page's clock by more than the day's clock is ever put right.
const SLEPT = 1000;
// A wish is looked after for so long; what is heard sooner than the other may have been on its way
// before it. Milliseconds.
const LOOKED_AFTER = 1000;
const UNDER_WAY = 300;
// So long it is told that one was not done, with the link there, ms.
const TOLD = 5000;

const random = () => crypto.getRandomValues(new Uint32Array(4));

class Link {
  // `show` takes each message that says how everything is; `changed` is called as the link changes.
  constructor(show, changed) {
    this.show = show;
    this.changed = changed;
    this.load = random()[0];
    this.store = "kept" + location.pathname;
    const before = this.read();
    this.phone = before?.phone ?? Array.from(random(), (part) => part.toString(36)).join("");
    this.kept = before?.kept ?? [];
    // Counts what this opening of the page has kept: a tab that was copied, with its store, counts its own.
    this.number = 0;
    this.own = { within_ms: null, is_sure: false, sure_for_s: 0 };
    // When the deck was heard: of this socket, and of any.
    this.heard = -Infinity;
    this.last = performance.now();
    this.since = this.last;
    this.isUp = false;
    // Whether the two clocks were ever compared: from then on moments can be kept.
    this.wasKnown = false;
    this.end = "";
    this.isOver = false;
    // The wish that waits for its answer, and one that was not done, in words.
    this.wished = null;
    this.undone = null;
    this.late = 0;
    this.write();
    this.open();
    setInterval(() => this.watch(), 250);
  }

  // This tab's own store: over a reload, and no longer than the tab.
  read() {
    try {
      return JSON.parse(sessionStorage.getItem(this.store));
    } catch {
      return null;
    }
  }

  write() {
    const { phone, kept } = this;
    try {
      sessionStorage.setItem(this.store, JSON.stringify({ phone, kept }));
      this.keeps = true;
    } catch {
      this.keeps = false;
    }
  }

  open() {
    const socket = new WebSocket("ws://" + location.host + location.pathname + "/socket");
    this.socket = socket;
    this.opened = performance.now();
    this.answers = 0;
    this.sent = null;
    socket.onopen = () => this.say({ is: "hello", phone: this.phone, load: this.load });
    socket.onmessage = (event) => {
      if (this.socket === socket) this.take(JSON.parse(event.data));
    };
    socket.onclose = (event) => {
      if (this.socket !== socket) return;
      this.socket = null;
      const words = {
        1001: "The deck has ended. Scan the code of its next start.",
        4001: "This page is open once more, and works there: to work here, open it anew.",
        4002: "Too many phones have come to this deck.",
      };
      this.end = words[event.code] ?? "";
      this.isOver = event.code === 1001;
      this.heard = -Infinity;
      this.watch();
      if (!this.end) setTimeout(() => this.open(), AGAIN);
    };
  }

  take(message) {
    const got = performance.now();
    this.heard = this.last = got;
    if (message.is === "clock") {
      this.say({ is: "clock", asked_ms: message.asked_ms, got_ms: got, answered_ms: performance.now() });
      this.answers += 1;
    } else if (message.is === "own") {
      this.own = message;
      this.wasKnown ||= message.within_ms !== null;
      const isTaken = (one) => one.load === message.load && one.number <= message.taken;
      if (this.kept.some(isTaken)) {
        this.kept = this.kept.filter((one) => !isTaken(one));
        this.write();
      }
      const late = message.late?.count ?? 0;
      if (late > this.late) this.wasUndone(message.late.said);
      this.late = late;
      this.changed();
    } else {
      this.show(message);
    }
    this.watch();
    this.deliver();
  }

  say(message) {
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.send(JSON.stringify(message));
  }

  // What is wished for now, or never; `called` is its name on the page.
  wish(wish, called) {
    if (!this.isUp) return;
    const at_ms = performance.now();
    this.say({ is: "wish", wish, at_ms });
    if (this.wished?.wish !== "silence") this.wished = { wish, called, at_ms };
    this.undone = null;
    setTimeout(() => this.watch(), LOOKED_AFTER);
  }

  // Silence is heard to be done; of any other wish it is known that the deck was there after it.
  watchWish(now) {
    const wished = this.wished;
    if (wished && now - wished.at_ms >= LOOKED_AFTER) {
      const isHeard = wished.wish !== "silence" && this.heard - wished.at_ms >= UNDER_WAY;
      if (isHeard) this.wished = null;
      else this.wasUndone(`${wished.called} did not get through.`, wished.wish);
    }
    if (!this.isUp && this.undone) this.undone.at_ms = now;
    if (this.undone && now - this.undone.at_ms > TOLD) this.undone = null;
  }

  wasUndone(said, wish) {
    this.wished = null;
    this.undone = { said, wish, at_ms: performance.now() };
  }

  // The deck is silent, whoever wished for it.
  isSilent() {
    if (this.wished?.wish === "silence") this.wished = null;
    if (this.undone?.wish === "silence") this.undone = null;
  }

  // What is kept until it was taken. `at_ms` is its moment on this page's clock, where it has one.
  keep(what) {
    this.number += 1;
    const age = what.at_ms === undefined ? 0 : performance.now() - what.at_ms;
    this.kept.push({ number: this.number, load: this.load, what, day: Date.now() - age });
    this.write();
    this.deliver();
    this.changed();
  }

  // One at a time, in order: the next once the one before was taken.
  deliver() {
    const one = this.kept[0];
    const isKnown = this.answers >= ANSWERS && this.own.within_ms !== null;
    if (!one || !this.isUp || !isKnown || one === this.sent) return;
    this.sent = one;
    const what = { ...one.what };
    if (what.at_ms !== undefined && one.load === this.load) {
      const age = Date.now() - one.day;
      const slept = age - (performance.now() - what.at_ms);
      if (slept > SLEPT) what.at_ms = Math.max(0, performance.now() - age);
    }
    this.say({ is: "keep", number: one.number, load: one.load, what });
  }

  watch() {
    const quiet = performance.now() - this.heard;
    const isUp = this.socket?.readyState === WebSocket.OPEN && quiet < QUIET;
    if (isUp !== this.isUp) {
      this.isUp = isUp;
      if (!isUp) this.since = this.last;
    }
    this.watchWish(performance.now());
    const waits = performance.now() - Math.max(this.opened, this.heard);
    if (this.socket && !isUp && waits > GIVE_UP) {
      // Its end may take minutes to be known: it is left alone.
      this.socket.onclose = null;
      this.socket.close();
      this.open();
    }
    this.changed();
  }
}
