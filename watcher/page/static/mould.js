// One mould's page: numbers, curve, crop, events, earlier casts.
import { byId, data, make, setFlag, setText, t, tell, up } from "./boot.js";
import { attend, soundIsOn, startAlarm } from "./alarm.js";
import { showCalls, startCalls } from "./calls.js";
import { makeChart } from "./chart.js";
import { follow } from "./live.js";
import { lookOf, makeMark, setMark, waits } from "./marks.js";
import { castWords, dampWords, freshWords, goWords } from "./phrases.js";
import { bindSaying, offer } from "./say.js";
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
  setText(byId("why"), mould.why);
  for (const unit of byId("mould-say").querySelectorAll(".unit-word")) setText(unit, unitWord());
  showCalls(bench, now);
  offer(byId("mould-say").querySelector(".say"), look, mould);
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
    return row;
  }));
}

function showSeries() {
  chart.set(given);
  setText(byId("chart-say"), given.curve.why);
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
}

byId("mark").append(makeMark());
const chart = makeChart(byId("chart"));
bindSaying(byId("mould-say"), () => name);
startAlarm();
startCalls();
startSettings(() => { showNow(); showSeries(); });
take(bench);
showSeries();
requestAnimationFrame(() => requestAnimationFrame(() => performance.mark("tipbell-drawn")));
follow({ bench: take, beat: (beat) => { topBeat(beat); showNow(); attend(bench.alerts); askAgain(); }, state: topState }, soundIsOn);
