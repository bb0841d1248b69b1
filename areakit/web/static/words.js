// What the server says, in the words of this page: it speaks to whoever types commands as well.
const PLACES = {
  thickness: "Thickness", faces: "What is plated", "edge-make": "How its edge was made", "edge-form": "Form of its edge", mark: "Scale mark", "mark-at": "“Show where it lies” in step 1", "check-lengths": "Check lengths", print: "Which print",
  area: "the area", "area-uncertainty": "the uncertainty of the area", efficiency: "Efficiency from", factor: "Factor of the label", contact: "Contact of the tool",
  "current-density": "Current density", current: "the current", time: "the time", charge: "the charge", mass: "the mass", volume: "the volume", weighed: "the weight gain",
  part: "the part, in the table of step 2", "part-number": "the part, in the table of step 2", pieces: "Pieces", layer: "Thickness of the layer", requirement: "Class or term to meet",
  "metal-price": "Price of the metal", "price-date": "Day of the prices", solution: "the solution", solutions: "the solutions", allowance: "the allowance", supply: "Supply", overlap: "Overlap of lanes", overrun: "Run past the edge",
  wagner: "Wagner number", hole: "“It is a hole”", metal: "“It is metal”", despite: "“Why go on all the same”", stop: "“Record: switched off”", step: "the step", title: "its name", at: "the place", map: "the map", base: "Base metal", use: "Use", market: "Sold in", process: "Process", value: "its value", minimum: "Minimum",
};
const PHRASES = [
  [/ ?\(areakit sheet\)/g, ""],
  [/Give a photo, or --from with what areakit measure --json or areakit surface --json printed\./g, "Measure a photo first."],
  [/(Give|Use) (what|a line that|a line of what) areakit (measure|plan|quote) --json printed\./g, "Do the $3 step again on this page."],
  [/Give what the command printed with --json\./g, "Do the step again on this page."],
  [/Name it(?:s place)? with --mark-at x,y\.?/gi, "Show where it lies (step 1)."],
  [/, and name its place with --mark-at x,y/g, ", and show where it lies (step 1)"],
  [/name its place with --mark-at x,y/g, "show where it lies (step 1)"],
  [/say which it is: --hole or --metal and that point/gi, "say in step 2 whether it is a hole or metal"],
  [/Give --at once for a point, or three times and more for a region\./g, "Tap one point, or three and more round a region."],
  [/ \(areakit job show [^)]*\)/g, ""], [/See areakit job list for what is there\./g, "Choose it from the list in “Run”."],
  [/See areakit job (show|history) ?\S* for (its|the) (numbers|steps|photos)(, or name the step with --title)?\.?/g, "See the entries in “Record”."],
  [/Begin one with areakit job step\.?/g, "Begin a step in “Run”."],
  [/Add a measurement with areakit job measured, or leave out lanes\.?/g, "Keep a measured area with the job first."],
  [/(?:Check it|Measure its two check lengths again) with areakit print-check\.?/g, "Measure its two check lengths again and keep them in step 1."],
  [/, or use areakit measure on the command line/g, ""], [/; describe (rods and tubes|cones) with areakit surface --shape/g, ""],
  [/areakit plan --list-requirements shows the known ones\.?/g, "Choose one from the list."], [/; areakit rates writes a commented one/g, "; “New, to fill in” writes a commented one"],
  [/(?:Choose another|Choose one|Choose another one) with --part(?:-number)?|Choose another --part(?:-number)?/g, "Choose another part in step 2"],
  [/(?:Measure it on a weighed coupon) \(areakit deposit --weighed\), or give --efficiency \S+=?/g, "Measure it on a weighed coupon, or type it under “Efficiency from”"],
  [/Pick one with --efficiency \S+/g, "Pick one under “Efficiency from”."], [/Give --efficiency \S+=\.\.\. with a value/g, "Type it under “Efficiency from”"],
  [/or measure the part with areakit measure/g, "or measure a photo of the part"],
  [/Run areakit job (check|salvage)[^.]*\./g, "Close the page and have the journal checked on the machine that keeps it."],
  [/, or name another with --journal|Name (?:it|another file) with --journal/g, ""], [/ \(areakit bottle recover [^)]*\)/g, ""],
  [/Give --solutions FILE, or add one with areakit solution add/g, "Type its figures instead"], [/See areakit bottle show/g, "See the label of the bottle"],
];
const quoted = (name) => (/[“ ]/.test(name[0]) || /^(the|its) /.test(name) ? name : `“${name}”`);

/** A message or a remedy without words of the command line. */
export function plain(text) {
  let said = String(text || "");
  for (const [pattern, words] of PHRASES) said = said.replace(pattern, words);
  said = said.replace(/(?:with |under |in )?--([a-z][a-z-]*)(?:[= ](?:\{[a-z_]+\}|[a-z]+=\S*|x,y|NAME|NEW|FILE|LABEL))?/g, (whole, word) => `${/^(with|under|in) /.exec(whole)?.[0] || ""}${PLACES[word] ? quoted(PLACES[word]) : word.replace(/-/g, " ")}`);
  said = said.replace(/areakit (?:serve)\b/g, "the server").replace(/areakit [a-z][a-z-]*(?: [a-z]+)?(?= |[.,;)]|$)/g, "the command line");
  return said.replace(/\s+/g, " ").replace(/ ([.,;])/g, "$1").trim();
}
