// Short phrases about one mould, the same on every page.
import { t, tell } from "./boot.js";
import { lookOf, waits } from "./marks.js";
import { age, clock, length, seconds, wait, waitSpan } from "./units.js";

/** Minutes to go. It is "late" only once the bench says so: till then, what is due is due now. */
export function dueWords(mould, now) {
  const toGoS = seconds(mould.ready_at) - now;
  return wait(mould.forecast === "late" ? toGoS : Math.max(toGoS, 0));
}

const JUST_FULL_S = 180;

/** Words for a pour under way: how long it has lasted, and what its stream does. */
function fillWords(fill, now) {
  const sinceS = Math.max(Math.round(now - seconds(fill.since)), 0);
  const go = `${Math.floor(sinceS / 60)}:${String(sinceS % 60).padStart(2, "0")}`;
  const stays = fill.one_spot_s !== null;
  return { go, range: stays ? t("fill_move", { n: Math.round(fill.one_spot_s) }) : fill.across_mm === null ? t("fill_unseen") : t("fill_seen") };
}

/** Words for a pour that is over: how high it came, and whether its stream stayed on one spot. */
function filledWords(fill, sinceS) {
  const parts = [];
  if (fill.full_s + sinceS < JUST_FULL_S) parts.push(fill.level_mm === null ? t("fill_level_unseen") : t("fill_level", { level: length(fill.level_mm) }));
  if (fill.one_spot_s !== null) parts.push(t("fill_risk", { n: Math.round(fill.one_spot_s) }));
  return parts;
}

/** Words for how near the tip is; its range on a second line. */
export function goWords(mould, now, zone) {
  if (mould.in_service && mould.stage === "filling" && mould.fill) return fillWords(mould.fill, now);
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
  const parts = waits(mould) && mould.fill ? filledWords(mould.fill, sinceS) : [];
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
