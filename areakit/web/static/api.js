// Calls to the server on this machine. A refusal is thrown as {code, message, remedy, fields, status, body}.
export class Refused extends Error {
  constructor(status, body) {
    super(body.message);
    this.status = status; this.body = body; this.code = body.code; this.remedy = body.remedy; this.fields = body.fields;
  }
  get isGone() { return this.status === 0; }
}

const lost = new Set();
let reachable = true, skew = 0;
/** Call back when the server goes, and when it is back. */
export const onReach = (listener) => lost.add(listener);
/** The time on the server's clock; a device whose own clock is wrong must not shift the record. */
export const serverNow = () => new Date(Date.now() + skew);

function reached(now) {
  if (now === reachable) return;
  reachable = now;
  for (const one of lost) one(now);
  if (!now) waitForIt();
}
async function waitForIt() {
  while (!reachable) {
    await new Promise((done) => setTimeout(done, 1500));
    try { if ((await fetch("/api/about", { cache: "no-store" })).ok) reached(true); } catch { /* not yet */ }
  }
}

async function answer(response) {
  let body;
  try { body = await response.json(); } catch { body = null; }
  if (response.ok && body) return body;
  throw new Refused(response.status, body && body.message ? body : {
    code: "SERVER", message: `The server answered ${response.status} without a reason.`, remedy: "Try again; if it stays, look at the window that the server runs in.",
  });
}

async function send(path, options) {
  for (let tries = 0; ; tries += 1) {
    let response;
    try { response = await fetch(path, options); } catch {
      reached(false);
      throw new Refused(0, { code: "UNREACHABLE", message: "The server does not answer.", remedy: "Nothing that was kept is lost. Start it again on its machine; this page goes on by itself." });
    }
    reached(true);
    const date = Date.parse(response.headers.get("date"));
    if (date && Math.abs(date - Date.now() - skew) > 3000) skew = date - Date.now();
    if (response.status !== 503 || tries >= 20) return response;
    const wait = Number(response.headers.get("retry-after")) || 3;
    await new Promise((done) => setTimeout(done, wait * 1000));
  }
}

const withBody = (fields, method = "POST", key = null) => ({ method, headers: { "content-type": "application/json", ...(key && { "idempotency-key": key }) }, body: JSON.stringify(fields) });
/** A key of its own for one press: sent again with it, nothing is written twice. (No randomUUID: it asks for TLS.) */
export const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
const open = new Map();
/** Post what is to be kept. The same content posted again before an answer came has the same key, so it is kept once. */
export async function keep(path, fields, key = null) {
  const content = `${path} ${JSON.stringify(fields)}`, own = key || open.get(content) || newKey();
  open.set(content, own);
  try { const kept = await answer(await send(path, withBody(fields, "POST", own))); open.delete(content); return kept; } catch (error) {
    if (!error.isGone) open.delete(content);
    throw error;
  }
}
export const get = async (path) => answer(await send(path));
export const post = async (path, fields) => answer(await send(path, withBody(fields)));
export const put = async (path, fields) => answer(await send(path, withBody(fields, "PUT")));
export const postFile = async (path, file) => answer(await send(path, { method: "POST", body: file }));

/** Measure a photo; `place` names it in a draft, so that its bytes are not sent again. */
export async function measure(file, settings, place = {}) {
  const query = new URLSearchParams({ name: file.name || "photo", ...place });
  for (const [name, text] of Object.entries(settings)) {
    if (Array.isArray(text)) for (const one of text) query.append(name, one);
    else if (text) query.set(name, text);
  }
  return postFile(`/api/measure?${query}`, place.kept ? "" : file);
}

export async function preview(file, longest) {
  const query = new URLSearchParams({ name: file.name || "photo", longest_px: longest });
  const response = await send(`/api/preview?${query}`, { method: "POST", body: file });
  if (!response.ok) return answer(response);
  return response.blob();
}

/** A picture that the server draws from fields. */
export async function picture(path, fields) {
  const response = await send(path, withBody(fields));
  if (!response.ok) return answer(response);
  return response.blob();
}

/** A file that the server makes: its content, and the name it gives it. */
export async function file(path, method = "GET") {
  const response = await send(path, { method });
  if (!response.ok) return answer(response);
  return { blob: await response.blob(), name: /filename="([^"]+)"/.exec(response.headers.get("content-disposition") || "")?.[1] || "file" };
}
