// The bench: photos in, areas always in sight, each step live once the one before has a number.
import * as api from "./api.js";
import * as draft from "./draft.js";
import { byId, h, put, tell } from "./dom.js";
import * as job from "./job.js";
import * as live from "./live.js";
import * as mend from "./mend.js";
import * as outbox from "./outbox.js";
import { makeCheckStep, makePriceStep } from "./money.js";
import { makePartStep } from "./part.js";
import * as photos from "./photos.js";
import * as picture from "./picture.js";
import { makePlanStep } from "./plan.js";
import { makeRecordStep } from "./record.js";
import * as results from "./results.js";
import { makeRunStep } from "./run.js";
import { makeScaleStep } from "./scale.js";
import { changed, onChange, photo, state } from "./state.js";
import { makeStep } from "./steps.js";
import "./stuck.js";
import { showStrip } from "./strip.js";
import { isUs, setSpellings, setSystem, text, total } from "./units.js";

// steps
function remeasure() { stopMending(); photos.remeasure(); }
function choose(index) {
  stopMending(); state.chosen = index; changed("area");
  const ring = photo()?.result?.rings_px[index]?.[0], stage = byId("stage"), { top, bottom } = stage.getBoundingClientRect();
  if (!ring) { picture.goHome(); return; }
  picture.reveal(ring);
  if (bottom < innerHeight / 4 || top > innerHeight * 0.75) stage.scrollIntoView({ block: "start" });
}
/** What a person says of a doubtful region, and takes back. */
function decide(at, kind) {
  const { answers } = photo();
  for (const name of ["hole", "metal", "stop_off"]) answers[name] = answers[name].filter((one) => one !== at);
  if (kind) answers[kind].push(at);
  byId("prompt").hidden = true; picture.goHome(); remeasure();
}
function asking(one) {
  const prompt = byId("prompt"), answer = (kind, words) => h("button", { type: "button", onclick: () => decide(one.at, kind) }, words);
  put(prompt, h("div", {}, h("p", {}, results.asked(one).text), Object.entries(results.asked(one).answers).map(([kind, words]) => answer(kind, words)), h("button", { type: "button", onclick: () => { prompt.hidden = true; picture.goHome(); byId("stage").focus(); } }, "Later")));
  picture.lookAt(one.at_px);
  prompt.hidden = false; prompt.querySelector("button").focus();
}
const quiet = { quiet: true };
const views = [
  makeScaleStep(makeStep("Scale", quiet), remeasure), makePartStep(makeStep("Part"), remeasure, choose, decide), makePlanStep(makeStep("Plan")),
  makePriceStep(makeStep("Price", quiet)), makeCheckStep(makeStep("Check somebody's figures", quiet)), makeRunStep(makeStep("Run", quiet)), makeRecordStep(makeStep("Record")),
];
for (const view of views) onChange(view);
onChange(show);

// what is always in sight
function showQueue() {
  const box = byId("queue"), words = { waiting: "waiting", measuring: "measuring …", refused: "refused", gone: "server gone" };
  box.hidden = state.photos.length < 1;
  put(box, state.photos.map((one, i) => h("button", { type: "button", "aria-current": String(i === state.current), onclick: () => { stopMending(); photos.open(i); } }, h("span", { class: "file" }, one.name),
    h("span", { class: `state${one.error ? " bad" : ""}` }, one.status === "measured" ? text(total(one.result.parts.map((part) => part.plated_area))) + results.without(one.result) : words[one.status]))),
  photo()?.result?.parts.length > 0 && h("button", { type: "button", id: "again", onclick: () => takeAgain("camera") }, h("span", {}, "Take again"), h("span", { class: "state" }, "in its place")),
  h("button", { type: "button", onclick: () => byId("files").click() }, h("span", {}, "+ photo"), h("span", { class: "state" }, "add to the queue")),
  state.photos.length > 0 && h("button", { type: "button", id: "clear", onclick: clear }, h("span", {}, "Clear"), h("span", { class: "state" }, "begin anew")));
}
/** Take everything off the page; what a job holds stays with it. */
function clear() {
  const open = !state.job || job.missing().length > 0;
  if (open && !window.confirm("Take the photos and what was typed off this page? No job holds them yet.")) return;
  stopMending(); draft.forget();
}
function show(what) {
  showStrip(); showQueue();
  const now = photo();
  if (!now) { picture.clear(); return; }
  if (mend.isActive() && what !== "area") return;
  if (["job", "outbox", "plan", "quote", "strip"].includes(what)) return;
  if (now.shown) picture.showPhoto(now.shown, now.name, now.result?.image); else picture.blank(now.status === "refused" ? `No picture of ${now.name} can be shown.` : `The picture of ${now.name} follows.`);
  const seen = now.result?.seen?.crossing_px, rings = now.result?.rings_px || [];
  picture.home(rings.length ? rings.map((one) => [one[0]]) : seen?.length ? [seen] : []);
  picture.draw(now.result || {}, (now.result?.parts || []).map((part) => `${part.id}:  ${text(part.plated_area)}`), state.chosen, (index) => choose(state.chosen === index ? null : index));
  for (const one of now.result?.questions || []) picture.ask(one, () => asking(one));
  picture.refuse(now.status === "refused" || now.status === "gone" ? now.error : null, now.status === "refused" && !now.result?.parts.length && takeAgain, !byId("aim-start").hidden);
  byId("legend").hidden = !now.result?.parts.length;
  for (const key of byId("legend").children) { const kind = key.className.replace("key ", ""); key.hidden = ["stop_off", "significant", "form"].includes(kind) && !(now.result?.regions_px || []).flat().some((one) => one?.kind === kind); }
  byId("mend-start").hidden = now.status !== "measured" || mend.isActive();
}

// correcting
let mending = false, turn = 0;
byId("mend-start").addEventListener("click", () => {
  const now = photo(), index = state.chosen ?? 0;
  if (!now?.result?.parts[index]) return;
  state.chosen = index; changed("area");
  mending = true;
  byId("mend").hidden = byId("mend-bar").hidden = false; byId("mend-start").hidden = true; byId("stage").classList.add("mending");
  mend.start(now.result.rings_px[index], now.result.regions_px[index] || [], async (rings, regions) => {
    const mine = ++turn;
    await new Promise((done) => setTimeout(done, 250));
    if (mine !== turn) return;
    const done = picture.busy("Working it out");
    try { await photos.correct(now, index, { rings, regions }); picture.refuse(null); changed("edit"); } catch (error) { picture.refuse(error); } finally { done(); }
  });
});
function stopMending() {
  if (!mending) return;
  mending = false; mend.stop(); byId("stage").classList.remove("mending");
  byId("mend").hidden = byId("mend-bar").hidden = true; byId("mend-start").hidden = false; picture.refuse(null);
}
for (const id of ["mend-tools", "mend-bar"]) byId(id).addEventListener("click", (event) => {
  const name = event.target.closest("button")?.dataset.mend;
  if (name === "done") { stopMending(); changed("area"); byId("mend-start").focus(); } else if (name) mend.command(name);
});

// ways in
let retaken = null;
/** Take the photo again, or choose another in its place; what is said of the part stays. */
function takeAgain(how) {
  const { edits, answers } = photo();
  if ((Object.keys(edits).length || Object.values(answers).flat().length) && !window.confirm("What was corrected and answered on this photo goes with it. Take it again?")) return;
  if (how === "aim") { const index = state.current; live.start((file) => photos.replace(index, file)); return; }
  retaken = state.current; byId(how).click();
}
for (const button of document.querySelectorAll("[data-pick]")) button.addEventListener("click", () => byId(button.dataset.pick).click());
for (const id of ["camera", "files"]) byId(id).addEventListener("change", (event) => {
  stopMending();
  const [first, ...more] = event.target.files;
  if (retaken !== null && first) { photos.replace(retaken, first); if (more.length) photos.addFiles(more); } else photos.addFiles(event.target.files);
  retaken = null; event.target.value = "";
});
for (const id of ["camera", "files"]) byId(id).addEventListener("cancel", () => { retaken = null; });
live.isThere().then((there) => { byId("aim-start").hidden = !there; });
byId("aim-start").addEventListener("click", () => live.start((file) => photos.addFiles([file])));
byId("example").addEventListener("click", async () => {
  try {
    const response = await fetch("/api/example");
    photos.addFiles([new File([await response.blob()], "pierced-badge.jpg", { type: "image/jpeg" })]);
  } catch { byId("gone").hidden = false; }
});
let depth = 0;
const holdsFiles = (event) => event.dataTransfer && [...event.dataTransfer.types].includes("Files");
window.addEventListener("dragenter", (event) => { if (holdsFiles(event)) { depth += 1; byId("drop").hidden = false; event.preventDefault(); } });
window.addEventListener("dragover", (event) => { if (holdsFiles(event)) event.preventDefault(); });
window.addEventListener("dragleave", () => { depth = Math.max(0, depth - 1); if (!depth) byId("drop").hidden = true; });
window.addEventListener("drop", (event) => { if (!holdsFiles(event)) return; event.preventDefault(); depth = 0; byId("drop").hidden = true; stopMending(); photos.addFiles(event.dataTransfer.files); });
window.addEventListener("paste", (event) => { if (event.clipboardData?.files.length) { stopMending(); photos.addFiles(event.clipboardData.files); } });

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
changed("units");

// the server: its lists, and what happens while it is gone
let ready = false;
async function begin() {
  let spellings;
  [{ processes: state.processes }, { requirements: state.requirements }, { words: state.words }, { copies: state.copies }, { units: spellings }, state.limits] = await Promise.all(["processes", "requirements", "words", "sheet-copies", "units", "about"].map((name) => api.get(`/api/${name}`)));
  setSpellings(spellings); ready = true; showSheets(); changed("choices");
  await job.restore();
  if (state.limits.lan) offerPhone();
  const before = await draft.found();
  if (before?.own) await goOn(before); else if (before) offer(before);
}
/** After a reload: the photos, what was said of them, and the plan, as they were. */
async function goOn(before) {
  const index = await draft.restore(before, photos.made);
  if (index >= 0) photos.open(index, before.document.chosen);
}
function offer(before) {
  const button = byId("go-on");
  button.textContent = `Go on with ${before.document.photos.length > 1 ? `your ${before.document.photos.length} photos` : before.document.photos[0].name}`;
  button.hidden = false;
  button.onclick = () => { button.hidden = true; goOn(before).catch(picture.refuse); };
}
api.onReach((back) => {
  byId("gone").hidden = back;
  tell(back ? "The server is back." : "The server does not answer. What was kept is safe.");
  if (!back) return;
  if (!ready) begin().then(() => changed("area")).catch(picture.refuse);
  photos.again(); job.refresh().catch(() => {});
});
/** Whatever a job does not hold yet, and a current that is on, is worth a question. */
addEventListener("beforeunload", (event) => {
  const open = state.photos.length > 0 && (!state.job || job.missing().length > 0), live = state.job?.runs.some((run) => run.current > 0);
  if (open || live || outbox.any()) event.preventDefault();
});
/** On the computer that serves, in LAN mode: the code that lets the next device in. */
async function offerPhone() {
  const box = byId("invite"), button = byId("phone");
  const show = async () => {
    const { link, svg } = await api.get("/api/invite");
    put(box, h("h2", { id: "invite-title" }, "Let a phone or tablet in"), h("img", { src: `data:image/svg+xml,${encodeURIComponent(svg)}`, alt: "Code with the one-time link", width: "260", height: "260" }), h("p", { class: "small" }, link), h("p", {}, "It lets in one device. Press “Next device” for another."), link.startsWith("https:") && h("p", { class: "small" }, "The device warns once that it does not know this server: it made its certificate itself. The window that the server runs in shows the fingerprint to compare."),
      h("div", { class: "actions" }, h("button", { type: "button", onclick: () => show() }, "Next device"), h("button", { type: "button", class: "go", onclick: () => box.close() }, "Close")));
  };
  try { await api.get("/api/invite"); } catch { return; }
  button.hidden = false;
  button.onclick = async () => { await show().catch(picture.refuse); box.showModal(); };
}
function showSheets() {
  const papers = [...new Set(state.words.sheets.map((one) => one.title))];
  put(byId("sheet-list"), papers.map((title) => h("li", {}, h("span", {}, title), state.words.sheets.filter((one) => one.title === title).map((one) => h("a", { class: "button", href: `/api/sheets/${one.key}`, download: "" }, `${one.ground}, PDF`)))));
}
/** What is below the strip must know how tall it is. */
new ResizeObserver(([one]) => document.documentElement.style.setProperty("--strip", `${Math.round(one.borderBoxSize[0].blockSize)}px`)).observe(document.querySelector(".strip"));
byId("stage").classList.add("empty");
try { await begin(); } catch (error) { picture.refuse(error); }
changed("area");
