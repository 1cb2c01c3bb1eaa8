// Shared by all tabs of this browser: one stream for all of them. A browser opens six connections to a
// server and no more; a stream in each of six tabs would leave none for pictures and for what is said.

const GONE_AFTER_MS = 90000; // a hidden tab's clock may run once a minute
const AGAIN_AFTER_MS = 1500;
const PATIENCE_MS = 4000;
const tabs = new Map(); // port -> when it last said something
let source = null;
let newest = null; // the last whole present, for a tab that comes later
let again = 0;
let opened = 0;

function tell(message) {
  for (const port of tabs.keys()) port.postMessage(message);
}

function open() {
  clearTimeout(again);
  if (source || tabs.size === 0) return;
  opened = Date.now();
  source = new EventSource(new URL("../live", self.location.href));
  source.addEventListener("bench", (event) => { newest = event.data; tell({ kind: "bench", data: event.data }); });
  source.addEventListener("beat", (event) => tell({ kind: "beat", data: event.data }));
  source.addEventListener("end", () => { tell({ kind: "lost" }); reopen(); });
  source.addEventListener("error", () => {
    tell({ kind: "lost" });
    if (source && source.readyState === EventSource.CLOSED) reopen();
  });
}

function close() {
  clearTimeout(again);
  if (source) source.close();
  source = null;
  newest = null;
}

function reopen() {
  close();
  again = setTimeout(open, AGAIN_AFTER_MS);
}

function leave(port) {
  tabs.delete(port);
  if (tabs.size === 0) close();
}

self.addEventListener("connect", (event) => {
  const port = event.ports[0];
  port.addEventListener("message", ({ data }) => {
    if (data === "bye") { leave(port); return; }
    const isNew = !tabs.has(port);
    tabs.set(port, Date.now());
    if (data === "again") {
      if (Date.now() - opened > PATIENCE_MS) reopen(); // six tabs ask, one call is enough
      return;
    }
    if (isNew && newest !== null) port.postMessage({ kind: "bench", data: newest });
    open();
  });
  port.start();
});

setInterval(() => {
  for (const [port, heard] of tabs) if (Date.now() - heard > GONE_AFTER_MS) leave(port);
}, 10000);
