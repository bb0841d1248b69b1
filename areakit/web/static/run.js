// Step 6: open or choose a job, keep photo, area and plan with it, begin its steps.
import { get, post } from "./api.js";
import { choice, field, h, put } from "./dom.js";
import * as draft from "./draft.js";
import * as job from "./job.js";
import * as results from "./results.js";
import * as panel from "./runpanel.js";
import { photo, state } from "./state.js";
import { foldBefore } from "./steps.js";
import { setting, text } from "./units.js";
import { unitField } from "./unitfield.js";

export function makeRunStep(step) {
  const opening = openingForm(), holder = h("div", { class: "job" }), kept = h("div", {}), steps = h("div", {}), said = h("div", {});
  const withJob = h("div", {}, holder, kept, steps);
  step.body.append(h("p", { class: "small wait" }, "Waits for a plan, or for a job that has one."), opening.element, withJob, said);

  async function doing(button, action) {
    button.disabled = true; put(said);
    const slow = setTimeout(() => put(said, h("p", { class: "small", role: "status" }, "Keeping it …")), 450);
    try { await action(); clearTimeout(slow); if (said.querySelector("[role=status]")) put(said); } catch (error) { put(said, results.said(error)); } finally { clearTimeout(slow); button.disabled = false; }
  }

  function openingForm() {
    const part = h("input", { id: "job-part", autocomplete: "off", placeholder: "club badge" }), customer = h("input", { autocomplete: "off", placeholder: "order 31" });
    const pieces = h("input", { type: "number", min: "1", placeholder: "1" }), number = h("input", { autocomplete: "off", placeholder: "the next of the year" }), base = h("input", { autocomplete: "off", placeholder: "brass" }), condition = h("input", { autocomplete: "off", placeholder: "worn gold at the pin" });
    const who = h("input", { autocomplete: "name", value: job.who(), placeholder: "Ana", onchange: () => job.setWho(who.value) });
    for (const [name, one] of Object.entries({ part, customer, pieces, number, base, condition })) draft.field(`job ${name}`, one);
    const others = choice([["", "choose one"]], "", { id: "job-list", onchange: () => { if (others.value) doing(others, () => job.load(others.value)); } });
    const go = h("button", { type: "button", class: "go", id: "job-open", onclick: () => doing(go, open) }, "Open the job");
    async function open() {
      job.setWho(who.value);
      const fields = { part: part.value.trim() || guess(), quantity: Number(pieces.value) || state.plan?.pieces || 1 };
      for (const [name, one] of [["customer", customer], ["number", number], ["base", base], ["condition", condition]]) if (one.value.trim()) fields[name] = one.value.trim();
      await job.openNew(fields);
      foldBefore(step);
      if (!job.needsChoice()) await job.keepAll();
    }
    const guess = () => photo()?.name.replace(/\.[^.]+$/, "") || "part";
    const element = h("div", {}, h("p", { class: "small" }, "Every reading is kept in the journal before it counts; nothing is written over."),
      h("div", { class: "form" }, field("Part", part), field("Customer’s reference", customer), field("Pieces", pieces), field("Your name", who, "stands with each entry"),
        h("details", { class: "wide" }, h("summary", {}, "Number, base metal, condition"), h("div", { class: "form" }, field("Job number", number), field("Base metal", base), field("As it came in", condition)))),
      h("div", { class: "actions" }, go), h("div", { class: "form" }, field("Or go on with a job", others)));
    const fill = async () => {
      try { put(others, h("option", { value: "" }, "choose one"), (await job.list()).map((one) => h("option", { value: one.number }, `${one.number}  ${one.part}  (${one.state})`))); } catch { /* said elsewhere */ }
    };
    return { element, fill, suggest: () => { part.placeholder = guess(); } };
  }

  /** The job as pattern of the next: everything but the pieces and the customer's reference is taken over. */
  function likeForm(number, order) {
    const pieces = h("input", { type: "number", min: "1", value: String(order.quantity) }), customer = h("input", { autocomplete: "off", placeholder: "order 40" });
    const go = h("button", { type: "button", onclick: () => doing(go, () => job.openNew({ like: number, quantity: Number(pieces.value) || order.quantity, customer: customer.value.trim() })) }, "Open it");
    return h("details", {}, h("summary", {}, "Another job like this"), h("div", { class: "form" }, field("Number of pieces", pieces), field("Its customer’s reference", customer)), h("div", { class: "actions" }, go));
  }

  function showJob() {
    const { number, state: standing, order, area } = state.job;
    put(holder, h("h3", {}, `Job ${number}`), h("p", {}, `${order.quantity} × ${order.part}${order.customer && `, ${order.customer}`} · ${standing}${area ? ` · ${text(area)}` : ""}`),
      h("button", { type: "button", class: "link", onclick: () => { job.leave(); opening.fill(); } }, "Another job"), likeForm(number, order));
    const missing = job.missing(), go = h("button", { type: "button", id: "keep", onclick: () => doing(go, job.keepAll) }, `Keep ${missing.map((one) => one.title).join(", ")} with it`);
    const other = job.planOf() && missing.some((one) => one.kind === "planned") && "This job runs the plan that it holds, not the one in view above.";
    put(kept, other && h("p", { class: "last-good" }, other), job.needsChoice() && h("p", { class: "small" }, "A job is about one part: choose it in the picture."), missing.length > 0 && !job.needsChoice() && h("div", { class: "actions" }, go));
  }

  function showSteps() {
    const plan = job.planOf();
    if (!plan) { put(steps, h("p", { class: "small" }, "The job has no plan yet. Plan in step 3, then keep it with the job.")); return; }
    const key = `${state.job.number} ${job.latest("planned").number}`;
    if (steps.dataset.key !== key) { steps.dataset.key = key; put(steps, stepForm(plan)); }
    steps.querySelector(".runs").replaceChildren(...state.job.runs.map((run) => runLine(run, plan)));
  }
  function runLine(run, plan) {
    const open = h("button", { type: "button", onclick: () => show(run.entry, plan) }, "Panel");
    return h("li", {}, h("b", {}, run.title), run.target ? `: ${text(run.charge)} of ${setting(run.target)}` : run.metal ? `: ${text(run.charge)}` : "", run.current > 0 && h("b", { class: "pause" }, " · current on"), run.metal && " ", run.metal && open);
  }
  function stepForm(plan) {
    const plating = plan.steps.filter((one) => one.charge_set), which = choice(plan.steps.map((one) => [String(one.number), `${one.number}. ${one.title}`]), String(plating[0]?.number || 1), { id: "step", onchange: byStep });
    const pieces = h("input", { type: "number", min: "1", value: plan.process.method === "brush" ? "1" : String(state.job.order.quantity) });
    const bottle = choice([["", "not said"]], ""), voltage = unitField("Voltage", "voltage", { examples: { V: "8" } }), warm = unitField("Temperature", "temperature", { examples: { "°C": "25", "°F": "77" } });
    const metered = unitField("Charge by a meter", "charge", { examples: { "A.min": "3.2 ± 0.1" } }, "in place of typed currents, once it is run"), despite = h("input", { autocomplete: "off" }), why = field("Why go on all the same", despite, "only where a check says stop");
    const target = h("p", { class: "small" }), go = h("button", { type: "button", class: "go", id: "begin", onclick: () => doing(go, begin) }, "Begin");
    const chosen = () => plan.steps.find((one) => String(one.number) === which.value);
    pieces.addEventListener("change", byStep);
    function byStep() {
      const one = chosen(), count = Number(pieces.value) || 1;
      go.textContent = one.charge_set ? "Begin, and open the panel" : "Record that it was done";
      metered.element.hidden = !one.charge_set;
      target.textContent = one.charge_set ? `To run: ${setting({ ...one.charge_set, value: one.charge_set.value * count })}${count > 1 ? ` for ${count} pieces together` : ""}. See: ${one.look_for}.` : `See: ${one.look_for}.`;
      put(cautions, results.cautions(one.cautions.map((caution) => caution.text), { title: "For this step" }));
    }
    async function begin() {
      const one = chosen(), body = { step: one.number, pieces: Number(pieces.value) || 1 };
      for (const [name, value] of [["bottle", bottle.value], ["voltage", voltage.text], ["temperature", warm.text], ["despite", despite.value.trim()]]) if (value) body[name] = value;
      if (one.charge_set && metered.text) body.charge = metered.text;
      const made = await job.add("step", body);
      put(said, results.notes(made.findings.map((finding) => ({ ...finding, remedy: `${finding.why} ${finding.remedy}` }))));
      metered.input.value = ""; despite.value = "";
      if (one.charge_set && !body.charge) await show(made.entry, plan);
    }
    const cautions = h("div", {});
    get("/api/bottles").then(({ bottles }) => bottle.append(...bottles.map((one) => h("option", { value: one.label }, `${one.label}, ${one.solution}`)))).catch(() => {});
    byStep();
    return [h("div", { class: "form" }, h("div", { class: "wide" }, field("Step of the plan", which)), field("Pieces in this run", pieces), field("Bottle", bottle),
      h("details", { class: "wide" }, h("summary", {}, "Voltage, temperature, meter"), h("div", { class: "form" }, voltage.element, warm.element, metered.element, h("div", { class: "wide" }, why)))),
    target, cautions, h("div", { class: "actions" }, go), h("ul", { class: "runs" })];
  }
  const same = (one, other) => one.area.per_piece.value === other.area.per_piece.value && one.charge_total.value === other.charge_total.value && one.distribution?.allowance.value === other.distribution?.allowance.value;
  /** The lanes belong to the plan on the page; a job that was opened later shows its figures without them. */
  async function show(entry, plan) {
    let laid = null;
    if (plan.distribution?.brush && state.planned && state.plan && same(state.plan, plan)) laid = await post("/api/strokes", state.planned).catch(() => null);
    panel.show(entry, laid);
  }

  return (what) => {
    if (what === "choices") opening.fill();
    const ready = Boolean(state.job || state.plan);
    if (ready) step.suggest(true);
    step.enable(true); step.set(!ready ? "live" : state.job?.runs.length ? "done" : "live");
    step.body.querySelector(".wait").hidden = ready;
    step.line(state.job ? `job ${state.job.number}, ${state.job.state}` : "open a job, or go on with one; begin its steps, count the charge");
    opening.element.hidden = Boolean(state.job); withJob.hidden = !state.job;
    opening.suggest();
    if (!state.job || what === "status") return;
    showJob(); showSteps();
    const live = state.job.runs.find((run) => run.current > 0 && run.target);
    if (live && panel.watched() === null) panel.watch(live.entry);
  };
}
