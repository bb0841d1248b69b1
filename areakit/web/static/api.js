// Calls to the server on this machine. A refusal is thrown as {code, message, remedy, status, body}.
export class Refused extends Error {
  constructor(status, body) {
    super(body.message);
    this.status = status; this.body = body; this.code = body.code; this.remedy = body.remedy;
  }
}

async function answer(response) {
  let body;
  try { body = await response.json(); } catch { body = null; }
  if (response.ok && body) return body;
  throw new Refused(response.status, body && body.message ? body : {
    code: "SERVER", message: `The server answered ${response.status} without a reason.`, remedy: "Try again; if it stays, look at the window of areakit serve.",
  });
}

async function send(path, options) {
  for (let tries = 0; ; tries += 1) {
    let response;
    try { response = await fetch(path, options); } catch {
      throw new Refused(0, { code: "UNREACHABLE", message: "The server does not answer.", remedy: "Check that areakit serve is running, and this device is in its network." });
    }
    if (response.status !== 503 || tries >= 20) return response;
    const wait = Number(response.headers.get("retry-after")) || 3;
    await new Promise((done) => setTimeout(done, wait * 1000));
  }
}

export const get = async (path) => answer(await send(path));
export const post = async (path, fields) => answer(await send(path, {
  method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(fields),
}));

export async function measure(file, settings) {
  const query = new URLSearchParams({ name: file.name || "photo" });
  for (const [name, text] of Object.entries(settings)) {
    if (Array.isArray(text)) for (const one of text) query.append(name, one);
    else if (text) query.set(name, text);
  }
  return answer(await send(`/api/measure?${query}`, { method: "POST", body: file }));
}

export async function preview(file, longest) {
  const query = new URLSearchParams({ name: file.name || "photo", longest_px: longest });
  const response = await send(`/api/preview?${query}`, { method: "POST", body: file });
  if (!response.ok) return answer(response);
  return response.blob();
}

export async function drawing(fields) {
  const response = await send("/api/drawing", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(fields) });
  if (!response.ok) return answer(response);
  return response.blob();
}

// Words of the command line, as the page calls them.
const FIELDS = {
  "--thickness": "Thickness", "--check-lengths": "Check lengths", "--faces": "What is plated", "--mark": "Scale mark", "--area-uncertainty": "the uncertainty of the area",
  "--efficiency": "Efficiency", "--factor": "Label factor", "--contact": "Contact of the tool", "--current-density": "Current density", "--part": "the part", "--part-number": "the part",
  "--metal-price": "Metal prices", "--price-date": "Day of the prices", "--layer": "the layers", "--solution": "a solution", "--allowance": "Mean over least", "--supply": "Supply", "--recover": "recovery (command line)",
};
export const plain = (text) => String(text || "").replace(/--[a-z-]+/g, (word) => (FIELDS[word] ? `“${FIELDS[word]}”` : word.slice(2).replace(/-/g, " ")));
