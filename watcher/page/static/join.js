// One tap joins. The code stands behind the # of the address, which no browser sends to any server; it is
// taken out of the address at once, so that it stays in no history either.
import { ask, t, up } from "./asking.js";

const token = location.hash.slice(1);
history.replaceState(null, "", location.pathname);
const form = document.getElementById("join");
const told = document.getElementById("told");
const button = document.getElementById("join-now");

if (!token) {
  form.hidden = true;
  told.textContent = t("join_no_code");
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  button.disabled = true;
  told.textContent = t("join_wait");
  const { ok, why } = await ask("join.json", { token, name: form.elements.name.value });
  if (ok) {
    location.replace(up || "./");
    return;
  }
  told.textContent = t("access_again", { why });
  button.disabled = false;
});
