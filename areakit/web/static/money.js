// Steps 4 and 5: the price of a planned job, and the check of somebody else's figures.
import { post } from "./api.js";
import { choice, field, h, put } from "./dom.js";
import * as draft from "./draft.js";
import { ratesFold } from "./rates.js";
import * as results from "./results.js";
import { FACES } from "./said.js";
import { fromShop } from "./shop.js";
import { changed, chosenParts, state } from "./state.js";
import { moneyField, unitField } from "./unitfield.js";
import { capital } from "./units.js";

/** Today, on the clock of this device, as a date field writes it. */
const today = () => { const now = new Date(); return `${now.getFullYear()}-${String(now.getMonth() + 1).padStart(2, "0")}-${String(now.getDate()).padStart(2, "0")}`; };

export function makePriceStep(step) {
  const rates = ratesFold(), prices = h("div", { class: "wide form" }), day = h("input", { type: "date", value: today() }), out = h("div", { id: "price-out" });
  const go = h("button", { type: "button", class: "go", onclick: run }, "Price it");
  step.body.append(h("p", { class: "small wait" }, "Waits for a plan."), rates.box, h("div", { class: "form" }, prices, field("Day of the prices", day)), h("div", { class: "actions" }, go), out);
  const known = {};
  let priced = [];

  async function run() {
    go.disabled = true; rates.blame({});
    const body = { plan: state.plan, rates: "", metal_prices: {} };
    for (const metal of priced) if (known[metal].text) body.metal_prices[metal] = known[metal].text;
    if (day.value) body.price_date = day.value;
    if (chosenParts().length === 1) body.part = { parts: chosenParts() };
    try {
      body.rates = await rates.text();
      const quote = await post("/api/quote", body);
      state.quote = quote; put(out, shown(quote)); rates.box.open = false; step.set("done"); changed("quote");
    } catch (error) { put(out, results.said(error)); rates.blame(error); } finally { go.disabled = false; }
  }
  function priceOf(metal) {
    const made = moneyField(`Price of ${metal}`, { per: true, placeholder: "75.30 ± 2 %", value: fromShop("prices", metal) }, metal === "nickel" ? "may stay empty" : "");
    draft.field(`price ${metal}`, made.input);
    made.input.addEventListener("change", () => { day.value = today(); }); // a price that is typed is not of the day of those in the profile
    return made;
  }

  return (what) => {
    const ready = Boolean(state.plan);
    step.enable(ready); step.body.querySelector(".wait").hidden = ready;
    if (what === "choices") rates.begin().catch((error) => put(out, results.said(error)));
    step.line(state.quote ? `${state.quote.price} ${state.quote.currency}` : "what it costs, by your rates");
    if (what !== "plan") return;
    put(out, state.quote && shown(state.quote));
    if (!ready) return;
    rates.rest();
    priced = state.plan.layers.map(({ metal }) => metal);
    for (const metal of priced) known[metal] ||= priceOf(metal);
    if (priced.some((metal) => fromShop("prices", metal)) && fromShop("rates", "price_date")) day.value = fromShop("rates", "price_date");
    put(prices, [...new Set(priced)].map((metal) => known[metal].element));
  };
}

function shown(quote) {
  return [
    h("div", { class: "layer" }, h("h3", {}, `Price for ${quote.pieces} ${quote.pieces === 1 ? "piece" : "pieces"}`), h("span", { class: "big" }, quote.price, h("span", { class: "unit" }, ` ${quote.currency}`)),
      quote.pieces > 1 && h("p", {}, `${quote.price_per_piece} ${quote.currency} each`)),
    results.table(["line", "amount"], quote.lines.map((line) => h("tr", {}, h("td", {}, line.title, h("div", { class: "small" }, line.basis)), h("td", {}, line.amount)))),
    quote.breaks.length > 0 && results.table(["pieces", "price", "each"], quote.breaks.map((one) => h("tr", {}, h("td", {}, one.pieces), h("td", {}, one.price), h("td", {}, one.each)))),
    h("p", { class: "small" }, `Quoted on ${quote.quoted_on}; holds until ${quote.valid_until}. Without any tax; no tax or legal advice.`),
    results.notes(quote.flags),
  ];
}

const CLAIMS = [["area", "Area of one piece", "area", { cm2: "46", in2: "7.1" }], ["thickness", "Thickness", "layer", { um: "0.5", uin: "20" }], ["mass", "Mass of metal", "deposit", { mg: "21" }], ["charge", "Charge", "charge", { "A.min": "0.6" }],
  ["current", "Current", "current", { A: "0.4" }], ["current_density", "Current density", "density", { "A/dm2": "10", "A/ft2": "100" }], ["footprint", "Brush footprint", "area", { cm2: "4", in2: "0.6" }], ["efficiency", "Efficiency", "share", { "%": "72" }],
  ["time", "Time", "time", { min: "8" }], ["factor", "Plating factor", "factor", { "A.h/in3": "60" }]];
const MONEY = [["price", "Price of the metal", { per: true, placeholder: "75.30" }], ["metal_line", "Cost of the metal", { placeholder: "4.10" }]];

export function makeCheckStep(step) {
  const typed = [...CLAIMS.map(([name, title, kind, examples]) => [name, unitField(title, kind, { examples })]), ...MONEY.map(([name, title, more]) => [name, moneyField(title, more)])];
  for (const [name, one] of typed) draft.field(`claim ${name}`, one.input);
  const metal = h("input", { placeholder: "gold" });
  const faces = choice([["", "not said"], ...Object.entries(FACES)], "");
  const kind = choice([["", "not said"], ["minimum", "minimum"], ["mean", "mean"]], "");
  const pieces = h("input", { type: "number", min: "1", placeholder: "1", inputmode: "numeric" }), per = choice([["", "not said"], ["piece", "one piece"], ["lot", "the whole lot"]], "");
  const out = h("div", { id: "check-out" }), go = h("button", { type: "button", class: "go", onclick: run }, "Check them");
  step.body.append(h("p", { class: "small" }, "Type what a received quote says; leave out what it does not. It is compared with the measured part and with itself."),
    h("div", { class: "form" }, typed.map(([, one]) => one.element), field("Which metal", metal), field("The area is of", faces), field("That thickness is", kind), field("Pieces", pieces), field("Metal and cost are of", per)),
    h("div", { class: "actions" }, go), out);

  async function run() {
    const claims = {};
    for (const [name, input] of [["metal", metal], ["faces", faces], ["thickness_is", kind], ["pieces", pieces], ["per", per]]) if (input.value.trim()) claims[name] = input.value.trim();
    for (const [name, one] of typed) if (one.text) claims[name] = one.text;
    const body = { claims };
    if (chosenParts().length === 1) body.part = { parts: chosenParts() };
    go.disabled = true;
    try {
      put(out, (await post("/api/check", body)).verdicts.map(verdict)); step.set("done");
    } catch (error) { put(out, results.said(error)); } finally { go.disabled = false; }
  }
  return () => { step.enable(true); step.line("what a received quote says, against the part and against itself"); };
}

function verdict(found) {
  const reasons = found.explanations.map((one) => ({ code: one.slips.join(), message: `${capital(one.words)}.`, remedy: "Ask about it; it is a question, not a proof." }));
  return [
    h("div", { class: "layer" }, h("p", { class: "big" }, found.headline)),
    results.table(["compared", "claimed", "expected", ""], found.comparisons.map((one) => h("tr", {}, h("td", {}, one.title), h("td", {}, results.text(one.claimed)), h("td", {}, results.text(one.expected)),
      h("td", {}, one.agrees ? "agrees" : `${one.difference_percent > 0 ? "+" : ""}${one.difference_percent.toFixed(0)} %`)))),
    results.notes(reasons), found.not_compared.length > 0 && h("ul", { class: "notes" }, found.not_compared.map((words) => h("li", { class: "note" }, words))),
  ];
}
