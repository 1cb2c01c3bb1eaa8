// The day page: the simple answer first, then what is wanted, the plan as a picture and as a list, the rack.
import { byId, data, make, setFlag, setText, t, tell, whyWords } from "./boot.js";
import { drawPlan } from "./plan.js";
import { ask, post } from "./post.js";
import { showSets, startSets } from "./sets.js";
import { startShell } from "./shell.js";
import { clock, decimal, seconds } from "./units.js";

const ASK_EVERY_MS = 15000;
const NUMBERS = { room_c: 1, room_rh: 0.01, drain_min: 1, set_min: 1, dampest: 0.01, most_casts: 1 };
const form = byId("wishes");
let given = data("day");
let rack = data("rack");
let asked = performance.now();
let stage = "";

function at(iso) {
  const words = clock(iso, given.zone);
  const day = (moment) => new Intl.DateTimeFormat("sv", { timeZone: given.zone }).format(new Date(moment));
  return iso && day(iso) > day(given.now) ? `${words} +1` : words;
}

function showNext(now) {
  const { next } = given;
  const wait = next.at ? Math.round((seconds(next.at) - now) / 60) : null;
  setFlag(byId("simple-when"), "none", String(wait === null));
  setText(byId("simple-when"), wait === null ? t("pour_nothing") : wait < 1 ? t("pour_now") : t("pour_in", { n: wait }));
  setText(byId("simple-who"), next.mould ? t("pour_who", { name: next.mould, at: at(next.at) }) : whyWords(next.why || given.why));
  setText(byId("simple-ready"), next.mould ? t("pour_ready", { at: at(next.ready_at), low: at(next.ready_low), high: at(next.ready_high) }) : "");
}

function wishRow(mould) {
  const row = make("tr");
  const name = make("th", "", mould.mould);
  name.scope = "row";
  const pots = make("input");
  Object.assign(pots, { type: "number", min: "0", max: "30", step: "1", value: mould.pots ?? "", placeholder: t("plan_any"), inputMode: "numeric" });
  pots.setAttribute("aria-label", `${t("plan_pots")}: ${mould.mould}`);
  pots.addEventListener("change", () => { if (pots.validity.valid) wish({ pots: { [mould.mould]: pots.value === "" ? null : pots.valueAsNumber } }); });
  const skip = make("button", "", t(mould.skipped ? "plan_skipped" : "plan_skip"));
  skip.type = "button";
  skip.setAttribute("aria-pressed", String(mould.skipped));
  skip.setAttribute("aria-label", `${t("plan_skip")}: ${mould.mould}`);
  skip.addEventListener("click", () => {
    const others = given.moulds.filter((one) => one.skipped && one.mould !== mould.mould).map((one) => one.mould);
    wish({ skipped: mould.skipped ? others : [...others, mould.mould] });
  });
  const hold = make("span", "pots");
  hold.append(pots, make("span", "soft", t("plan_poured", { n: mould.poured })));
  const cells = [hold, skip].map((node) => { const cell = make("td"); cell.append(node); return cell; });
  row.append(name, ...cells);
  return row;
}

function weightField(mould) {
  const label = make("label");
  const field = make("input");
  Object.assign(field, { type: "number", min: "0.05", max: "500", step: "any", inputMode: "decimal", value: mould.dry_kg === null ? "" : String(mould.dry_kg) });
  field.addEventListener("change", () => { if (field.validity.valid) wish({ dry_kg: { [mould.mould]: field.value === "" ? null : field.valueAsNumber } }); });
  const hold = make("span", "with-unit");
  hold.append(field, " kg");
  label.append(make("span", "", t("plan_dry_kg", { name: mould.mould })), hold);
  return label;
}

/** Fill the form anew, but never under a finger. */
function showWishes() {
  if (form.contains(document.activeElement) && document.activeElement.matches("input, select")) return;
  const focused = document.activeElement?.getAttribute("aria-label");
  form.elements.closing.value = given.closing;
  form.elements.hands.value = String(given.hands);
  for (const [name, times] of Object.entries(NUMBERS)) form.elements[name].value = String(+(given[name] / times).toFixed(2));
  byId("wish-rows").replaceChildren(...given.moulds.map(wishRow));
  byId("weights").replaceChildren(...given.moulds.map(weightField));
  if (focused) form.querySelector(`[aria-label="${CSS.escape(focused)}"]`)?.focus();
}

function showPlan() {
  const { steps, running, chance } = given;
  const some = steps.length + running.length > 0;
  byId("plan-scroll").hidden = !some;
  byId("plan-legend").hidden = !some;
  byId("sheet-key").hidden = !some;
  setText(byId("plan-why"), whyWords(given.why) || (given.closing ? "" : t("plan_no_closing")));
  const missing = given.missing.map((one) => t("plan_missing", { name: one.mould, n: one.pots })).join(", ");
  const parts = [];
  if (given.ends_at) parts.push(t("plan_makes", { n: given.pots, at: at(given.ends_at) }));
  if (missing) parts.push(t("plan_short", { list: missing }));
  if (chance && given.pots) parts.push(t("plan_holds", { n: Math.round(100 * chance.holds), min: decimal(chance.overdue_min) }));
  setText(byId("plan-say"), parts.join(" "));
  drawPlan(byId("plan-picture"), given);
  byId("steps").replaceChildren(...steps.map((step) => {
    const item = make("li");
    item.dataset.what = step.what;
    const range = step.low ? ` (${at(step.low)}–${at(step.high)})` : "";
    item.append(make("time", "", at(step.at)), make("span", "", `${t(`does_${step.what}`)} ${step.mould}`), make("span", "soft", `${t("nth_cast", { n: step.cast })}${range}`));
    return item;
  }));
  byId("plan-notes").replaceChildren(...given.notes.map((note) => make("li", "", whyWords(note))));
}

function hoursWords(row) {
  const { dry_in_h: wait } = row;
  if (!wait || wait.value === null) return "";
  if (row.word === "dry") return "";
  return wait.high === null ? t("rack_from", { low: decimal(wait.low, 0) }) : t("rack_hours", { low: decimal(wait.low, 0), high: decimal(wait.high, 0) });
}

function showRack() {
  setText(byId("rack-say"), rack.room_word === "fine" ? t("rack_room", { c: decimal(rack.room_c, 0), rh: decimal(100 * rack.room_rh, 0) })
    : t(`rack_${rack.room_word}`, { c: decimal(rack.room_c, 0), most: decimal(rack.most_c, 0) }));
  byId("rack").replaceChildren(...rack.moulds.map((row) => {
    const item = make("li");
    item.dataset.word = row.word;
    const damp = row.free_water?.value === null || !row.free_water ? "" : t("rack_damp", { n: decimal(100 * row.free_water.value, 0) });
    const rest = [hoursWords(row), damp, row.casts_today ? t("rack_casts", { n: row.casts_today }) : "", row.weighed ? "" : t("rack_unweighed")];
    item.append(make("strong", "", row.mould), make("span", "rack-word", tell("rack", row.word)), make("span", "soft", rest.filter(Boolean).join(" · ")));
    return item;
  }));
}

function show() {
  showNext(seconds(given.now));
  showWishes();
  showPlan();
  showSets(given, at, wish);
}

async function wish(change) {
  const answer = await post("day.json", change);
  if (!answer) return false;
  given = answer;
  asked = performance.now();
  document.activeElement?.blur?.();
  show();
  rack = await ask("rack.json") ?? rack;
  showRack();
  return true;
}

async function again() {
  asked = performance.now();
  const next = await ask("day.json");
  if (!next) return;
  given = next;
  show();
}

/** A cast that begins, ends or runs late is a new plan. */
function take(bench) {
  const now = bench.moulds.map((mould) => `${mould.stage}${mould.cast ?? ""}${mould.forecast}`).join();
  if (stage && now !== stage) again();
  stage = now;
}

form.addEventListener("submit", (event) => event.preventDefault());
form.elements.closing.addEventListener("change", (event) => wish({ closing: event.target.value }));
form.elements.hands.addEventListener("change", (event) => wish({ hands: Number(event.target.value) }));
for (const [name, times] of Object.entries(NUMBERS)) {
  form.elements[name].addEventListener("change", (event) => {
    if (event.target.validity.valid && event.target.value !== "") wish({ [name]: +(event.target.valueAsNumber * times).toFixed(4) });
  });
}
startSets(given, wish);
show();
showRack();
new ResizeObserver(() => drawPlan(byId("plan-picture"), given)).observe(byId("plan-scroll"));
startShell({ take, beat: (now) => { showNext(now); if (performance.now() - asked > ASK_EVERY_MS && !document.hidden) again(); } });
