// Buttons and words.

const HOLD = 500;
// What was kept for so long has not gone straight to the deck, ms.
const WAITS = 700;
// What the deck reads as strokes.
const STROKES = /^\+?(\d+(?:\.\d{1,9})?)(?:\s*\/\s*length)?$/;
const MOST_STROKES = 100000;

const id = (name) => document.getElementById(name);
const all = (selector) => [...document.querySelectorAll(selector)];
let state = null;
let link = null;
let starts = null;
// What to do about a screen that goes dark, where no film keeps it on.
let dark = "";
// The results that are being entered: a swim, and what was changed of it, by swimmer and field.
let shownResults = null;
const drafts = new Map();
const forms = new Map();

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
  words(id("taps"), state.taps);
  small(id("take-rate"), state.tapped_spm === null ? "the tapped rate" : state.tapped_spm + " spm");
  small(id("pairing"), state.same_side ? "same side" : "opposite side");
  small(id("hands"), state.hands_silent ? "silent" : "heard");
  small(id("feet-heard"), state.feet_silent ? "silent" : "heard");
  words(id("go-on-hint"), state.doing === "ready" ? "hold: start" : state.over ? "hold: anew" : "hold");
  const first = state.swimmers.find((one) => one.time === null);
  small(id("in"), state.swimmers.length > 1 && first ? "next: " + first.name : "");
  if (!state.running) link.isSilent();
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
  // Where they have no room for all, whoever comes next is seen.
  const next = state.swimmers.findIndex((one) => one.time === null);
  list.scrollTop = list.children[next]?.offsetTop ?? 0;
}

// How the link is, in words; nothing where all is well.
function linkInWords() {
  const kept = link.kept.length;
  const waited = kept > 0 && Date.now() - link.kept[0].day > WAITS;
  const [one, more] = link.isOver ? ["was never", "were never"] : ["waits to be", "wait to be"];
  const waits = !waited ? "" : kept === 1 ? `One thing ${one} sent.` : `${kept} things ${more} sent.`;
  const lost = waited && !link.isOver && !link.keeps ? "This browser loses them if the page is closed." : "";
  return [link.undone?.said, ...linkItself(waits), lost].filter(Boolean).join(" ");
}

// The parts of that, with the words for what waits.
function linkItself(waits) {
  if (link.end) return [link.end, waits];
  if (!link.isUp) {
    const gone = performance.now() - link.since;
    const isSure = link.own.is_sure && gone < link.own.sure_for_s * 1000;
    const doubt = isSure ? "" : "Times taken now may be wrong by more than 0.02 s.";
    const scan = gone > 20000 ? "If the deck was started anew, scan its code." : "";
    return [`No link for ${Math.round(gone / 1000)} s.`, waits, doubt, scan];
  }
  const within = link.own.within_ms;
  if (within === null) return ["The two clocks are being compared.", waits];
  if (!link.own.is_sure) return [`Times may be wrong by ${(within / 1000).toFixed(2)} s.`, waits];
  return [waits];
}

// What can be pressed now. Moments and results are kept; all else is of now, or never.
function enable() {
  if (!link) return;
  words(id("link"), linkInWords());
  // Out of reach, what the deck told last is of before.
  words(id("told"), link.isUp ? (state?.waiting ?? state?.happened ?? dark) : "");
  document.body.dataset.link = link.isUp ? "up" : "down";
  // Without a clock that is known, nobody could tell a wish of now from one that the link held back.
  const isUp = link.isUp && state !== null && link.own.within_ms !== null;
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

// At the first touch, and once: of a palm, or of a hand with water on it, the other points are none,
// whichever of the buttons they are on. The click that follows is the same press.
function atOnce(buttons, act) {
  const down = new Set();
  let lifted = -Infinity;
  const lift = (event) => {
    if (down.delete(event.pointerId)) lifted = event.timeStamp;
  };
  window.addEventListener("pointerup", lift);
  window.addEventListener("pointercancel", lift);
  for (const button of buttons) {
    button.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      // The first point on the whole screen: the end of one before was missed.
      if (event.isPrimary) down.clear();
      down.add(event.pointerId);
      if (down.size > 1 || button.disabled) return;
      act(button, event);
      button.classList.add("pressed");
      setTimeout(() => button.classList.remove("pressed"), 150);
    });
    button.addEventListener("click", (event) => {
      const isSame = down.size > 0 || event.timeStamp - lifted < 1000;
      if (event.detail === 0 || !isSame) act(button, event);
    });
  }
}

const called = (button) => button.ariaLabel ?? button.textContent;

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
      link.wish(button.dataset.hold, called(button));
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

// Results: one form a swimmer. Each field shows what was typed here; else what waits to be sent; else
// what the deck has, whoever entered it.

const draftOf = (row) => {
  if (!drafts.has(row.swimmer)) drafts.set(row.swimmer, {});
  return drafts.get(row.swimmer);
};

// What stands in a field where nothing was typed.
function standing(row, name) {
  const isOf = ({ what }) => what.is === "result" && what.swim === shownResults.swim && what.swimmer === row.swimmer;
  return link.kept.filter((one) => isOf(one) && name in one.what).pop()?.what[name] ?? row[name];
}

function showResults() {
  const next = state.results;
  const isOther = next?.swim !== shownResults?.swim;
  // What is being typed stays, whoever swims meanwhile.
  const isDrafted = [...drafts.values()].some((draft) => Object.keys(draft).length > 0);
  if (isOther && isDrafted) return;
  shownResults = next;
  words(id("results-heading"), next ? next.heading : "No swim is over yet.");
  if (isOther) {
    drafts.clear();
    forms.clear();
  }
  const rows = (next?.rows ?? []).map((row) => {
    if (!forms.has(row.swimmer)) forms.set(row.swimmer, form(row));
    const { place, show } = forms.get(row.swimmer);
    show(row);
    return place;
  });
  // The order of coming in; a row that moves would lose its keyboard.
  const isMoved = rows.length !== id("rows").children.length || rows.some((row, at) => row !== id("rows").children[at]);
  if (isOther || (isMoved && !id("rows").contains(document.activeElement))) id("rows").replaceChildren(...rows);
}

// What is wrong with strokes, in words; nothing where the deck will take them.
function wrongStrokes(text, name) {
  const count = Number(STROKES.exec(text)?.[1] ?? 0);
  if (text === "" || (count > 0 && count <= MOST_STROKES)) return "";
  return `Strokes of ${name}: found "${text}". Accepted: strokes of both arms, as a number: 44 for the whole swim, 22/length for each length. Example: 44`;
}

function made(kind, more, ...inside) {
  const one = Object.assign(document.createElement(kind), more);
  one.append(...inside);
  return one;
}

const options = (texts) => texts.map((text) => made("option", { value: text, textContent: text || "–" }));

function form(first) {
  let row = first;
  const draft = draftOf(row);
  const inputs = {};
  const legend = made("legend", {});
  const wrong = made("p", { className: "wrong", role: "alert" });
  const save = made("button", { textContent: "save" });
  const field = (name, text, input) => {
    input.name = name;
    input.setAttribute("aria-label", `${text} of ${row.name}`);
    input.addEventListener("input", () => {
      draft[name] = input.value.trim();
      words(wrong, "");
      show(row, input);
    });
    inputs[name] = input;
    return made("label", {}, text, input);
  };
  const efforts = ["", ...Array.from({ length: 11 }, (_, effort) => String(effort))];
  // `typing` is the input that is as it is typed.
  const show = (next, typing = null) => {
    row = next;
    words(legend, row.time ? `${row.name}, ${row.time}` : row.name);
    for (const [name, input] of Object.entries(inputs)) {
      const stands = standing(row, name);
      // What was put back, or entered elsewhere too, is no change.
      if (draft[name] === stands) delete draft[name];
      if (name in draft || input === typing) continue;
      if (name === "effort" && ![...input.options].some((one) => one.value === stands)) input.append(...options([stands]));
      if (input.value !== stands) input.value = stands;
    }
    save.disabled = Object.keys(draft).length === 0;
  };
  save.addEventListener("click", () => {
    words(wrong, wrongStrokes(draft.strokes ?? "", row.name));
    if (wrong.textContent) {
      inputs.strokes.focus();
      wrong.scrollIntoView({ block: "nearest" });
      return;
    }
    link.keep({ is: "result", swim: shownResults.swim, swimmer: row.swimmer, ...draft });
    show(row);
  });
  const place = made(
    "fieldset",
    {},
    legend,
    field("strokes", "strokes", made("input", { inputMode: "text", maxLength: 12, placeholder: "44 or 22/length" })),
    wrong,
    field("kept", "kept", made("select", {}, ...options(["", "yes", "part", "no"]))),
    field("effort", "effort", made("select", {}, ...options(efforts))),
    save,
  );
  return { place, show };
}

function begin() {
  if (!("WebSocket" in window)) {
    words(id("told"), "This browser has no WebSockets, by which the page speaks with the deck: use another one.");
    document.body.dataset.page = "useless";
    return;
  }
  atOnce(all("[data-moment]"), (button, event) => link.keep({ is: button.dataset.moment, at_ms: moment(event) }));
  const wish = (button) => link.wish(button.dataset.wish, called(button));
  atOnce([id("silence")], wish);
  for (const button of all("[data-wish]:not(#silence)")) button.addEventListener("click", () => wish(button));
  const other = (name, wishes) => id(name).addEventListener("click", () => link.wish(wishes(), name.replace("-heard", "")));
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
