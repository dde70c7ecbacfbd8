// The page itself: what can be done and what is said, on top of the film, the marks and the strips.

const byId = (id) => document.getElementById(id);
const film = new Film(byId("film"), (time) => {
  loop.see(time);
  look.draw();
  show();
});
const loop = new Loop(film);
const look = new Look(document.querySelector(".picture"), film.video, byId("lens"));
const marks = new Marks();
const pace = new Pace();
const strip = new Strip(
  byId("whole"),
  byId("close"),
  (time) => act(() => unlooped().then(() => film.frameAt(time))),
  (mark) => act(() => unlooped().then(() => choose(mark))),
);
let track = new Track({}); // of the film that is open
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

// What is asked for by name. Frames that play again and again stop for all but what is done to them.
function perform(name, mayDrop = false) {
  act(async () => {
    const stops = loop.on && !WHILE_LOOPING.includes(name);
    if (stops) await loop.stop();
    if (!stops || name !== "play") await actions[name]();
  }, mayDrop);
}

async function unlooped() {
  if (loop.on) await loop.stop();
}

// What is said; a flag of a command stays on one line.
function say(text) {
  const parts = text.split(/(--[a-z-]+)/).map((part, at) => (at % 2 ? unbroken(part) : part));
  byId("said").replaceChildren(...parts);
}

function unbroken(text) {
  const made = document.createElement("span");
  made.className = "unbroken";
  made.textContent = text;
  return made;
}

function count(number, word) {
  return `${number} ${word}${number === 1 ? "" : "s"}`;
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
  loop: toggleLoop,
  more: () => {
    byId("more").hidden = !byId("more").hidden;
  },
  flip,
  magnify: () => {
    look.nextMode();
    say(LENS_WORDS[look.mode]);
  },
  sound: () => {
    film.video.muted = !film.video.muted;
    say(film.video.muted ? "Sound is off." : "Sound is on.");
  },
  next: nextForetold,
  miss,
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
for (const event of CUE_NAMES) actions[event] = () => cue(event);

// What may be done while frames play again and again.
const WHILE_LOOPING = ["loop", "more", "flip", "magnify", "sound", "save", ...ALL_NAMES];
const LENS_WORDS = {
  off: "The magnifier is off.",
  follows: "The magnifier follows the pointer.",
  stays: "The magnifier stays. Touch the picture to put it elsewhere.",
};

function edge(words) {
  return (moved) => say(moved ? "" : words);
}

// Where the mark is what was foretold here, the picture goes on to the next: who is led stays led.
async function mark(event) {
  const time = film.shown;
  const isAnswer = openTarget(foretold())?.event === event && !film.playing;
  const moment = foretoldNear(time, event)?.time;
  const added = marks.add(time, event, moment);
  if (added) pace.add(performance.now());
  const where = `${time.toFixed(3)} s, pass ${marks.passOf(time)}`;
  const off = added && moment !== undefined ? offInWords(marks.selected) : ".";
  const words = `Marked ${inWords(event)} at ${where}${off}`;
  changed(added, words, `${inWords(event)} is marked here already.`);
  if (added && isAnswer) await nextForetold(words);
}

// An arm cue that a person hears ties the film to the track, where the program has not done so.
function cue(event) {
  if (track.isFound) {
    say("The cues of the track are found already: see the wedges on the strip.");
    return;
  }
  const time = film.shown;
  const added = marks.add(time, event);
  const words = `${inWords(event)} heard at ${time.toFixed(3)} s.`;
  changed(added, `${words} Another one takes its place.`, `${inWords(event)} is set here already.`);
}

function offInWords(mark) {
  const ms = Math.round(offOf(mark) * 1000);
  const far = isDoubted(mark, usualOff(marks.list.filter((other) => other !== mark)));
  const where = ms === 0 ? "as foretold" : `${Math.abs(ms)} ms ${ms > 0 ? "after" : "before"} foretold`;
  return far ? `, ${where}: is it the right one?` : `, ${where}.`;
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
  if (!key) return;
  const neighbours = film.neighboursOf(marks.list.map((one) => one.time));
  kept.write(key, marks.toText(film.shown, neighbours));
}

// --- The chosen mark --------------------------------------------------------------------

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

// Around the chosen mark if it is near, else around the picture.
async function toggleLoop() {
  if (loop.on) {
    await loop.stop();
    say("");
    return;
  }
  const { selected } = marks;
  const isNear = selected && Math.abs(selected.time - film.shown) <= AROUND_S;
  await loop.start(isNear ? selected.time : film.shown);
  say(isNear ? `Plays the frames around the ${inWords(selected.event)}.` : "Plays the frames around this one.");
}

// Marks set before were set by the picture as it was; whether that was the wrong way round only a
// person knows.
function flip() {
  const set = count(marks.list.filter((one) => !isCue(one)).length, "mark");
  const question = `${set} set so far went by the picture as it was. Exchange their left and right?`;
  const exchange = !set.startsWith("0 ") && confirm(question);
  marks.mirror(exchange);
  const how = marks.mirrored ? "is turned round: the file says mirrored" : "stands as it was filmed";
  changed(true, `The film ${how}.${exchange ? " Left and right of the marks are exchanged." : ""}`);
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
  const name = csvName(film);
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([csv(marks, film, track)], { type: "text/csv" }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  saved = true;
  const flags = track.isFound || marks.list.some(isCue) ? ` ${track.timingFlags}` : "";
  say(`Saved ${count(marks.list.length, "mark")}. Next: cuelane timing ${name}${flags}`);
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
  const moments = isOpen ? foretold() : [];
  const awaited = openTarget(moments)?.event;
  for (const button of document.querySelectorAll("[data-event]")) {
    const here = marks.at(time, button.dataset.event);
    button.classList.toggle("here", Boolean(isOpen && here));
    button.classList.toggle("foretold", button.dataset.event === awaited);
  }
  const duration = isOpen ? film.duration : 0;
  strip.show({ marks, foretold: moments, cues: isOpen ? track.cues : [], time, duration });
  const marked = count(marks.list.length, "mark");
  byId("close").setAttribute("aria-label", `The seconds around ${time.toFixed(3)} s; ${marked} in all`);
  byId("counts").textContent = countsInWords();
  showTools(isOpen);
}

function showTools(isOpen) {
  if (look.mirrored !== marks.mirrored) look.mirror(marks.mirrored);
  byId("turned").hidden = !isOpen || !marks.mirrored;
  const pressed = { loop: loop.on, flip: marks.mirrored, sound: !film.video.muted, magnify: look.mode !== "off" };
  for (const [name, isPressed] of Object.entries(pressed)) {
    document.querySelector(`[data-do="${name}"]`).setAttribute("aria-pressed", isPressed);
  }
  document.querySelector('[data-do="more"]').setAttribute("aria-expanded", !byId("more").hidden);
}

function countsInWords() {
  const usual = usualOff(marks.list);
  return [
    count(marks.list.length, "mark"),
    pace.perMinute === null ? "" : `${pace.perMinute} a minute`,
    usual === null ? "" : `usually ${Math.round(usual * 1000)} ms from foretold`,
  ]
    .filter(Boolean)
    .join(", ");
}
