// The living picture: a new JPEG only after the last one arrived, with rings and numbers drawn over it.
import { byId, make, makeSvg, mouldHref, setFlag, setText, t, tell, up, whyWords } from "./boot.js";
import { lookOf, makeMark, setMark } from "./marks.js";
import { age, seconds } from "./units.js";

const RETRY_MS = 3000;
const rings = new Map();
let wanted = null;
let shown = null;
let loading = false;

function load() {
  if (loading || wanted === null || wanted === shown || document.hidden) return;
  loading = true;
  const asked = wanted;
  const next = new Image();
  next.onload = () => {
    loading = false;
    shown = asked;
    const picture = byId("picture");
    picture.src = next.src;
    picture.hidden = false;
    byId("no-picture").hidden = true;
    load();
  };
  next.onerror = () => { loading = false; setTimeout(load, RETRY_MS); };
  next.src = `${up}picture.jpg?v=${encodeURIComponent(asked)}`;
}

function ringOf(name) {
  if (!rings.has(name)) {
    const group = makeSvg("g");
    group.append(makeSvg("polygon", { class: "halo" }), makeSvg("polygon", { class: "rim" }), makeSvg("polygon", { class: "rim outer" }));
    const label = make("li");
    const link = make("a");
    link.href = mouldHref(name);
    link.append(makeMark());
    label.append(link);
    byId("rings").append(group);
    byId("labels").append(label);
    rings.set(name, { group, label, link, drawn: "" });
  }
  return rings.get(name);
}

function around(points, factor) {
  const row = points.reduce((sum, p) => sum + p[0], 0) / points.length;
  const col = points.reduce((sum, p) => sum + p[1], 0) / points.length;
  return points.map((p) => `${(col + factor * (p[1] - col)).toFixed(1)},${(row + factor * (p[0] - row)).toFixed(1)}`).join(" ");
}

function drawRing(mould, wide, high) {
  const ring = ringOf(mould.name);
  const shape = mould.ring;
  ring.group.style.display = shape ? "" : "none";
  ring.label.hidden = !shape;
  if (!shape) return;
  const key = JSON.stringify(shape.rim_rc) + wide;
  if (ring.drawn !== key) {
    ring.drawn = key;
    const [halo, rim, outer] = ring.group.children;
    for (const line of [halo, rim]) line.setAttribute("points", around(shape.rim_rc, 1.04));
    outer.setAttribute("points", around(shape.rim_rc, 1.22));
    const top = Math.min(...shape.rim_rc.map((p) => p[0]));
    const cols = shape.rim_rc.map((p) => p[1]);
    ring.label.style.left = `${(50 * (Math.min(...cols) + Math.max(...cols))) / wide}%`;
    ring.label.style.top = `${(100 * top) / high}%`;
  }
  setFlag(ring.group, "look", lookOf(mould));
  setFlag(ring.group, "guess", String(mould.forecast_only || !shape.seen_here));
  setMark(ring.link.firstChild, mould);
  const said = `${mould.number} ${mould.name}: ${tell("look", lookOf(mould))}`;
  if (ring.link.getAttribute("aria-label") !== said) ring.link.setAttribute("aria-label", said);
}

/** Show picture, rings and numbers of a new present. */
export function showPicture(bench) {
  const { width_px: wide, height_px: high, picture, why } = bench.camera;
  const frame = byId("frame");
  if (wide && high) {
    frame.style.aspectRatio = `${wide} / ${high}`;
    byId("rings").setAttribute("viewBox", `0 0 ${wide} ${high}`);
    for (const mould of bench.moulds) drawRing(mould, wide, high);
  }
  wanted = picture;
  setFlag(frame, "blind", String(Boolean(why)));
  setFlag(frame, "many", String(bench.moulds.length > 10));
  setText(byId("no-picture"), whyWords(why) || t("no_picture"));
  byId("no-picture").hidden = shown !== null && !why;
  load();
}

/** The picture's age, on the picture. */
export function showAge(bench, now) {
  const at = bench.camera.frame_at;
  setText(byId("frame-age"), at ? t("picture_age", { age: age(now - seconds(at)) }) : t("no_picture"));
}

document.addEventListener("visibilitychange", load);
