// The panel of a run: charge and passes that are left, large enough to read at arm's length, and where the brush is.
// Between two readings the charge goes on at the last current; every reading brings the journal's own figures.
import { onReach, serverNow } from "./api.js";
import { byId, h, put, tell } from "./dom.js";
import * as job from "./job.js";
import * as outbox from "./outbox.js";
import * as results from "./results.js";
import * as sound from "./sound.js";
import { onChange, state } from "./state.js";
import { player } from "./strokes.js";
import { lastPlace, number, rounded, setting, text } from "./units.js";
import { unitField } from "./unitfield.js";

const SECOND = 1000, MINUTE = 60;
/** A reading this many times above the planned peak, or below the planned mean, is asked about: a slip of the unit is at least ten. */
const UNLIKELY = 4;
let entry = null, ticking = null, reached = false, strokes = null, awake = null, wanted = false, asking = false, told = 0, doubted = "";

const box = byId("panel");
const label = h("p", { class: "label" }, "to go"), title = h("h2", { id: "panel-title" }), left = h("strong", { id: "to-go", class: "to-go" }), unit = h("span", { class: "of" });
const bar = h("div", { class: "gauge", role: "progressbar", "aria-valuemin": "0", "aria-valuemax": "100", "aria-label": "Charge run, of the charge to run" }, h("span", {}));
const charge_ = h("p", { id: "charge-to-go", class: "figures" }), done = h("p", { class: "figures" }), passes = h("p", { id: "passes", class: "passes" }), found = h("div", {}), brush = h("div", { class: "brush-view" }), said = h("div", {});
const current = unitField("Current now", "current", { id: "current", inputmode: "decimal", examples: { A: "1.2" }, onkeydown: (event) => { if (event.key === "Enter") { event.preventDefault(); set(); } } });
const setButton = h("button", { type: "button", class: "go", id: "set-current", onclick: () => set() }, "Record: current on");
const offButton = h("button", { type: "button", id: "current-off", onclick: () => off() }, "Record: switched off");
const plannedButton = h("button", { type: "button", id: "planned-current", hidden: true, onclick: () => { current.input.value = plannedButton.dataset.amps; set(); } });
/** One press arms the sound, the next one silences it: a browser lets no page ring before somebody pressed something. */
const loud = h("button", { type: "button", id: "sound", onclick: () => { if (sound.isOn() && !sound.isArmed()) sound.ready(); else sound.setOn(!sound.isOn()); setTimeout(showSound, 100); } });
const arm = byId("arm");
arm.addEventListener("click", () => { sound.setOn(true); setTimeout(showSound, 100); });
function showSound() {
  const will = sound.isOn() && sound.isArmed();
  loud.setAttribute("aria-pressed", String(will)); loud.classList.toggle("silent", !will);
  loud.textContent = will ? "Will ring" : sound.isOn() ? "Will not ring: press here" : "Sound off: will not ring";
  arm.hidden = will || box.open || !ticking || box.dataset.live !== "yes";
}
put(box, h("div", { class: "panel-head" }, title, loud, h("button", { type: "button", id: "panel-close", onclick: () => box.close() }, "Close")),
  h("div", { class: "panel-main" }, h("div", { class: "readout" }, label, h("p", { class: "large" }, left, unit), bar, charge_, done, passes, found), brush),
  h("div", { class: "panel-foot" }, current.element, plannedButton, setButton, offButton, h("p", { class: "small" }, "This page records; it does not switch the supply."), said));

/** Open the panel for a step that was begun, with the strokes of its plan where there are some. */
export function show(number, laid) {
  watch(number);
  strokes = laid ? player(laid, { controls: false }) : null;
  put(brush, strokes && strokes.element); brush.hidden = !strokes;
  box.showModal(); sound.ready(); setTimeout(showSound, 100);
  refresh(); current.input.focus();
}
/** Watch a run without showing it: at its target the panel opens by itself. */
export function watch(number) {
  if (entry === number && ticking) return;
  entry = number; reached = false; told = 0; doubted = ""; box.dataset.reached = "no";
  refresh();
}
export const watched = () => (ticking ? entry : null);
box.addEventListener("close", () => { sound.hush(); tick(); });
onChange((what) => { if (ticking && (what === "job" || what === "outbox" || what === "units")) refresh(); });
document.addEventListener("visibilitychange", () => { if (!document.hidden) tick(); });
/** While a current is on, or the panel is open, the screen stays on; a browser takes the lock away when it hides the page. */
async function keepAwake(on) {
  wanted = on;
  if (!on) { awake?.release(); awake = null; return; }
  if (awake || asking || document.hidden || !navigator.wakeLock) return;
  asking = true;
  try {
    const lock = await navigator.wakeLock.request("screen");
    lock.addEventListener("release", () => { if (awake === lock) awake = null; });
    if (wanted) awake = lock; else lock.release();
  } catch { /* a device that saves power says no; the next tick asks again */ } finally { asking = false; }
}

onReach((back) => put(said, !back && h("p", { class: "waiting", role: "status" }, "The server does not answer. Go on: what you type here waits on this device, and is kept once it is back.")));

const runNow = () => state.job?.runs.find((one) => one.entry === entry) || null;
/** Readings of this run in the order of their times: those kept, then those on their way. */
function readings() {
  const kept = state.job.entries.filter((one) => one.kind === "reading" && !one.withdrawn && one.doc.run === entry).map((one) => ({ at: Date.parse(one.doc.at), amps: one.doc.current, stop: one.doc.stop || !one.doc.current }));
  const going = outbox.pending(state.job.number, entry).map(({ body }) => ({ at: Date.parse(body.at), amps: body.current ? number(body.current, "current") : 0, stop: Boolean(body.stop) }));
  return [...kept, ...going].sort((a, b) => a.at - b.at);
}
/** Charge [A·min], seconds with current, and the current at this moment; what the journal has not seen yet is added. */
function standing(run) {
  const all = readings(), last = all.at(-1), kept = all.length - outbox.pending(state.job.number, entry).length;
  let charge = run.charge.value, live = run.live_seconds;
  const step = (from, to, amps) => { const seconds = Math.max(0, (to - from) / SECOND); charge += amps * seconds / MINUTE; live += seconds; };
  for (let i = Math.max(1, kept); i < all.length; i += 1) if (!all[i - 1].stop) step(all[i - 1].at, all[i].at, (all[i - 1].amps + (all[i].amps || all[i - 1].amps)) / 2);
  const flows = Boolean(last) && !last.stop;
  if (flows) step(last.at, serverNow().getTime(), last.amps);
  return { charge, live, amps: flows ? last.amps : 0, last };
}

function refresh() {
  const run = runNow();
  if (!run) return;
  title.textContent = `${run.title}, job ${state.job.number}`;
  const stopped = !standing(run).amps;
  plannedButton.classList.toggle("go", stopped);
  setButton.textContent = stopped ? "Record: current on" : "Record: current changed"; offButton.disabled = stopped;
  const amps = planned()?.shown;
  plannedButton.hidden = !amps; setButton.classList.toggle("go", !amps || !stopped); plannedButton.dataset.amps = amps ? `${amps} A` : ""; plannedButton.textContent = `${plannedButton.dataset.amps} as planned`;
  put(found, results.notes(run.findings.map((one) => ({ ...one, remedy: `${one.why} ${one.remedy}` }))));
  tick();
  if (!ticking) { ticking = new Worker("/static/ticker.js"); ticking.onmessage = tick; }
}

const layerOf = (run) => job.planOf()?.layers.find((one) => one.metal === run?.metal);
/** Mean and peak current of the plan for this run [A], null where it has none, or goes by volts and a watch. */
function planned() {
  const layer = layerOf(runNow()), how = layer?.brush || layer?.tank;
  if (!how || layer.by_volts) return null;
  const mean = (how.mean_current || how.current)?.value;
  return mean ? { mean, shown: Number(mean.toPrecision(2)), peak: (how.peak_current || how.current).value } : null;
}

function tick() {
  const run = runNow();
  if (!run) return;
  const { charge, live, amps, last } = standing(run), target = run.target?.value;
  const waiting = outbox.late(state.job.number);
  box.dataset.live = amps ? "yes" : "no";
  keepAwake(Boolean(amps) || box.open);
  showSound();
  if (!amps && !box.open) { ticking?.terminate(); ticking = null; return; }
  strokes?.seek(live);
  put(done, amps || outbox.pending(state.job.number, entry).length ? `run: ${target ? charge.toFixed(places(target)) : rounded(charge, charge / 100)} A·min` : `run: ${text(run.charge)}`, run.minimum?.value > 0 && ` · minimum at the last reading ${text(run.minimum)}`, waiting > 0 && h("b", { class: "waiting" }, ` ${waiting} reading${waiting > 1 ? "s" : ""} not kept yet`));
  if (!target) { left.textContent = rounded(charge, run.charge.expanded_uncertainty); unit.textContent = " A·min run"; bar.hidden = true; put(passes); put(charge_); return; }
  const rest = Math.max(0, target - charge), over = charge - target, share = Math.min(1, charge / target), at = amps || planned()?.shown, spread = run.target.expanded_uncertainty || target / 100;
  const [time, of] = at ? countdown(rest / at * MINUTE) : [rounded(rest, spread), " A·min"];
  left.textContent = over > 0 ? `+${rounded(over, over / 10)}` : time; left.dataset.long = left.textContent.length > 5 ? "yes" : "no"; label.textContent = over > 0 ? "past the target" : "to go";
  unit.textContent = over > 0 ? ` A·min over${amps ? ", cut now" : ""}` : of;
  put(charge_, over > 0 ? `target ${rounded(target, spread)} A·min${amps ? "," : ""}` : `${rounded(rest, Math.min(spread, rest / 2))} A·min to go`, amps ? ` at ${amps} A` : at && over <= 0 && ` at the planned ${at} A`);
  box.dataset.over = amps && over > 0 ? "yes" : "no";
  bar.hidden = false; bar.firstChild.style.width = `${100 * share}%`; bar.setAttribute("aria-valuenow", String(Math.round(100 * share)));
  const shown = rest > 0 ? counted(run, rest / target) : [];
  put(passes, ...shown, !amps && last && rest > 0 && pause(last, shown.length ? " · " : ""));
  if (amps) speak(rest, rest / amps * MINUTE);
  if (rest <= 0 && !reached && amps) { reached = true; box.dataset.reached = "yes"; if (!box.open) box.showModal(); sound.ring(); tell("The target is reached. Cut the current."); }
}
/** The passes of all pieces of a run, as planned for one; of a plan by volts and a watch what it says, since no charge counts its passes. */
function counted(run, share) {
  const { brush, by_volts: watch } = layerOf(run) || {}, { pieces } = state.job.entries.find((one) => one.number === run.entry).doc;
  if (watch) return [`planned: ${setting(watch.volts)}, ${setting(watch.time)}, ${watch.passes_set} passes${pieces > 1 ? " each" : ""}`];
  return brush ? passesLeft({ value: pieces * brush.passes.value, expanded_uncertainty: pieces * brush.passes.expanded_uncertainty }, share) : [];
}
/** Passes over the whole plated area that are left of those planned, for a share of the charge; a step counts once it is done whole. */
export function passesLeft({ value, expanded_uncertainty: spread }, share) {
  const step = value < 100 || !spread ? 1 : 10 ** lastPlace(value, spread), all = step > 1 ? Math.round(value / step) * step : Math.ceil(value - 1e-9);
  const fine = all * share < 100 ? 1 : step, left = Math.ceil(all * share / fine - 1e-9) * fine;
  return [spread > all / 20 ? "about " : "", h("b", {}, left), ` of ${all} pass${all === 1 ? "" : "es"} to go`];
}
/** Decimals to a thousandth of the target, about: what is run is no better known while it is little. */
const places = (target) => Math.max(0, 2 - Math.floor(Math.log10(target)));
/** The time that is left, and its unit: minutes and seconds; from 100 minutes on hours and minutes, told apart from afar by an h. */
const countdown = (seconds) => (seconds < 6000 ? [clock(Math.ceil(seconds)), " min"] : [clock(Math.ceil(seconds / MINUTE)).replace(":", "h"), " hours and minutes"]);
const clock = (seconds) => `${Math.floor(seconds / MINUTE)}:${String(Math.floor(seconds % MINUTE)).padStart(2, "0")}`;
function pause(last, before) {
  const seconds = Math.max(0, (serverNow().getTime() - last.at) / SECOND), long = seconds > (runNow()?.pause_limit ?? Infinity);
  return h("span", { class: long ? "pause long" : "pause" }, `${before}current off for ${clock(seconds)}${long ? ": activate again before you go on" : ""}`);
}
/** For those who listen: at half, at the last minute, at the last ten seconds. */
function speak(rest, seconds) {
  const level = seconds <= 10 ? 3 : seconds <= 60 ? 2 : rest <= runNow().target.value / 2 ? 1 : 0;
  if (level > told) { told = level; tell(`${rest.toFixed(2)} ampere minutes to go, ${clock(seconds)}.`); }
}

async function send(body) {
  if (!said.querySelector(".waiting")) put(said);
  sound.ready();
  try { await outbox.put(state.job.number, { run: entry, ...body }); } catch (error) { put(said, results.said(error)); said.scrollIntoView({ block: "nearest" }); }
  refresh();
}
function set() {
  if (!current.text) { put(said, results.said({ message: "There is no current yet.", remedy: "Read it off the supply and type it." })); current.input.focus(); return; }
  const amps = number(current.text, "current");
  if (!(amps > 0)) { put(said, results.said({ message: `“${current.text}” is not a current.`, remedy: "Write it as 1.2 A or 800 mA." })); current.input.focus(); return; }
  const plan = planned();
  if (plan && (amps > UNLIKELY * plan.peak || amps < plan.mean / UNLIKELY) && doubted !== current.text) { doubt(amps, plan); return; }
  doubted = "";
  if (box.dataset.reached === "yes") { reached = false; box.dataset.reached = "no"; sound.hush(); }
  send({ current: current.text });
}
/** Nothing is kept before somebody has said that the figure is meant: it would shift the whole count. */
function doubt(amps, plan) {
  const times = amps > plan.peak ? `${Number((amps / plan.mean).toPrecision(2))} times` : `${Number((100 * amps / plan.mean).toPrecision(2))} % of`, typed = current.text;
  put(said, h("div", { class: "said", role: "alert" }, h("b", {}, `${Number(amps.toPrecision(3))} A is ${times} the ${plan.shown} A of the plan. Is it meant?`),
    h("div", { class: "actions" }, h("button", { type: "button", id: "meant", onclick: () => { doubted = typed; put(said); set(); } }, `Yes, record ${typed}`), h("button", { type: "button", onclick: () => { put(said); current.input.select(); current.input.focus(); } }, "Type it again"))));
  said.scrollIntoView({ block: "nearest" });
}
function off() { sound.hush(); box.dataset.reached = "no"; send({ stop: true }); }
