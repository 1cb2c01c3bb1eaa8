// A link in another program's message comes without the key, however well this device is known: a strict
// cookie stays at home. Asking from here takes it along; then one turn is enough.
import { ask } from "./asking.js";

const TURNED = "tipbell-turned";
const { ok } = await ask("me.json");
if (ok && !sessionStorage.getItem(TURNED)) {
  sessionStorage.setItem(TURNED, "1");
  location.reload();
}
