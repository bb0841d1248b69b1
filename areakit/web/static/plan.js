// From the area to charge, current, time and metal.
import { post } from "./api.js";
import { lanesFold } from "./drawing.js";
import { choice, field, h, put, tell } from "./dom.js";
import * as results from "./results.js";
import { changed, chosenParts, photo, state } from "./state.js";
import { isUs } from "./units.js";

const capital = (word) => word.charAt(0).toUpperCase() + word.slice(1);

export function makePlanStep(step) {
  let timer = 0, planned = false, turn = 0;
  const later = () => { if (planned) { clearTimeout(timer); timer = setTimeout(run, 500); } };
  const process = choice([], "", { id: "process", onchange: () => { layers(); later(); } });
  const pieces = h("input", { type: "number", min: "1", value: "1", inputmode: "numeric", onchange: later });
  const contact = h("input", { placeholder: "4 cm2", onchange: later }), supply = h("input", { placeholder: "5 A", onchange: later });
  const load = h("input", { type: "number", min: "1", placeholder: "5", onchange: later });
  const base = choice([["", "not said"]], "", { onchange: later }), market = choice([["", "not said"]], "", { onchange: later }), use = choice([["", "not said"]], "", { onchange: later });
  const assured = h("input", { type: "checkbox", onchange: later });
  const per = h("div", { class: "wide form" }), out = h("div", { id: "plan-out" });
  const fields = h("div", { class: "form" }, h("div", { class: "wide" }, field("Process", process)), per, field("Pieces", pieces),
    field("Contact of the tool", contact, "brush: gives current and time"), field("Parts on a rack", load, "tank"),
    h("details", { class: "wide" }, h("summary", {}, "Supply, base metal, market, sureness"), h("div", { class: "form" }, field("Supply", supply, "its largest current"), field("Base metal", base), field("Sold in", market), field("Use", use),
      h("label", { class: "tick wide" }, assured, "Run enough charge to be about 97 % sure of the least thickness"))));
  const go = h("button", { type: "button", class: "go", id: "plan-go", onclick: () => run() }, "Plan");
  step.body.append(h("p", { class: "small wait" }, "Waits for an area."), fields, h("div", { class: "actions" }, go), out);
  const lanes = lanesFold();
  step.body.append(lanes.box);
  let rows = [];

  function layers() {
    const chosen = state.processes.find((one) => one.key === process.value);
    if (!chosen) return;
    const kept = new Map(rows.map((row) => [row.metal, row]));
    rows = chosen.metals.map((metal) => kept.get(metal) || layer(metal));
    put(per, rows.map((row) => row.element));
    byMethod();
  }

  function byMethod() {
    const brush = state.processes.find((one) => one.key === process.value)?.method === "brush";
    lanes.box.hidden = !brush; contact.closest("label").hidden = !brush; load.closest("label").hidden = brush;
  }

  function layer(metal) {
    const thick = h("input", { placeholder: isUs() ? "20 uin" : metal === "nickel" ? "3 um" : "0.5 um", "data-metal": metal, onchange: later });
    const kind = choice([["", "least, everywhere"], ["mean", "mean"]], "", { onchange: later });
    const known = state.requirements.filter((one) => one.metal === metal);
    const asked = choice([["", "none"], ...known.map((one) => [one.key, one.title])], "", { onchange: later });
    const how = choice([["", "published default"], ["handbook", "handbook factor"], ["efficiency", "efficiency, typed"], ["factor", "factor of the label"]], "", { onchange: () => { show(); later(); } });
    const value = h("input", { onchange: later }), density = h("input", { placeholder: isUs() ? "100 A/ft2" : "10 A/dm2", onchange: later });
    const typed = field("Value", value);
    const show = () => { typed.hidden = !["efficiency", "factor"].includes(how.value); value.placeholder = how.value === "factor" ? "60 A.h/in3" : "72 % ± 6 %"; };
    show();
    if (metal === "gold") how.value = "handbook";
    const element = h("fieldset", { class: "layer-form" }, h("legend", {}, metal), field("Thickness", thick), field("which is the", kind), known.length > 0 && field("Class or term to meet", asked), field("Efficiency from", how), typed, field("Current density", density, "of the label"));
    return { metal, thick, kind, asked, how, value, density, element };
  }

  function request() {
    const body = { process: process.value, layers: {}, efficiency: {}, factor: {}, current_density: {}, requirements: [], pieces: Number(pieces.value) || 1, assured: assured.checked, measured: { parts: chosenParts() } };
    for (const row of rows) {
      const text = row.thick.value.trim();
      if (text) body.layers[row.metal] = `${text}${row.kind.value && ` ${row.kind.value}`}`;
      if (row.asked.value) body.requirements.push(row.asked.value);
      if (row.how.value === "handbook") body.efficiency[row.metal] = "handbook";
      if (row.how.value === "efficiency" && row.value.value.trim()) body.efficiency[row.metal] = row.value.value.trim();
      if (row.how.value === "factor" && row.value.value.trim()) body.factor[row.metal] = row.value.value.trim();
      if (row.density.value.trim()) body.current_density[row.metal] = row.density.value.trim();
    }
    const plated = new Set([...Object.keys(body.layers), ...rows.filter((row) => row.asked.value).map((row) => row.metal)]);
    for (const name of ["efficiency", "factor", "current_density"]) for (const metal of Object.keys(body[name])) if (!plated.has(metal)) delete body[name][metal];
    for (const [name, input] of [["contact", contact], ["supply", supply], ["base", base], ["market", market], ["use", use]]) if (input.value.trim() && !input.closest("label").hidden) body[name] = input.value.trim();
    if (load.value && !load.closest("label").hidden) body.pieces_per_load = Number(load.value);
    return body;
  }

  async function run() {
    const mine = ++turn;
    planned = true; go.disabled = true;
    try {
      const plan = await post("/api/plan", request());
      if (mine !== turn) return;
      state.plan = plan; put(out, shown(plan)); tell(`Plan ready: ${plan.layers.map((one) => `${one.metal} ${results.text(one.charge)}`).join(", ")}`);
      step.set("done");
    } catch (error) {
      if (mine !== turn) return;
      state.plan = null; put(out, results.said(error));
    } finally { go.disabled = false; if (mine === turn) changed("plan"); }
  }

  return (what) => {
    if (what === "choices") {
      for (const one of state.processes) process.append(h("option", { value: one.key }, one.title));
      for (const [list, control] of [["bases", base], ["markets", market], ["uses", use]]) for (const key of state.words[list]) control.append(h("option", { value: key }, key.toUpperCase().length < 3 ? key.toUpperCase() : key));
      layers();
    }
    const ready = chosenParts().length > 0;
    step.enable(ready); step.body.querySelector(".wait").hidden = ready;
    if (what === "area" && ready) { later(); lanes.draw(); }
    if (ready) byMethod();
    if (what === "area" && !ready) { state.plan = null; put(out); }
    if (what === "units" && state.plan) put(out, shown(state.plan));
  };
}

function shown(plan) {
  const serious = plan.findings.map((one) => ({ ...one, message: one.message, remedy: `${one.why} ${one.remedy}` }));
  const order = { stop: 0, caution: 1, note: 2 };
  serious.sort((a, b) => order[a.severity] - order[b.severity]);
  return [
    results.notes(serious.filter((one) => one.severity !== "note")),
    plan.layers.map(layerShown),
    h("details", {}, h("summary", {}, `Steps at the bench (${plan.steps.length})`), h("ol", {}, plan.steps.map(stepShown))),
    h("details", {}, h("summary", {}, "Notes and figures not verified"), results.notes([...serious.filter((one) => one.severity === "note"), ...plan.flags])),
    results.cautions(plan.cautions.map((one) => one.text)),
  ];
}

function layerShown(layer) {
  const run = layer.brush || layer.tank, used = layer.consumption;
  return h("div", { class: "layer" }, h("h3", {}, `${capital(layer.metal)}: charge to run`), results.figure(layer.charge_set.value === layer.charge.value ? layer.charge : layer.charge_set, "big"),
    results.pairs([
      run && ["current", results.text(run.current)], run && [layer.tank ? "time of a load" : "time of contact", results.text(run.time)], layer.tank && ["loads", String(layer.tank.loads)],
      ["least thickness", results.text(layer.minimum_reached)], ["mean thickness", results.text(layer.mean_reached)], [`${layer.metal} on one piece`, results.text(layer.mass)],
      used.volume_ready && ["solution to have ready", results.text(used.volume_ready)], ["efficiency", `${results.text({ ...layer.efficiency.quantity, unit: "%", value: 100 * layer.efficiency.quantity.value, expanded_uncertainty: 100 * layer.efficiency.quantity.expanded_uncertainty })} (${layer.efficiency.origin.kind})`],
    ]));
}

function stepShown(step) {
  const volts = step.voltage ? `, ${step.voltage.map((end) => end.quantity.value).join(" to ")} V` : "";
  return h("li", {}, h("b", {}, step.title), step.conditional && " (only if needed)", `. ${capital(step.polarity)}${volts}.`, step.charge_set && ` Run ${results.text(step.charge_set)} a piece.`, ` See: ${step.look_for}. Next: ${step.next_within}.`,
    step.cautions.length > 0 && h("span", { class: "small" }, ` Caution: ${step.cautions.map((one) => one.key).join(", ")}.`));
}
