// Measuring the lens: look again and again while the board is shown; the bench keeps what is sharp, still and new.
import { ask, t, told, up } from "./asking.js";

const PAUSE_MS = 250;
const byId = (id) => document.getElementById(id);
const collect = byId("collect");
let on = false;

function show({ said, views, missing, picture_id: id }) {
  if (byId("board-said").textContent !== told(said)) byId("board-said").textContent = told(said);
  byId("views").textContent = views;
  byId("board-missing").replaceChildren(...missing.map((text) => Object.assign(document.createElement("li"), { textContent: told(text) })));
  const map = byId("coverage");
  if (id && map.dataset.id !== id) {
    map.dataset.id = id;
    map.hidden = false;
    map.src = `${up}setup/coverage.jpg?v=${encodeURIComponent(id)}`;
  }
}

async function looking() {
  while (on) {
    const { ok, body, why } = await ask("setup/lens/look.json", {});
    if (ok) show(body);
    else byId("board-said").textContent = why;
    if (ok && !body.missing.length) set(false);
    await new Promise((go) => { setTimeout(go, PAUSE_MS); });
  }
}

function set(now) {
  on = now;
  collect.setAttribute("aria-pressed", String(on));
  collect.textContent = t(on ? "lens_collecting" : "lens_collect");
  if (on) looking();
}

collect?.addEventListener("click", () => set(!on));
document.addEventListener("answered", async () => {
  const { ok, body } = await ask("setup/lens.json");
  if (ok) show(body);
});
