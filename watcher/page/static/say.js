// What the caster says: one tap, one answer on the screen, and a way back.
import { byId, setText, t, tell, up } from "./boot.js";
import { toMillimetres } from "./units.js";

const QUIET_MS = 1200; // a wet finger taps twice
const TOAST_MS = 8000;
const WITH_A_WAY_BACK = new Set(["tipped", "topped_up", "filled", "inverted", "upright", "spare_cut", "demoulded", "tipped_too_soon",
  "came_out_right", "too_thin", "too_thick", "looked", "ruler", "out_of_service", "wrong"]);
let hideToast = 0;
let undo = null;

/** Say something to the bench; true when it was heard. */
export async function say(body) {
  let why = "";
  try {
    const answer = await fetch(`${up}said.json`, {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body),
      signal: AbortSignal.timeout ? AbortSignal.timeout(5000) : undefined,
    });
    if (!answer.ok) why = (await answer.json().catch(() => null))?.error?.say ?? String(answer.status);
  } catch {
    why = t("no_answer");
  }
  const what = tell("said", body.what);
  if (why) toast(t("not_heard", { what, why }), true);
  else toast(body.mould ? `${body.mould}: ${what}` : what, false, WITH_A_WAY_BACK.has(body.what) ? body.mould : null);
  return !why;
}

/** Say something at the foot of the page for a while; `mould`: it can be taken back. */
export function toast(text, bad = false, mould = null) {
  const box = byId("toast");
  clearTimeout(hideToast);
  setText(byId("toast-text"), text);
  box.dataset.bad = String(bad);
  box.hidden = false;
  byId("toast-undo").hidden = !mould;
  undo = mould;
  hideToast = setTimeout(() => { box.hidden = true; }, bad ? 3 * TOAST_MS : TOAST_MS);
}

byId("toast-undo").addEventListener("click", () => {
  if (undo) say({ mould: undo, what: "take_back" });
});

/** Make every button and form under `root` speak for the mould that `mouldOf` names. */
export function bindSaying(root, mouldOf) {
  root.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-say]");
    if (!button || !root.contains(button)) return;
    if (Number(button.dataset.quietUntil ?? 0) > event.timeStamp) return;
    button.dataset.quietUntil = String(event.timeStamp + QUIET_MS);
    const body = { mould: mouldOf(button), what: button.dataset.say };
    if (button.dataset.value) body.value = Number(button.dataset.value);
    if (button.dataset.note) body.note = button.dataset.note;
    if (button.dataset.alert) body.alert_id = button.dataset.alert;
    closeMore(button);
    say(body);
  });
  root.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-say]");
    if (!form) return;
    event.preventDefault();
    const field = form.elements.value;
    const heard = await say({ mould: mouldOf(form), what: form.dataset.say, value: toMillimetres(field.valueAsNumber) });
    if (heard) { field.value = ""; closeMore(form); }
  });
}

function closeMore(node) {
  const more = node.closest("details.more");
  if (!more) return;
  more.open = false;
  more.querySelector("summary").focus();
}

const OFFERS = {
  empty: ["filled"], absent: ["filled"], filling: ["filled", "tipped"], casting: ["tipped", "topped_up"],
  tipped: ["inverted", "upright"], upright: ["spare_cut", "demoulded"], out: ["in_service"],
};

/** Offer what makes sense now: the tip while casting, the fill while empty. */
export function offer(root, look, mould) {
  const come = new Set(mould.after.filter((step) => step.came_at).map((step) => step.step)); // said, or seen
  const main = (OFFERS[look] ?? OFFERS.casting).filter((what) => !come.has(what));
  for (const button of root.querySelectorAll(":scope > [data-say]")) button.hidden = !main.includes(button.dataset.say);
  const casting = OFFERS[look] === undefined || look === "casting";
  const hide = { snoozed: !casting, tipped_too_soon: look !== "tipped", came_out_right: !mould.cast,
    too_thin: !mould.cast || casting, too_thick: !mould.cast || casting, looked: !mould.cast, ruler: !casting, out_of_service: look === "out" };
  for (const [what, hidden] of Object.entries(hide)) {
    const node = root.querySelector(`.more [data-say=${what}]`);
    if (node) node.hidden = hidden;
  }
}
