// Taking a mould in: tap its rim in the picture (or let it be found), type its widths, try, keep.
import { t, up } from "./asking.js";
import { fieldsOf, send } from "./setup.js";

const byId = (id) => document.getElementById(id);
const form = byId("mould-form");
const tap = byId("tap");
const drawn = byId("drawn");
const picture = byId("shot");
let marks = JSON.parse(byId("data-shot").textContent);
const { known } = marks; // widths of the moulds that are taken in already: only their card's place is renewed
const taps = { first: [], second: [] };
let cross = null;

const size = () => [Number(tap.dataset.width) || 1, Number(tap.dataset.height) || 1];
const which = () => (byId("second-taps").checked ? "second" : "first");

function shape(tag, attributes) {
  const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  return node;
}

function draw() {
  const [width, height] = size();
  drawn.setAttribute("viewBox", `0 0 ${width} ${height}`);
  const unit = width / 1280;
  const dots = Object.entries(taps).flatMap(([hole, points]) => points.map(([x, y]) =>
    shape("circle", { cx: x, cy: y, r: 7 * unit, class: hole === "second" ? "dot second" : "dot" })));
  const reach = 18 * unit;
  const path = cross && `M${cross[0] - reach} ${cross[1]}h${2 * reach}M${cross[0]} ${cross[1] - reach}v${2 * reach}`;
  const lines = path ? [shape("path", { d: path, class: "cross-dark" }), shape("path", { d: path, class: "cross" })] : [];
  drawn.replaceChildren(...dots, ...lines);
  byId("tap-count").textContent = t("taps", { count: taps.first.length + taps.second.length });
}

function choices() {
  const select = byId("card");
  const before = select.value;
  const seen = marks.cards.map(({ number, mould }) => new Option(`${t("card_number")} ${number}${mould ? ` – ${mould}` : ""}`, number));
  select.replaceChildren(...seen, new Option(t("mould_no_card"), ""));
  select.value = seen.some(({ value }) => value === before) ? before : (seen[0]?.value ?? "");
  named();
}

function named() {
  const one = marks.cards.find(({ number }) => String(number) === byId("card").value);
  const name = form.elements.name;
  if (one?.mould && (!name.value || name.dataset.given)) {
    name.value = one.mould;
    name.dataset.given = "1";
  }
  const width = form.querySelector("[data-bore=wide]");
  if (one?.mould && known[one.mould] && (!width.value || width.dataset.given)) {
    width.value = known[one.mould];
    width.dataset.given = "1";
  }
}

function showPicture(id) {
  tap.hidden = false;
  picture.src = `${up}setup/mould/shot.jpg?v=${encodeURIComponent(id)}`;
}

function add(point) {
  const [width, height] = size();
  const [x, y] = point;
  if (x < 0 || y < 0 || x > width || y > height) return;
  taps[which()].push([Math.round(x * 10) / 10, Math.round(y * 10) / 10]);
  draw();
}

function takeBack() {
  const hole = taps[which()].length ? which() : "first";
  taps[hole].pop();
  draw();
}

tap?.addEventListener("click", (event) => {
  const box = picture.getBoundingClientRect();
  const [width, height] = size();
  add([((event.clientX - box.left) / box.width) * width - 0.5, ((event.clientY - box.top) / box.height) * height - 0.5]);
});

tap?.addEventListener("keydown", (event) => {
  const [width, height] = size();
  const step = (event.shiftKey ? 40 : 4) * (width / 1280);
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  cross ??= [width / 2, height / 2];
  if (ways[event.key]) {
    cross = [cross[0] + step * ways[event.key][0], cross[1] + step * ways[event.key][1]];
    draw();
  } else if (event.key === "Enter" || event.key === " ") add(cross);
  else if (event.key === "Backspace") takeBack();
  else return;
  event.preventDefault();
});

byId("untap")?.addEventListener("click", takeBack);
byId("card")?.addEventListener("change", named);
form?.querySelector("[data-bore=wide]").addEventListener("input", ({ target }) => { delete target.dataset.given; });
form?.elements.name.addEventListener("input", () => { delete form.elements.name.dataset.given; });

// taps made while a new picture is on its way would be lost with the old one
document.addEventListener("submit", ({ target }) => {
  if (tap && target !== form && target.matches("form[data-shot]")) tap.inert = true;
});
document.addEventListener("told", ({ target }) => {
  if (tap && target.matches("form[data-shot]")) tap.inert = false;
});

document.addEventListener("answered", ({ target, detail }) => {
  if (!target.matches("form[data-shot]") || !detail.cards) return;
  marks = detail;
  [tap.dataset.width, tap.dataset.height] = [detail.width_px, detail.height_px];
  taps.first = [];
  taps.second = [];
  byId("shot-says").replaceChildren(...detail.says.map((text) => Object.assign(document.createElement("li"), { textContent: text })));
  showPicture(detail.picture_id);
  choices();
  draw();
});

form?.addEventListener("submit", (event) => {
  event.preventDefault();
  const rows = [...form.querySelectorAll(".bore")].map((row) => ["depth", "wide"].map((name) => row.querySelector(`[data-bore=${name}]`).value));
  const body = {
    ...fieldsOf(form),
    bore: rows.filter(([depth, wide]) => depth !== "" && wide !== "").map((row) => row.map(Number)),
    taps: taps.first,
    second_taps: taps.second,
    keep: event.submitter?.dataset.keep === "true",
  };
  if (body.oval_long_mm === undefined) delete body.oval_short_mm;
  send("setup/mould.json", body, form.querySelector(".told"), ({ picture_id: id }) => {
    if (id) showPicture(id);
    if (!body.keep) return;
    taps.first = [];
    taps.second = [];
    draw();
  });
});

if (form) {
  choices();
  draw();
  form.inert = false;
}
