// The mark of a mould: its state as a shape, its number inside. Never colour alone.
import { make, makeSvg, setFlag, setText } from "./boot.js";

const BY_STAGE = {
  absent: "absent", empty: "empty", demoulded: "empty", filling: "filling",
  casting: "casting", tipped: "tipped", draining: "tipped", upright: "upright",
};

/** One word for how a mould is to be shown. */
export function lookOf(mould) {
  if (!mould.in_service) return "out";
  if (mould.stage === "casting" && mould.forecast !== "none") return mould.forecast;
  return BY_STAGE[mould.stage] ?? "empty";
}

export const waits = (mould) => mould.in_service && mould.stage === "casting";

/** Make a mark once; `setMark` keeps it up to date. */
export function makeMark() {
  const mark = make("span", "mark");
  const svg = makeSvg("svg", { viewBox: "0 0 24 24", "aria-hidden": "true" });
  svg.append(makeSvg("use"));
  mark.append(svg, make("b"));
  return mark;
}

export function setMark(mark, mould) {
  const look = lookOf(mould);
  if (mark.dataset.look !== look) mark.querySelector("use").setAttribute("href", `#mark-${look}`);
  setFlag(mark, "look", look);
  setFlag(mark, "guess", String(mould.forecast_only));
  setText(mark.querySelector("b"), String(mould.number));
}
