// One cast looked back on: pictures of its pour hole and its curve in step, dragged or played; a second one beside.
import { byId, data, make, setText, t, tell, up } from "./boot.js";
import { makePanel } from "./lapse.js";
import { ask, post } from "./post.js";
import { toast } from "./say.js";
import { startShell } from "./shell.js";
import { clock, dayClock, decimal, length, span } from "./units.js";

const given = data("cast");
const others = data("others");
const castPath = (id) => `cast/${id.split("/").map(encodeURIComponent).join("/")}`;
const dragged = (to) => { stop(); seek(to); };
const panels = [makePanel(byId("panels"), given, dragged)];
let minute = 0;
let playing = 0;
let last = 0;

const most = () => Math.max(1, ...panels.map((panel) => panel.minutes));

function showTitle() {
  const { cast } = given;
  setText(byId("cast-title"), `${cast.mould}, ${dayClock(cast.began_at, given.zone)}`);
  const parts = [t("nth_of_day", { n: cast.number_today })];
  if (cast.minutes !== null) parts.push(t("took_min", { n: Math.round(cast.minutes) }));
  if (cast.wall) parts.push(t("read_wall", { wall: length(cast.wall.value, true), range: span(cast.wall.low, cast.wall.high, true) }));
  if (cast.measured_mm !== null) parts.push(t("measured", { wall: length(cast.measured_mm, true) }));
  if (cast.verdict) parts.push(tell("verdict", cast.verdict));
  if (cast.one_spot_s !== null) parts.push(t("fill_risk", { n: Math.round(cast.one_spot_s) }));
  setText(byId("cast-say"), parts.join(" · "));
  byId("film").hidden = !given.film;
  if (given.film) byId("film").href = `${up}film/${cast.cast.split("/").map(encodeURIComponent).join("/")}.mp4`;
  byId("back").href = `${up}review?day=${dayOf(cast.began_at)}`;
}

/** YYYY-MM-DD in the bench's zone, as Swedish dates are written. */
function dayOf(iso) {
  return new Intl.DateTimeFormat("sv", { timeZone: given.zone }).format(new Date(iso));
}

/** Go to a minute since the mould was full; every panel follows. */
function seek(to) {
  minute = Math.min(Math.max(to, 0), most());
  const words = t("since_full", { n: decimal(minute) });
  byId("scrub").value = String(minute);
  byId("scrub").setAttribute("aria-valuetext", words);
  setText(byId("scrub-say"), words);
  for (const panel of panels) panel.seek(minute);
}

function step(now) {
  if (!playing) return;
  seek(minute + ((now - last) / 60000) * Number(byId("speed").value));
  last = now;
  if (minute >= most()) { stop(); return; }
  playing = requestAnimationFrame(step);
}

function stop() {
  cancelAnimationFrame(playing);
  playing = 0;
  setText(byId("play"), t("play"));
}

function start() {
  if (minute >= most()) seek(0);
  setText(byId("play"), t("pause"));
  last = performance.now();
  playing = requestAnimationFrame((now) => { last = now; step(now); });
}

async function beside(id) {
  while (panels.length > 1) panels.pop().remove();
  if (id) {
    const other = await ask(`${castPath(id)}.json`);
    if (other) panels.push(makePanel(byId("panels"), other, dragged));
  }
  byId("scrub").max = String(most());
  seek(minute);
}

function showFindings() {
  setText(byId("piece-say"), given.piece ? t("piece_say", { n: given.piece.number,
    step: tell("step", given.piece.steps.at(-1)?.step ?? "greenware") }) : t("piece_none"));
  byId("findings").replaceChildren(...given.findings.map((one) => {
    const item = make("li");
    item.append(make("strong", "", one.kind === "clean" ? t("came_clean") : tell("fault", one.kind)),
      make("span", "soft", ` ${dayClock(one.at, given.zone)} `), make("span", "", one.note));
    const back = make("button", "", t("take_back"));
    back.type = "button";
    back.setAttribute("aria-label", `${t("take_back")}: ${tell("fault", one.kind)}`);
    back.addEventListener("click", async () => {
      if (!await post("finding_back.json", { id: one.id })) return;
      given.findings = given.findings.filter((other) => other !== one);
      showFindings();
    });
    item.append(back);
    return item;
  }));
}

function showStory() {
  byId("story").replaceChildren(...given.events.map((event) => {
    const item = make("li");
    const known = tell("event", event.event);
    const words = known === event.event.replaceAll("_", " ") ? tell("said", event.event) : known;
    item.append(make("time", "", clock(event.at, given.zone)), make("span", "", words));
    if (event.detail) item.append(make("span", "state", event.detail));
    return item;
  }));
}

for (const other of others) {
  const option = make("option", "", dayClock(other.began_at, given.zone));
  option.value = other.cast;
  byId("beside").append(option);
}
byId("beside").addEventListener("change", (event) => beside(event.target.value));
byId("scrub").addEventListener("input", (event) => { stop(); seek(event.target.valueAsNumber); });
byId("play").addEventListener("click", () => (playing ? stop() : start()));
byId("note-fault").addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target;
  const kept = await post("finding.json", { cast: given.cast.cast, kind: form.elements.kind.value, note: form.elements.note.value });
  if (!kept) return;
  given.findings.push(kept);
  form.reset();
  showFindings();
  toast(`${given.cast.mould}: ${tell("fault", kept.kind)}`);
});
showTitle();
showFindings();
showStory();
byId("scrub").max = String(most());
startShell({ redraw: () => { showTitle(); for (const panel of panels) panel.redraw(); } });
seek(most());
