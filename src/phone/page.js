// Buttons and words.

const HOLD = 500;
// So long without the link, and two clocks may have parted, ms.
const PARTED = 60000;

const id = (name) => document.getElementById(name);
const all = (selector) => [...document.querySelectorAll(selector)];
let state = null;
let link = null;
let starts = null;
// What to do about a screen that goes dark, where no film keeps it on.
let dark = "";
// The results that are being entered: a swim, and what was changed of it.
let shownResults = null;
const drafts = new Map();

const words = (place, text) => {
  if (place.textContent !== text) place.textContent = text;
};
const small = (button, text) => words(button.querySelector("small"), text);

function show(next) {
  state = next;
  words(id("rate"), state.rate_spm);
  const going = state.going_to_spm === null ? "" : " to " + Math.round(state.going_to_spm * 10) / 10;
  words(id("unit"), "spm" + going);
  words(id("doing"), state.doing);
  words(id("clock"), state.clock);
  words(id("heading"), state.heading);
  words(id("kick"), state.kick);
  words(id("feet"), state.feet.join("; "));
  words(id("sound"), state.sound);
  words(id("settings"), state.settings);
  words(id("taps"), state.taps ?? "Tap each entry of the hand that starts; four taps give a rate.");
  small(id("take-rate"), state.tapped_spm === null ? "the tapped rate" : state.tapped_spm + " spm");
  small(id("pairing"), state.same_side ? "same side" : "opposite side");
  small(id("hands"), state.hands_silent ? "silent" : "heard");
  small(id("feet-heard"), state.feet_silent ? "silent" : "heard");
  words(id("go-on-hint"), state.doing === "ready" ? "hold: start" : state.over ? "hold: anew" : "hold");
  const first = state.swimmers.find((one) => one.time === null);
  small(id("in"), state.swimmers.length > 1 && first ? "next: " + first.name : "");
  showSwimmers();
  showResults();
  if (starts !== null && state.starts > starts) navigator.vibrate?.(300);
  starts = state.starts;
  enable();
}

function showSwimmers() {
  const told = state.swimmers.map((one) => one.name + (one.time === null ? "" : " " + one.time));
  const list = id("swimmers");
  if ([...list.children].map((one) => one.textContent).join("|") === told.join("|")) return;
  list.replaceChildren(
    ...told.map((text) => Object.assign(document.createElement("li"), { textContent: text })),
  );
}

// How the link is, in words; nothing where all is well.
function linkInWords() {
  const kept = link.kept.length;
  const waits = kept === 0 ? "" : kept === 1 ? " One thing is kept." : ` ${kept} things are kept.`;
  const lost = kept > 0 && !link.keeps ? " This browser loses them if the page is closed." : "";
  if (link.end) return link.end + (kept ? ` ${kept} kept, never delivered.` : "");
  if (!link.isUp) {
    const seconds = Math.round((performance.now() - link.since) / 1000);
    const doubt = seconds * 1000 > PARTED ? " Times kept now may be wrong by more than 0.02 s." : "";
    const scan = seconds > 20 ? " If the deck was started anew, scan its code." : "";
    return `No link for ${seconds} s.${waits}${lost}${doubt}${scan}`;
  }
  const within = link.own.within_ms;
  if (within === null) return "The two clocks are being compared." + waits;
  if (!link.own.is_sure) return `Times may be wrong by ${(within / 1000).toFixed(2)} s.` + waits;
  return waits.trim();
}

// What can be pressed now. Moments and results are kept; all else is of now, or never.
function enable() {
  if (!link) return;
  const ofLink = linkInWords();
  words(id("told"), ofLink || (state?.waiting ?? state?.happened ?? dark));
  id("told").classList.toggle("link", ofLink !== "");
  document.body.dataset.link = link.isUp ? "up" : "down";
  const isUp = link.isUp && state !== null;
  const set = (button, on) => {
    if (button.disabled === on) button.disabled = !on;
  };
  all("[data-wish], [data-hold], #pairing, #hands, #feet-heard").forEach((button) => set(button, isUp));
  set(id("silence"), isUp && state.running);
  set(document.querySelector('[data-hold="go_on"]'), isUp && !state.running);
  set(id("take-rate"), isUp && state.tapped_spm !== null);
  // A clock that was never compared keeps no moments.
  const isKnown = state !== null && link.wasKnown && !link.end;
  all("[data-moment]").forEach((button) => set(button, isKnown));
}

// When an event was, on the page's own clock.
function moment(event) {
  const now = performance.now();
  return Math.abs(now - event.timeStamp) < 1000 ? event.timeStamp : now;
}

// At the first touch; the click that follows it is the same press.
function atOnce(button, act) {
  let pressed = -Infinity;
  button.addEventListener("pointerdown", (event) => {
    if (button.disabled || event.button !== 0) return;
    pressed = event.timeStamp;
    act(event);
    button.classList.add("pressed");
    setTimeout(() => button.classList.remove("pressed"), 150);
  });
  button.addEventListener("click", (event) => {
    if (event.detail !== 0 && event.timeStamp - pressed < 3000) return;
    act(event);
  });
}

function held(button) {
  let timer = null;
  const stop = () => {
    clearTimeout(timer);
    timer = null;
    button.classList.remove("holding");
  };
  const start = () => {
    if (button.disabled || timer !== null) return;
    button.classList.add("holding");
    timer = setTimeout(() => {
      stop();
      if (button.disabled) return;
      link.wish(button.dataset.hold);
      navigator.vibrate?.(40);
    }, HOLD);
  };
  button.addEventListener("pointerdown", (event) => event.button === 0 && start());
  for (const end of ["pointerup", "pointercancel", "pointerleave", "blur"]) button.addEventListener(end, stop);
  button.addEventListener("keydown", (event) => {
    if ([" ", "Enter"].includes(event.key) && !event.repeat) start();
  });
  button.addEventListener("keyup", stop);
  button.addEventListener("contextmenu", (event) => event.preventDefault());
}

function turnTo(place) {
  document.body.dataset.at = place;
  for (const button of all("nav button")) {
    if (button.dataset.to === place) button.setAttribute("aria-current", "page");
    else button.removeAttribute("aria-current");
  }
}

// Results: one form a swimmer, filled with what is known, changed here, saved whole.

const draftOf = (row) => {
  const key = shownResults.swim + " " + row.swimmer;
  if (!drafts.has(key)) drafts.set(key, {});
  return drafts.get(key);
};

function showResults() {
  const isDrafted = [...drafts.values()].some((draft) => Object.keys(draft).length > 0);
  // What is being typed stays, whoever swims meanwhile.
  const stays = isDrafted && shownResults && state.results?.swim !== shownResults.swim;
  const next = stays ? shownResults : state.results;
  if (JSON.stringify(next) === JSON.stringify(shownResults)) return;
  const isOther = next?.swim !== shownResults?.swim;
  const focused = !isOther && document.activeElement?.closest("fieldset");
  shownResults = next;
  if (isOther) drafts.clear();
  words(id("results-heading"), next ? next.heading : "No swim is over yet.");
  if (focused) return;
  id("rows").replaceChildren(...(next?.rows ?? []).map(form));
}

function form(row) {
  const made = (kind, more, ...inside) => {
    const one = Object.assign(document.createElement(kind), more);
    one.append(...inside);
    return one;
  };
  const draft = draftOf(row);
  const value = (name) => draft[name] ?? row[name];
  const field = (name, text, input) => {
    input.name = name;
    input.value = value(name);
    input.setAttribute("aria-label", `${text} of ${row.name}`);
    input.addEventListener("input", () => {
      draft[name] = input.value.trim();
      save.disabled = false;
    });
    return made("label", {}, text, input);
  };
  const options = (texts) => texts.map((text) => made("option", { value: text, textContent: text || "–" }));
  const efforts = ["", ...Array.from({ length: 11 }, (_, effort) => String(effort))];
  if (!efforts.includes(row.effort)) efforts.push(row.effort);
  const save = made("button", { textContent: "save", disabled: Object.keys(draft).length === 0 });
  save.addEventListener("click", () => {
    const [strokes, kept, effort] = ["strokes", "kept", "effort"].map(value);
    link.keep({ is: "result", swim: shownResults.swim, swimmer: row.swimmer, strokes, kept, effort });
    // What was sent is what stands, until the deck says otherwise.
    Object.assign(row, { strokes, kept, effort });
    drafts.delete(shownResults.swim + " " + row.swimmer);
    id("rows").replaceChildren(...shownResults.rows.map(form));
  });
  return made(
    "fieldset",
    {},
    made("legend", { textContent: row.time ? `${row.name}, ${row.time}` : row.name }),
    field("strokes", "strokes", made("input", { inputMode: "text", maxLength: 12, placeholder: "44 or 22/length" })),
    field("kept", "kept", made("select", {}, ...options(["", "yes", "part", "no"]))),
    field("effort", "effort", made("select", {}, ...options(efforts))),
    save,
  );
}

function begin() {
  if (!("WebSocket" in window)) {
    words(id("told"), "This browser has no WebSockets, by which the page speaks with the deck: use another one.");
    document.body.dataset.page = "useless";
    return;
  }
  for (const button of all("[data-moment]")) {
    atOnce(button, (event) => link.keep({ is: button.dataset.moment, at_ms: moment(event) }));
  }
  atOnce(id("silence"), () => link.wish("silence"));
  for (const button of all("[data-wish]:not(#silence)")) {
    button.addEventListener("click", () => link.wish(button.dataset.wish));
  }
  const other = (name, wishes) => id(name).addEventListener("click", () => link.wish(wishes()));
  other("pairing", () => (state.same_side ? "opposite_side" : "same_side"));
  other("hands", () => (state.hands_silent ? "hands_heard" : "hands_silent"));
  other("feet-heard", () => (state.feet_silent ? "feet_heard" : "feet_silent"));
  all("[data-hold]").forEach(held);
  for (const button of all("nav button")) button.addEventListener("click", () => turnTo(button.dataset.to));
  turnTo("time");
  // A film keeps the screen on where it may play: after a touch it may.
  const play = () => id("awake").play().catch(() => {
    dark = "If the screen goes dark, lengthen its time in the phone's settings.";
  });
  document.addEventListener("pointerdown", play, { once: true });
  link = new Link(show, enable);
  enable();
}

begin();
