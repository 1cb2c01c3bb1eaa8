// The small curve on a card: the wall from the fill to past the tip, with its band and the aim.
import { makeSvg } from "./boot.js";
import { seconds } from "./units.js";

const WIDE = 200;
const HIGH = 44;

export function drawSpark(svg, curve) {
  svg.replaceChildren();
  const points = (curve?.points ?? []).filter((point) => point.wall_mm !== null);
  if (points.length < 2) return;
  const from = seconds(points[0].at);
  const to = seconds(points.at(-1).at);
  const most = Math.max(...points.map((p) => p.wall_high_mm ?? p.wall_mm), curve.target_mm ?? 0, 0.5) * 1.06;
  const x = (p) => ((WIDE * (seconds(p.at) - from)) / (to - from)).toFixed(1);
  const y = (mm) => (HIGH - 1 - ((HIGH - 2) * mm) / most).toFixed(1);
  const there = points.map((p) => `${x(p)} ${y(p.wall_high_mm ?? p.wall_mm)}`);
  const back = points.map((p) => `${x(p)} ${y(p.wall_low_mm ?? p.wall_mm)}`).reverse();
  svg.append(makeSvg("path", { class: "band", d: `M${there.concat(back).join("L")}Z` }));
  if (curve.target_mm !== null && curve.target_mm !== undefined) {
    svg.append(makeSvg("path", { class: "aim", d: `M0 ${y(curve.target_mm)}H${WIDE}` }));
  }
  const past = points.filter((p) => p.at <= curve.now);
  const ahead = points.filter((p) => p.at >= (past.at(-1)?.at ?? ""));
  const line = (some) => `M${some.map((p) => `${x(p)} ${y(p.wall_mm)}`).join("L")}`;
  if (past.length > 1) svg.append(makeSvg("path", { class: "past", d: line(past) }));
  if (ahead.length > 1) svg.append(makeSvg("path", { class: "ahead", d: line(ahead) }));
}
