// The page itself: buttons, keys and words, on top of the film, the marks and the strips.

const byId = (id) => document.getElementById(id);
const film = new Film(byId("film"), () => show());
const marks = new Marks();
const strip = new Strip(
  byId("whole"),
  byId("close"),
  (time) => act(() => film.frameAt(time)),
  (mark) => act(() => choose(mark)),
);
let key = null; // under which the marks of this film are kept
let saved = true; // is everything in a saved file?

// Whatever a person asks for happens in the order asked; only a key held down may be dropped.
let doing = Promise.resolve();
let waiting = 0;

function act(action, mayDrop = false) {
  if (mayDrop && waiting > 0) return;
  if (!film.file || document.body.dataset.film !== "open") {
    say("Choose a film first.");
    return;
  }
  waiting += 1;
  doing = doing
    .then(action)
    .catch((error) => say(`That did not work: ${error.message}`))
    .finally(() => {
      waiting -= 1;
      show();
    });
}

function say(text) {
  byId("said").textContent = text;
}

// --- Opening a film ---------------------------------------------------------------------

byId("choose").addEventListener("change", (event) => {
  const [file] = event.target.files;
  event.target.value = ""; // so that the same file can be chosen again
  if (file) doing = doing.then(() => open(file));
});

async function open(file) {
  document.body.dataset.film = "opening";
  marks.clear();
  key = null;
  saved = true;
  say(`Opening ${file.name}.`);
  try {
    await film.open(file);
    key = kept.key(file, film.duration);
    const text = kept.read(key);
    const at = text ? marks.fromText(text) : 0;
    if (at > 0) await film.goTo(at);
    document.body.dataset.film = "open";
    const there = marks.list.length ? `${count(marks.list.length, "mark")} from before are here. ` : "";
    say(`${file.name}: ${there}Step to the frame you want, then press what you see.`);
  } catch (error) {
    film.close();
    document.body.dataset.film = "none";
    say(error.message);
  }
  show();
  listKept();
}

function count(number, word) {
  return `${number} ${word}${number === 1 ? "" : "s"}`;
}

// Films whose marks this browser keeps, to be chosen again.
function listKept() {
  const films = kept.films();
  byId("kept").hidden = films.length === 0;
  const rows = films.map((kept_film) => {
    const row = document.createElement("li");
    const name = document.createElement("span");
    name.textContent = `${kept_film.name}, ${count(kept_film.count, "mark")}`;
    const forget = document.createElement("button");
    forget.textContent = "Forget";
    forget.setAttribute("aria-label", `Forget the marks of ${kept_film.name}`);
    forget.addEventListener("click", () => {
      if (!confirm(`Forget the ${count(kept_film.count, "mark")} of ${kept_film.name}?`)) return;
      kept.forget(kept_film.key);
      listKept();
    });
    row.append(name, forget);
    return row;
  });
  byId("kept-films").replaceChildren(...rows);
}

// --- What buttons and keys do -----------------------------------------------------------

const actions = {
  back10: () => film.leap(-1).then(edge("That is the first frame.")),
  back: () => film.previous().then(edge("That is the first frame.")),
  play: () => film.toggle(),
  on: () => film.next().then(edge("That is the last frame.")),
  on10: () => film.leap(1).then(edge("That is the last frame.")),
  slower: () => changeSpeed(-1),
  faster: () => changeSpeed(1),
  earlierMark: () => chooseNeighbour(-1),
  laterMark: () => chooseNeighbour(1),
  moveBack: () => moveMark(-1),
  moveOn: () => moveMark(1),
  undo: () => changed(marks.undo(), "Undone.", "There is nothing to undo."),
  delete: deleteMark,
  split: () => {
    const begun = marks.split(film.shown);
    changed(begun, `Pass ${marks.passOf(film.shown)} begins here.`, "A pass begins here already.");
  },
  join: () => {
    const joined = marks.join(film.shown);
    changed(joined, "Joined with the pass before.", "This is the first pass.");
  },
  save,
};
for (const event of EVENT_NAMES) actions[event] = () => mark(event);

function edge(words) {
  return (moved) => say(moved ? "" : words);
}

function mark(event) {
  const time = film.shown;
  const added = marks.add(time, event);
  const where = `${time.toFixed(3)} s, pass ${marks.passOf(time)}`;
  changed(added, `Marked ${inWords(event)} at ${where}.`, `${inWords(event)} is marked here already.`);
}

// Keeps what was done, and says so, or why nothing was.
function changed(done, words, otherwise) {
  if (done) {
    saved = false;
    keep();
  }
  say(done ? words : otherwise);
}

function keep() {
  if (key) kept.write(key, marks.toText(film.shown));
}

async function choose(chosen) {
  marks.selected = chosen;
  await film.goTo(chosen.time);
  const place = `${marks.list.indexOf(chosen) + 1} of ${marks.list.length}`;
  const pass = marks.passOf(chosen.time);
  say(`Mark ${place}: ${inWords(chosen.event)}, ${chosen.time.toFixed(3)} s, pass ${pass}.`);
}

async function chooseNeighbour(direction) {
  const found = marks.neighbour(direction, film.shown);
  if (found) await choose(found);
  else say(direction > 0 ? "There is no later mark." : "There is no earlier mark.");
}

async function moveMark(direction) {
  const chosen = marks.selected;
  if (!chosen) {
    say("Choose a mark first: touch it on the strip.");
    return;
  }
  // The picture goes with the mark, so that one sees to which frame it moves.
  await film.goTo(chosen.time);
  const moved = direction > 0 ? await film.next() : await film.previous();
  if (!moved) {
    say(direction > 0 ? "That is the last frame." : "That is the first frame.");
    return;
  }
  const free = marks.move(film.shown);
  const what = inWords(chosen.event);
  changed(free, `Moved ${what} to ${film.shown.toFixed(3)} s.`, `${what} is marked there already.`);
}

function deleteMark() {
  if (!marks.selected) {
    say("Choose a mark first: touch it on the strip.");
    return;
  }
  const gone = marks.remove();
  changed(true, `Deleted ${inWords(gone.event)} at ${gone.time.toFixed(3)} s. Undo brings it back.`);
}

const SPEEDS = [0.125, 0.25, 0.5, 1];
let speed = 1; // index into SPEEDS

function changeSpeed(by) {
  speed = Math.min(Math.max(0, speed + by), SPEEDS.length - 1);
  film.video.defaultPlaybackRate = SPEEDS[speed];
  film.video.playbackRate = SPEEDS[speed];
  say(`Plays at ${SPEED_WORDS[speed]} speed.`);
}
const SPEED_WORDS = ["an eighth of the", "a quarter of the", "half the", "full"];
const SPEED_SIGNS = ["⅛", "¼", "½", "1"];

function save() {
  if (!marks.list.length) {
    say("There is nothing to save yet.");
    return;
  }
  const stem = film.file.name.replace(/\.[^.]*$/, "").replace(/[^\p{L}\p{N}._-]+/gu, "-");
  const name = `${stem || "film"}-marks.csv`;
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([marks.csv()], { type: "text/csv" }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  saved = true;
  const rate = film.learnt || !film.tellsFrames ? ` --fps ${frameRate()}` : "";
  say(`Saved ${count(marks.list.length, "mark")} as ${name}. Next: cuelane timing ${name}${rate}`);
}

function frameRate() {
  return Number((1 / film.gap).toFixed(1));
}

// --- What is shown ----------------------------------------------------------------------

function show() {
  const isOpen = document.body.dataset.film === "open";
  const time = film.shown;
  byId("name").textContent = isOpen ? film.file.name : "No film chosen";
  byId("time").textContent = isOpen ? `${time.toFixed(3)} s` : "";
  byId("rate").textContent = isOpen && film.learnt ? `about ${frameRate()} frames/s` : "";
  byId("pass").textContent = isOpen ? `pass ${marks.passOf(time)} of ${marks.splits.length + 1}` : "";
  byId("play-sign").textContent = film.playing ? "Stop" : "Play";
  byId("speed").textContent = `${SPEED_SIGNS[speed]} speed`;
  byId("trouble").hidden = !kept.trouble;
  byId("trouble").textContent = kept.trouble ?? "";
  for (const button of document.querySelectorAll("[data-event]")) {
    const here = marks.at(time, button.dataset.event);
    button.classList.toggle("here", Boolean(isOpen && here));
  }
  strip.show(marks, time, isOpen ? film.duration : 0);
  const marked = count(marks.list.length, "mark");
  byId("close").setAttribute("aria-label", `The seconds around ${time.toFixed(3)} s; ${marked} in all`);
}

// --- Buttons and keys -------------------------------------------------------------------

for (const button of document.querySelectorAll("[data-do]")) {
  button.addEventListener("click", (event) => {
    act(actions[button.dataset.do]);
    // A button that a finger or mouse pressed does not keep the keyboard: Space plays again.
    if (event.detail > 0) button.blur();
  });
}

// By the place of the key where letters move between keyboards, by the sign where they do not.
const KEYS = {
  ArrowLeft: "back",
  ArrowRight: "on",
  "Shift+ArrowLeft": "back10",
  "Shift+ArrowRight": "on10",
  ArrowDown: "slower",
  ArrowUp: "faster",
  PageUp: "earlierMark",
  PageDown: "laterMark",
  Comma: "moveBack",
  Period: "moveOn",
  Delete: "delete",
  Backspace: "delete",
  Space: "play",
  "Control+z": "undo",
  "Meta+z": "undo",
  u: "undo",
  n: "split",
  j: "join",
  s: "save",
};
// 1 to 5 on the left of the digits' row for the left side, 6 to 0 for the right.
EVENT_NAMES.forEach((event, index) => {
  KEYS[`Digit${(index + 1) % 10}`] = event;
  KEYS[`Numpad${(index + 1) % 10}`] = event;
});
const HELD = ["back", "on", "back10", "on10", "moveBack", "moveOn", "earlierMark", "laterMark"];

document.addEventListener("keydown", (event) => {
  // The browser keeps its keys where there is no film, in the help, and in a field.
  if (document.body.dataset.film !== "open") return;
  if (event.target.closest("#help, input[type=number]")) return;
  const onButton = event.target.closest("button, input, a");
  if (event.altKey || (onButton && (event.code === "Space" || event.code === "Enter"))) return;
  const held = ["Control", "Meta", "Shift"].filter((name) => event.getModifierState(name));
  const chord = (name) => KEYS[[...held, name].join("+")];
  const what = chord(event.code) ?? chord(event.key.toLowerCase()) ?? chord(event.key);
  if (!what) return;
  event.preventDefault();
  if (event.repeat && !HELD.includes(what)) return;
  act(actions[what], event.repeat);
});

byId("asked-rate").addEventListener("change", (event) => {
  const rate = Number(event.target.value);
  const holds = rate >= 5 && rate <= 1000;
  if (holds) film.askedRate = rate;
  else event.target.value = film.askedRate;
  say(holds ? `Steps by ${rate} frames a second.` : "Give a frame rate from 5 to 1000.");
});

addEventListener("beforeunload", (event) => {
  keep();
  if (kept.trouble && !saved) event.preventDefault();
});
addEventListener("pagehide", keep);
film.video.addEventListener("pause", show);
film.video.addEventListener("play", show);
byId("ask-rate").hidden = film.tellsFrames;
changeSpeed(0);
say("Choose a film of the swim. It stays on this machine.");
listKept();
show();
