// Buttons and keys, and the page's beginning.

for (const button of document.querySelectorAll("[data-do]")) {
  button.addEventListener("click", (event) => {
    perform(button.dataset.do);
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
  Enter: "next",
  NumpadEnter: "next",
  x: "miss",
  l: "loop",
  p: "more",
  f: "flip",
  m: "magnify",
  v: "sound",
  c: "left_cue",
  "Shift+c": "right_cue",
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
  if (event.target.closest("#help, input[type=number], input[type=range]")) return;
  const onButton = event.target.closest("button, input, a");
  if (event.altKey || (onButton && (event.code === "Space" || event.code === "Enter"))) return;
  const held = ["Control", "Meta", "Shift"].filter((name) => event.getModifierState(name));
  const chord = (name) => KEYS[[...held, name].join("+")];
  const what = chord(event.code) ?? chord(event.key.toLowerCase()) ?? chord(event.key);
  if (!what) return;
  event.preventDefault();
  if (event.repeat && !HELD.includes(what)) return;
  perform(what, event.repeat);
});

byId("asked-rate").addEventListener("change", (event) => {
  const rate = Number(event.target.value);
  const holds = rate >= 5 && rate <= 1000;
  if (holds) film.askedRate = rate;
  else event.target.value = film.askedRate;
  say(holds ? `Steps by ${rate} frames a second.` : "Give a frame rate from 5 to 1000.");
});

for (const name of ["brightness", "contrast"]) {
  const slider = byId(name);
  slider.addEventListener("input", () => look.light(byId("brightness").value, byId("contrast").value));
  slider.addEventListener("dblclick", () => {
    slider.value = 100;
    look.light(byId("brightness").value, byId("contrast").value);
  });
  // The arrows go back to the frames once a finger or mouse lets go of it.
  slider.addEventListener("pointerup", () => slider.blur());
}

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
