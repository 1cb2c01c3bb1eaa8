// The set-up pages: send a form, show what came of it, draw the parts that changed anew.
import { ask, t, up } from "./asking.js";

const LIVE_EVERY_MS = 1000;
const START_PATIENCE_MS = 60000;

/** The fields of a form as one object; empty numbers and choices are left out. */
export function fieldsOf(form) {
  const body = {};
  for (const field of form.elements) {
    if (!field.name) continue;
    const kind = field.dataset.kind ?? field.type;
    if (kind === "checkbox") body[field.name] = field.checked;
    else if (kind === "lines") body[field.name] = field.value.split("\n").map((line) => line.trim()).filter(Boolean);
    else if (kind === "number") { if (field.value !== "") body[field.name] = Number(field.value); }
    else body[field.name] = field.value;
  }
  return body;
}

/** Take every part that may have changed out of the page as it is now. */
export async function refresh() {
  const answer = await fetch(location.href, { cache: "no-store" }).catch(() => null);
  if (!answer?.ok) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const part of document.querySelectorAll("[data-fresh]")) {
    const now = fresh.getElementById(part.id);
    if (now && now.innerHTML !== part.innerHTML) part.replaceChildren(...document.importNode(now, true).childNodes);
  }
}

function show(told, lines, { bad = false, question = false } = {}) {
  if (!told) return;
  told.dataset.bad = String(bad);
  told.dataset.ask = String(question);
  told.replaceChildren(...lines.map((line) => Object.assign(document.createElement("p"), { textContent: line })));
}

function linesOf(body) {
  if (body.tried) return body.tried.map(({ name, fine, says }) => `${fine ? "✓" : "!"} ${name}: ${says}`);
  const { said, says } = body;
  return Array.isArray(said) ? said : Array.isArray(says) ? says : [];
}

/** Send a body; ask back where the answer is a question. Gives the answer's body, or null. */
export async function send(path, body, told, done = () => {}, post = ask) {
  show(told, [t("working")]);
  const { ok, body: answer, why } = await post(path, body);
  if (!ok) {
    show(told, [why], { bad: true });
    return null;
  }
  show(told, linesOf(answer), { question: Boolean(answer.question) });
  if (answer.question) {
    const line = Object.assign(document.createElement("p"), { textContent: answer.question });
    const sure = Object.assign(document.createElement("button"), { type: "button", textContent: t("sure") });
    sure.addEventListener("click", () => send(path, { ...body, sure: true }, told, done, post));
    told?.append(line, sure);
    return answer;
  }
  await refresh();
  done(answer);
  return answer;
}

async function followToBench(told) {
  show(told, [t("starting")]);
  const began = performance.now();
  let gone = false;
  while (performance.now() - began < START_PATIENCE_MS) {
    await new Promise((go) => { setTimeout(go, 500); });
    const answer = await fetch(`${up}bench.json`, { cache: "no-store" }).catch(() => null);
    if (answer?.ok) {
      location.assign(up || "./");
      return;
    }
    gone ||= !answer;
  }
  show(told, [t("start_slow")], { bad: true });
}

document.addEventListener("submit", (event) => {
  const form = event.target.closest("form[data-post]");
  if (!form || form.id === "mould-form") return;
  event.preventDefault();
  const told = form.querySelector(".told");
  const then = form.dataset.then === "bench" ? () => followToBench(told) : () => {};
  send(form.dataset.post, fieldsOf(form), told, (answer) => {
    form.dispatchEvent(new CustomEvent("answered", { detail: answer, bubbles: true }));
    then();
  }).finally(() => form.dispatchEvent(new CustomEvent("told", { bubbles: true })));
});

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-post], button[data-fill]");
  if (!button) return;
  if (button.dataset.post) {
    send(button.dataset.post, JSON.parse(button.dataset.body), button.closest("section, main").querySelector(".told"));
    return;
  }
  const holder = button.closest("form");
  for (const n of ["", "2"]) {
    const name = button.dataset[`fill${n}`];
    if (name) holder.elements[name].value = button.dataset[`value${n}`];
  }
});

// until here a click would have sent the form by itself, to nowhere
for (const form of document.querySelectorAll("form[inert][data-post]:not(#mould-form)")) form.inert = false;

for (const picker of document.querySelectorAll("input[data-into]")) {
  picker.addEventListener("change", async () => {
    const [file] = picker.files;
    if (file) picker.form.elements[picker.dataset.into].value = (await file.text()).slice(0, 6000);
  });
}

const zone = document.querySelector("input[name=zone]");
if (zone?.value === "UTC") zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone ?? "UTC";

const live = document.getElementById("live");
const liveWhy = document.getElementById("live-why");
async function look() {
  if (document.hidden) return;
  const { ok, body } = await ask("setup/camera.json");
  if (!ok) return;
  const there = Boolean(body.picture_id);
  live.hidden = !there;
  liveWhy.hidden = there;
  const why = body.why || t("live_wait");
  if (!there && liveWhy.textContent !== why) liveWhy.textContent = why;
  if (there && live.dataset.id !== body.picture_id) {
    live.dataset.id = body.picture_id;
    live.src = `${up}${live.dataset.live}?v=${encodeURIComponent(body.picture_id)}`;
  }
}
if (live) {
  look();
  setInterval(look, LIVE_EVERY_MS);
}
