// One card per mould, the most urgent first. Cards are made once and then only their words change.
import { byId, mouldHref, setFlag, setText, t, tell, whyWords } from "./boot.js";
import { lookOf, makeMark, setMark } from "./marks.js";
import { castWords, dampWords, freshWords, goWords } from "./phrases.js";
import { bindSaying, offer } from "./say.js";
import { drawSpark } from "./spark.js";
import { bare, length, span, unitWord } from "./units.js";

const cards = new Map();
const IDLE = new Set(["empty", "absent", "out", "upright"]);
let busyUntil = 0;

function makeCard(name) {
  const card = byId("card").content.firstElementChild.cloneNode(true);
  card.dataset.mould = name;
  const f = Object.fromEntries([...card.querySelectorAll("[data-f]")].map((node) => [node.dataset.f, node]));
  f.mark.append(makeMark());
  f.name.textContent = name;
  f.name.href = mouldHref(name);
  for (const button of card.querySelectorAll("button[data-say], summary")) {
    button.setAttribute("aria-label", `${button.textContent.trim()}: ${name}`);
  }
  cards.set(name, { card, f, curve: null });
  return cards.get(name);
}

function fillGauge(f, mould) {
  const thick = mould.target_thick_mm ?? mould.target_wall_mm;
  const full = Math.max((thick ?? 0) * 1.35, (mould.wall_high_mm ?? 0) * 1.1, 2);
  const percent = (mm) => `${Math.min(100, Math.max(0, (100 * (mm ?? 0)) / full)).toFixed(2)}%`;
  f.cake.style.width = percent(mould.wall_mm);
  f.fuzz.style.left = percent(mould.wall_low_mm);
  f.fuzz.style.width = percent((mould.wall_high_mm ?? 0) - (mould.wall_low_mm ?? 0));
  f.aim.hidden = mould.target_wall_mm === null;
  f.aim.style.left = percent(mould.target_wall_mm);
  f.aim.style.width = percent((thick ?? 0) - (mould.target_wall_mm ?? 0));
}

function fillCard({ card, f }, mould, now, sinceS, zone) {
  const look = lookOf(mould);
  setFlag(card, "look", look);
  setFlag(card, "guess", String(mould.forecast_only));
  setMark(f.mark.firstChild, mould);
  setText(f.word, tell("look", look));
  const { go, range } = goWords(mould, now, zone);
  setText(f.go, go);
  setText(f.range, range);
  setText(f.fresh, freshWords(mould, sinceS));
  fillGauge(f, mould);
  const wanted = mould.target_wall_mm;
  setText(f.wall, wanted === null
    ? `${t("wall")} ${length(mould.wall_mm)}`
    : t("wall_of", { wall: bare(mould.wall_mm), wanted: length(wanted) }));
  const ends = span(mould.wall_low_mm, mould.wall_high_mm);
  setText(f["wall-range"], ends || whyWords(mould.why));
  setText(f.level, length(mould.level_mm));
  setText(f.spare, length(mould.spare_mm));
  setText(f.cast, castWords(mould));
  setText(f.dampness, dampWords(mould));
  for (const unit of f.say.querySelectorAll(".unit-word")) setText(unit, unitWord());
  offer(f.say, look, mould);
}

/** Show all moulds. Order changes wait while a finger or the keyboard is on a card. */
export function showCards(bench, now, sinceS) {
  for (const mould of bench.moulds) {
    fillCard(cards.get(mould.name) ?? makeCard(mould.name), mould, now, sinceS, bench.zone);
  }
  for (const [name, { card }] of cards) {
    if (!bench.moulds.some((mould) => mould.name === name)) { card.remove(); cards.delete(name); }
  }
  const onACard = document.activeElement?.closest(".card");
  if (performance.now() < busyUntil || onACard) {
    // Not under a finger: but a card that is new is shown at once.
    if (bench.moulds.every((mould) => cards.get(mould.name).card.isConnected)) return;
  }
  const isIdle = (name) => IDLE.has(cards.get(name).card.dataset.look);
  order(byId("cards"), bench.order.filter((name) => !isIdle(name)));
  order(byId("idle"), bench.order.filter(isIdle));
  byId("cards-box").hidden = byId("cards").childElementCount === 0;
  byId("idle-box").hidden = byId("idle").childElementCount === 0;
}

function order(list, names) {
  names.forEach((name, place) => {
    const { card } = cards.get(name);
    if (list.children[place] !== card) list.insertBefore(card, list.children[place] ?? null);
  });
}

/** Draw the small curves that are new. */
export function showSparks(curves) {
  for (const [name, made] of cards) {
    const curve = curves[name] ?? null;
    if (made.curve !== curve) { made.curve = curve; drawSpark(made.f.spark, curve); }
  }
}

export function startCards() {
  for (const list of [byId("cards"), byId("idle")]) {
    bindSaying(list, (node) => node.closest(".card").dataset.mould);
    list.addEventListener("pointerdown", () => { busyUntil = performance.now() + 4000; });
  }
}

