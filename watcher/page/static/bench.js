// The bench page: take each new present, show it; in between only ages and minutes move on.
import { byId, data, mouldHref, setFlag, setText, t, up, whyWords } from "./boot.js";
import { attend, soundIsOn, startAlarm } from "./alarm.js";
import { showCalls, showLog, startCalls } from "./calls.js";
import { showCards, showSparks, startCards } from "./cards.js";
import { showHour, startHour } from "./hour.js";
import { follow } from "./live.js";
import { lookOf, makeMark, setMark, waits } from "./marks.js";
import { dueWords, goWords } from "./phrases.js";
import { showAge, showPicture } from "./picture.js";
import { sinceBench, startSettings, topBeat, topBench, topState } from "./top.js";
import { clock, seconds } from "./units.js";

const CURVES_EVERY_MS = 10000;
let bench = data("bench");
let curves = data("curves").curves;
let askedCurves = performance.now();

function showNext(now) {
  const rows = bench.order.map((name) => bench.moulds.find((mould) => mould.name === name)).filter(waits);
  const first = rows[0];
  setFlag(byId("next"), "look", first ? lookOf(first) : "none");
  setFlag(byId("next"), "guess", String(Boolean(first?.forecast_only)));
  byId("next-mark").hidden = !first;
  setText(byId("next-name"), first ? first.name : t("nothing_casting"));
  byId("next-name").href = first ? mouldHref(first.name) : "#cards-title";
  if (!first) {
    for (const id of ["next-big", "next-range", "next-then"]) setText(byId(id), "");
    return;
  }
  setMark(byId("next-mark").firstChild, first);
  const { go, range: lines } = goWords(first, now, bench.zone);
  const range = lines.replace("\n", " · ");
  setText(byId("next-big"), first.forecast === "ready" ? t("tip_now") : go);
  setText(byId("next-range"), first.forecast_only ? `${t("guess")} · ${range}` : range);
  const then = rows.slice(1).find((mould) => mould.ready_at);
  setText(byId("next-then"), then ? t("then", { name: `${then.number} ${then.name}`,
    wait: dueWords(then, now), at: clock(then.ready_at, bench.zone) }) : "");
}

function showTroubles() {
  byId("troubles").hidden = !bench.troubles.length;
  setText(byId("troubles"), bench.troubles.map(whyWords).join("\n"));
}

function show() {
  setFlag(byId("main"), "many", String(bench.moulds.length > 10));
  const sinceS = sinceBench();
  const now = seconds(bench.now) + sinceS;
  showNext(now);
  showHour(bench, now);
  showCards(bench, now, sinceS);
  showCalls(bench, now);
  showAge(bench, now);
}

function take(next) {
  bench = next;
  topBench(bench);
  showPicture(bench);
  showTroubles();
  show();
  showLog(bench);
  attend(bench.alerts);
  askCurves();
}

/** Ask for new curves when a cast has new readings, but not at every reading. */
async function askCurves() {
  const now = performance.now();
  const stale = bench.moulds.some((mould) => (curves[mould.name]?.curve ?? "") !== (waits(mould) ? mould.curve : curves[mould.name]?.curve ?? ""));
  if (!stale || now - askedCurves < CURVES_EVERY_MS || document.hidden) return;
  askedCurves = now;
  const answer = await fetch(`${up}curves.json`).catch(() => null);
  if (!answer?.ok) return;
  curves = (await answer.json()).curves;
  showSparks(curves);
}

byId("next-mark").append(makeMark());
startAlarm();
startCards();
startCalls();
startSettings(() => { show(); });
take(bench);
showSparks(curves);
startHour(show);
requestAnimationFrame(() => requestAnimationFrame(() => performance.mark("tipbell-drawn")));
follow({ bench: take, beat: (beat) => { topBeat(beat); show(); attend(bench.alerts); askCurves(); }, state: topState }, soundIsOn);
