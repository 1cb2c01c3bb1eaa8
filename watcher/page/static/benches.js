// The page of the other benches: what comes next on each, and what is said to them from here.
import { byId, data, make, setFlag, setText, t, tell, up } from "./boot.js";
import { callsWords, callWords, casting, dueWords, followOthers, heardWords, insteadWords } from "./others.js";
import { startShell } from "./shell.js";
import { toast } from "./say.js";
import { clock, seconds } from "./units.js";

const QUIET_MS = 1200; // a wet finger taps twice
let given = data("others");
let { zone } = data("bench");
let drawn = "";

/** Say something to another bench. */
async function pass(bench, body) {
  const what = body.mould ? `${body.mould} ${tell("said", body.what)}` : tell("said", body.what);
  let why = "";
  try {
    const answer = await fetch(`${up}benches/said.json`, {
      method: "POST", headers: { "content-type": "application/json" },
      body: JSON.stringify({ bench_id: bench.bench_id, ...body }),
    });
    if (!answer.ok) why = (await answer.json().catch(() => null))?.error?.say ?? String(answer.status);
  } catch {
    why = t("no_answer");
  }
  if (why) toast(t("not_heard", { what, why }), true);
  else toast(t(bench.silent ? "benches_waits" : "benches_passed", { bench: bench.bench_id, what }));
  ask();
}

function key(bench, body, words, about) {
  const button = make("button", "", words);
  button.type = "button";
  button.dataset.say = body.what;
  button.setAttribute("aria-label", `${words}: ${about}`);
  let quietUntil = 0;
  button.addEventListener("click", (event) => {
    if (event.timeStamp < quietUntil) return;
    quietUntil = event.timeStamp + QUIET_MS;
    pass(bench, body);
  });
  return button;
}

function mouldRow(bench, mould, now) {
  const item = make("li");
  const line = make("p", "other-mould");
  line.append(make("strong", "", mould.name), make("span", "", dueWords(mould, now, zone)));
  const keys = make("div", "other-keys");
  const about = `${mould.name}, ${bench.bench_id}`;
  keys.append(key(bench, { what: "tipped", mould: mould.name }, t("say_tipped"), about));
  keys.append(key(bench, { what: "topped_up", mould: mould.name }, t("say_topped_up"), about));
  item.append(line, keys);
  return item;
}

function callRow(bench, call) {
  const item = make("li");
  const line = make("p", "other-mould");
  line.append(make("strong", "other-call", `${call.mould || t("bench")}: ${callWords(call)}`), make("span", "", clock(call.at, zone)));
  const keys = make("div", "other-keys");
  const body = { what: "acknowledged", mould: call.mould, alert_id: call.id };
  keys.append(key(bench, body, t("say_acknowledged"), `${call.mould || t("bench")}, ${callWords(call)}, ${bench.bench_id}`));
  item.append(line, keys);
  return item;
}

function slab(bench, now) {
  const box = make("li", "slab other");
  setFlag(box, "silent", String(bench.silent));
  const rows = casting(bench);
  const first = rows[0];
  const next = first ? `${t("benches_next", { name: first.name })} – ${dueWords(first, now, zone)}` : t("benches_free");
  const list = make("ul", "other-moulds");
  list.append(...bench.alerts.map((call) => callRow(bench, call)), ...rows.map((mould) => mouldRow(bench, mould, now)));
  box.append(make("h2", "", bench.bench_id), make("p", "other-heard", heardWords(bench, zone)), make("p", "other-next", next));
  if (callsWords(bench)) box.append(make("p", "other-call", callsWords(bench)));
  if (list.childElementCount) box.append(list);
  if (bench.page) {
    const link = make("a", "key", t("benches_page"));
    link.href = bench.page;
    link.setAttribute("aria-label", `${t("benches_page")}: ${bench.bench_id}`);
    box.append(link);
  }
  return box;
}

function wordRow(word) {
  const item = make("li");
  const state = !word.taken ? t("benches_word_waits") : word.answer ? t("benches_word_refused", { why: word.answer }) : t("benches_word_taken");
  const about = [word.bench_id, word.mould, tell("said", word.what)].filter(Boolean).join(", ");
  item.append(make("time", "", clock(word.at, zone)), make("span", "", about), make("span", "", state));
  return item;
}

function show() {
  const now = seconds(given.now);
  const instead = insteadWords(given);
  byId("others-say").hidden = !instead;
  setText(byId("others-say"), instead);
  const held = document.activeElement?.closest("#others button");
  if (held && drawn === stateOf()) return; // nothing moves under a finger or the keyboard
  const focused = held?.getAttribute("aria-label");
  drawn = stateOf();
  byId("others").replaceChildren(...given.benches.map((bench) => slab(bench, now)));
  if (focused) byId("others").querySelector(`[aria-label="${CSS.escape(focused)}"]`)?.focus();
  byId("words-box").hidden = given.words.length === 0;
  byId("others-words").replaceChildren(...given.words.map(wordRow));
}

/** What decides which rows and buttons there are. */
const stateOf = () => JSON.stringify([given.benches.map((one) => [one.bench_id, one.silent, one.alerts.map((call) => call.id),
  one.moulds.filter((mould) => mould.casting).map((mould) => mould.name)]), given.words]);

function take(next) {
  given = next;
  show();
}

const ask = followOthers(take);
document.querySelector(".ways [aria-current]")?.scrollIntoView({ block: "nearest", inline: "nearest" }); // the last of many
startShell({ take: (bench) => { ({ zone } = bench); }, redraw: show });
show();
