// The other benches, as every page tells of them: asked for every few seconds while somebody looks.
import { t, tell, up, whyWords } from "./boot.js";
import { age, clock, seconds, wait } from "./units.js";

const EVERY_MS = 5000;

/** Ask again and again; `take(answer)` gets each new answer, `redraw()` comes in between as ages grow. */
export function followOthers(take) {
  async function ask() {
    if (document.hidden) return;
    const answer = await fetch(`${up}benches.json`).catch(() => null);
    if (answer?.ok) take(await answer.json());
  }
  setInterval(ask, EVERY_MS);
  document.addEventListener("visibilitychange", ask);
  return ask;
}

/** The moulds with slip, the next one first. */
export function casting(bench) {
  const at = (mould) => (mould.ready_at ? seconds(mould.ready_at) : Infinity);
  return bench.moulds.filter((mould) => mould.casting).sort((a, b) => at(a) - at(b));
}

/** When a mould of another bench is ready. */
export function dueWords(mould, now, zone) {
  if (!mould.ready_at) return t("benches_unknown");
  const toGoS = seconds(mould.ready_at) - now;
  return `${wait(toGoS)}, ${t(toGoS > 0 ? "tip_at" : "since", { at: clock(mould.ready_at, zone) })}`;
}

/** When a bench was last heard, or that it is no more. */
export function heardWords(bench, zone) {
  if (bench.gone) return t("benches_gone", { at: clock(bench.heard_at, zone) });
  if (bench.silent) return t("benches_silent", { at: clock(bench.heard_at, zone) });
  return t("benches_heard", { age: age(bench.silent_s) });
}

export function callsWords(bench) {
  const n = bench.alerts.length;
  return n === 0 ? "" : n === 1 ? t("benches_call") : t("benches_calls", { n });
}

/** What one call is about. */
export const callWords = (call) => tell("kind", call.kind);

/** What to say instead of the benches: alone, away, or none yet; empty where there are some. */
export function insteadWords(given) {
  if (!given.shared) return t("benches_alone");
  if (given.why) return t("benches_away", { why: whyWords(given.why) });
  return given.benches.length ? "" : t("benches_none");
}
