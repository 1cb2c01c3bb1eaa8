// Numbers as the caster reads them: mm or inch, minutes, clock times of the bench's zone, ages.
import { page, t } from "./boot.js";

const MM_PER_INCH = 25.4; // exact, by definition of the inch
const tongue = page.lang === "en" ? "en-GB" : page.lang; // the day before the month
const formats = new Map();

function digits(count) {
  const key = `n${count}`;
  if (!formats.has(key)) {
    formats.set(key, new Intl.NumberFormat(tongue, { minimumFractionDigits: count, maximumFractionDigits: count }));
  }
  return formats.get(key);
}

export const inches = () => page.dataset.unit === "in";
export const unitWord = () => (inches() ? "in" : "mm");

/** A length without its unit. `fine` gives one more digit. */
export function bare(mm, fine = false) {
  if (mm === null || mm === undefined) return "–";
  const count = (inches() ? 2 : 1) + (fine ? 1 : 0);
  const value = inches() ? mm / MM_PER_INCH : mm;
  const shown = digits(count).format(value);
  return (Number(value.toFixed(count)) === 0 ? digits(count).format(0) : shown).replace("-", "−");
}

export function length(mm, fine = false) {
  return mm === null || mm === undefined ? "–" : `${bare(mm, fine)} ${unitWord()}`;
}

/** A length range `low–high`, without unit. */
export function span(low, high, fine = false) {
  return low === null || high === null ? "" : `${bare(low, fine)}–${bare(high, fine)}`;
}

export const toMillimetres = (shown) => (inches() ? shown * MM_PER_INCH : shown);

export const seconds = (iso) => Date.parse(iso) / 1000;

/** Clock time in the bench's zone. */
export function clock(iso, zone, withSeconds = false) {
  if (!iso) return "–";
  const key = `c${zone}${withSeconds}`;
  if (!formats.has(key)) {
    const options = { hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone };
    if (withSeconds) options.second = "2-digit";
    formats.set(key, new Intl.DateTimeFormat(tongue, options));
  }
  return formats.get(key).format(new Date(iso));
}

/** Day and clock time in the bench's zone. */
export function dayClock(iso, zone) {
  const key = `d${zone}`;
  if (!formats.has(key)) {
    formats.set(key, new Intl.DateTimeFormat(tongue, {
      day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZone: zone,
    }));
  }
  return formats.get(key).format(new Date(iso));
}

/** A day as YYYY-MM-DD in words. */
export function dayName(day) {
  if (!formats.has("day")) formats.set("day", new Intl.DateTimeFormat(tongue, { weekday: "short", day: "numeric", month: "short", year: "numeric", timeZone: "UTC" }));
  return formats.get("day").format(new Date(`${day}T12:00:00Z`));
}

/** The day of a moment in the bench's zone, short. */
export function dayShort(iso, zone) {
  const key = `s${zone}`;
  if (!formats.has(key)) formats.set(key, new Intl.DateTimeFormat(tongue, { day: "numeric", month: "short", timeZone: zone }));
  return formats.get(key).format(new Date(iso));
}

/** A plain number with some digits behind the point, as this language writes it. */
export const decimal = (value, count = 1) => (value === null || value === undefined ? "–" : digits(count).format(value));

/** Minutes to go, as a whole number of minutes; it only says "now" once the moment has come. */
export function wait(toGoS) {
  if (toGoS <= -60) return t("late_by", { n: Math.floor(-toGoS / 60) });
  if (toGoS <= 0) return t("now");
  return t("in_min", { n: toGoS < 60 ? "<1" : Math.round(toGoS / 60) });
}

/** The range of minutes to go. */
export function waitSpan(lowS, highS) {
  if (lowS === null || highS === null) return "";
  const low = Math.max(0, Math.round(lowS / 60));
  const high = Math.max(low, Math.round(highS / 60));
  return t("span_min", { low, high });
}

export function age(s) {
  if (s < 100) return t("age_s", { n: Math.max(0, Math.round(s)) });
  if (s < 5400) return t("age_min", { n: Math.round(s / 60) });
  return t("age_h", { n: Math.round(s / 3600) });
}
