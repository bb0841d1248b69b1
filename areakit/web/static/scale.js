// Step 1: where the scale comes from, how well the sheet copy is known, and points to show on the photo.
import { get, post } from "./api.js";
import { choice, field, h, put, tell } from "./dom.js";
import * as pick from "./pick.js";
import * as results from "./results.js";
import { photo, setSheet, sheet, state } from "./state.js";
import { unitField } from "./unitfield.js";

const MARKS = { frame: "scale sheet", paper: "paper", scan: "scan", card: "card", coin: "coin", taps: "tapped length", ruler: "ruler", chequer: "chequer", markers: "markers" };
const KINDS = [["auto", "find it"], ["frame", "printed scale sheet"], ["A4", "plain A4 paper"], ["letter", "plain Letter paper"], ["A5", "plain A5 paper"], ["card", "bank card"], ["coin", "coin"], ["coins", "several coins"], ["chequer", "chequerboard"], ["scan", "flatbed scan"], ["taps", "two taps and a length"], ["ruler", "two taps on a steel ruler"], ["", "another, typed"]];
const KEPT = "areakit.sheet-copy";

export function makeScaleStep(step, remeasure) {
  const found = h("p", { class: "small" });
  const mark = choice(KINDS, "auto", { id: "mark", onchange: () => { show(); apply(); } });
  const coin = choice([["", "its diameter"]], "", { onchange: () => { show(); apply(); } });
  const diameter = unitField("Diameter", "length", { placeholder: "25.75", onchange: () => apply() });
  const typed = h("input", { placeholder: "chequer:9x7,30 mm", autocomplete: "off", onchange: () => apply() });
  const length = unitField("Length between the taps", "length", { id: "tap-length", examples: { mm: "100", in: "4" }, onchange: () => apply() });
  const corners = h("input", { id: "chequer-corners", placeholder: "9x7", autocomplete: "off", onchange: () => apply() });
  const pitch = unitField("Side of a square", "length", { id: "chequer-pitch", examples: { mm: "30.02 ± 0.02", in: "1.181 ± 0.001" }, onchange: () => apply() }, "with ± if you measured it");
  const chequer = field("Inner corners, across x down", corners, "where four squares meet");
  const coins = h("div", { class: "wide" });
  const other = field("Which one", typed, "chequer:9x7,30 mm or markers:6x6,4x5,37.5 mm,5 mm"), which = field("Which coin", coin);
  const place = h("button", { type: "button", onclick: showPlace }, "Show where it lies"), tap = h("button", { type: "button", id: "tap", onclick: tapLength }, "Tap both ends on the photo");
  const points = h("div", { class: "wide actions" }, place, tap);
  const lengths = unitField("Check lengths", "length", { id: "check-lengths", inputmode: "text", examples: { mm: "200.2 x 119.9", in: "7.882 x 4.720" }, onchange: () => { setSheet({ check_lengths: lengths.text }); show(); remeasure(); } }, "both lines of the sheet, read with a ruler: along x, along y; or card, where a bank card lies in the field; or coin:eur-1, coin:25.75 mm, where a coin does");
  const copy = choice([["", "not named"]], "", { id: "sheet-copy", onchange: () => { setSheet({ sheet_copy: copy.value }); localStorage.setItem(KEPT, copy.value); show(); remeasure(); } });
  const name = h("input", { placeholder: "bench-1", autocomplete: "off", maxlength: "60" }), kept = h("div", { role: "status" });
  const keep = h("details", {}, h("summary", {}, "Keep these lengths for this sheet copy"), h("div", { class: "form" }, field("Name written on the sheet copy", name), h("div", { class: "actions" }, h("button", { type: "button", onclick: keepCopy }, "Keep"))), kept);
  step.body.append(found, h("div", { class: "form" }, h("div", { class: "wide" }, field("Scale mark", mark)), which, diameter.element, chequer, pitch.element, other, length.element, points, coins, h("div", { class: "wide form bare" }, field("Which sheet copy", copy, "its check lengths are remembered"), lengths.element)), keep);

  const coinName = () => coin.value || diameter.text;
  function wanted() {
    if (mark.value === "coin") return coinName() && `coin:${coinName()}`;
    if (mark.value === "chequer") return corners.value.trim() && pitch.text && `chequer:${corners.value.trim()},${pitch.text}`;
    return mark.value || typed.value.trim();
  }
  function apply() {
    const next = wanted();
    setSheet({ length: length.text, ...(next && { mark: next }) });
    if (next) remeasure();
  }
  function showPlace() {
    if (mark.value === "coins") { addCoin(); return; }
    pick.start({ words: () => `Tap the middle of the ${mark.value}.`, least: 1, most: 1, whole: true, done: ([at]) => { photo().points.place = at; tell("Marked."); remeasure(); } });
  }
  /** Several coins: each is named above, then shown on the photo. */
  function addCoin() {
    const name = coinName();
    if (!name) { tell("Say first which coin it is."); return; }
    pick.start({ words: () => `Tap the middle of the coin ${name}.`, least: 1, most: 1, whole: true, done: ([at]) => { const { points: kept } = photo(); kept.coins = [...(kept.coins || []), { name, at }]; tell("Marked."); show(); apply(); } });
  }
  function listCoins() {
    const kept = (mark.value === "coins" && photo()?.points.coins) || [];
    put(coins, kept.length > 0 && h("ul", { class: "notes" }, kept.map((one) => h("li", { class: "note" }, `${one.name} at ${one.at.map(Math.round).join(", ")} px `, h("button", { type: "button", class: "link", onclick: () => { photo().points.coins = kept.filter((other) => other !== one); show(); apply(); } }, "Take away")))),
      mark.value === "coins" && kept.length < 2 && h("p", { class: "small" }, "Name a coin, then show where it lies; two at least, three that are not in line tell a tilt of the camera."));
  }
  function tapLength() {
    pick.start({ words: (count) => (count ? "Tap the other end." : "Tap one end of the known length."), least: 2, most: 2, whole: true, done: (taps) => { photo().points.taps = taps; tell("Both ends are set."); apply(); } });
  }
  function show() {
    const kind = mark.value, taps = kind === "taps" || kind === "ruler";
    const round = kind === "coin" || kind === "coins";
    which.hidden = !round; diameter.element.hidden = !round || Boolean(coin.value); chequer.hidden = pitch.element.hidden = kind !== "chequer"; listCoins(); other.hidden = kind !== "";
    length.element.hidden = tap.hidden = !taps; place.hidden = !["coin", "coins", "card"].includes(kind);
    points.hidden = !taps && place.hidden;
    tap.disabled = place.disabled = !photo();
    const sheet = kind === "auto" || kind === "frame";
    for (const one of [copy, lengths.input]) one.closest("label").hidden = !sheet;
    keep.hidden = !(sheet && lengths.text && photo()?.result?.scale?.mark === "frame");
  }
  async function keepCopy() {
    try {
      const made = await post("/api/sheet-copies", { name: name.value.trim(), sheet: photo().result.scale.sheet, lengths: lengths.text });
      state.copies = (await get("/api/sheet-copies")).copies; fill();
      copy.value = made.name; setSheet({ sheet_copy: made.name }); localStorage.setItem(KEPT, made.name);
      put(kept, h("p", { class: "small" }, `Kept: ${made.name}, ${made.sheet}. Choose it under “Which sheet copy” from now on.`));
    } catch (error) { put(kept, results.said(error)); }
  }
  function fill() {
    put(copy, h("option", { value: "" }, "not named"), state.copies.map((one) => h("option", { value: one.name }, `${one.name} (${one.sheet}, read ${one.date})`)));
    const last = localStorage.getItem(KEPT) || "";
    if (state.copies.some((one) => one.name === last)) { copy.value = last; setSheet({ sheet_copy: last }); }
  }

  /** Another photo may have its scale from elsewhere. */
  function take() {
    const { mark: name, check_lengths: read, sheet_copy: known, length: long } = sheet(), kind = KINDS.some(([key]) => key === name) ? name : name.startsWith("coin") ? "coin" : "";
    mark.value = kind; copy.value = known;
    if (kind === "coin") { const which = name.slice(5); if ([...coin.options].some((one) => one.value === which)) coin.value = which; else { coin.value = ""; diameter.input.value = which; } }
    if (kind === "") typed.value = name;
    if (lengths.text !== read) lengths.input.value = read;
    if (length.text !== long) length.input.value = long;
  }

  show();
  return (what) => {
    if (what === "photo") take();
    const usual = state.shop.values?.sheet?.check_lengths;
    if (what === "shop" && usual && !lengths.input.value && !copy.value) { lengths.input.value = usual; setSheet({ check_lengths: usual }); if (photo()) remeasure(); }
    if (what === "choices") { for (const one of state.words.coins) coin.append(h("option", { value: one.key }, one.title)); fill(); }
    const scale = photo()?.result?.scale, used = photo()?.result?.sheet_copy;
    step.set(scale ? "done" : "live");
    step.line(scale ? `${MARKS[scale.mark] || scale.mark} ${scale.sheet}` : "from the printed scale sheet, unless you choose another");
    put(found, scale
      ? `Found: ${MARKS[scale.mark] || scale.mark} ${scale.sheet}, ${(1 / scale.mm_per_px).toFixed(1)} px/mm, camera tilted ${scale.tilt_deg.toFixed(0)}°.`
      : "The scale comes from a printed scale sheet, or a plain sheet of paper with all edges in view.", used && ` Check lengths of ${used.name}, read ${used.date}.`,
    used && results.notes(used.flags));
    show();
  };
}
