// One mould's page: numbers, curve, crop, events, earlier casts.
import { byId, castHref, data, make, setFlag, setText, t, tell, up, whyWords } from "./boot.js";
import { attend, soundIsOn, startAlarm } from "./alarm.js";
import { showCalls, startCalls } from "./calls.js";
import { makeChart } from "./chart.js";
import { follow } from "./live.js";
import { lookOf, makeMark, setMark, waits } from "./marks.js";
import { castWords, dampWords, freshWords, goWords } from "./phrases.js";
import { bindSaying, offer, say } from "./say.js";
import { askStory, redrawStory, showLastTips, showNotes, sinking, startStory } from "./story.js";
import { sinceBench, startSettings, topBeat, topBench, topState } from "./top.js";
import { bare, clock, dayClock, length, seconds, span, unitWord } from "./units.js";

const AGAIN_MS = 5000;
let bench = data("bench");
let given = data("mould");
const name = given.mould.name;
const address = `${up}mould/${encodeURIComponent(name)}.json`;
let asked = performance.now();
let askedKey = keyOf(given.mould);
let cropShown = "";
let cropLoading = false;
let drawn = false;
const remembers = byId("life-box") !== null; // only then earlier casts have pages of their own

function keyOf(mould) {
  return [mould.curve, mould.stage, mould.tipped_at].join("/");
}

const mouldNow = () => bench.moulds.find((mould) => mould.name === name) ?? given.mould;

function showNow() {
  const mould = mouldNow();
  const sinceS = sinceBench();
  const now = seconds(bench.now) + sinceS;
  const look = lookOf(mould);
  setFlag(byId("head"), "look", look);
  setFlag(byId("head"), "guess", String(mould.forecast_only));
  setFlag(byId("now"), "guess", String(mould.forecast_only));
  setMark(byId("mark").firstChild, mould);
  setText(byId("word"), tell("look", look));
  const { go, range } = goWords(mould, now, bench.zone);
  setText(byId("go"), go);
  setText(byId("range"), range);
  setText(byId("fresh"), freshWords(mould, sinceS));
  const ends = span(mould.wall_low_mm, mould.wall_high_mm, true);
  const wanted = mould.target_wall_mm === null ? "" : ` ${t("of")} ${length(mould.target_wall_mm)}`;
  setText(byId("wall"), `${length(mould.wall_mm, true)}${ends ? ` (${ends})` : ""}${wanted}`);
  setText(byId("level"), withSigma(mould));
  setText(byId("drop"), length(mould.drop_mm, true));
  setText(byId("spare"), length(mould.spare_mm));
  setText(byId("cast"), castWords(mould));
  setText(byId("dampness"), dampWords(mould));
  setText(byId("why"), whyWords(mould.why));
  showLastTips(mould);
  showNotes(mould);
  showAfter(mould);
  showWay(mould);
  showLooks(mould);
  for (const unit of byId("mould-say").querySelectorAll(".unit-word")) setText(unit, unitWord());
  showCalls(bench, now);
  offer(byId("mould-say").querySelector(".say"), look, mould);
}

/** What comes after the tip: when it came, or when it is to be expected. */
function showAfter(mould) {
  byId("right").hidden = !mould.cast || mould.stage === "casting" || mould.stage === "filling";
  const came = byId("came-out");
  if (came) came.hidden = !["tipped", "draining", "upright"].includes(mould.stage);
  byId("after").hidden = mould.after.length === 0;
  const key = JSON.stringify(mould.after);
  if (byId("after").dataset.said === key) return;
  byId("after").dataset.said = key;
  byId("after").replaceChildren(...mould.after.map((one) => {
    const item = make("li");
    item.append(make("span", "", tell("said", one.step)));
    // the middle of its range would be too soon for every second mould: one that will not part is not ready
    const at = one.came_at ? clock(one.came_at, bench.zone)
      : t(one.step === "demoulded" ? "after_from" : "after_due", { at: clock(one.due_at, bench.zone), low: clock(one.due_low, bench.zone), high: clock(one.due_high, bench.zone) });
    item.append(make("span", one.came_at ? "" : "due", at));
    return item;
  }));
}

/** The way to this cast's own page, where faults are noted and its pictures played. */
function showWay(mould) {
  const way = byId("cast-way");
  if (!way) return;
  way.hidden = !mould.cast;
  if (mould.cast) way.firstElementChild.href = castHref(mould.cast);
}

/** Walls about the one shown, each a tap: for who has just looked. */
function showLooks(mould) {
  const box = byId("looks");
  box.hidden = !mould.cast || mould.wall_mm === null;
  const step = mould.wall_mm < 3 ? 0.25 : 0.5;
  const near = Math.round(mould.wall_mm / step) * step;
  if (box.hidden || box.dataset.near === `${near}${unitWord()}`) return;
  if (box.contains(document.activeElement)) return;
  box.dataset.near = `${near}${unitWord()}`;
  const walls = [-2, -1, 0, 1, 2].map((n) => near + n * step).filter((mm) => mm > 0);
  box.replaceChildren(make("span", "", t("look_word")), ...walls.map((mm) => {
    const button = make("button", "", length(mm, step < 0.5));
    button.type = "button";
    button.setAttribute("aria-label", `${t("say_looked")} ${length(mm, true)}`);
    button.addEventListener("click", () => say({ mould: name, what: "looked", value: mm }));
    return button;
  }));
}

function withSigma(mould) {
  if (mould.level_mm === null) return "–";
  return mould.level_sigma_mm === null ? length(mould.level_mm, true)
    : `${bare(mould.level_mm, true)} ± ${bare(mould.level_sigma_mm, true)} ${unitWord()}`;
}

function showCrop() {
  const mould = mouldNow();
  setText(byId("crop-reading"), mould.seen ? t("crop_read", { level: withSigma(mould) })
    : mould.missed && waits(mould) ? t("crop_missed", { why: tell("missed", mould.missed) }) : "");
  if (cropLoading || document.hidden || !mould.hole_picture || mould.hole_picture === cropShown) return;
  cropLoading = true;
  const asked = mould.hole_picture;
  const next = new Image();
  next.onload = () => {
    cropLoading = false;
    cropShown = asked;
    byId("crop").src = next.src;
    byId("crop").hidden = false;
    byId("no-crop").hidden = true;
  };
  next.onerror = () => { cropLoading = false; cropShown = asked; };
  next.src = `${up}hole/${encodeURIComponent(name)}.jpg?v=${encodeURIComponent(asked)}`;
}

function showEvents() {
  byId("events-none").hidden = given.events.length > 0;
  byId("events").replaceChildren(...given.events.toReversed().map((event) => {
    const item = make("li");
    item.append(make("time", "", clock(event.at, given.zone)), make("span", "", tell("event", event.event)));
    if (event.detail) item.append(make("span", "state", event.detail));
    return item;
  }));
}

function showBefore() {
  byId("before-none").hidden = given.history.length > 0;
  byId("before-box").hidden = given.history.length === 0;
  byId("before").replaceChildren(...given.history.map((past) => {
    const row = make("tr");
    const cells = [dayClock(past.began_at, given.zone), past.minutes === null ? "–" : `${Math.round(past.minutes)} ${t("min")}`,
      past.drop_mm === null ? "–" : `${bare(past.drop_mm, true)}${past.drop_sigma_mm === null ? "" : ` ± ${bare(past.drop_sigma_mm, true)}`} ${unitWord()}`,
      length(past.wall_mm, true), past.verdict ? tell("verdict", past.verdict) : "–"];
    row.append(...cells.map((text) => make("td", "", text)));
    if (remembers) {
      const link = make("a", "", cells[0]);
      link.href = castHref(past.cast);
      row.firstChild.replaceChildren(link);
    }
    return row;
  }));
}

function showSeries() {
  chart.set(given);
  sinking(given);
  setText(byId("chart-say"), whyWords(given.curve.why));
  byId("legend").hidden = byId("chart").hidden;
  showEvents();
  showBefore();
}

async function askAgain() {
  const now = performance.now();
  const key = keyOf(mouldNow());
  if (document.hidden || now - asked < AGAIN_MS || key === askedKey) return;
  asked = now;
  askedKey = key;
  const answer = await fetch(address).catch(() => null);
  if (!answer?.ok) return;
  given = await answer.json();
  showSeries();
}

function take(next) {
  bench = next;
  topBench(bench);
  showNow();
  showCrop();
  attend(bench.alerts);
  askAgain();
  if (drawn) askStory(mouldNow());
}

byId("mark").append(makeMark());
const chart = makeChart(byId("chart"));
bindSaying(byId("mould-say"), () => name);
bindSaying(byId("right"), () => name);
startAlarm();
startCalls();
startStory(name);
startSettings(() => { showNow(); showSeries(); redrawStory(mouldNow()); });
take(bench);
showSeries();
requestAnimationFrame(() => requestAnimationFrame(() => {
  performance.mark("tipbell-drawn");
  drawn = true;
  askStory(mouldNow());
}));
follow({ bench: take, beat: (beat) => { topBeat(beat); showNow(); attend(bench.alerts); askAgain(); }, state: topState }, soundIsOn);
