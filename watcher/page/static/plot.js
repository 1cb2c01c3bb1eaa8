// A small plot of our own: dots with ranges against a band that is wanted; each dot also stands in the table below.
import { makeSvg } from "./boot.js";

const LEFT = 60;
const RIGHT = 12;
const TOP = 12;
const FOOT = 24;
const HIGH = 190;

/** Round steps for an axis: 1, 2 or 5 times a power of ten. */
export function ticks(low, high, about) {
  const rough = (high - low) / about;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].find((times) => times * power >= rough) * power;
  const found = [];
  for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9; i += 1) found.push(i * step);
  return found;
}

function text(x, y, words, anchor = "end") {
  const node = makeSvg("text", { x, y, "text-anchor": anchor });
  node.textContent = words;
  return node;
}

/**
 * Draw dots into `box`. `points`: [{ x, y, low, high, mark }], `mark` "bad" or "second" changes the shape.
 * `courses`: rows of points drawn as lines, the first the plainest. `band`: [low, high] that is wanted, `yWords(y)`, `xTicks`: [{ x, words }], `from`: least y to show.
 */
export function drawPlot(box, { points, courses = [], band = null, yWords, xTicks = [], line = false, from = null }) {
  const known = points.filter((p) => p.y !== null);
  const drawn = known.concat(courses.flat());
  box.hidden = drawn.length === 0;
  box.replaceChildren();
  if (box.hidden) return;
  const wide = Math.max(box.clientWidth, 280);
  const ends = drawn.flatMap((p) => [p.y, p.low ?? p.y, p.high ?? p.y]).concat(band ?? []);
  let low = Math.min(...ends);
  let high = Math.max(...ends);
  const room = 0.08 * (high - low || Math.abs(high) || 1);
  low = from === null ? low - room : Math.min(from, low);
  high += room;
  const xs = drawn.map((p) => p.x).concat(xTicks.map((tick) => tick.x));
  const first = Math.min(...xs);
  const span = Math.max(...xs) - first || 1;
  const x = (value) => +(LEFT + 10 + ((wide - LEFT - RIGHT - 20) * (value - first)) / span).toFixed(1);
  const y = (value) => +(HIGH - FOOT - ((HIGH - FOOT - TOP) * (value - low)) / (high - low)).toFixed(1);
  const svg = makeSvg("svg", { viewBox: `0 0 ${wide} ${HIGH}`, width: wide, height: HIGH, "aria-hidden": "true", focusable: "false" });
  for (const value of ticks(low, high, 4)) {
    svg.append(makeSvg("path", { class: "grid", d: `M${LEFT} ${y(value)}H${wide - RIGHT}` }), text(LEFT - 6, y(value) + 4, yWords(value)));
  }
  for (const tick of xTicks) {
    const at = x(tick.x);
    const ends = at > wide - 44 && tick.words.length > 3; // the last one must not be cut off
    svg.append(text(ends ? wide - 2 : at, HIGH - 6, tick.words, ends ? "end" : "middle"));
  }
  if (band) {
    const top = y(band[1]);
    svg.append(makeSvg("rect", { class: "aim-band", x: LEFT, y: top, width: wide - LEFT - RIGHT, height: Math.max(2, y(band[0]) - top) }));
  }
  courses.forEach((course, i) => {
    if (course.length > 1) svg.append(makeSvg("path", { class: `course course-${i}`, d: `M${course.map((p) => `${x(p.x)} ${y(p.y)}`).join("L")}` }));
  });
  if (line && known.length > 1) {
    svg.append(makeSvg("path", { class: "course", d: `M${known.map((p) => `${x(p.x)} ${y(p.y)}`).join("L")}` }));
  }
  for (const p of known) {
    if (p.low !== null && p.low !== undefined) svg.append(makeSvg("path", { class: "reach", d: `M${x(p.x)} ${y(p.low)}V${y(p.high)}` }));
    const [cx, cy] = [x(p.x), y(p.y)];
    if (p.mark === "bad") svg.append(makeSvg("path", { class: "bad", d: `M${cx - 5} ${cy - 5}l10 10m0-10l-10 10` }));
    else if (p.mark === "second") svg.append(makeSvg("path", { class: "second", d: `M${cx} ${cy - 6}l6 6-6 6-6-6z` }));
    else svg.append(makeSvg("circle", { class: "dot", cx, cy, r: 4 }));
  }
  box.append(svg);
}

/** A few ticks for days along a row of moments [s], by `words(moment)`. */
export function dayTicks(moments, words) {
  if (moments.length < 2) return moments.map((x) => ({ x, words: words(x) }));
  const [first, last] = [Math.min(...moments), Math.max(...moments)];
  const count = 4;
  return Array.from({ length: count }, (_, i) => first + ((last - first) * i) / (count - 1)).map((x) => ({ x, words: words(x) }));
}
