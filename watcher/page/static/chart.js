// Our chart: wall above, level below, one time axis; band, aim, events, and a cursor for mouse, finger and keys.
import { make, makeSvg, setText, t, tell } from "./boot.js";
import { ticks } from "./plot.js";
import { bare, clock, inches, length, seconds, span, unitWord } from "./units.js";

const LEFT = 44;
const RIGHT = 12;
const TOP = 24;
const GAP = 30;
const AXIS = 24;
const MM_PER_INCH = 25.4;

function lengthTicks(low, high) {
  const unit = inches() ? MM_PER_INCH : 1;
  return ticks(low / unit, high / unit, 4).map((value) => value * unit);
}

function minuteStep(spanS) {
  return [1, 2, 5, 10, 15, 30, 60, 120, 240].find((minutes) => spanS / 60 / minutes <= 7) ?? 480;
}

/**
 * Make a chart in `box`; returns `{ set(data), cursor(moment) }` with data as /mould/NAME.json.
 * `moved(moment)` is told when the cursor is dragged or walked.
 */
export function makeChart(box, moved = null) {
  const svg = makeSvg("svg", { "aria-hidden": "true", focusable: "false" });
  const hold = make("div", "chart-hold");
  hold.tabIndex = 0;
  hold.setAttribute("role", "slider");
  hold.setAttribute("aria-label", t("chart_cursor"));
  hold.append(svg);
  const read = make("p", "chart-read");
  box.append(hold, read);
  let given = null;
  let scale = null;
  let at = null; // the cursor's moment [s]; null: the newest reading

  function draw() {
    box.hidden = !given || given.curve.points.length + given.readings.length < 2;
    if (box.hidden || !hold.clientWidth) return;
    scale = scales(given, hold.clientWidth, hold.clientHeight);
    svg.setAttribute("viewBox", `0 0 ${hold.clientWidth} ${hold.clientHeight}`);
    svg.replaceChildren(...axes(scale, given), ...curves(scale, given), ...events(scale, given), ...readings(scale, given));
    svg.append(makeSvg("path", { class: "cursor" }));
    point();
  }

  function point() {
    if (!scale) return;
    const moment = Math.min(Math.max(at ?? scale.now, scale.from), scale.to);
    svg.lastChild.setAttribute("d", `M${scale.x(moment)} ${TOP}V${scale.bottom}`);
    const words = momentWords(given, moment);
    setText(read, words);
    hold.setAttribute("aria-valuemin", String(Math.round(scale.from - scale.from)));
    hold.setAttribute("aria-valuemax", String(Math.round(scale.to - scale.from)));
    hold.setAttribute("aria-valuenow", String(Math.round(moment - scale.from)));
    hold.setAttribute("aria-valuetext", words);
  }

  function toPointer(event) {
    if (!scale) return;
    const left = hold.getBoundingClientRect().left;
    at = Math.min(Math.max(scale.timeAt(event.clientX - left), scale.from), scale.to);
    point();
    moved?.(at);
  }

  hold.addEventListener("pointerdown", (event) => { hold.setPointerCapture(event.pointerId); toPointer(event); });
  hold.addEventListener("pointermove", (event) => { if ((event.pointerType === "mouse" && !moved) || event.buttons) toPointer(event); });
  hold.addEventListener("pointerleave", (event) => { if (event.pointerType === "mouse" && !moved) { at = null; point(); } });
  hold.addEventListener("keydown", (event) => {
    if (!scale) return;
    const step = (scale.to - scale.from) / (event.shiftKey ? 10 : 60);
    const now = at ?? scale.now;
    const moves = { ArrowLeft: now - step, ArrowDown: now - step, ArrowRight: now + step, ArrowUp: now + step,
      Home: scale.from, End: scale.to, Escape: null };
    if (!(event.key in moves)) return;
    event.preventDefault();
    at = moves[event.key];
    if (at !== null) at = Math.min(Math.max(at, scale.from), scale.to);
    point();
    if (at !== null) moved?.(at);
  });
  new ResizeObserver(draw).observe(hold);
  return { set(data) { given = data; draw(); }, cursor(moment) { at = moment; point(); } };
}

function scales(data, wide, high) {
  const points = data.curve.points;
  const times = [...points.map((p) => seconds(p.at)), ...data.readings.map((r) => seconds(r.at))];
  const now = seconds(data.now);
  const from = Math.min(...times);
  const to = Math.max(...times, from + 120);
  const wallMost = 1.08 * Math.max(1, data.mould.target_thick_mm ?? 0, ...points.map((p) => p.wall_high_mm ?? p.wall_mm ?? 0));
  const levels = [...data.readings.map((r) => r.level_mm), ...points.flatMap((p) => [p.level_low_mm, p.level_high_mm, p.level_mm])]
    .filter((mm) => mm !== null);
  const levelLeast = Math.min(...levels, Infinity);
  const low = Number.isFinite(levelLeast) ? Math.max(0, levelLeast - 1) : 0;
  const levelMost = Math.max(...levels, low + 4) + 1;
  const room = high - TOP - GAP - AXIS;
  const wallFloor = TOP + 0.56 * room;
  const levelTop = wallFloor + GAP;
  const bottom = high - AXIS;
  const width = wide - LEFT - RIGHT;
  return {
    from, to, now: Math.min(now, to), wide, bottom, wallFloor, levelTop, wallMost, low, levelMost,
    x: (s) => +(LEFT + (width * (s - from)) / (to - from)).toFixed(1),
    timeAt: (px) => from + ((to - from) * (px - LEFT)) / width,
    wall: (mm) => +(wallFloor - ((wallFloor - TOP) * mm) / wallMost).toFixed(1),
    level: (mm) => +(levelTop + ((bottom - levelTop) * (mm - low)) / (levelMost - low)).toFixed(1),
  };
}

function label(x, y, text, anchor = "end", name = "axis-text") {
  const node = makeSvg("text", { x, y, "text-anchor": anchor, class: name });
  node.textContent = text;
  return node;
}

function axes(s, data) {
  const made = [];
  for (const mm of lengthTicks(0, s.wallMost)) {
    made.push(makeSvg("path", { class: "grid", d: `M${LEFT} ${s.wall(mm)}H${s.wide - RIGHT}` }), label(LEFT - 6, s.wall(mm) + 4, bare(mm)));
  }
  for (const mm of lengthTicks(s.low, s.levelMost)) {
    made.push(makeSvg("path", { class: "grid", d: `M${LEFT} ${s.level(mm)}H${s.wide - RIGHT}` }), label(LEFT - 6, s.level(mm) + 4, bare(mm)));
  }
  const step = minuteStep(s.to - s.from) * 60;
  for (let at = Math.ceil(s.from / step) * step; at <= s.to; at += step) {
    const x = s.x(at);
    made.push(makeSvg("path", { class: "grid", d: `M${x} ${s.bottom}v5` }));
    if (x > LEFT + 12 && x < s.wide - 24) made.push(label(x, s.bottom + 19, clock(new Date(at * 1000).toISOString(), data.zone), "middle"));
  }
  made.push(label(LEFT, s.levelTop - 9, `${t("level")}, ${unitWord()} ↓`, "start", "axis-name"), label(LEFT, TOP - 10, `${t("wall")}, ${unitWord()} ↑`, "start", "axis-name"));
  return made;
}

function band(points, x, y, low, high) {
  const some = points.filter((p) => p[low] !== null && p[high] !== null);
  if (some.length < 2) return [];
  const there = some.map((p) => `${x(seconds(p.at))} ${y(p[high])}`);
  const back = some.map((p) => `${x(seconds(p.at))} ${y(p[low])}`).reverse();
  return [makeSvg("path", { class: "band", d: `M${there.concat(back).join("L")}Z` })];
}

function line(points, x, y, key, name) {
  const some = points.filter((p) => p[key] !== null);
  if (some.length < 2) return [];
  return [makeSvg("path", { class: name, d: `M${some.map((p) => `${x(seconds(p.at))} ${y(p[key])}`).join("L")}` })];
}

function curves(s, data) {
  const points = data.curve.points;
  const lastSeen = data.readings.at(-1)?.at ?? data.now;
  const past = points.filter((p) => p.at <= lastSeen);
  const ahead = points.filter((p) => p.at >= (past.at(-1)?.at ?? ""));
  const made = [];
  const { target_wall_mm: thin, target_thick_mm: thick } = data.mould;
  if (thin !== null) {
    const y = s.wall(thick ?? thin);
    made.push(makeSvg("rect", { class: "aim-band", x: LEFT, y, width: s.wide - LEFT - RIGHT, height: Math.max(0, s.wall(thin) - y) }),
      makeSvg("path", { class: "aim", d: `M${LEFT} ${s.wall(thin)}H${s.wide - RIGHT}` }));
  }
  made.push(...band(points, s.x, s.wall, "wall_low_mm", "wall_high_mm"), ...band(points, s.x, s.level, "level_low_mm", "level_high_mm"));
  for (const [some, name] of [[past, "past"], [ahead, "ahead"]]) {
    made.push(...line(some, s.x, s.wall, "wall_mm", name), ...line(some, s.x, s.level, "level_mm", name));
  }
  return made;
}

function readings(s, data) {
  if (!data.readings.length) return [];
  // One path of dots of no length: hundreds of readings cost one node.
  const dots = data.readings.map((r) => `M${s.x(seconds(r.at))} ${s.level(r.level_mm)}h0`).join("");
  return [makeSvg("path", { class: "dots", d: dots })];
}

function events(s, data) {
  const made = [makeSvg("path", { class: "now-line", d: `M${s.x(s.now)} ${TOP}V${s.bottom}` })];
  for (const filling of data.fillings) {
    const [early, late] = [filling.earliest, filling.latest].map((iso) => s.x(Math.max(seconds(iso), s.from)));
    const x = (early + late) / 2;
    // It came in somewhere between two looks: the band says how surely the moment is known.
    made.push(makeSvg("rect", { class: "event-band", x: early, y: s.levelTop, width: Math.max(0, late - early), height: s.bottom - s.levelTop }),
      makeSvg("path", { class: "event", d: `M${x} ${s.levelTop}V${s.bottom}` }),
      label(Math.min(x + 4, s.wide - 70), s.bottom - 6, t(`filling_${filling.kind}`), "start", "event-text"));
  }
  if (data.mould.tipped_at) {
    const x = s.x(Math.min(seconds(data.mould.tipped_at), s.to));
    made.push(makeSvg("path", { class: "event", d: `M${x} ${TOP}V${s.bottom}` }),
      label(x - 4, s.bottom - 6, tell("event", "tipped"), "end", "event-text"));
  }
  const { ready_at: ready, ready_low: low, ready_high: high } = data.mould;
  if (ready && seconds(ready) <= s.to) {
    const y = s.wall(data.mould.target_wall_mm ?? 0);
    if (low && high) {
      made.push(makeSvg("path", { class: "ready-range", d: `M${s.x(Math.max(seconds(low), s.from))} ${y}H${s.x(Math.min(seconds(high), s.to))}` }));
    }
    made.push(makeSvg("circle", { class: "ready-dot", cx: s.x(seconds(ready)), cy: y, r: 6 }));
  }
  return made;
}

function momentWords(data, moment) {
  const iso = new Date(moment * 1000).toISOString();
  const near = data.curve.points.reduce((best, p) => (best === null || Math.abs(seconds(p.at) - moment) < Math.abs(seconds(best.at) - moment) ? p : best), null);
  const read = data.readings.reduce((best, r) => (best === null || Math.abs(seconds(r.at) - moment) < Math.abs(seconds(best.at) - moment) ? r : best), null);
  const close = read && Math.abs(seconds(read.at) - moment) < 60;
  const parts = [clock(iso, data.zone)];
  if (near && near.wall_mm !== null) parts.push(t("read_wall", { wall: length(near.wall_mm, true), range: span(near.wall_low_mm, near.wall_high_mm, true) }));
  if (close) parts.push(t("read_level", { level: length(read.level_mm, true), sigma: bare(read.sigma_mm, true) }));
  else if (near && near.level_mm !== null) parts.push(t("read_level_guess", { level: length(near.level_mm) }));
  if (moment > seconds(data.now) + 1) parts.push(t("guess"));
  return parts.join(" · ");
}
