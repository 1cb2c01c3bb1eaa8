// Pieces of several parts on the day page: when to pour each part, when to draw slip for joining; new sets.
import { byId, make, t, whyWords } from "./boot.js";
import { seconds } from "./units.js";

function setItem(one, day, at, wish) {
  const item = make("li");
  item.append(make("strong", "", one.name));
  const lines = one.pours.map((part) => t(part.poured ? "sets_poured" : "sets_pour", { name: part.mould, at: at(part.at) }));
  if (one.draw_slip_at) lines.push(seconds(one.draw_slip_at) <= seconds(day.now) ? t("sets_slip_now") : t("sets_slip", { at: at(one.draw_slip_at) }));
  if (one.join_at) lines.push(t("sets_join", { at: at(one.join_at), low: at(one.join_low), high: at(one.join_high) }));
  if (!one.together) lines.push(t("sets_no_room"));
  else if (one.apart_min !== null) lines.push(t("sets_in_plan", { n: Math.round(one.apart_min) }));
  if (one.why) lines.push(whyWords(one.why));
  const list = make("ul", "plain-list");
  list.append(...lines.map((words) => make("li", "", words)));
  const drop = make("button", "acts", t("sets_drop"));
  drop.type = "button";
  drop.setAttribute("aria-label", `${t("sets_drop")}: ${one.name}`);
  drop.addEventListener("click", () => wish({ sets: { [one.name]: [] } }));
  item.append(list, drop);
  return item;
}

/** Draw the sets of `day` (as /day.json). */
export function showSets(day, at, wish) {
  byId("sets").replaceChildren(...day.sets.map((one) => setItem(one, day, at, wish)));
}

/** The form of a new set: its name, its moulds as ticks. */
export function startSets(day, wish) {
  byId("set-parts").replaceChildren(...day.moulds.map((mould) => {
    const label = make("label", "tick");
    const box = make("input");
    Object.assign(box, { type: "checkbox", name: "part", value: mould.mould });
    label.append(box, make("span", "", mould.mould));
    return label;
  }));
  byId("newset").addEventListener("submit", async (event) => {
    event.preventDefault();
    const form = event.target;
    const parts = [...form.querySelectorAll("[name=part]:checked")].map((box) => box.value);
    if (await wish({ sets: { [form.elements.name.value.trim()]: parts } })) form.reset();
  });
}
