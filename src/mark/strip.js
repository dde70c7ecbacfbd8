// The two strips under the picture: the whole film, and the seconds around the frame shown.
// Left is round and right is square; a letter says what is marked. Colour only repeats that.

// Seconds on the close strip, the frame shown in its middle.
const CLOSE_S = 6;
// How near to a mark a finger must come, in pixels each way: a target of 44.
const REACH_PX = 22;
const LANES = ["left hand", "left foot", "head", "right foot", "right hand"];
const LANE_PX = 26;
const NAMES_PX = 76; // the lanes' names stand left of the seconds, where no mark comes
const RULER_PX = 20;
const CLOSE_PX = RULER_PX + LANES.length * LANE_PX;
const WHOLE_PX = 44;

class Strip {
  // `onTime` hears a time to go to, `onMark` a mark that was chosen.
  constructor(whole, close, onTime, onMark) {
    this.whole = whole;
    this.close = close;
    this.now = { marks: null, foretold: [], cues: [], time: 0, duration: 0 };
    whole.addEventListener("click", (event) => {
      const { duration } = this.now;
      const share = (event.offsetX - 4) / (this.width(whole) - 8);
      if (duration) onTime(Math.min(Math.max(0, share), 1) * duration);
    });
    close.addEventListener("click", (event) => {
      if (!this.now.duration || event.offsetX < NAMES_PX) return;
      const mark = this.nearest(event.offsetX, event.offsetY);
      if (mark) onMark(mark);
      else onTime(Math.min(Math.max(0, this.timeAt(event.offsetX)), this.now.duration));
    });
    new ResizeObserver(() => this.draw()).observe(close);
  }

  width(svg) {
    return svg.clientWidth || 1;
  }

  timeAt(x) {
    return this.now.time + ((x - NAMES_PX) / this.secondsWidth - 0.5) * CLOSE_S;
  }

  xAt(time) {
    return NAMES_PX + ((time - this.now.time) / CLOSE_S + 0.5) * this.secondsWidth;
  }

  // How wide the seconds of the close strip are, beside the names.
  get secondsWidth() {
    return Math.max(1, this.width(this.close) - NAMES_PX);
  }

  yOf(mark) {
    const [side, word] = mark.event.split("_");
    const { lane } = kindOf(word);
    const index = LANES.indexOf(lane === "head" ? lane : `${side} ${lane}`);
    return RULER_PX + (index + 0.5) * LANE_PX;
  }

  // The mark under a finger, the nearest first.
  nearest(x, y) {
    const apart = (mark) => Math.hypot(this.xAt(mark.time) - x, this.yOf(mark) - y);
    const near = this.now.marks.list.filter((mark) => apart(mark) <= REACH_PX);
    return near.sort((a, b) => apart(a) - apart(b))[0];
  }

  // Shows what is new: { marks, foretold, cues, time, duration }.
  show(now) {
    this.now = now;
    this.draw();
  }

  draw() {
    if (!this.now.marks) return;
    this.drawWhole();
    this.drawClose();
  }

  drawWhole() {
    const { marks, time, duration } = this.now;
    const width = this.width(this.whole);
    const x = (at) => (duration ? 4 + (at / duration) * (width - 8) : 4); // room at both ends
    const ticks = (side, y, length) =>
      marks.list
        .filter((mark) => mark.event.startsWith(side))
        .map((mark) => `M${x(mark.time).toFixed(1)} ${y}v${length}`)
        .join("");
    const parts = [
      node("path", { class: "tick left", d: ticks("left", 4, 14) }),
      node("path", { class: "tick right", d: ticks("right", 26, 14) }),
      node("path", { class: "middle", d: `M0 ${WHOLE_PX / 2}h${width}` }),
      ...this.passes(x, width, WHOLE_PX, 15, [0, duration]),
      node("rect", {
        class: "window",
        x: x(time - CLOSE_S / 2),
        y: 1,
        width: duration ? (CLOSE_S / duration) * (width - 8) : 0,
        height: WHOLE_PX - 2,
      }),
      node("path", { class: "head", d: `M${x(time)} 0v${WHOLE_PX}` }),
    ];
    this.whole.replaceChildren(...parts);
  }

  drawClose() {
    const { marks, foretold, cues, time } = this.now;
    const width = this.width(this.close);
    const x = (at) => this.xAt(at);
    const [from, to] = [time - CLOSE_S / 2, time + CLOSE_S / 2];
    const isSeen = (at) => at >= from - 0.2 && at <= to + 0.2;
    const parts = this.ground(x, width, [from, to]);
    parts.push(...cues.filter((cue) => isSeen(cue.film_s)).map((cue) => this.knock(cue)));
    parts.push(...this.passes(x, width, CLOSE_PX, CLOSE_PX - 6, [from, to]));
    parts.push(node("path", { class: "head", d: `M${x(time)} 0V${CLOSE_PX}` }));
    const next = foretold.filter((moment) => isSeen(moment.time));
    parts.push(...next.map((moment) => this.badge(moment, "foretold")));
    const seen = marks.list.filter((mark) => isSeen(mark.time));
    const selected = seen.filter((mark) => mark === marks.selected);
    const others = seen.filter((mark) => mark !== marks.selected);
    const usual = usualOff(marks.list);
    const state = (mark) =>
      `mark${mark === marks.selected ? " selected" : ""}${isDoubted(mark, usual) ? " doubted" : ""}`;
    parts.push(...[...others, ...selected].map((mark) => this.badge(mark, state(mark))));
    parts.push(...this.names());
    this.close.replaceChildren(...parts);
  }

  // What the marks stand on: lanes, seconds, and what is outside the film.
  ground(x, width, [from, to]) {
    const { duration } = this.now;
    const parts = [];
    LANES.forEach((lane, index) => {
      const y = RULER_PX + index * LANE_PX;
      parts.push(node("rect", { class: `lane lane-${index % 2}`, x: 0, y, width, height: LANE_PX }));
    });
    for (let second = Math.max(0, Math.ceil(from)); second <= Math.min(to, duration); second += 1) {
      parts.push(node("path", { class: "second", d: `M${x(second)} ${RULER_PX}V${CLOSE_PX}` }));
      // A label at the very edge would be cut.
      if (x(second) < NAMES_PX + 20 || x(second) > width - 20) continue;
      parts.push(node("text", { class: "ruler", x: x(second), y: 15 }, clock(second)));
    }
    const outside = [[from, Math.min(0, to)], [Math.max(duration, from), to]];
    for (const [a, b] of outside.filter(([a, b]) => b > a)) {
      const shape = { class: "outside", x: x(a), y: RULER_PX, width: x(b) - x(a), height: CLOSE_PX };
      parts.push(node("rect", shape));
    }
    return parts;
  }

  // The lanes' names, over what comes from the left.
  names() {
    return LANES.flatMap((lane, index) => {
      const y = RULER_PX + index * LANE_PX;
      return [
        node("rect", { class: `lane lane-${index % 2}`, x: 0, y, width: NAMES_PX, height: LANE_PX }),
        // 4 px down from the middle to the line of the letters.
        node("text", { class: "lane-name", x: 6, y: y + LANE_PX / 2 + 4 }, lane),
      ];
    });
  }

  // A cue of the track, behind the marks of its hand or foot: full where it sounds, an outline
  // where it is silent.
  knock({ kind, side, film_s: at, sounds }) {
    const [x, y] = [this.xAt(at), this.yOf({ event: `${side}_${kind === "arm" ? "entry" : "kick"}` })];
    const [top, bottom] = [y - LANE_PX / 2 + 1, y + LANE_PX / 2 - 1];
    const half = kind === "fill" ? 2.5 : 4.5;
    const d = `M${x - half} ${top}h${2 * half}l${-half} 7zM${x - half} ${bottom}h${2 * half}l${-half} -7zM${x} ${top}V${bottom}`;
    return node("path", { class: `knock ${sounds ? "sounds" : "silent"}`, d });
  }

  // Where passes begin, with their numbers.
  passes(x, width, height, textY, [from, to]) {
    const parts = [];
    this.now.marks.splits.forEach((split, index) => {
      if (split < from || split > to) return;
      parts.push(node("path", { class: "split", d: `M${x(split)} 0V${height}` }));
      const late = x(split) > width - 60;
      const place = { x: x(split) + (late ? -4 : 4), y: textY, "text-anchor": late ? "end" : "start" };
      parts.push(node("text", { class: "pass", ...place }, `pass ${index + 2}`));
    });
    return parts;
  }

  // A mark, or a moment foretold, by its class.
  badge(moment, state) {
    const [side, word] = moment.event.split("_");
    const [x, y] = [this.xAt(moment.time), this.yOf(moment)];
    const group = node("g", { class: `${side} ${state}` });
    const radius = state.includes("selected") ? 13 : 11;
    const box = { x: x - radius, y: y - radius, width: 2 * radius, height: 2 * radius };
    group.append(
      node("rect", { ...box, rx: side === "left" ? radius : 2 }),
      node("text", { x, y: y + 5 }, kindOf(word).letter),
    );
    if (state.includes("doubted")) group.append(node("text", { class: "doubt", x: x + 15, y: y - 3 }, "?"));
    return group;
  }
}

// An SVG element, in the namespace of the ones that stand in the page.
function node(name, attributes, text) {
  const made = document.createElementNS(document.querySelector("svg").namespaceURI, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

// `0:07`, for whole seconds.
function clock(seconds) {
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}
