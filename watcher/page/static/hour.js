// The next hour as a line: every tip with its range, and those that fall too close together.
import { byId, make, mouldHref, setFlag, setText, t } from "./boot.js";
import { makeMark, setMark, waits } from "./marks.js";
import { dueWords } from "./phrases.js";
import { clock, seconds, waitSpan } from "./units.js";

const BEFORE_MIN = 4;
const AFTER_MIN = 60;
const MARK_PX = 40;
const MOST_NAMED = 8;
const LABEL_PX = 190;
const lanes = new Map();
let wide = Math.min(window.innerWidth - 34, 700); // asking the line itself would cost a layout before the first drawing

export const place = (minutes) => (100 * (Math.min(Math.max(minutes, -BEFORE_MIN), AFTER_MIN) + BEFORE_MIN)) / (AFTER_MIN + BEFORE_MIN);

function laneOf(name) {
  if (!lanes.has(name)) {
    const item = make("li", "tip");
    const bar = make("span", "bar");
    const link = make("a");
    link.href = mouldHref(name);
    link.append(makeMark());
    const label = make("span", "tip-name", name);
    label.setAttribute("aria-hidden", "true");
    item.append(bar, link, label);
    byId("lanes").append(item);
    lanes.set(name, { item, bar, link, label });
  }
  return lanes.get(name);
}

/** Put each tip into the first row where it overlaps nothing; names take their room while there are few. */
function rowsOf(tips) {
  const ends = [];
  const minuteWide = wide / (AFTER_MIN + BEFORE_MIN);
  const named = tips.length <= MOST_NAMED;
  for (const tip of tips) {
    const label = named ? Math.min(LABEL_PX, tip.mould.name.length * 8.5 + 16) / minuteWide : 0;
    tip.left = Math.min(tip.low, tip.at - MARK_PX / 2 / minuteWide);
    tip.right = Math.max(tip.high, tip.at + MARK_PX / 2 / minuteWide);
    let begin = tip.left;
    let end = tip.right;
    tip.onTheLeft = end + label > AFTER_MIN;
    if (tip.onTheLeft) begin -= label; else end += label;
    let row = ends.findIndex((last) => last <= begin);
    if (row < 0) row = ends.push(-Infinity) - 1;
    ends[row] = end;
    tip.row = row;
  }
  return Math.max(ends.length, 1);
}

function drawTip(tip, zone, now) {
  const { item, bar, link, label } = laneOf(tip.mould.name);
  item.hidden = false;
  item.style.setProperty("--row", String(tip.row));
  bar.style.left = `${place(tip.low)}%`;
  bar.style.width = `${Math.max(place(tip.high) - place(tip.low), 0.6)}%`;
  link.style.left = `${place(tip.at)}%`;
  // The name stands right of the range, or left of it where the line ends.
  const { onTheLeft } = tip;
  setFlag(label, "side", onTheLeft ? "left" : "right");
  label.style.left = onTheLeft ? "" : `${place(tip.right)}%`;
  label.style.right = onTheLeft ? `${100 - place(tip.left)}%` : "";
  setFlag(item, "guess", String(tip.mould.forecast_only));
  setMark(link.firstChild, tip.mould);
  const said = t("tip_said", { n: tip.mould.number, name: tip.mould.name, wait: dueWords(tip.mould, now),
    range: waitSpan(tip.low * 60, tip.high * 60), at: clock(tip.mould.ready_at, zone) });
  if (link.getAttribute("aria-label") !== said) link.setAttribute("aria-label", said);
}

/** Where a tip stands on the line; one that is long overdue waits at its beginning. */
function tipOf(mould, minutes) {
  const due = minutes(mould.ready_at);
  const at = Math.max(due, -BEFORE_MIN / 2);
  return { mould, due, at, low: Math.min(at, Math.max(minutes(mould.ready_low ?? mould.ready_at), -BEFORE_MIN)),
    high: Math.max(at, minutes(mould.ready_high ?? mould.ready_at)) };
}

/** Follow the width of the line; `redraw` when it has changed. */
export function startHour(redraw) {
  new ResizeObserver(([entry]) => {
    if (Math.abs(entry.contentRect.width - wide) < 2) return;
    wide = entry.contentRect.width;
    redraw();
  }).observe(byId("lanes"));
}

export function showHour(bench, now) {
  const minutes = (iso) => (seconds(iso) - now) / 60;
  const known = bench.moulds.filter((mould) => waits(mould) && mould.ready_at)
    .map((mould) => tipOf(mould, minutes))
    .sort((a, b) => a.due - b.due);
  const soon = known.filter((tip) => tip.at <= AFTER_MIN);
  const rows = rowsOf(soon);
  byId("lanes").style.setProperty("--rows", String(rows));
  setFlag(byId("lanes"), "names", String(soon.length <= MOST_NAMED));
  for (const { item } of lanes.values()) item.hidden = true;
  for (const tip of soon) drawTip(tip, bench.zone, now);
  const far = known.filter((tip) => tip.at > AFTER_MIN)
    .map(({ mould }) => `${mould.number} ${mould.name} ${clock(mould.ready_at, bench.zone)}`);
  setText(byId("later"), far.length ? t("later", { list: far.join(", ") }) : soon.length ? "" : t("hour_none"));
  showClashes(bench);
  drawClashes(bench.clashes, soon);
}

/** A hatched band on the line from the first to the second of two that are too close. */
function drawClashes(clashes, tips) {
  for (const old of byId("lanes").querySelectorAll(".clash-band")) old.remove();
  for (const { first, second } of clashes) {
    const [a, b] = [first, second].map((name) => tips.find((tip) => tip.mould.name === name)?.at);
    if (a === undefined || b === undefined) continue;
    const band = make("li", "clash-band");
    band.setAttribute("aria-hidden", "true");
    band.style.left = `${place(a)}%`;
    band.style.width = `${place(b) - place(a)}%`;
    byId("lanes").prepend(band);
  }
}

function showClashes(bench) {
  const list = byId("clashes");
  const named = (name) => `${bench.moulds.find((mould) => mould.name === name)?.number ?? ""} ${name}`;
  const words = bench.clashes.map((clash) => t(clash.apart_s < 30 ? "clash_now" : "clash", {
    first: named(clash.first), second: named(clash.second), n: Math.max(1, Math.round(clash.apart_s / 60)),
  }));
  if (list.dataset.said === words.join("|")) return;
  list.dataset.said = words.join("|");
  list.replaceChildren(...words.map((text) => make("li", "", text)));
}
