// Step 3: from the area to charge, current, time and metal.
import { post } from "./api.js";
import { lanesFold, mapFold } from "./drawing.js";
import { choice, field, h, put, tell } from "./dom.js";
import { shown } from "./planned.js";
import * as results from "./results.js";
import { isStale } from "./photos.js";
import * as said from "./said.js";
import { changed, chosenParts, photo, state } from "./state.js";
import { foldBefore } from "./steps.js";
import { layerLine } from "./strip.js";
import { fromShop, shopFold, shopProcesses } from "./shop.js";
import { unitField } from "./unitfield.js";

export function makePlanStep(step) {
  let timer = 0, turn = 0, rows = [], at = null, place = {};
  const soon = (wait) => { clearTimeout(timer); timer = setTimeout(run, wait); state.planDue = true; };
  const later = () => { remember(); if (place.ran) soon(500); };
  const typed = (title, kind, examples, hint, more) => unitField(title, kind, { examples, ...more, onchange: later }, hint);
  const list = (title, first) => { const made = choice([["", first]], "", { onchange: later }); return { input: made, element: field(title, made), get text() { return made.value; } }; };
  const process = choice([], "", { id: "process", onchange: () => { place.chosen = true; layers(); later(); } });
  const pieces = h("input", { type: "number", min: "1", placeholder: "as many as measured", inputmode: "numeric", id: "pieces", onchange: later });
  const load = h("input", { type: "number", min: "1", placeholder: "5", onchange: later });
  const few = {
    size: typed("Brush footprint, across × along the lane", "length", { mm: "20 x 15", in: "0.8 x 0.6" }, "what of the brush lies on the part; gives lanes and evenness", { sign: "×" }),
    footprint: typed("or its area", "area", { cm2: "4", in2: "0.6" }), hand_speed: typed("Hand speed", "speed", { "m/min": "12", "ft/min": "40" }, "usual where left out"),
    overlap: typed("Overlap of lanes", "share", { "%": "50" }), overrun: typed("Run past the edge", "length", { mm: "8", in: "0.3" }), target: typed("Minimum over mean wanted", "share", { "%": "85" }, "finds the overlap"),
    sleeve: typed("Solution in the sleeve", "volume", { mL: "10" }),
  };
  const wagner = unitField("Wagner number", "number", { examples: { "": "0.1 ± 0.05" }, sign: "±", onchange: later }, "default 0, the worst case");
  const more = { supply: typed("Supply", "current", { A: "5" }, "its largest current"), base: list("Base metal", "not said"), market: list("Sold in", "not said"), use: list("Use", "not said") };
  const evenChance = h("input", { type: "checkbox", onchange: later });
  const per = h("div", { class: "wide form" }), out = h("div", { id: "plan-out" }), loadField = field("Parts on a rack", load);
  const brushPath = h("details", { class: "wide" }, h("summary", {}, "Path of the brush"), h("div", { class: "form" }, few.hand_speed.element, few.overlap.element, few.overrun.element, few.target.element, few.sleeve.element));
  const shop = shopFold();
  const fields = h("div", { class: "form" }, shop.chosen, h("div", { class: "wide" }, shop.words, field("Process", process)), per, field("Pieces", pieces), loadField, wagner.element, few.size.element, few.footprint.element, brushPath,
    h("details", { class: "wide" }, h("summary", {}, "Supply, base metal, market, confidence"), h("div", { class: "form" }, Object.values(more).map((one) => one.element),
      h("label", { class: "tick wide" }, evenChance, "Even chance: aim at the minimum itself; half of such jobs stay below it"))));
  const go = h("button", { type: "button", class: "go", id: "plan-go", onclick: () => planned() }, "Plan");
  const map = mapFold(request), lanes = lanesFold(request), pictures = h("div", {}, map.box, lanes.box);
  const typing = h("details", { class: "typing", id: "plan-typing", open: true }, h("summary", {}, "What it is planned from"), fields, h("div", { class: "actions" }, go));
  step.body.append(h("p", { class: "small wait" }, "Waits for an area."), out, pictures, typing, shop.box);
  const isBrush = () => state.processes.find((one) => one.key === process.value)?.method === "brush";

  function layers() {
    const chosen = state.processes.find((one) => one.key === process.value);
    if (!chosen) return;
    const kept = new Map(rows.map((row) => [row.metal, row]));
    rows = chosen.metals.map((metal) => kept.get(metal) || layer(metal));
    put(per, rows.map((row) => row.element));
    hint(); byMethod();
  }
  function byMethod() {
    const brush = isBrush(), spread = state.plan?.distribution;
    for (const one of [few.size.element, few.footprint.element, brushPath]) one.hidden = !brush;
    loadField.hidden = wagner.element.hidden = brush;
    map.box.hidden = !spread; lanes.box.hidden = !spread?.brush; pictures.hidden = !spread;
  }

  function layer(metal) {
    const thick = unitField("Thickness", "layer", { examples: metal === "nickel" ? { um: "3", uin: "120" } : { um: "0.5", uin: "20" }, "data-metal": metal, onchange: later });
    const kind = choice([["", "minimum, everywhere"], ["mean", "mean"]], "", { onchange: later });
    const known = state.requirements.filter((one) => one.metal === metal);
    const asked = choice([["", "none"], ...known.map((one) => [one.key, one.title])], "", { onchange: later });
    const how = choice([["", "profile, else published"], ["handbook", "handbook factor"], ["efficiency", "efficiency, typed"], ["factor", "factor of the label"]], "", { onchange: () => { show(); later(); } });
    const values = { efficiency: unitField("Efficiency", "share", { examples: { "%": "72 ± 6" }, sign: "±", onchange: later }, "of the label"), factor: unitField("Plating factor", "factor", { examples: { "A.h/in3": "60" }, sign: "±", onchange: later }, "of the label") }, density = unitField("Current density", "density", { examples: { "A/dm2": "10", "A/ft2": "100" }, onchange: later }, "of the label");
    const show = () => { for (const [name, one] of Object.entries(values)) one.element.hidden = how.value !== name; };
    show();
    if (metal === "gold" && !state.shop.name) how.value = "handbook";
    const element = h("fieldset", { class: "layer-form" }, h("legend", {}, metal), thick.element, field("which is the", kind), known.length > 0 && field("Class or term to meet", asked), field("Efficiency from", how), values.efficiency.element, values.factor.element, density.element);
    return { metal, thick, kind, asked, how, values, density, show, element };
  }

  function request() {
    const body = { process: process.value, layers: {}, efficiency: {}, factor: {}, current_density: {}, requirements: [], shop: state.shop.name || "none", even_chance: evenChance.checked, spread: {}, measured: { parts: chosenParts() } };
    if (Number(pieces.value)) body.pieces = Number(pieces.value);
    for (const row of rows) {
      const { text } = row.thick;
      if (text) body.layers[row.metal] = `${text}${row.kind.value && ` ${row.kind.value}`}`;
      if (row.asked.value) body.requirements.push(row.asked.value);
      if (row.how.value === "handbook") body.efficiency[row.metal] = "handbook";
      if (row.values[row.how.value]?.text) body[row.how.value][row.metal] = row.values[row.how.value].text;
      if (row.density.text) body.current_density[row.metal] = row.density.text;
    }
    const plated = new Set([...Object.keys(body.layers), ...rows.filter((row) => row.asked.value || fromShop("layers", row.metal)).map((row) => row.metal)]);
    for (const name of ["efficiency", "factor", "current_density"]) for (const metal of Object.keys(body[name])) if (!plated.has(metal)) delete body[name][metal];
    for (const [name, one] of Object.entries(more)) if (one.text) body[name] = one.text;
    if (!isBrush()) {
      if (load.value) body.pieces_per_load = Number(load.value);
      if (wagner.text) body.spread.wagner = wagner.text;
      return body;
    }
    const { size, footprint, hand_speed: speed, overlap, overrun, target, sleeve } = few;
    if (size.text) body.spread.footprint_size = size.text; else if (footprint.text) body.footprint = footprint.text;
    if (speed.text) body.hand_speed = speed.text;
    if (sleeve.text) body.sleeve = sleeve.text;
    for (const [name, one] of [["overlap", overlap], ["overrun", overrun], ["target_minimum", target]]) if (one.text) body.spread[name] = one.text;
    return body;
  }

  /** Show what the profile says where the form says nothing, and take its usual process. */
  function hint() {
    const brush = state.shop.values?.brushes?.[fromShop("usual", "brush")] || Object.values(state.shop.values?.brushes || {})[0] || {}, density = isBrush() ? "current_density" : "tank_current_density";
    const say = (input, text) => { if (text) input.placeholder = `${text} (profile)`; };
    for (const row of rows) { say(row.thick.input, fromShop("layers", row.metal)); say(row.density.input, fromShop(density, row.metal)); if (state.shop.name && fromShop("layers", row.metal)) row.how.value = row.how.value === "handbook" ? "" : row.how.value; }
    say(few.size.input, brush.footprint); say(few.sleeve.input, brush.sleeve); say(more.supply.input, fromShop("supply", "largest_current"));
  }

  /** All that is typed here, to be put back for the part that it is about. */
  const inputs = () => ({ process, pieces, load, ...Object.fromEntries(Object.entries({ wagner, ...few, ...more }).map(([name, one]) => [name, one.input])) });
  function entries() {
    const layer = ({ thick, kind, asked, how, values, density: amps }) => [thick.input.value, kind.value, asked.value, how.value, values[how.value]?.input.value ?? "", amps.input.value];
    return { plain: Object.fromEntries(Object.entries(inputs()).map(([name, one]) => [name, one.value])), even: evenChance.checked, chosen: Boolean(place.chosen), layers: Object.fromEntries(rows.map((row) => [row.metal, layer(row)])) };
  }
  function take(given) {
    for (const [name, one] of Object.entries(inputs())) one.value = given.plain[name] ?? "";
    evenChance.checked = given.even; place.chosen = given.chosen; layers();
    for (const row of rows) {
      const [thick, kind, asked, how, value, amps] = given.layers[row.metal] || [];
      if (thick === undefined) continue;
      row.thick.input.value = thick; row.kind.value = kind; row.asked.value = asked; row.how.value = how; if (row.values[how]) row.values[how].input.value = value; row.density.input.value = amps;
      row.show();
    }
    hint();
  }
  const remember = () => { if (at) place.entries = entries(); };
  /** A plan belongs to its part: with another part comes its own; one that has none yet begins with what was typed last. */
  function turnTo() {
    const now = photo(), key = now && `${now.id}/${said.aim(now) ?? "all"}`;
    if (key === at) return;
    at = key; clearTimeout(timer); turn += 1; state.planDue = false;
    if (!now) { place = {}; state.plan = null; state.planned = null; return; }
    const own = now.plans[String(said.aim(now) ?? "all")] ||= { ran: false };
    place = own;
    if (own.entries) take(own.entries); else remember();
    state.plan = own.plan || null; state.planned = own.planned || null; state.quote = own.quote || null;
    put(out, state.plan && shown(state.plan, place.notes)); changed("plan");
  }
  const areaNow = () => JSON.stringify(chosenParts().map((part) => [part.id, part.plated_area.value, part.plated_area.expanded_uncertainty]));
  /** With a shop profile that says the rest, the thickness of the part is all that a plan waits for. */
  const isWhole = () => Boolean(state.shop.name && rows.length && said.saidOf(photo(), said.aim(photo())).thickness) && rows.every((row) => row.thick.text || row.asked.value || fromShop("layers", row.metal));

  async function run() {
    const mine = ++turn, own = place, area = areaNow();
    own.ran = true; remember(); state.planDue = !isStale(photo());
    if (!state.planDue) { state.planStale = true; changed("strip"); return; }
    go.disabled = true;
    const slow = setTimeout(() => out.setAttribute("aria-busy", "true"), 450);
    try {
      const asked = request(), plan = await post("/api/plan", asked), { notes } = await post("/api/notes", { flags: plan.flags });
      Object.assign(own, { plan, notes, planned: asked, area, quote: null });
      if (mine !== turn) return;
      state.plan = plan; state.planned = asked; state.planStale = false; state.quote = null; put(out, shown(plan, notes)); tell(`Plan ready: ${plan.layers.map((one) => `${one.metal} ${results.text(one.charge)}`).join(", ")}`);
      step.set("done");
    } catch (error) {
      if (mine !== turn) return;
      state.planStale = Boolean(state.plan);
      put(out, results.said(error), state.plan && h("div", { class: "stale" }, h("p", { class: "last-good" }, "Last good plan, not of what is typed now:"), shown(state.plan, place.notes)));
    } finally {
      clearTimeout(slow); out.removeAttribute("aria-busy"); go.disabled = false;
      if (mine === turn) { state.planDue = false; changed("plan"); byMethod(); map.draw(); lanes.draw(); }
    }
  }
  async function planned() { await run(); if (state.plan && !state.planStale) { typing.open = false; foldBefore(step); step.section.scrollIntoView({ block: "nearest" }); } }

  return (what) => {
    if (what === "choices") {
      for (const one of state.processes) process.append(h("option", { value: one.key }, one.title));
      for (const name of ["base", "market", "use"]) for (const [key, words] of said.called(state.words[`${name}s`])) more[name].input.append(h("option", { value: key }, words));
      layers(); shop.load();
    }
    if (what === "shop") {
      const [usual] = shopProcesses();
      if (state.processes.some((one) => one.key === usual) && !place.chosen) { process.value = usual; layers(); remember(); }
      if (chosenParts().length && !isStale(photo()) && !place.ran && isWhole()) place.ran = true;
      later();
    }
    if (["shop", "units", "choices"].includes(what)) hint();
    if (what === "quote") place.quote = state.quote;
    const ready = chosenParts().length > 0;
    step.enable(ready); step.body.querySelector(".wait").hidden = ready;
    if (["area", "photo"].includes(what)) {
      turnTo();
      if (what === "photo" && !place.plan) step.suggest(true);
      if (ready && !isStale(photo())) {
        if (!place.ran && isWhole()) { place.ran = true; typing.open = false; }
        state.planStale = Boolean(state.plan) && place.area !== areaNow();
        if (place.ran && (!place.plan || state.planStale)) soon(100);
      }
      if (!ready && state.plan) { state.plan = null; put(out); changed("plan"); }
    }
    if (ready) byMethod(); else pictures.hidden = true;
    out.classList.toggle("stale", Boolean(ready && state.plan && (state.planStale || isStale(photo()))));
    step.line(state.plan ? state.plan.layers.map((one) => layerLine(one)) : "charge, amperes and minutes");
    if (!state.plan && ready) step.set("live");
    if (what === "units" && state.plan) put(out, shown(state.plan, place.notes));
  };
}
