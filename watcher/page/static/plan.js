// The day's plan as a picture: the hands' lane above, a lane for each mould below, ranges of tips as whiskers.
import { makeSvg, t } from "./boot.js";
import { clock, seconds } from "./units.js";

const NAME = 118;
const ROW = 34;
const HANDS = 40;
const TOP = 24;
const LEAST = 640;

function add(svg, tag, attributes, words = null) {
  const node = makeSvg(tag, attributes);
  if (words !== null) node.textContent = words;
  svg.append(node);
  return node;
}

function short(name) {
  return name.length > 14 ? `${name.slice(0, 13)}…` : name;
}

/** Draw `day` (as /day.json) into `box`. */
export function drawPlan(box, day) {
  box.replaceChildren();
  const moulds = day.moulds.map((one) => one.mould).filter((name) => [...day.steps, ...day.running].some((one) => one.mould === name));
  if (!moulds.length) return;
  const wide = Math.max(box.parentElement.clientWidth - 4, LEAST);
  const from = seconds(day.now);
  const moments = [day.closing_at, day.ends_at, ...day.steps.flatMap((s) => [s.at, s.high]), ...day.running.flatMap((r) => [r.ready_at])].filter(Boolean).map(seconds);
  const to = Math.max(...moments, from + 3600) + 300;
  const x = (s) => +(NAME + ((wide - NAME - 8) * (Math.min(Math.max(s, from), to) - from)) / (to - from)).toFixed(1);
  const high = TOP + HANDS + ROW * moulds.length + 6;
  const svg = makeSvg("svg", { viewBox: `0 0 ${wide} ${high}`, width: wide, height: high, focusable: "false" });
  axis(svg, day, from, to, x, high);
  add(svg, "text", { x: 4, y: TOP + 24, class: "lane-name" }, t("plan_hands_lane"));
  add(svg, "rect", { class: "hands-lane", x: NAME, y: TOP + 4, width: wide - NAME - 8, height: HANDS - 10 });
  moulds.forEach((name, i) => lane(svg, day, name, TOP + HANDS + i * ROW, x, from));
  for (const step of day.steps) block(svg, step, TOP + 6, HANDS - 14, x);
  for (const cast of day.running) block(svg, { at: cast.ready_at, minutes: 2, what: "tip" }, TOP + 6, HANDS - 14, x);
  box.append(svg);
}

function axis(svg, day, from, to, x, high) {
  const every = [0.5, 1, 2, 3].find((hours) => (to - from) / 3600 / hours <= 9) ?? 6;
  const step = every * 3600;
  for (let s = Math.ceil(from / step) * step; s < to; s += step) {
    add(svg, "path", { class: "grid", d: `M${x(s)} ${TOP - 4}V${high}` });
    if (x(s) > NAME + 30) add(svg, "text", { x: Math.min(x(s), x(Infinity) - 18), y: 14, "text-anchor": "middle" }, clock(new Date(s * 1000).toISOString(), day.zone));
  }
  if (day.closing_at) add(svg, "path", { class: "closing", d: `M${x(seconds(day.closing_at))} ${TOP - 4}V${high}` });
}

function block(svg, step, y, high, x) {
  const left = x(seconds(step.at));
  const width = Math.max(x(seconds(step.at) + 60 * step.minutes) - left, 3);
  add(svg, "rect", { class: `do-${step.what}`, x: left, y, width, height: high });
}

function lane(svg, day, name, y, x, from) {
  add(svg, "path", { class: "grid", d: `M0 ${y - 1}H${x(Infinity)}` });
  add(svg, "text", { x: 4, y: y + 21, class: "lane-name" }, short(name));
  const steps = day.steps.filter((step) => step.mould === name);
  const running = day.running.find((cast) => cast.mould === name);
  if (running) cast(svg, from, running.ready_at, running.low, running.high, y, x);
  for (const tip of steps.filter((step) => step.what === "tip")) {
    const pour = steps.find((step) => step.what === "pour" && step.cast === tip.cast);
    if (pour) cast(svg, seconds(pour.at) + 60 * pour.minutes, tip.at, tip.low, tip.high, y, x);
  }
  for (const step of steps) block(svg, step, y + 4, ROW - 10, x);
  if (running) block(svg, { at: running.ready_at, minutes: 2, what: "tip" }, y + 4, ROW - 10, x);
}

function cast(svg, full, ready, low, high, y, x) {
  const [left, right] = [x(full), x(seconds(ready))];
  add(svg, "rect", { class: "do-cast", x: left, y: y + 9, width: Math.max(right - left, 1), height: ROW - 20 });
  const middle = y + ROW / 2 - 1;
  add(svg, "path", { class: "reach", d: `M${x(seconds(low))} ${middle - 5}v10m0-5H${x(seconds(high))}m0-5v10` });
}
