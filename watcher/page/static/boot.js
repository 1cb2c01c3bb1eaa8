// What every module needs: the data in the page, its words, and small ways to touch the document.

export const page = document.documentElement;
export const up = page.dataset.up;

export function data(name) {
  const holder = document.getElementById(`data-${name}`);
  return holder ? JSON.parse(holder.textContent) : null;
}

const words = data("words");

/** The words for a key, with {names} filled in. */
export function t(key, vars = {}) {
  return (words[key] ?? key).replace(/\{(\w+)\}/g, (_, name) => vars[name] ?? "");
}

/** The words for a key that comes from the bench; what has no words yet is shown as it came. */
export function tell(group, code) {
  return words[`${group}_${code}`] ?? String(code).replaceAll("_", " ");
}

const sentences = data("why") ?? [];

/** A sentence that comes from the bench, in this page's language where it is known; else as it came. */
export function whyWords(text) {
  for (const [pattern, said] of sentences) {
    const found = text.match(new RegExp(`^${pattern}$`));
    if (found) return said.replace(/\{(\w+)\}/g, (_, name) => found.groups?.[name] ?? "");
  }
  return text;
}

export const byId = (id) => document.getElementById(id);

/** Write only what changed: nothing flickers, and nothing is read out twice. */
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

export function setFlag(node, name, value) {
  if (node.dataset[name] !== value) node.dataset[name] = value;
}

export function make(tag, name = "", text = "") {
  const node = document.createElement(tag);
  if (name) node.className = name;
  if (text) node.textContent = text;
  return node;
}

export function makeSvg(tag, attributes = {}) {
  const node = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  return node;
}

export const mouldHref = (name) => `${up}mould/${encodeURIComponent(name)}`;

export const castHref = (id) => `${up}cast/${id.split("/").map(encodeURIComponent).join("/")}`;

export function remember(name, value) {
  document.cookie = `tipbell_${name}=${value}; path=/; max-age=31536000; samesite=lax`;
}
