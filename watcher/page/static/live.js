// One stream for this page. It closes when nobody looks and nobody listens, and it notices a dead server.
import { up } from "./boot.js";

const DEAD_AFTER_MS = 4500; // the server sends a beat every second
const AGAIN_AFTER_MS = 1500;

/**
 * Follow the bench. `on.bench(dict)`, `on.beat(isoNow)`, `on.state("live" | "wait" | "dead", heardAt)`.
 * `stayOpen()` says whether to listen on while the page is hidden (because it is to sound the alarm).
 */
export function follow(on, stayOpen) {
  let source = null;
  let heard = performance.now();
  let heardAt = new Date();
  let again = 0;

  function hear() {
    heard = performance.now();
    heardAt = new Date();
    on.state("live", heardAt);
  }

  function open() {
    clearTimeout(again);
    if (source) return;
    source = new EventSource(`${up}live`);
    source.addEventListener("bench", (event) => { hear(); on.bench(JSON.parse(event.data)); });
    source.addEventListener("beat", (event) => { hear(); on.beat(JSON.parse(event.data).now); });
    source.addEventListener("end", () => { on.state("wait", heardAt); reopen(); });
    source.addEventListener("error", () => {
      on.state("wait", heardAt);
      // The browser tries again by itself, except after an answer that was no stream.
      if (source && source.readyState === EventSource.CLOSED) reopen();
    });
  }

  function close() {
    clearTimeout(again);
    if (source) source.close();
    source = null;
  }

  function reopen() {
    close();
    again = setTimeout(open, AGAIN_AFTER_MS);
  }

  document.addEventListener("visibilitychange", () => {
    if (document.hidden && !stayOpen()) close();
    else if (!source) { heard = performance.now(); on.state("wait", heardAt); open(); }
  });
  window.addEventListener("pagehide", close);
  window.addEventListener("pageshow", (event) => { if (event.persisted) open(); });
  setInterval(() => {
    if (source === null && document.hidden) return;
    const silentMs = performance.now() - heard;
    if (silentMs > DEAD_AFTER_MS) {
      on.state("dead", heardAt);
      // A frozen server keeps the connection: only a new call shows whether it is back.
      if (source && silentMs % 6000 < 600) reopen();
    }
  }, 500);
  open();
}
