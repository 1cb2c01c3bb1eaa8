// What every page of the desk has at its top: clock, life sign, settings, and the alarm, which rings everywhere.
import { data } from "./boot.js";
import { attend, soundIsOn, startAlarm } from "./alarm.js";
import { showCalls, startCalls } from "./calls.js";
import { follow } from "./live.js";
import { sinceBench, startSettings, topBeat, topBench, topState } from "./top.js";
import { seconds } from "./units.js";

/** Start the top of a page. `take(bench)` at every new present, `beat(now)` every second, `redraw()` for units. */
export function startShell({ take = () => {}, beat = () => {}, redraw = () => {} } = {}) {
  let bench = data("bench");
  const now = () => seconds(bench.now) + sinceBench();

  function show(next) {
    bench = next;
    topBench(bench);
    showCalls(bench, now());
    attend(bench.alerts);
    take(bench);
  }

  startAlarm();
  startCalls();
  startSettings(redraw);
  show(bench);
  requestAnimationFrame(() => requestAnimationFrame(() => performance.mark("tipbell-drawn")));
  follow({ bench: show, beat: (heard) => { topBeat(heard); showCalls(bench, now()); attend(bench.alerts); beat(now()); }, state: topState }, soundIsOn);
}
