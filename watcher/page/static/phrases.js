// Short phrases about one mould, the same on every page.
import { t, tell } from "./boot.js";
import { lookOf, waits } from "./marks.js";
import { age, clock, seconds, wait, waitSpan } from "./units.js";

/** Minutes to go. It is "late" only once the bench says so: till then, what is due is due now. */
export function dueWords(mould, now) {
  const toGoS = seconds(mould.ready_at) - now;
  return wait(mould.forecast === "late" ? toGoS : Math.max(toGoS, 0));
}

/** Words for how near the tip is; its range on a second line. */
export function goWords(mould, now, zone) {
  if (!waits(mould)) {
    const at = mould.stage === "tipped" || mould.stage === "draining" ? mould.tipped_at : null;
    return { go: tell("look", lookOf(mould)), range: at ? t("tip_at", { at: clock(at, zone) }) : "" };
  }
  if (!mould.ready_at) return { go: "– –", range: mould.target_wall_mm === null ? t("no_target") : t("not_known_yet") };
  const go = dueWords(mould, now);
  if (seconds(mould.ready_at) <= now) return { go, range: t("since", { at: clock(mould.ready_at, zone) }) };
  const late = mould.ready_low ? waitSpan(seconds(mould.ready_low) - now, seconds(mould.ready_high) - now) : "";
  const about = t("tip_at", { at: clock(mould.ready_at, zone) });
  return { go, range: late ? `${late}\n${about}` : about };
}

/** Words for how fresh the numbers are, and why. */
export function freshWords(mould, sinceS) {
  const parts = [];
  if (mould.missed && waits(mould)) parts.push(tell("missed", mould.missed));
  const seen = mould.unseen_s === null ? null : mould.unseen_s + sinceS;
  if (mould.forecast_only) parts.unshift(seen === null ? t("guess_never") : t("guess_since", { age: age(seen) }));
  else if (seen !== null) parts.push(t("seen_ago", { age: age(seen) }));
  if (mould.leaking) parts.push(t("leaking"));
  return parts.join(" · ");
}

export function castWords(mould) {
  return mould.cast_number === null ? "–" : t("cast_today", { n: mould.cast_number });
}

export function dampWords(mould) {
  return mould.dampness === null ? t("not_known") : `${Math.round(100 * mould.dampness)} %`;
}
