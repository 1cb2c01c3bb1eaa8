// The review: a day as a row of casts, the week's lessons, how often faults happen.
import { byId, castHref, data, make, setText, t, tell, up } from "./boot.js";
import { startShell } from "./shell.js";
import { clock, dayName, length, seconds, span } from "./units.js";

const review = data("review");

function showDays() {
  const { days, day } = review;
  setText(byId("day-title"), dayName(day));
  const place = days.findIndex((one) => one.day === day);
  const older = place < 0 ? days.find((one) => one.day < day) : days[place + 1];
  const newer = place < 0 ? days.findLast((one) => one.day > day) : days[place - 1];
  for (const [id, one] of [["day-before", older], ["day-after", newer]]) {
    if (one) byId(id).href = `${up}review?day=${one.day}`;
    else byId(id).setAttribute("aria-disabled", "true");
  }
  const pick = byId("days");
  for (const one of days) {
    const option = make("option", "", t("day_casts", { day: dayName(one.day), n: one.casts }));
    option.value = one.day;
    option.selected = one.day === day;
    pick.append(option);
  }
  pick.addEventListener("change", () => { location.href = `${up}review?day=${pick.value}`; });
}

const faultWords = (cast) => cast.faults.map((kind) => tell("fault", kind)).join(", ");

function outcome(cast) {
  const risk = cast.one_spot_s === null ? "" : t("fill_risk", { n: Math.round(cast.one_spot_s) });
  return [cameOut(cast), risk].filter(Boolean).join(" · ");
}

function cameOut(cast) {
  if (cast.faults.length) return faultWords(cast);
  return cast.verdict ? tell("verdict", cast.verdict) : cast.tipped_at ? "–" : t("not_tipped");
}

/** Casts as bars from full to tip, one lane a mould: where they overlap, hands were short. */
function showRow() {
  const casts = review.casts;
  byId("day-none").hidden = casts.length > 0;
  byId("lanes-box").hidden = casts.length === 0;
  byId("casts-box").hidden = casts.length === 0;
  if (!casts.length) return;
  const ends = casts.map((cast) => seconds(cast.tipped_at ?? review.now));
  const begins = casts.map((cast) => seconds(cast.full_at ?? cast.began_at));
  const span = Math.max(...ends) - Math.min(...begins);
  const step = 60 * ([5, 10, 15, 30, 60, 120, 180, 360].find((minutes) => span / 60 / minutes <= 7) ?? 720);
  const from = Math.floor(Math.min(...begins) / step) * step;
  const to = Math.max(Math.ceil(Math.max(...ends) / step) * step, from + step);
  const place = (s) => `${(100 * (s - from)) / (to - from)}%`;
  for (let s = from; s < to; s += step) {
    const tick = make("span", "", clock(new Date(s * 1000).toISOString(), review.zone));
    tick.style.left = place(s);
    byId("row-axis").append(tick);
  }
  for (const mould of [...new Set(casts.map((cast) => cast.mould))]) {
    const lane = make("li", "row-lane");
    lane.append(make("span", "row-name", mould));
    const track = make("div", "row-track");
    for (const cast of casts.filter((one) => one.mould === mould)) {
      const full = seconds(cast.full_at ?? cast.began_at);
      const ended = seconds(cast.tipped_at ?? review.now);
      const bar = make("a", "row-cast", String(cast.number_today));
      bar.href = castHref(cast.cast);
      bar.dataset.bad = String(cast.faults.length > 0);
      bar.dataset.open = String(!cast.tipped_at);
      bar.style.left = place(full);
      bar.style.width = `${(100 * Math.max(ended - full, 0)) / (to - from)}%`;
      bar.setAttribute("aria-label", [mould, t("nth_of_day", { n: cast.number_today }), clock(cast.began_at, review.zone), outcome(cast)].join(", "));
      track.append(bar);
    }
    lane.append(track);
    byId("row").append(lane);
  }
}

function showTable() {
  byId("casts").replaceChildren(...review.casts.map((cast) => {
    const row = make("tr");
    const name = make("td");
    const link = make("a", "", cast.mould);
    link.href = castHref(cast.cast);
    name.append(link);
    const wall = cast.wall ? `${length(cast.wall.value, true)} (${span(cast.wall.low, cast.wall.high, true)})` : "–";
    const measured = cast.measured_mm === null ? "" : ` · ${t("measured", { wall: length(cast.measured_mm, true) })}`;
    const cells = [String(cast.number_today), clock(cast.began_at, review.zone),
      cast.minutes === null ? "–" : `${Math.round(cast.minutes)} ${t("min")}`, wall + measured, outcome(cast), cast.piece === null ? "–" : String(cast.piece)];
    row.append(name, ...cells.map((words) => make("td", "", words)));
    return row;
  }));
}

function lessonWords(lesson) {
  const part = { mould: lesson.mould, casts: lesson.casts, n: Math.round(lesson.touched),
    share: Math.abs(Math.round(100 * lesson.share)), fault: lesson.fault ? tell("fault", lesson.fault) : "",
    since: lesson.since ? clock(lesson.since, review.zone) : "" };
  let key = `lesson_${lesson.kind}`;
  if (["all_slow", "one_slow", "off_wall"].includes(lesson.kind) && lesson.share < 0) key += "_less";
  else if (lesson.kind === "all_slow" && lesson.since) key += "_since";
  return t(key, part);
}

function showLessons() {
  const { lessons } = data("week");
  byId("week-none").hidden = lessons.length > 0;
  byId("lessons").replaceChildren(...lessons.map((lesson) => {
    const item = make("li", "", lessonWords(lesson));
    if (lesson.causes.length) item.append(make("span", "soft", ` ${t("lesson_causes", { list: lesson.causes.map((cause) => tell("cause", cause)).join(", ") })}`));
    if (lesson.one_spot) item.append(make("span", "soft", ` ${t("lesson_one_spot", { n: lesson.one_spot })}`));
    return item;
  }));
}

function countTable(id, rows, groupWords) {
  const kinds = [...new Set(rows.flatMap((row) => Object.keys(row.counts)))];
  const head = make("tr");
  head.append(...["", t("casts_word"), ...kinds.map((kind) => tell("fault", kind))].map((words) => {
    const cell = make("th", "", words);
    cell.scope = "col";
    return words ? cell : make("td");
  }));
  const body = rows.map((row) => {
    const line = make("tr");
    const name = make("th", "", groupWords(row.group));
    name.scope = "row";
    line.append(name, make("td", "", String(row.casts)), ...kinds.map((kind) => {
      const count = row.counts[kind] ?? 0;
      const cell = make("td", count ? "some" : "", count ? `${count}` : "·");
      if (count) cell.append(make("span", "soft", ` (${Math.round((100 * count) / row.casts)} %)`));
      return cell;
    }));
    return line;
  });
  const top = make("thead");
  top.append(head);
  const rest = make("tbody");
  rest.append(...body);
  byId(id).replaceChildren(top, rest);
}

function showFaults() {
  const faults = data("faults");
  setText(byId("faults-say"), t("faults_say", { days: faults.days, casts: faults.casts, scrapped: faults.scrapped }));
  byId("fault-tables").hidden = !faults.by_mould.some((row) => row.with_fault);
  countTable("by_mould", faults.by_mould, (group) => group);
  countTable("by_number", faults.by_number, (group) => t("nth", { n: group }));
  countTable("by_slip", faults.by_slip, (group) => group || t("slip_unkept"));
}

function show() {
  showTable();
}

showDays();
showRow();
show();
showLessons();
showFaults();
startShell({ redraw: show });
