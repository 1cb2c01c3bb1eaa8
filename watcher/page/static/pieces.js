// Pieces with their numbers: the next step, a fault that only shows late, and the list.
import { byId, castHref, data, make, mouldHref, setText, t, tell } from "./boot.js";
import { ask, post } from "./post.js";
import { toast } from "./say.js";
import { startShell } from "./shell.js";
import { dayShort } from "./units.js";

const FIRED = new Set(["bisque", "glazed"]);
let given = data("pieces");

function stepWords(one) {
  const cone = one.cone ? ` ${t("cone_word", { cone: one.cone })}` : "";
  return `${tell("step", one.step)}${cone}, ${dayShort(one.at, given.zone)}`;
}

function show() {
  const { pieces } = given;
  setText(byId("pieces-say"), t("pieces_say", { n: pieces.length, scrapped: given.scrapped }));
  byId("pieces-none").hidden = pieces.length > 0;
  byId("pieces-box").hidden = pieces.length === 0;
  byId("pieces").replaceChildren(...pieces.map((piece) => {
    const row = make("tr");
    const cells = [null, null, dayShort(piece.made_at, given.zone),
      piece.steps.length ? piece.steps.map(stepWords).join("; ") : tell("step", "greenware"),
      piece.faults.map((kind) => tell("fault", kind)).join(", ") || "–"].map((words) => make("td", "", words ?? ""));
    const number = make("a", "", String(piece.number));
    number.href = castHref(piece.cast);
    number.setAttribute("aria-label", t("piece_open", { n: piece.number }));
    const mould = make("a", "", piece.mould);
    mould.href = mouldHref(piece.mould);
    cells[0].append(number);
    cells[1].append(mould);
    cells[3].className = "wraps";
    row.append(...cells);
    return row;
  }));
}

async function again() {
  given = await ask("pieces.json") ?? given;
  show();
}

function showCone() {
  byId("cone-box").hidden = !FIRED.has(byId("step").elements.step.value);
}

byId("step").elements.step.addEventListener("change", showCone);
byId("step").addEventListener("submit", async (event) => {
  event.preventDefault();
  const f = event.target.elements;
  const kept = await post("piece.json", { piece: f.piece.valueAsNumber, step: f.step.value,
    cone: FIRED.has(f.step.value) ? f.cone.value : "", day: f.day.value });
  if (!kept) return;
  toast(`${kept.number}: ${tell("step", kept.steps.at(-1).step)}`);
  f.piece.value = "";
  f.piece.focus();
  again();
});
byId("late").addEventListener("submit", async (event) => {
  event.preventDefault();
  const f = event.target.elements;
  const kept = await post("finding.json", { piece: f.piece.valueAsNumber, kind: f.kind.value, note: f.note.value });
  if (!kept) return;
  toast(`${f.piece.value}: ${tell("fault", kept.kind)}`);
  event.target.reset();
  again();
});
byId("cones").replaceChildren(...given.cones.map((cone) => { const option = make("option"); option.value = cone; return option; }));
showCone();
show();
startShell();
