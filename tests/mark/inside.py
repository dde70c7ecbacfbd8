"""Scripts that run inside the page: they look at it, or try to get out of it."""

from films import BITS, HEIGHT, WIDTH

# Tries every way out that a page has; tells after a second which ones its policy stopped.
ATTEMPTS = """
const [where, done] = arguments;
const stopped = [];
document.addEventListener("securitypolicyviolation", (event) => stopped.push(event.effectiveDirective));
fetch(where + "/fetch").catch(() => {});
new Image().src = where + "/image";
for (const [name, key] of [["script", "src"], ["iframe", "src"], ["link", "href"], ["video", "src"]]) {
  const made = document.createElement(name);
  if (name === "link") made.rel = "stylesheet";
  made[key] = where + "/" + name;
  document.body.append(made);
}
navigator.sendBeacon(where + "/beacon");
const form = document.createElement("form");
form.action = where + "/form";
document.body.append(form);
form.submit();
setTimeout(() => done(stopped), 1000);
"""

# Reports two frames as shown one after the other in slow play; tells whether they are then neighbours.
A_FRAME_LEFT_OUT = """
const [first, second] = arguments;
const of = (mediaTime, presentedFrames) => ({ mediaTime, presentedFrames });
const heard = Object.create(film, { playing: { value: true } });
heard.learnFromPlaying(of(first, 1));
heard.learnFromPlaying(of(second, 2));
return film.after.get(micro(first)) === micro(second);
"""

# Of everything that can be pressed, and of every text: its box, and whether it is cut.
BOXES = """
const all = document.querySelectorAll(
  "#bench :is(button, .button, video, h1, h2, b, .facts span, output, #said, svg:not(button svg))",
);
return [...all].filter((one) => one.checkVisibility() && !one.closest("#start")).map((one) => {
  const box = one.getBoundingClientRect();
  const inner = [...one.children].map((child) => child.getBoundingClientRect());
  const out = inner.some(
    (one) =>
      one.left < box.left - 0.5 || one.right > box.right + 0.5 ||
      one.top < box.top - 0.5 || one.bottom > box.bottom + 0.5,
  );
  const cut = one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1;
  return {
    what: one.id || one.dataset.do || one.textContent.trim(),
    presses: one.matches("button, .button"),
    cut: (one.tagName === "svg" ? false : out || (one.clientWidth > 0 && cut)),
    box: [box.left, box.top, box.right, box.bottom],
  };
});
"""
FOCUS = """
const one = document.activeElement;
const style = getComputedStyle(one.id === "choose" ? one.nextElementSibling : one);
return [one.id || one.dataset.do || one.textContent.trim(), parseFloat(style.outlineWidth), style.outlineStyle];
"""


# The least contrast of any text with what is behind it, by WCAG's formula, and whose it is.
CONTRAST = """
const numbers = (colour) => colour.match(/[\\d.]+/g).map(Number);
const light = (colour) => {
  const [r, g, b] = numbers(colour).map((c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const behind = (one) => {
  const colour = getComputedStyle(one).backgroundColor;
  const opaque = (numbers(colour)[3] ?? 1) === 1;
  return opaque ? colour : one.parentElement ? behind(one.parentElement) : "rgb(255, 255, 255)";
};
const texts = [...document.querySelectorAll("body *:not(svg *, script)")].filter(
  (one) => one.checkVisibility() && [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim()),
);
const all = texts.map((one) => {
  const [a, b] = [light(getComputedStyle(one).color), light(behind(one))];
  return [(Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05), one.textContent.trim()];
});
return [all.length, ...all.sort((a, b) => a[0] - b[0])[0]];
"""


# How bright each block of the frame stands in the window, left to right: the picture as shown.
IN_WINDOW = """
const film = document.getElementById("film");
const [width, height] = [%d, %d];
const canvas = document.createElement("canvas");
[canvas.width, canvas.height] = [width, height];
const pen = canvas.getContext("2d");
const turned = new DOMMatrix(getComputedStyle(film).transform);
pen.setTransform(turned.a, 0, 0, 1, turned.a < 0 ? width : 0, 0);
pen.drawImage(film, 0, 0);
const block = width / %d;
const blocks = Array.from({ length: %d }, (_, at) => (at + 0.5) * block);
return blocks.map((x) => pen.getImageData(x, height / 4, 1, 1).data[0] > 125);
""" % (WIDTH, HEIGHT, BITS, BITS)
# How bright the middle of the magnifier is when it is put on a block of the frame.
IN_LENS = """
look.at = { x: (arguments[0] + 0.5) / %d, y: 0.25 };
look.draw();
const lens = document.getElementById("lens");
return lens.getContext("2d").getImageData(lens.width / 2, lens.height / 2, 1, 1).data[0] > 125;
""" % BITS

# Each cue on the strip: its class, and its middle; and where marks at these times would stand.
KNOCKS = """
return [...document.querySelectorAll("#close .knock")].map((one) => {
  const box = one.getBBox();
  return [one.getAttribute("class"), box.x + box.width / 2, box.y + box.height / 2];
});
"""
KNOCKS_SHOULD = """
const at = (time, event) => [strip.xAt(time), strip.yOf({ event })];
return [at(0.5, "left_entry"), at(0.5, "left_kick"), at(0.8, "right_kick"), at(1.6, "right_entry")];
"""

# The names of lanes that something of the swim covers, anywhere along their middle.
COVERED = """
return [...document.querySelectorAll("#close .lane-name")].filter((name) => {
  const box = name.getBoundingClientRect();
  const along = Array.from({ length: Math.floor(box.width) }, (_, at) => box.left + at + 0.5);
  const top = (x) => document.elementFromPoint(x, box.top + box.height / 2);
  return along.some((x) => top(x).closest(".mark, .foretold, .knock"));
}).map((name) => name.textContent);
"""
# Flags in what is said that stand on two lines, in a paragraph of some width.
BROKEN = """
const said = document.getElementById("said");
const walker = document.createTreeWalker(said, NodeFilter.SHOW_TEXT);
const letters = [];
for (let node = walker.nextNode(); node; node = walker.nextNode()) {
  letters.push(...Array.from(node.data, (_, at) => [node, at]));
}
const tops = (found) => letters.slice(found.index, found.index + found[0].length).map(([node, at]) => {
  const range = new Range();
  range.setStart(node, at);
  range.setEnd(node, at + 1);
  return range.getBoundingClientRect().top;
});
said.style.flex = "none";
said.style.width = arguments[0] + "px";
const broken = [...said.textContent.matchAll(/--[a-z-]+/g)].filter((found) => new Set(tops(found)).size > 1);
const height = said.clientHeight;
said.style.flex = said.style.width = "";
return [broken.map((found) => found[0]), height];
"""
