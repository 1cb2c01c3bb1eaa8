// A mould over its casts: its last tips, what it came out like, notes, dampness, its life, how forecasts did.
import { byId, make, setText, t, tell } from "./boot.js";
import { dayTicks, drawPlot } from "./plot.js";
import { ask, post } from "./post.js";
import { say, toast } from "./say.js";
import { bare, dayClock, dayShort, decimal, length, seconds, unitWord } from "./units.js";

let story = null;
let present = []; // how this cast sinks
let asked = null;
let name = "";

const sunk = (tip) => `${bare(tip.drop_mm)} ${unitWord()}`;

/** The tips of earlier casts in one line, beside how far this one has sunk. */
export function showLastTips(mould) {
  const box = byId("last-tips");
  const tips = story?.last_tips ?? [];
  box.hidden = tips.length === 0;
  if (!tips.length) return;
  const list = tips.map(sunk).join(" · ");
  setText(box, mould.drop_mm === null ? t("last_tips", { list }) : t("last_tips_now", { list, now: length(mould.drop_mm) }));
}

function showTips() {
  const tips = story.last_tips;
  byId("tips-box").hidden = tips.length === 0;
  if (!tips.length) return;
  const courses = [present, ...tips.map((tip) => tip.course.map(([x, y]) => ({ x, y })))];
  const ends = Math.max(...courses.flat().map((p) => p.x));
  drawPlot(byId("tips-plot"), { points: [], courses, yWords: (mm) => length(mm), from: 0,
    xTicks: [0, 0.5, 1].map((share) => ({ x: share * ends, words: t("in_min", { n: Math.round(share * ends) }) })) });
  byId("tips").replaceChildren(...tips.map((tip) => make("li", "", [dayClock(tip.tipped_at, story.zone),
    `${bare(tip.drop_mm, true)} ± ${bare(tip.sigma_mm, true)} ${unitWord()}`, tip.verdict ? tell("verdict", tip.verdict) : ""].filter(Boolean).join(" · "))));
}

function showLife() {
  const { points } = story;
  byId("life-box").hidden = points.length === 0;
  if (!points.length) return;
  const moments = points.map((p) => seconds(p.began_at));
  const xTicks = dayTicks(points.map((_, i) => i), (i) => dayShort(points[Math.round(i)].began_at, story.zone));
  const mark = (p) => (p.faults.length ? "bad" : p.number_today > 1 ? "second" : "");
  drawPlot(byId("life-k"), { points: points.map((p, i) => ({ x: i, y: p.k?.value ?? null, low: p.k?.low, high: p.k?.high, mark: mark(p) })), yWords: (k) => decimal(k, 2), xTicks });
  const most = Math.max(...points.map((p) => p.number_today));
  drawPlot(byId("life-day"), { points: points.map((p) => ({ x: p.number_today, y: p.k?.value ?? null, low: p.k?.low, high: p.k?.high, mark: mark(p) })),
    yWords: (k) => decimal(k, 2), xTicks: Array.from({ length: most }, (_, i) => ({ x: i + 1, words: String(i + 1) })) });
  const { target_wall_mm: thin, target_thick_mm: thick } = story;
  drawPlot(byId("life-wall"), {
    points: points.map((p, i) => ({ x: i, y: p.measured_mm ?? p.wall?.value ?? null, low: p.measured_mm === null ? p.wall?.low : null, high: p.wall?.high, mark: mark(p) })),
    yWords: (mm) => length(mm), xTicks, band: thin === null ? null : [thin, thick ?? thin],
  });
  const trend = story.k_after_100;
  const share = trend && Math.round(100 * (trend.value - 1));
  setText(byId("life-trend"), !trend ? t("life_few", { n: moments.length })
    : trend.low <= 1 && trend.high >= 1 ? t("life_steady") : t(share < 0 ? "life_slower" : "life_quicker", { n: Math.abs(share) }));
  const faults = Object.entries(story.faults).map(([kind, count]) => `${tell("fault", kind)} ${count}`).join(", ");
  setText(byId("life-faults"), faults ? t("life_faults", { list: faults, n: points.length }) : "");
}

function showScore() {
  byId("score-box").hidden = story.score.length === 0 && story.wall_checks.length === 0;
  byId("score").replaceChildren(...story.score.map((row) => make("li", "", t("score_row", {
    share: Math.round(100 * row.share), n: row.casts, off: decimal(100 * row.median_off, 0), worst: decimal(100 * row.worst_off, 0), held: row.held }))));
  byId("walls").replaceChildren(...story.wall_checks.map((one) => make("li", "", t("wall_check", {
    measured: length(one.measured_mm, true), shown: length(one.shown.value, true), low: bare(one.shown.low, true), high: bare(one.shown.high, true) }))));
}

function showDamp() {
  const { free_water: free, dry_in_h: dry } = story;
  if (!free) { setText(byId("damp-say"), t("damp_unknown")); return; }
  const words = [t("damp_now", { n: decimal(100 * free.value, 0), low: decimal(100 * free.low, 0), high: decimal(100 * free.high, 0) })];
  if (dry?.value > 0) words.push(dry.high === null ? t("rack_from", { low: decimal(dry.low, 0) }) : t("rack_hours", { low: decimal(dry.low, 0), high: decimal(dry.high, 0) }));
  setText(byId("damp-say"), words.join(" "));
}

/** How the cast under way has sunk so far, from its readings; top-ups are added up. */
export function sinking(given) {
  const full = given.mould.filled_at && seconds(given.mould.filled_at);
  const rows = [];
  let sunk = 0;
  let before = null;
  for (const one of full ? given.readings : []) {
    const at = seconds(one.at);
    if (before !== null && !given.fillings.slice(1).some((f) => seconds(f.latest) > before.at && seconds(f.earliest) <= at)) sunk += one.level_mm - before.level;
    before = { at, level: one.level_mm };
    rows.push({ x: (at - full) / 60, y: sunk });
  }
  const step = Math.max(1, Math.floor(rows.length / 40));
  present = rows.filter((_, i) => i % step === 0);
  if (story) showTips();
}

export function showNotes(mould) {
  const box = byId("notes");
  if (!box || box.dataset.said === mould.notes.join("|")) return;
  box.dataset.said = mould.notes.join("|");
  box.replaceChildren(...mould.notes.toReversed().map((note) => make("li", "", note)));
}

/** Straps with the sum behind them, and what it weighs full. */
function showHandling() {
  const it = story.handling;
  const out = story.demould_min;
  byId("handle-box").hidden = !it && !out;
  setText(byId("handle-out"), out ? t(story.demould_taught_by ? "handle_out_own" : "handle_out", { low: decimal(out.low, 0), high: decimal(out.high, 0), n: story.demould_taught_by }) : "");
  if (!it) return;
  setText(byId("handle-straps"), t("handle_straps", { n: it.straps, push: decimal(it.push_n, 0), head: decimal(it.head_mm / 2, 0), depth: decimal(it.head_mm, 0), width: decimal(it.width_mm, 0) }));
  setText(byId("handle-weight"), it.full_kg === null ? t("handle_slip", { slip: decimal(it.slip_l, 1) })
    : t("handle_full", { slip: decimal(it.slip_l, 1), kg: decimal(it.full_kg, 1) }));
}

/** What was told by hand, each to be taken back. */
function showTold() {
  byId("told").replaceChildren(...story.told.map((one) => {
    const words = t(`told_${one.kind}`, { n: decimal(one.amount), c: decimal(one.warmth_c ?? 0, 0) });
    const item = make("li", "", `${dayClock(one.at, story.zone)} · ${words} `);
    const back = make("button", "", t("told_back"));
    back.type = "button";
    back.setAttribute("aria-label", `${t("told_back")}: ${words}`);
    back.addEventListener("click", async () => {
      if (!await post("untell.json", { id: one.id })) return;
      await askAgain();
    });
    item.append(back);
    return item;
  }));
}

async function askAgain() {
  story = await ask(`story/${encodeURIComponent(name)}.json`) ?? story;
  showDamp();
  showTold();
}

function startTelling(id, path) {
  const form = byId(id);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const numbers = [...form.querySelectorAll("input")].map((field) => [field.name, field.valueAsNumber]);
    const kept = await post(path, { mould: name, ...Object.fromEntries(numbers) });
    if (!kept) return;
    form.reset();
    toast(t(`told_${kept.kind}`, { n: decimal(kept.amount), c: decimal(kept.warmth_c ?? 0, 0) }));
    await askAgain();
  });
}

export function redrawStory(mould) {
  if (!story) return;
  showTold();
  showHandling();
  showLastTips(mould);
  showTips();
  showLife();
  showScore();
  showDamp();
}

/** Ask for the story once a cast has ended, and once at the start; never before the page is drawn. */
export async function askStory(mould) {
  const key = `${mould.cast ?? ""}/${mould.tipped_at ?? ""}`;
  if (asked === key || !byId("life-box")) return;
  asked = key;
  story = await ask(`story/${encodeURIComponent(name)}.json`) ?? story;
  redrawStory(mould);
}

/** How it came out in one tap, a note, the scale. */
export function startStory(mouldName) {
  name = mouldName;
  if (!byId("life-box")) return;
  byId("came-out").addEventListener("click", async (event) => {
    const what = event.target.dataset.came;
    if (!what) return;
    const kept = await post("came_out.json", { mould: name, what });
    if (kept) { toast(t("came_kept", { what: t(`came_${what}`), n: kept.piece })); asked = null; }
  });
  byId("note").addEventListener("submit", async (event) => {
    event.preventDefault();
    const field = byId("note-text");
    if (await say({ mould: name, what: "note", note: field.value })) field.value = "";
  });
  startTelling("reclaim", "reclaim.json");
  startTelling("unwatched", "unwatched.json");
  startTelling("drier", "drier.json");
  byId("weigh").addEventListener("submit", async (event) => {
    event.preventDefault();
    const field = byId("weight");
    if (!await post("weighed.json", { mould: name, weight_kg: field.valueAsNumber })) return;
    field.value = "";
    asked = null;
    toast(t("weigh_kept"));
  });
}
