// Readings that do not get in: said in view with the reason, to be copied, saved as a file, or thrown away by a person.
import { byId, h, put, tell } from "./dom.js";
import * as outbox from "./outbox.js";
import { todo } from "./places.js";
import { onChange } from "./state.js";

const counted = (count) => `${count} reading${count === 1 ? "" : "s"}`;
const said = ({ body }) => (body.stop ? "switched off" : body.current);
const line = (one) => `job ${one.number}, run ${one.body.run}, ${one.body.at}: ${said(one)}`;
const onPaper = (all) => `${all.map(line).join("\n")}\n`;

function save(all) {
  const url = URL.createObjectURL(new Blob([onPaper(all)], { type: "text/plain" }));
  h("a", { href: url, download: `readings-of-${all[0].number.replace(/[^A-Za-z0-9-]+/g, "-")}.txt` }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
function discard(all) {
  if (!window.confirm(`Throw away ${counted(all.length)} of job ${all[0].number}? ${all.length === 1 ? "It is" : "They are"} kept nowhere else.`)) return;
  outbox.discard(new Set(all.map(({ key }) => key))); tell("Thrown away.");
}
/** Readings of one job with one reason. */
function group(all) {
  const [{ number, why, refused }] = all;
  const copy = h("button", { type: "button", onclick: async () => { await navigator.clipboard.writeText(onPaper(all)); copy.textContent = "Copied"; tell("Copied."); } }, "Copy");
  const gone = why.code === "NO_JOB", words = gone ? `the record of this server has no job ${number}.` : why.message;
  return h("div", { class: "said" }, h("p", {}, h("b", {}, `${counted(all.length)} of job ${number} cannot be kept${refused ? "" : " yet"}: ${words}`), " ", gone ? "Start the server with the record that holds it; or keep a copy, and discard them here." : todo(why)),
    h("details", {}, h("summary", {}, "Show"), h("ul", {}, all.map((one) => h("li", {}, line(one))))),
    h("div", { class: "actions" }, navigator.clipboard && copy, h("button", { type: "button", onclick: () => save(all) }, "Save as a file"), h("button", { type: "button", onclick: () => discard(all) }, "Discard")));
}
let shown = "";
function show() {
  const all = outbox.stuck(), look = JSON.stringify(all);
  if (look === shown) return;
  shown = look;
  const keyOf = ({ number, why }) => `${number} ${why.message}`, groups = [...new Set(all.map(keyOf))].map((key) => all.filter((one) => keyOf(one) === key));
  byId("stuck").hidden = !all.length;
  put(byId("stuck"), groups.map(group));
}
onChange((what) => { if (what === "outbox") show(); });
