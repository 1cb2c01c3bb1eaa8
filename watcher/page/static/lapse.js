// One panel of a time-lapse: the kept pictures of a pour hole above the cast's curve, both at one minute.
import { make, setText, t, up } from "./boot.js";
import { makeChart } from "./chart.js";
import { clock, dayClock, seconds } from "./units.js";

const AHEAD = 4; // pictures that are fetched before they are wanted

/** What the chart wants, out of a cast's JSON. */
function forChart(given) {
  const { cast } = given;
  return {
    now: cast.tipped_at ?? given.now, zone: given.zone,
    mould: { target_wall_mm: cast.target_wall_mm, target_thick_mm: given.target_thick_mm, tipped_at: cast.tipped_at, ready_at: null, ready_low: null, ready_high: null },
    readings: given.readings, fillings: given.fillings, curve: { points: given.points },
  };
}

/** Make a panel in `root`; `seek(minute)` is called when its chart is dragged. */
export function makePanel(root, given, seek) {
  const from = seconds(given.cast.full_at ?? given.cast.began_at);
  const until = seconds(given.cast.tipped_at ?? given.now);
  const shots = given.crops.map((crop) => ({ at: seconds(crop.at), src: `${up}crop/${crop.stamp}/${encodeURIComponent(given.cast.mould)}.jpg` }));
  const box = make("article", "panel");
  box.setAttribute("aria-label", `${given.cast.mould}, ${dayClock(given.cast.began_at, given.zone)}`);
  const frame = make("div", "shot");
  const image = make("img");
  image.alt = t("shot_alt", { mould: given.cast.mould });
  image.hidden = shots.length === 0;
  const none = make("p", "no-shot", t("no_shots"));
  none.hidden = shots.length > 0;
  const stamp = make("p", "shot-at");
  frame.append(image, none, stamp);
  const hold = make("div", "chart");
  box.append(make("h3", "", dayClock(given.cast.began_at, given.zone)), frame, hold);
  root.append(box);
  const chart = makeChart(hold, (moment) => seek((moment - from) / 60));
  chart.set(forChart(given));
  let shown = -1;
  // The picture itself can be dragged too: its width is the cast's time.
  const drag = (event) => {
    const { left, width } = frame.getBoundingClientRect();
    seek((Math.min(Math.max((event.clientX - left) / width, 0), 1) * (until - from)) / 60);
  };
  frame.addEventListener("pointerdown", (event) => { frame.setPointerCapture(event.pointerId); drag(event); });
  frame.addEventListener("pointermove", (event) => { if (event.buttons) drag(event); });

  function show(at) {
    let place = shots.findLastIndex((shot) => shot.at <= at);
    if (place < 0) place = 0;
    if (!shots.length || place === shown) return;
    shown = place;
    image.src = shots[place].src;
    setText(stamp, clock(new Date(shots[place].at * 1000).toISOString(), given.zone, true));
    for (const next of shots.slice(place + 1, place + 1 + AHEAD)) new Image().src = next.src;
  }

  return {
    minutes: (until - from) / 60,
    seek(minute) { const at = from + 60 * minute; show(at); chart.cursor(at); },
    redraw() { chart.set(forChart(given)); },
    remove() { box.remove(); },
  };
}
