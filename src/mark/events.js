// What can be marked, and the names of it: in the file, in words, on the strip.

// What can be marked, in the order of the buttons and of the number keys.
const EVENTS = [
  { word: "entry", name: "entry", letter: "E", lane: "hand" },
  { word: "catch", name: "catch", letter: "C", lane: "hand" },
  { word: "exit", name: "exit", letter: "X", lane: "hand" },
  { word: "kick", name: "kick", letter: "K", lane: "foot" },
  { word: "breath", name: "breath", letter: "B", lane: "head" },
];
const SIDES = ["left", "right"];
// `left_entry` and so on, as the file has them; on one frame, marks stand in this order.
const EVENT_NAMES = SIDES.flatMap((side) => EVENTS.map((event) => `${side}_${event.word}`));
// An arm cue that is heard in the film: one tells where the film lies in the track.
const CUE = { word: "cue", name: "arm cue", letter: "\u266a", lane: "hand" };
const CUE_NAMES = SIDES.map((side) => `${side}_${CUE.word}`);
const ALL_NAMES = [...EVENT_NAMES, ...CUE_NAMES];

function otherSide(event) {
  const [side, word] = event.split("_");
  return `${side === "left" ? "right" : "left"}_${word}`;
}

function isCue(mark) {
  return CUE_NAMES.includes(mark.event);
}

// "left catch", for people.
function inWords(event) {
  const [side, word] = event.split("_");
  return `${side} ${kindOf(word).name}`;
}

// What is marked, by its word in the file.
function kindOf(word) {
  return [...EVENTS, CUE].find((kind) => kind.word === word);
}
