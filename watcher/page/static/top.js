// The top of every page: clock, life sign, settings, and the large words when the server is dead.
import { byId, page, remember, setFlag, setText, t } from "./boot.js";
import { age, clock, seconds } from "./units.js";

const STANDING_AFTER_S = 10; // the bench moves on every second
let zone = "UTC";
let benchNow = null; // the moment of the newest present
let serverNow = null;
let stillS = 0; // how long the bench has not moved on, in real seconds
let life = "wait";
let heardAt = null; // the bench's own moment of the newest word from the server

/** A new present came. */
export function topBench(bench) {
  zone = bench.zone;
  benchNow = seconds(bench.now);
  setText(byId("bench-id"), bench.bench_id);
  showClock(bench.now);
}

/** The server's clock moved on. */
export function topBeat(beat) {
  stillS = beat.still_s;
  showClock(beat.now);
  showLife();
}

function showClock(now) {
  serverNow = seconds(now);
  heardAt = now;
  setText(byId("clock"), clock(now, zone));
  byId("clock").dateTime = now;
}

export function topState(state) {
  life = state;
  showLife();
}

/** Seconds since the newest present was made, on the server's clock. */
export const sinceBench = () => (benchNow === null ? 0 : Math.max(0, serverNow - benchNow));

function showLife() {
  const standing = life === "live" && stillS > STANDING_AFTER_S;
  setFlag(byId("pulse"), "state", standing ? "wait" : life);
  setText(byId("pulse-word"), t(standing ? "pulse_standing" : `pulse_${life}`));
  const dead = byId("dead");
  const bad = life === "dead" || standing;
  document.body.classList.toggle("is-dead", bad);
  if (bad) {
    setText(byId("dead-big"), t(standing ? "standing_big" : "dead_big"));
    const since = standing ? age(stillS) : clock(heardAt, zone);
    setText(byId("dead-small"), t(standing ? "standing_small" : "dead_small", { since }));
  }
  if (dead.hidden !== !bad) dead.hidden = !bad;
}

/** Bind the settings: each is remembered by this browser alone. */
export function startSettings(redraw) {
  const box = byId("settings-box");
  byId("open-settings").addEventListener("click", () => box.showModal());
  box.addEventListener("click", (event) => { if (event.target === box) box.close(); });
  box.addEventListener("change", (event) => {
    const { name, value } = event.target;
    if (name === "unit") { remember("unit", value); page.dataset.unit = value; redraw(); }
    if (name === "light") { remember("light", value); page.dataset.light = value; }
    if (name === "words") { remember("words", value); location.reload(); }
  });
}
