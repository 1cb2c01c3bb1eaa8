// Ask the bench for something, or tell it something: an answer, or the reason why not.
const page = document.documentElement;
export const up = page.dataset.up;
const words = JSON.parse(document.getElementById("data-words").textContent);
const sentences = JSON.parse(document.getElementById("data-told")?.textContent ?? "{}");

export function t(key, vars = {}) {
  return words[key].replace(/\{(\w+)\}/g, (_, name) => vars[name] ?? "");
}

/** A sentence of the bench's thinking in the page's language; as it came where it is not known. */
export function told(said) {
  const known = sentences[said.replace(/\d+/, "{n}")];
  return known ? known.replace("{n}", said.match(/\d+/)?.[0] ?? "") : said;
}

/** GET without a body, POST with one: a file as it is, all else as JSON. Gives { ok, status, body, why }. */
export async function ask(path, body) {
  const file = body instanceof Blob;
  const post = body === undefined ? {}
    : { method: "POST", headers: { "content-type": file ? "application/octet-stream" : "application/json" }, body: file ? body : JSON.stringify(body) };
  try {
    const answer = await fetch(up + path, { cache: "no-store", ...post });
    const told = await answer.json().catch(() => null);
    return { ok: answer.ok, status: answer.status, body: told, why: told?.error?.say ?? String(answer.status) };
  } catch {
    return { ok: false, status: 0, body: null, why: t("no_answer") };
  }
}
