// Say something to the bench as JSON, and read the numbers out of a form.
import { t, up } from "./boot.js";
import { toast } from "./say.js";

/** POST to the bench. Returns its answer, or null after the refusal was shown. */
export async function post(path, body) {
  let why = "";
  try {
    const answer = await fetch(`${up}${path}`, {
      method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body),
    });
    if (answer.ok) return await answer.json();
    why = (await answer.json().catch(() => null))?.error?.say ?? String(answer.status);
  } catch {
    why = t("no_answer");
  }
  toast(t("not_kept", { why }), true);
  return null;
}

/** GET from the bench; null when it does not answer. */
export async function ask(path) {
  const answer = await fetch(`${up}${path}`).catch(() => null);
  return answer?.ok ? answer.json() : null;
}

/** The number in a field, or null where it is empty. */
export function numberIn(form, name) {
  const value = form.elements[name].valueAsNumber;
  return Number.isNaN(value) ? null : value;
}
