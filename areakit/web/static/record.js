// Step 7: the record of the job, what can be added to it, and its traveller.
import { file, post } from "./api.js";
import { choice, field, h, put, tell } from "./dom.js";
import * as job from "./job.js";
import * as pick from "./pick.js";
import * as results from "./results.js";
import { photo, state } from "./state.js";
import { unitField } from "./unitfield.js";

const KINDS = { opened: "opened", photographed: "photo", measured: "area", required: "asked for", planned: "plan", quoted: "quote", step: "step", reading: "current", weighed: "mass", tested: "test", defect: "defect", reworked: "rework", signed: "sign-off", certified: "certificate", remarked: "remark" };

export function makeRecordStep(step) {
  const forms = [weighing(), trial(), defect(), remark(), signOff()];
  const list = h("ol", { class: "entries" }), said = h("div", { role: "status" }), links = h("div", { class: "actions" }), released = h("div", { class: "actions" }), written = h("div", {});
  const holder = h("div", {}, list, forms.map((one) => one.element), said, h("h3", {}, "Traveller"), links, released, written);
  step.body.append(h("p", { class: "small wait" }, "Waits for a job."), holder);

  /** A fold with a form; it is emptied only after the entry was kept. */
  function form(title, fields, read, words = "Keep") {
    const go = h("button", { type: "button", class: "go soft", onclick: send }, words), box = h("details", {}, h("summary", {}, title), h("div", { class: "form" }, fields), h("div", { class: "actions" }, go));
    async function send() {
      go.disabled = true; put(said);
      try {
        const { kind, body, clear } = read(), made = await job.add(kind, body);
        clear?.(); box.open = false;
        const words = [`Kept as entry ${made.entry}.`, ...made.outcomes.map((one) => one.words)].join(" ");
        put(said, h("p", { class: "small" }, words)); tell(words);
      } catch (error) { put(said, results.said(error)); } finally { go.disabled = false; }
    }
    return { element: box, box };
  }
  const empty = (...inputs) => () => { for (const one of inputs) one.value = ""; };

  function weighing() {
    const when = choice([["before", "before plating"], ["after", "after plating"]], "before"), mass = unitField("Mass of all pieces", "mass", { examples: { g: "41.200 ± 0.002" }, sign: "±" });
    return form("Weigh", [field("When", when), mass.element], () => ({ kind: "weighed", body: { when: when.value, mass: mass.text }, clear: empty(mass.input) }));
  }
  function trial() {
    const method = choice([], ""), result = choice([["pass", "pass"], ["fail", "fail"], ["value", "a value"]], "pass"), place = h("input", { autocomplete: "off", placeholder: "front, at the edge" }), value = unitField("Thickness found", "layer", { examples: { um: "0.61 ± 0.06", uin: "24 ± 2" }, sign: "±" });
    const made = form("Test", [field("Method", method), field("Result", result), field("Where", place), value.element], () => ({ kind: "tested", body: { method: method.value, result: result.value, place: place.value.trim(), ...(value.text && { value: value.text }) }, clear: empty(place, value.input) }));
    return { ...made, fill: () => put(method, state.words.tests.map((one) => h("option", { value: one.key, selected: one.key === "tape" }, `${one.title} (${one.purpose})`))) };
  }
  function defect() {
    const what = h("input", { autocomplete: "off", placeholder: "pit" }), place = h("p", { class: "small" }, "No place shown yet.");
    let points = [];
    const show = h("button", { type: "button", onclick: () => pick.start({ words: (count) => (count ? "Close the line now for one point, or go on round a region." : "Tap the defect; for a region tap round it."), least: 1, closed: true, done: placed }) }, "Show it on the photo");
    async function placed(tapped) {
      const now = photo(), index = state.chosen ?? 0;
      if (tapped.length === 2) { put(said, results.said({ message: "Two points are neither a place nor a region.", remedy: "Tap one point, or three and more round a region." })); return; }
      try {
        points = (await post("/api/place", { part: now.measured.parts[index], before_px: now.measured.rings_px[index], points_px: tapped, camera: now.measured.camera })).points_mm;
        place.textContent = points.length > 1 ? `Region of ${points.length} points.` : `At (${points[0].map((value) => value.toFixed(1)).join(", ")}) mm.`;
      } catch (error) { put(said, results.said(error)); }
    }
    return form("Defect", [field("What", what), h("div", { class: "actions" }, show, place)], () => ({ kind: "defect", body: { what: what.value.trim(), points_mm: points }, clear: () => { what.value = ""; points = []; place.textContent = "No place shown yet."; } }));
  }
  function remark() {
    const words = h("input", { autocomplete: "off" }), kind = choice([["remarked", "remark"], ["required", "what was asked for"], ["reworked", "what was done again"]], "remarked");
    return form("Remark, requirement, rework", [field("It is a", kind), h("div", { class: "wide" }, field("Words", words))], () => ({ kind: kind.value, body: { [kind.value === "reworked" ? "what" : "text"]: words.value.trim() }, clear: empty(words) }));
  }
  function signOff() {
    const statement = h("input", { autocomplete: "off", value: "Released for delivery" }), role = h("input", { autocomplete: "off", placeholder: "inspector" }), who = h("input", { autocomplete: "name", placeholder: "Ana", onchange: () => job.setWho(who.value) }), despite = h("input", { autocomplete: "off" });
    const made = form("Sign off", [field("Statement", statement), field("Role", role), field("Your name", who), h("div", { class: "wide" }, field("Why go on all the same", despite, "only where points are open; the papers show it"))], () => { job.setWho(who.value); return { kind: "signed", body: { statement: statement.value.trim(), role: role.value.trim(), despite: despite.value.trim(), after: state.job.last } }; }, "Sign as it stands above");
    made.box.addEventListener("toggle", () => { if (!who.value) who.value = job.who(); });
    return made;
  }

  function line(entry) {
    const against = state.job.outcomes.filter((one) => one.entry === entry.number).map((one) => h("div", { class: "against small" }, h(one.agrees ? "span" : "strong", {}, one.says), one.meanings.length > 0 && h("details", {}, h("summary", {}, "What it would mean"), one.meanings.map((words) => h("p", {}, words)))));
    const reason = h("input", { autocomplete: "off", placeholder: "misread" }), changes = entry.corrections.map((one) => `${one.withdrawn ? "withdrawn" : "corrected"} by ${one.who}: ${one.reason}`).join("; ");
    const withdraw = h("button", { type: "button", onclick: async () => {
      try { await job.add("corrected", { entry: entry.number, reason: reason.value.trim(), withdraw: true, after: state.job.last }); } catch (error) { put(said, results.said(error)); }
    } }, "Withdraw");
    return h("li", { class: entry.withdrawn ? "gone" : "" }, h("span", { class: "when" }, `${entry.number} · ${entry.at.slice(5, 16).replace("T", " ")}`), h("span", { class: "kind" }, KINDS[entry.kind] || entry.kind), h("span", {}, state.job.words[entry.number], changes && h("em", {}, ` (${changes})`), h("span", { class: "small" }, ` ${entry.who}`)),
      !entry.withdrawn && entry.kind !== "opened" && h("details", {}, h("summary", { "aria-label": `Withdraw entry ${entry.number}` }, "…"), h("div", { class: "form" }, field("Reason", reason), withdraw)), against);
  }
  function showLinks() {
    const link = (form, paper, words) => {
      const path = job.travellerLink(form, paper);
      return h("a", { class: "button", href: path, download: "", onclick: (event) => { event.preventDefault(); write(path); } }, words);
    };
    put(links, link("pdf", "a4", "PDF, A4"), link("pdf", "letter", "PDF, Letter"), link("html", "a4", "One page, HTML"));
    put(released, state.job.state === "signed" && h("button", { type: "button", onclick: () => write(job.certificateLink(), "POST") }, "Certificate of conformance, PDF"));
  }

  /** A refusal is shown here rather than saved as a file. */
  async function write(path, method) {
    const slow = setTimeout(() => put(written, h("p", { class: "small", role: "status" }, "Writing …")), 400);
    try {
      const { blob, name } = await file(path, method), url = URL.createObjectURL(blob);
      h("a", { href: url, download: name }).click();
      setTimeout(() => URL.revokeObjectURL(url), 60_000);
      clearTimeout(slow); put(written);
      if (method) await job.refresh();
    } catch (error) { clearTimeout(slow); put(written, results.said(error)); }
  }

  return (what) => {
    if (what === "choices") forms[1].fill();
    step.enable(true); step.body.querySelector(".wait").hidden = Boolean(state.job); holder.hidden = !state.job;
    step.line(state.job ? `${state.job.entries.length} entries` : "");
    step.set(!state.job ? "asleep" : state.job.state === "signed" ? "done" : "live");
    if (what !== "job" || !state.job) return;
    put(list, state.job.entries.map(line)); list.scrollTop = list.scrollHeight; showLinks();
  };
}
