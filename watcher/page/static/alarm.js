// The alarm that must be heard: sound, vibration, voice, title, icon, and a screen that stays awake.
import { byId, page, setText, t, tell, up } from "./boot.js";

const OPEN = new Set(["unacknowledged", "returned_unacknowledged"]);
const RANK = { late: 0, ready: 1, tipped_unseen: 1, hole_closing: 2, leaking: 3, top_up: 4, camera_blind: 5, blind: 6, soon: 7 };
const AGAIN_MS = { late: 8000, ready: 15000, tipped_unseen: 15000, hole_closing: 30000, leaking: 30000 };
const STRIKES = { late: [0, 0.28, 0.56, 0.84], ready: [0, 0.4, 0.8], soon: [0] };
const plainTitle = document.title;
const rung = new Map(); // alert id -> when it last sounded
let audio = null;
let wake = null;

export const isOpen = (alert) => OPEN.has(alert.state);
export const bySeverity = (a, b) => (RANK[a.kind] ?? 9) - (RANK[b.kind] ?? 9) || (a.at < b.at ? -1 : 1);
export const soundIsOn = () => audio !== null && audio.state === "running";

/** One stroke on a clay bell: a few partials that die away, made here so that nothing is fetched. */
function strike(at, pitch, loud) {
  for (const [times, share, lasts] of [[1, 0.6, 0.9], [2.76, 0.25, 0.5], [5.4, 0.12, 0.25]]) {
    const tone = audio.createOscillator();
    const volume = audio.createGain();
    tone.frequency.value = pitch * times;
    volume.gain.setValueAtTime(0.0001, at);
    volume.gain.exponentialRampToValueAtTime(share * loud, at + 0.008);
    volume.gain.exponentialRampToValueAtTime(0.0001, at + lasts);
    tone.connect(volume).connect(audio.destination);
    tone.start(at);
    tone.stop(at + lasts + 0.05);
  }
}

function ring(kind) {
  if (!soundIsOn()) return;
  const begin = audio.currentTime + 0.02;
  const pitch = kind === "late" ? 784 : kind === "ready" ? 659 : 494;
  (STRIKES[kind] ?? [0, 0.5]).forEach((offset, i) => strike(begin + offset, pitch * (i % 2 ? 1.19 : 1), 0.7));
}

function shake(kind) {
  // A browser refuses to vibrate, and complains, before the first tap.
  if (navigator.userActivation && !navigator.userActivation.hasBeenActive) return;
  navigator.vibrate?.(kind === "soon" ? [120] : [300, 120, 300, 120, 300]);
}

function speak(alert) {
  if (!("speechSynthesis" in window) || localStorage.getItem("tipbell-aloud") !== "yes") return;
  const words = new SpeechSynthesisUtterance(`${alert.mould} ${tell("kind", alert.kind)}`);
  words.lang = page.lang;
  speechSynthesis.speak(words);
}

/** Look at the alerts of a new present: call out what is new, again what nobody answered. */
export function attend(alerts) {
  const open = alerts.filter(isOpen).sort(bySeverity);
  const now = performance.now();
  for (const id of rung.keys()) if (!open.some((alert) => alert.id === id)) rung.delete(id);
  const due = open.filter((a) => !rung.has(a.id) || now - rung.get(a.id) > (AGAIN_MS[a.kind] ?? Infinity));
  if (due.length) {
    const isNew = !rung.has(due[0].id);
    for (const alert of due) rung.set(alert.id, now);
    ring(due[0].kind);
    shake(due[0].kind);
    if (isNew) speak(due[0]);
  }
  const first = open[0];
  const title = first ? `▲ ${first.mould} ${tell("kind", first.kind)} – Tipbell` : plainTitle;
  if (document.title !== title) document.title = title;
  const icon = `${up}static/${first ? "icon-call" : "icon"}.svg`;
  if (byId("icon").getAttribute("href") !== icon) byId("icon").setAttribute("href", icon);
}

async function stayAwake() {
  try {
    wake = (await navigator.wakeLock?.request("screen")) ?? null;
  } catch {
    wake = null; // no battery, or not allowed: the alarm works without
  }
}

async function turnSound(on) {
  if (on) {
    const Audio = window.AudioContext ?? window.webkitAudioContext;
    audio ??= Audio ? new Audio() : null;
    await audio?.resume();
    await stayAwake();
  } else {
    await audio?.suspend();
    await wake?.release();
    wake = null;
  }
  localStorage.setItem("tipbell-sound", soundIsOn() ? "yes" : "no");
  showSound();
}

/** A browser gives sound only after a tap: where sound was on before, the first tap anywhere brings it back. */
function bringSoundBack() {
  if (localStorage.getItem("tipbell-sound") !== "yes") return;
  const bring = (event) => {
    for (const kind of ["pointerup", "keyup"]) document.removeEventListener(kind, bring);
    if (!event.target.closest?.("#sound, #test-alarm")) turnSound(true);
  };
  for (const kind of ["pointerup", "keyup"]) document.addEventListener(kind, bring);
}

function showSound() {
  const on = soundIsOn();
  byId("sound").setAttribute("aria-pressed", String(on));
  byId("sound-icon").setAttribute("href", on ? "#sound-on" : "#sound-off");
  setText(byId("sound-word"), t(on ? "sound_on" : "sound_off"));
  const can = [
    t(on ? "can_sound" : "cannot_sound"),
    t(navigator.vibrate ? "can_shake" : "cannot_shake"),
    t(wake && !wake.released ? "can_wake" : "cannot_wake"),
  ];
  setText(byId("alarm-can"), can.join(" "));
}

/** Bind the buttons of the alarm. */
export function startAlarm() {
  byId("sound").addEventListener("click", async () => {
    await turnSound(!soundIsOn());
    ring("soon");
  });
  byId("test-alarm").addEventListener("click", async () => {
    await turnSound(true);
    ring("ready");
    shake("ready");
    speak({ mould: "Tipbell", kind: "ready" });
  });
  const aloud = byId("aloud");
  aloud.checked = localStorage.getItem("tipbell-aloud") === "yes";
  aloud.addEventListener("change", () => localStorage.setItem("tipbell-aloud", aloud.checked ? "yes" : "no"));
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && soundIsOn()) stayAwake().then(showSound);
  });
  bringSoundBack();
  showSound();
}
