// The bench: photos in, areas always in sight, each step live once the one before has a number.
import * as api from "./api.js";
import { byId, h, put, tell } from "./dom.js";
import * as mend from "./mend.js";
import { makeCheckStep, makePriceStep } from "./money.js";
import { makePartStep, makeScaleStep } from "./part.js";
import * as picture from "./picture.js";
import { makePlanStep } from "./plan.js";
import * as results from "./results.js";
import { changed, chosenParts, onChange, photo, state } from "./state.js";
import { isUs, setSystem, text, total } from "./units.js";

const BIG_BYTES = 12e6, PREVIEW_PX = 3600;

// steps
let count = 0;
function makeStep(title) {
  const number = ++count, body = h("div", {});
  const section = h("section", { class: "step live", "aria-labelledby": `step-${number}` }, h("span", { class: "no", "aria-hidden": "true" }, number), h("h2", { id: `step-${number}` }, title), body);
  byId("steps").append(section);
  const set = (name) => { section.classList.remove("live", "done", "asleep"); section.classList.add(name); };
  return {
    body, set,
    enable(on) {
      for (const one of body.querySelectorAll("input, select, textarea, button")) one.disabled = !on;
      for (const one of [...body.children]) if (!one.classList.contains("wait")) one.hidden = !on;
      if (!on) set("asleep"); else if (section.classList.contains("asleep")) set("live");
    },
  };
}
/** What a person says of a doubtful region. */
function decide(at, kind) { photo().answers[kind].push(at); remeasure(); }
const views = [
  makeScaleStep(makeStep("Scale"), remeasure), makePartStep(makeStep("Part"), remeasure, choose, decide), makePlanStep(makeStep("Plan")),
  makePriceStep(makeStep("Price")), makeCheckStep(makeStep("Check somebody's figures")),
];
for (const view of views) onChange(view);
onChange(show);

// photos
const key = (one = photo()) => JSON.stringify([state.settings, one?.answers]);
function addFiles(files) {
  const photos = [...files].filter((file) => file.size);
  if (!photos.length) return;
  const first = state.photos.length;
  for (const file of photos) state.photos.push({ file, name: file.name || "photo", url: URL.createObjectURL(file), status: "waiting", result: null, error: null, edits: {}, answers: { hole: [], metal: [] } });
  open(first); pump();
}
function open(index) {
  stopMending();
  state.current = index; state.chosen = null;
  const now = photo();
  if (now && now.key !== key() && now.status !== "measuring") now.status = "waiting";
  changed("area"); pump();
}
let pumping = false;
async function pump() {
  if (pumping) return;
  pumping = true;
  for (;;) {
    const now = photo();
    const next = now && now.status === "waiting" ? now : state.photos.find((one) => one.status === "waiting");
    if (!next) break;
    await run(next);
  }
  pumping = false;
}
async function run(one) {
  const asked = key(one), settings = { ...state.settings, ...one.answers };
  one.status = "measuring";
  changed("status");
  const done = one === photo() ? picture.busy("Measuring") : () => {};
  if (!one.shown) await prepare(one);
  try {
    const result = await api.measure(one.file, settings);
    one.result = result; one.error = null; one.status = "measured";
    for (const [index, rings] of Object.entries(one.edits)) await correct(one, Number(index), rings).catch(() => { delete one.edits[index]; });
  } catch (error) {
    one.error = error; one.status = "refused";
    one.result = error.body && error.body.image ? { ...error.body, parts: [] } : null;
  }
  one.key = asked; done();
  if (one === photo() && one.key !== key()) one.status = "waiting";
  if (one === photo()) { changed("area"); tell(one.error ? `${one.error.message} ${one.error.remedy}` : `Measured: ${spoken()}`); } else changed("status");
}
/** A photo that the browser cannot show, or that is very large, is shown by a smaller copy. */
async function prepare(one) {
  one.shown = one.url;
  const ok = await new Promise((decided) => { const probe = new Image(); probe.onload = () => decided(probe.naturalWidth * probe.naturalHeight < 26e6 && one.file.size < BIG_BYTES * 4); probe.onerror = () => decided(false); probe.src = one.url; });
  if (ok) return;
  try { one.shown = URL.createObjectURL(await api.preview(one.file, PREVIEW_PX)); } catch { /* the measurement will say why */ }
}
function remeasure() {
  const now = photo();
  if (!now) { changed("status"); return; }
  // A measurement under way is left to end (the server would end it anyway); what was set since is measured next.
  if (now.key === key()) { changed("area"); return; }
  stopMending();
  if (now.status !== "measuring") now.status = "waiting";
  changed("status"); pump();
}
function choose(index) { state.chosen = index; stopMending(); changed("area"); }

// what is always in sight
const spoken = () => { const parts = chosenParts(); return parts.length ? text(total(parts.map((part) => part.plated_area))) : "no area"; };
function showAreas() {
  const parts = chosenParts(), now = photo();
  if (!parts.length) {
    const words = !now ? "no area yet" : now.error ? "no number: see the picture" : "measuring …";
    put(byId("area"), h("span", { class: "figure quiet" }, words)); return;
  }
  const sum = (name) => total(parts.map((part) => part[name]));
  const edges = parts.every((part) => part.sidewall_area), faces = { one: "one face", both: "both faces", all: "all over", walls: "edges only", foil: "one face and edges" }[parts[0].faces] || parts[0].faces;
  const stale = now.key !== key() || now.status === "measuring";
  const whole = now.result.parts.length;
  put(byId("area"), results.figure(sum("plated_area"), `figure${stale ? " stale" : ""}`), h("span", { class: "sub" },
    h("span", {}, "plated: ", h("b", {}, faces)), whole > 1 && h("span", {}, h("b", {}, state.chosen === null ? `${whole} parts` : `part ${parts[0].id}`)),
    parts[0].faces !== "one" && h("span", {}, "one face ", h("b", {}, text(sum("face_area")))), edges && h("span", {}, "edges ", h("b", {}, text(sum("sidewall_area")))), parts.some((part) => part.corrected) && h("b", {}, "corrected by hand")));
}
function showQueue() {
  const box = byId("queue");
  box.hidden = state.photos.length < 1;
  const words = { waiting: "waiting", measuring: "measuring …", refused: "refused" };
  put(box, state.photos.map((one, i) => h("button", { type: "button", "aria-current": String(i === state.current), onclick: () => open(i) }, h("span", { class: "file" }, one.name),
    h("span", { class: `state${one.status === "refused" ? " bad" : ""}` }, one.status === "measured" ? text(total(one.result.parts.map((part) => part.plated_area))) : words[one.status]))),
  h("button", { type: "button", onclick: () => byId("files").click() }, h("span", {}, "+ photo"), h("span", { class: "state" }, "add to the queue")));
}
function show(what) {
  showAreas(); showQueue();
  const now = photo();
  if (!now) { picture.clear(); return; }
  if (mend.isActive() && what !== "area") return;
  picture.showPhoto(now.shown || now.url, now.name, now.result?.image);
  picture.draw(now.result || {}, (now.result?.parts || []).map((part) => `${part.id}:  ${text(part.face_area)}`), state.chosen, (index) => choose(state.chosen === index ? null : index));
  for (const one of now.result?.questions || []) picture.ask(one);
  picture.refuse(now.status === "refused" ? now.error : null, api.plain);
  byId("legend").hidden = !now.result?.parts.length;
  byId("mend-start").hidden = !now.result?.parts.length || mend.isActive();
}

// correcting
let mending = null, turn = 0;
async function correct(one, index, rings) {
  const part = await api.post("/api/surface", { part: one.result.parts[index].before || one.result.parts[index], before_px: one.result.rings_px[index].before || one.result.rings_px[index], rings_px: rings, camera: one.result.camera });
  const before = one.result.parts[index].before || one.result.parts[index], beforePx = one.result.rings_px[index].before || one.result.rings_px[index];
  part.before = before; Object.defineProperty(part, "before", { enumerable: false });
  const drawn = rings.map((ring) => ring.map((point) => [...point]));
  Object.defineProperty(drawn, "before", { value: beforePx, enumerable: false });
  one.result.parts[index] = part; one.result.rings_px[index] = drawn; one.edits[index] = drawn;
}
byId("mend-start").addEventListener("click", () => {
  const now = photo(), index = state.chosen ?? 0;
  if (!now?.result?.parts[index]) return;
  state.chosen = index; changed("area");
  mending = { one: now, index };
  byId("mend").hidden = false; byId("mend-start").hidden = true;
  mend.start(now.result.rings_px[index], async (rings) => {
    const mine = ++turn;
    await new Promise((done) => setTimeout(done, 250));
    if (mine !== turn) return;
    try { await correct(now, index, rings); picture.refuse(null); changed("edit"); } catch (error) { picture.refuse(error, api.plain); }
  });
});
function stopMending() {
  if (!mending) return;
  mending = null; mend.stop();
  byId("mend").hidden = true; byId("mend-start").hidden = false; picture.refuse(null);
}
byId("mend-tools").addEventListener("click", (event) => {
  const name = event.target.closest("button")?.dataset.mend;
  if (name === "done") { stopMending(); changed("area"); } else if (name) mend.command(name);
});
picture.setHooks({ down: mend.down, placed: mend.placed });

// ways in
for (const button of document.querySelectorAll("[data-pick]")) button.addEventListener("click", () => byId(button.dataset.pick).click());
for (const id of ["camera", "files"]) byId(id).addEventListener("change", (event) => { addFiles(event.target.files); event.target.value = ""; });
byId("example").addEventListener("click", async () => {
  const response = await fetch("/api/example");
  addFiles([new File([await response.blob()], "pierced-badge.jpg", { type: "image/jpeg" })]);
});
let depth = 0;
const holdsFiles = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
window.addEventListener("dragenter", (event) => { if (holdsFiles(event)) { depth += 1; byId("drop").hidden = false; event.preventDefault(); } });
window.addEventListener("dragover", (event) => { if (holdsFiles(event)) event.preventDefault(); });
window.addEventListener("dragleave", () => { depth = Math.max(0, depth - 1); if (!depth) byId("drop").hidden = true; });
window.addEventListener("drop", (event) => { if (!holdsFiles(event)) return; event.preventDefault(); depth = 0; byId("drop").hidden = true; addFiles(event.dataTransfer.files); });
window.addEventListener("paste", (event) => { if (event.clipboardData?.files.length) addFiles(event.clipboardData.files); });

// units and light
function useUnits(name) {
  setSystem(name); localStorage.setItem("areakit.units", name);
  const button = byId("units");
  button.textContent = isUs() ? "in" : "mm"; button.setAttribute("aria-pressed", String(isUs())); button.setAttribute("aria-label", `${isUs() ? "in: US" : "mm: metric"} units, switch`);
}
byId("units").addEventListener("click", () => { useUnits(isUs() ? "metric" : "us"); changed("units"); });
const dark = matchMedia("(prefers-color-scheme: dark)");
function useLight(name) { document.documentElement.dataset.theme = name || (dark.matches ? "dark" : "light"); }
byId("theme").addEventListener("click", () => {
  const next = document.documentElement.dataset.theme === "dark" ? "light" : "dark";
  localStorage.setItem("areakit.light", next); useLight(next);
});
dark.addEventListener("change", () => useLight(localStorage.getItem("areakit.light")));
useLight(localStorage.getItem("areakit.light"));
useUnits(localStorage.getItem("areakit.units") || "metric");

try {
  [{ processes: state.processes }, { requirements: state.requirements }, { words: state.words }] = await Promise.all(["processes", "requirements", "words"].map((name) => api.get(`/api/${name}`)));
  changed("choices");
} catch (error) { picture.refuse(error, api.plain); }
byId("stage").classList.add("empty");
changed("area");
