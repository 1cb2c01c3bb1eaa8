// On every page of a joined device: when it was taken out, say so instead of "no answer".
import { byId, up } from "./boot.js";

const AGAIN_AFTER_MS = 2000;
let asked = -AGAIN_AFTER_MS;

async function check() {
  if (byId("pulse").dataset.state === "live" || performance.now() - asked < AGAIN_AFTER_MS) return;
  asked = performance.now();
  const answer = await fetch(`${up}me.json`, { cache: "no-store" }).catch(() => null);
  if (answer?.status === 401) location.reload();
}

new MutationObserver(() => setTimeout(check, 500)).observe(byId("pulse"), { attributeFilter: ["data-state"] });
