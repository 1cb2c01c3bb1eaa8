// Alerts: those that wait for an answer, large; and every one of this session, listed.
import { byId, make, mouldHref, setFlag, setText, t, tell, whyWords } from "./boot.js";
import { bySeverity, isOpen } from "./alarm.js";
import { makeMark, setMark } from "./marks.js";
import { dueWords } from "./phrases.js";
import { bindSaying, say } from "./say.js";
import { clock } from "./units.js";

const TIPS = new Set(["soon", "ready", "late"]);
const boxes = new Map();
const keyOf = (alert) => `${alert.mould || alert.id}/${alert.kind}`;

/** The gravest open alert of each mould. */
function worst(alerts) {
  const first = new Map();
  for (const alert of alerts.filter(isOpen).sort(bySeverity)) {
    const about = alert.mould || alert.id; // what concerns a whole bench is a call of its own
    if (!first.has(about)) first.set(about, alert);
  }
  return [...first.values()];
}

function makeCall(alert, mould) {
  const item = make("li", "call");
  item.dataset.mould = alert.mould;
  const line = make("p", "call-line");
  if (mould) line.append(makeMark());
  line.append(make("strong"), make("span", "call-why"));
  const keys = make("div", "call-keys");
  const key = (what, words, main) => {
    const button = make("button", main ? "main" : "", words);
    button.type = "button";
    button.dataset.say = what;
    if (what === "snoozed") button.dataset.value = "5";
    if (!alert.mould) button.dataset.alert = alert.id; // and not every other call with it
    button.setAttribute("aria-label", `${words}: ${alert.mould || t("bench")}`);
    keys.append(button);
  };
  key("acknowledged", t("say_acknowledged"), !TIPS.has(alert.kind));
  if (TIPS.has(alert.kind)) {
    key("snoozed", t("say_snoozed"), false);
    key("tipped", t("say_tipped"), true);
  }
  if (alert.kind === "top_up") key("topped_up", t("say_topped_up"), true);
  item.append(line, keys);
  return item;
}

function fillCall(item, alert, mould, now, zone) {
  setFlag(item, "kind", alert.kind);
  if (mould) setMark(item.querySelector(".mark"), mould);
  setText(item.querySelector("strong"), `${alert.mould || t("bench")}: ${tell("kind", alert.kind)}`);
  const topUp = alert.kind === "top_up" && alert.due_at ? t("before_at", { at: clock(alert.due_at, zone) }) : "";
  const due = TIPS.has(alert.kind) && mould?.ready_at ? dueWords(mould, now) : topUp;
  setText(item.querySelector(".call-why"), whyWords(alert.why) || due);
}

/** Show what waits for an answer. */
export function showCalls(bench, now) {
  const open = worst(bench.alerts);
  const list = byId("calls-list");
  for (const alert of open) {
    const mould = bench.moulds.find((m) => m.name === alert.mould);
    const key = keyOf(alert);
    if (!boxes.has(key)) { boxes.set(key, makeCall(alert, mould)); list.append(boxes.get(key)); }
    fillCall(boxes.get(key), alert, mould, now, bench.zone);
  }
  for (const [key, item] of boxes) {
    if (!open.some((alert) => keyOf(alert) === key)) { item.remove(); boxes.delete(key); }
  }
  byId("calls").hidden = open.length === 0;
  byId("ack-all").hidden = open.length < 2;
  document.body.classList.toggle("is-called", open.length > 0);
}

/** List every alert of the session, the newest first. */
export function showLog(bench) {
  const said = JSON.stringify(bench.alerts.map((a) => [a.id, a.state]));
  const list = byId("log");
  if (list.dataset.said === said) return;
  list.dataset.said = said;
  byId("log-none").hidden = bench.alerts.length > 0;
  list.replaceChildren(...bench.alerts.toReversed().map((alert) => {
    const item = make("li");
    item.append(make("time", "", clock(alert.at, bench.zone)));
    const who = alert.mould ? make("a", "", alert.mould) : make("span", "", t("bench"));
    if (alert.mould) who.href = mouldHref(alert.mould);
    item.append(who, make("span", "", tell("kind", alert.kind)), make("span", "state", stateWords(alert, bench.zone)));
    return item;
  }));
}

function stateWords(alert, zone) {
  const at = alert.acked_at ? clock(alert.acked_at, zone) : alert.shelved_until ? clock(alert.shelved_until, zone) : "";
  return `${tell("state", alert.state)} ${at}`.trim();
}

export function startCalls() {
  // On a phone the calls lie over the foot of the page: the page ends above them.
  new ResizeObserver(() => document.body.style.setProperty("--calls", `${byId("calls").offsetHeight + 16}px`)).observe(byId("calls"));
  bindSaying(byId("calls-list"), (node) => node.closest(".call").dataset.mould);
  byId("ack-all").addEventListener("click", () => say({ what: "acknowledged" }));
}
