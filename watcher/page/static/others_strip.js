// Under the bench's own moulds: one line for each other bench, on which a tap leads to all of them.
import { byId, data, make, setFlag, up } from "./boot.js";
import { callsWords, casting, dueWords, followOthers, heardWords } from "./others.js";
import { seconds } from "./units.js";

const { zone } = data("bench");

function line(bench, now) {
  const item = make("li");
  const link = make("a");
  link.href = `${up}benches`;
  const [first] = casting(bench);
  link.append(make("strong", "", bench.bench_id));
  if (first) link.append(make("span", "", `${first.name}: ${dueWords(first, now, zone)}`));
  if (callsWords(bench)) link.append(make("span", "other-call", callsWords(bench)));
  link.append(make("span", "other-heard", heardWords(bench, zone)));
  setFlag(link, "silent", String(bench.silent));
  item.append(link);
  return item;
}

followOthers((given) => {
  const list = byId("strip");
  if (document.activeElement?.closest("#strip")) return;
  list.replaceChildren(...given.benches.map((bench) => line(bench, seconds(given.now))));
  byId("strip-box").hidden = given.benches.length === 0;
})();
