// Let a phone in by a code, see who joined, take one out.
import { ask, t } from "./asking.js";

const byId = (id) => document.getElementById(id);
const LOOK_EVERY_MS = 2000;
const { zone } = byId("let-in").dataset;
const moment = new Intl.DateTimeFormat(document.documentElement.lang.replace(/^en$/, "en-GB"), { dateStyle: "medium", timeStyle: "short", timeZone: zone });
const says = (key, at) => t(key, { at: moment.format(new Date(at)) });
let known = null; // ids of those joined when last looked
let links = [];
let endsAt = 0;

function show(index) {
  const { address, svg } = links[index];
  const drawn = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  byId("qr").replaceChildren(document.importNode(drawn, true));
  byId("address").textContent = address.split("#")[0];
}

async function invite(rights) {
  const { ok, body, why } = await ask("phones/invite.json", { rights });
  byId("told").textContent = ok ? "" : t("access_again", { why });
  if (!ok) return;
  links = body.links;
  endsAt = performance.now() + 1000 * body.good_for_s;
  byId("links").replaceChildren(...links.map(({ address }, i) => new Option(address.split("#")[0], i)));
  byId("invited").hidden = false;
  show(0);
  showLeft();
}

function endInvitation() {
  links = [];
  byId("invited").hidden = true;
  byId("qr").replaceChildren();
}

function showLeft() {
  if (!links.length) return;
  const leftMs = endsAt - performance.now();
  if (leftMs <= 0) {
    endInvitation();
    byId("told").textContent = t("phones_over");
  } else byId("left").textContent = t("phones_left", { minutes: Math.ceil(leftMs / 60000) });
}

function line(phone) {
  const item = document.createElement("li");
  const name = document.createElement("strong");
  name.textContent = phone.name;
  const about = document.createElement("span");
  for (const words of [t(`rights_${phone.rights}`), says("phones_since", phone.joined_at), says("phones_seen", phone.seen_at)]) {
    const part = document.createElement("span");
    part.textContent = words;
    about.append(part);
  }
  const out = document.createElement("button");
  out.type = "button";
  out.textContent = t("phones_take_out");
  out.setAttribute("aria-label", `${t("phones_take_out")}: ${phone.name}`);
  out.addEventListener("click", async () => {
    out.disabled = true;
    const { ok, why } = await ask("phones/out.json", { id: phone.id });
    byId("told").textContent = ok ? "" : t("access_again", { why });
    await look();
  });
  item.append(name, about, out);
  return item;
}

let drawn = "";
async function look() {
  const { ok, body } = await ask("phones.json");
  if (!ok) return;
  byId("closed").hidden = body.opened;
  for (const button of document.querySelectorAll("[data-rights]")) button.disabled = !body.opened;
  byId("none").hidden = body.phones.length > 0;
  const now = JSON.stringify(body.phones.map(({ seen_at, ...rest }) => [rest, seen_at.slice(0, 16)]));
  if (now !== drawn) { // drawn anew only when something changed: a button under the finger stays
    drawn = now;
    byId("phones").replaceChildren(...body.phones.map(line));
  }
  const fresh = known ? body.phones.find(({ id }) => !known.has(id)) : null;
  known = new Set(body.phones.map(({ id }) => id));
  if (fresh) {
    endInvitation();
    byId("told").textContent = t("phones_came", { name: fresh.name });
  }
}

for (const button of document.querySelectorAll("[data-rights]")) button.addEventListener("click", () => invite(button.dataset.rights));
byId("links").addEventListener("change", (event) => show(Number(event.target.value)));
setInterval(() => { if (!document.hidden) { look(); showLeft(); } }, LOOK_EVERY_MS);
look();
