// One stream for this browser. A tab leaves it when nobody looks and nobody listens, and every tab
// notices by itself when the server is dead.
import { up } from "./boot.js";

const DEAD_AFTER_MS = 3500; // the server sends a beat every second
const AGAIN_EVERY_MS = 6000;
const HERE_EVERY_MS = 5000;

/** A stream shared by all tabs, where the browser has shared workers; else one of our own. */
function connect(hear) {
  if (!("SharedWorker" in window)) return ownStream(hear);
  const { port } = new SharedWorker(`${up}static/stream.js`, { name: "tipbell" });
  let here = 0;
  port.onmessage = ({ data }) => hear(data.kind, data.data);
  return {
    open() { port.postMessage("here"); clearInterval(here); here = setInterval(() => port.postMessage("here"), HERE_EVERY_MS); },
    close() { clearInterval(here); port.postMessage("bye"); },
    again() { port.postMessage("again"); },
  };
}

function ownStream(hear) {
  let source = null;
  const stream = {
    open() {
      if (source) return;
      source = new EventSource(`${up}live`);
      for (const kind of ["bench", "beat"]) source.addEventListener(kind, (event) => hear(kind, event.data));
      source.addEventListener("end", () => { hear("lost"); stream.close(); });
      source.addEventListener("error", () => hear("lost"));
    },
    close() { source?.close(); source = null; },
    again() { stream.close(); stream.open(); },
  };
  return stream;
}

/**
 * Follow the bench. `on.bench(dict)`, `on.beat({ now, still_s })`, `on.state("live" | "wait" | "dead")`.
 * `stayOpen()` says whether to listen on while the page is hidden (because it is to sound the alarm).
 */
export function follow(on, stayOpen) {
  let heard = performance.now();
  let asked = heard;
  let isOpen = false;

  const stream = connect((kind, text) => {
    if (!isOpen) return;
    if (kind === "lost") { on.state("wait"); return; }
    heard = performance.now();
    on.state("live");
    if (kind === "bench") on.bench(JSON.parse(text));
    else on.beat(JSON.parse(text));
  });

  function open() {
    if (isOpen) return;
    isOpen = true;
    heard = performance.now();
    on.state("wait");
    stream.open();
  }

  function close() {
    isOpen = false;
    stream.close();
  }

  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) open();
    else if (!stayOpen()) close();
  });
  window.addEventListener("pagehide", close);
  window.addEventListener("pageshow", (event) => { if (event.persisted) open(); });
  setInterval(() => {
    const now = performance.now();
    if (!isOpen || now - heard < DEAD_AFTER_MS) return;
    on.state("dead");
    // A frozen server keeps its connection: only a new call shows whether it is back.
    if (now - asked > AGAIN_EVERY_MS) { asked = now; stream.again(); }
  }, 500);
  open();
}
