// The slip page: measure, hear what to do, stir and wait, keep it as the day's slip; earlier checks as a plot.
import { byId, data, make, setText, t, tell } from "./boot.js";
import { dayTicks, drawPlot } from "./plot.js";
import { ask, numberIn, post } from "./post.js";
import { toast } from "./say.js";
import { startShell } from "./shell.js";
import { clock, dayClock, dayShort, decimal, seconds } from "./units.js";

const form = byId("check");
let given = data("slip");
let stirUntil = 0;
let clockId = 0;

function showInUse() {
  const sg = decimal(given.specific_gravity, 3);
  setText(byId("in-use"), given.kept_at ? t("slip_in_use", { sg, at: clock(given.kept_at, given.zone) }) : t("slip_in_file", { sg }));
}

/** The fields as they were filled in last time, but for what is measured anew each day. */
function fillForm() {
  const { last } = given;
  if (last.measure) form.elements.measure.value = last.measure;
  if (last.baume_modulus) form.elements.baume_modulus.value = String(last.baume_modulus);
  if (last.cup) form.elements.cup.value = last.cup;
  if (last.band) [form.elements.band_low.value, form.elements.band_high.value] = last.band;
  if (last.flow_band_s) [form.elements.flow_low.value, form.elements.flow_high.value] = last.flow_band_s;
  byId("band-box").open = !last.band;
  showModulus();
}

function showModulus() {
  byId("modulus-box").hidden = form.elements.measure.value !== "baume_deg";
}

function pairOf(low, high) {
  const [a, b] = [numberIn(form, low), numberIn(form, high)];
  return a === null || b === null ? null : [a, b];
}

function reading(keep) {
  const baume = form.elements.measure.value === "baume_deg";
  return {
    measure: form.elements.measure.value, reading: numberIn(form, "reading"),
    baume_modulus: baume ? Number(form.elements.baume_modulus.value) : null,
    stirred: form.elements.stirred.checked, temperature_c: numberIn(form, "temperature_c"),
    flow_s: numberIn(form, "flow_s"), cup: numberIn(form, "flow_s") === null ? "" : form.elements.cup.value,
    stood_s: numberIn(form, "stood_s"), stood_min: numberIn(form, "stood_min"),
    band: pairOf("band_low", "band_high"), flow_band: pairOf("flow_low", "flow_high"),
    tank_l: numberIn(form, "tank_l"), thicker: numberIn(form, "thicker"), keep,
  };
}

function advice(check) {
  const { mending } = check;
  if (check.verdict === "stir_first") return t("advice_stir", { n: check.stir_min });
  if (!mending) return check.verdict ? t(`advice_${check.verdict}`) : t("advice_no_band");
  const then = t("advice_half", { stir: check.stir_min, rest: check.rest_min });
  const goal = decimal(mending.goal_sg, 3);
  if (mending.water_l !== null) return `${t("advice_water", { n: decimal(mending.water_l, 2), goal })} ${then}`;
  if (mending.thicker_l !== null) return `${t("advice_thicker", { n: decimal(mending.thicker_l, 2), goal })} ${then}`;
  if (mending.powder_kg !== null) return `${t("advice_powder", { n: decimal(mending.powder_kg, 2), goal })} ${then}`;
  return t("advice_tank");
}

function effectWords(effect) {
  return t("slip_effect", { n: decimal(effect.time_ratio, 2), low: decimal(effect.time_ratio_low, 2),
    high: decimal(effect.time_ratio_high, 2), drop: decimal(effect.drop_ratio, 2) });
}

function facts(check) {
  const said = [t("slip_holds", { sg: decimal(check.specific_gravity, 3), litre: decimal(check.litre_g, 0),
    dry: decimal(check.dry_g_per_litre, 0), water: decimal(check.water_g_per_litre, 0) })];
  if (check.own_band_since) said.push(t("slip_own_band", { day: dayShort(`${check.own_band_since}T12:00:00Z`, "UTC") }));
  if (check.mending?.effect) said.push(`${t("slip_mended")} ${effectWords(check.mending.effect)}`);
  if (check.time_ratio_to_20_c !== null) said.push(t("slip_warmth", { c: decimal(check.temperature_c), n: decimal(check.time_ratio_to_20_c, 2) }));
  if (check.flow) said.push(t("slip_ran", { n: decimal(check.flow.seconds) }));
  if (check.thixotropy) said.push(t(check.thixotropy.ratio >= 1.5 ? "slip_thix_much" : "slip_thix", { n: decimal(check.thixotropy.ratio, 2), min: decimal(check.thixotropy.stood_min, 0) }));
  if (check.beside_bench) said.push(`${t("slip_beside")} ${effectWords(check.beside_bench)}`);
  return said;
}

function showAnswer(check) {
  byId("answer").hidden = false;
  byId("answer").dataset.verdict = check.verdict ?? "none";
  setText(byId("verdict"), t(`verdict_${check.verdict ?? "none"}`));
  setText(byId("advice"), advice(check));
  byId("facts").replaceChildren(...facts(check).map((words) => make("li", "", words)));
  const waits = check.verdict === "stir_first" || check.verdict === "too_thick" || check.verdict === "too_thin";
  byId("stir").hidden = !waits;
  byId("stir-go").dataset.minutes = String(check.stir_min ?? 5);
  stopStirring();
  byId("keep").hidden = !check.stirred || check.kept_version !== null;
  setText(byId("kept"), check.kept_version === null ? "" : t("slip_kept", { n: check.kept_version }));
  byId("answer").scrollIntoView({ block: "nearest" });
}

function stopStirring() {
  clearInterval(clockId);
  setText(byId("stir-left"), "");
  setText(byId("stir-go"), t("stir_go", { n: byId("stir-go").dataset.minutes }));
}

function stirring() {
  const left = Math.max(0, stirUntil - Date.now()) / 1000;
  setText(byId("stir-left"), left > 0 ? `${Math.floor(left / 60)}:${String(Math.floor(left % 60)).padStart(2, "0")}` : t("stir_over"));
  if (left > 0) return;
  clearInterval(clockId);
  form.elements.stirred.checked = true;
  form.elements.reading.value = "";
  form.elements.reading.focus();
}

async function check(keep) {
  const answer = await post("slip.json", reading(keep));
  if (!answer) return;
  showAnswer(answer);
  if (!keep) return;
  toast(t("slip_kept", { n: answer.kept_version }));
  given = await ask("slip.json") ?? given;
  showInUse();
  showChecks();
}

function showChecks() {
  const { checks } = given;
  byId("checks-none").hidden = checks.length > 0;
  byId("checks-box").hidden = checks.length === 0;
  const oldFirst = checks.toReversed();
  const moments = oldFirst.map((one) => seconds(one.kept_at));
  drawPlot(byId("checks-plot"), {
    points: oldFirst.map((one, i) => ({ x: moments[i], y: one.specific_gravity, mark: ["", "good"].includes(one.verdict) ? "" : "bad" })),
    yWords: (value) => decimal(value, 3), line: true,
    xTicks: dayTicks(moments, (s) => dayShort(new Date(s * 1000).toISOString(), given.zone)),
  });
  byId("checks").replaceChildren(...checks.map((one) => {
    const row = make("tr");
    const cells = [dayClock(one.kept_at, given.zone), decimal(one.specific_gravity, 3),
      one.temperature_c === null ? "–" : `${decimal(one.temperature_c)} °C`, one.flow_s === null ? "–" : `${decimal(one.flow_s)} s`,
      one.verdict ? t(`verdict_${one.verdict}`) : "–"];
    row.append(...cells.map((words) => make("td", "", words)));
    return row;
  }));
}

function showReclaim() {
  byId("reclaim-part").hidden = given.reclaim.length === 0;
  byId("reclaim").replaceChildren(...given.reclaim.map((one) => {
    const row = make("tr");
    const cells = [dayShort(`${one.day}T12:00:00Z`, "UTC"), one.slip ? decimal(Number(one.slip), 3) : "–", String(one.casts), decimal(one.grams, 0)];
    row.append(...cells.map((words) => make("td", "", words)));
    return row;
  }));
}

form.elements.measure.addEventListener("change", showModulus);
form.addEventListener("submit", (event) => { event.preventDefault(); check(false); });
byId("keep").addEventListener("click", () => check(true));
byId("stir-go").addEventListener("click", () => {
  stirUntil = Date.now() + 60000 * Number(byId("stir-go").dataset.minutes);
  clearInterval(clockId);
  clockId = setInterval(stirring, 500);
  stirring();
});
fillForm();
showInUse();
showChecks();
showReclaim();
new ResizeObserver(showChecks).observe(byId("checks-plot").parentElement);
startShell({ redraw: showChecks });
