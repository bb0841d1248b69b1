// The job that this page writes to. An entry counts once the server has said that it is on the disk; tabs tell each other.
import * as api from "./api.js";
import { documentOf, isStale } from "./photos.js";
import * as draft from "./draft.js";
import { changed, photo, planSettled, state } from "./state.js";

const KEPT = "areakit.job", WHO = "areakit.who", LOOK_MS = 5000;
const tabs = new BroadcastChannel("areakit");
/** What a job holds already, as `number kind`, and a short print of it (FNV-1a): enough to tell a changed plan. */
let sent = {};
function print(text) { let sum = 0x811c9dc5; for (let i = 0; i < text.length; i += 1) sum = Math.imul(sum ^ text.charCodeAt(i), 0x01000193) >>> 0; return `${text.length}-${sum}`; }
draft.hold("job", () => sent, (kept) => { sent = kept; });
const path = (number) => `/api/jobs/${encodeURIComponent(number)}`;

export const who = () => localStorage.getItem(WHO) || "";
export const setWho = (name) => localStorage.setItem(WHO, name.trim());
const asWho = () => (who() ? `?who=${encodeURIComponent(who())}` : "");
/** The traveller, with the lanes of the plan where it has some. */
export function travellerLink(form, paper) {
  const brush = planOf()?.distribution?.brush, query = new URLSearchParams({ form, paper });
  if (brush && latest("measured")) query.set("lanes", `${brush.footprint_width.value} x ${brush.footprint_length.value} mm`);
  return `${path(state.job.number)}/traveller?${query}`;
}

/** The certificate of conformance; it is asked for by POST, since the record keeps it. */
export const certificateLink = () => `${path(state.job.number)}/certificate${asWho()}`;

export const list = async (words = "") => (await api.get(`/api/jobs?words=${encodeURIComponent(words)}`)).jobs;
function take(job) {
  state.job = job;
  if (job) localStorage.setItem(KEPT, job.number); else localStorage.removeItem(KEPT);
  changed("job");
}
export async function load(number) { take(await api.get(path(number))); }
export async function refresh() { if (state.job) await load(state.job.number); }
export function leave() { take(null); }
/** After the page was loaded anew: go on with the job that was open. */
export async function restore() {
  const number = localStorage.getItem(KEPT);
  if (number) await load(number).catch(({ code }) => { if (code === "NO_JOB") localStorage.removeItem(KEPT); });
}
export async function openNew(fields) { take(await api.keep(`/api/jobs${asWho()}`, fields)); }

/** Add one entry; the answer comes when it is on the disk. */
export async function add(kind, body, number = state.job.number, key = null) {
  try { return await api.keep(`${path(number)}/entries/${kind}${asWho()}`, body, key); } finally {
    tabs.postMessage(number);
    if (state.job?.number === number) await refresh().catch(() => {});
  }
}
tabs.addEventListener("message", (event) => { if (state.job && event.data === state.job.number) refresh().catch(() => {}); });
document.addEventListener("visibilitychange", () => { if (!document.hidden) refresh().catch(() => {}); });

/** Another phone may write to the same job: what it wrote is here a moment later, so that both count the same charge. */
async function look() {
  if (!state.job || document.hidden) return;
  const fresh = await api.get(path(state.job.number));
  if (fresh.number === state.job?.number && fresh.last > state.job.last) take(fresh);
}
setInterval(() => look().catch(() => {}), LOOK_MS);

/** What of this page the job does not hold yet: photo, area, plan, quote. */
export function missing() {
  const now = photo(), found = [];
  if (!state.job) return found;
  const add_ = (kind, title, text, body) => { const key = print(text); if (sent[`${state.job.number} ${kind}`] !== key) found.push({ kind, title, key, body }); };
  if (now?.result?.parts.length && !isStale(now)) {
    add_("photographed", "photo", now.kept || now.url);
    const part = partOf(now), document = part !== null && { document: documentOf(now), part: part + 1 };
    if (document) add_("measured", "area", JSON.stringify(document), document);
    if (state.plan && !state.planStale) add_("planned", "plan", JSON.stringify(state.plan), { document: state.plan });
    if (state.quote && !state.planStale) add_("quoted", "quote", JSON.stringify(state.quote), { document: state.quote });
  }
  return found;
}
/** The part that the job is about: the only one, the chosen one, or the first of equal parts that are planned as pieces. */
function partOf(now) {
  if (now.result.parts.length === 1) return 0;
  const equal = state.plan && !state.planStale ? state.plan.parts || [] : [];
  return state.chosen ?? (equal.length ? equal[0] - 1 : null);
}
/** A job is about one kind of part; where they differ, one has to be chosen. */
export const needsChoice = () => (photo()?.result?.parts.length || 0) > 1 && partOf(photo()) === null;

const asBase64 = (file) => new Promise((done, fail) => {
  const reader = new FileReader();
  reader.onload = () => done(reader.result.slice(reader.result.indexOf(",") + 1)); reader.onerror = () => fail(reader.error);
  reader.readAsDataURL(file);
});
/** Keep all that is missing in one write: photo, outline and area, plan and price together, or nothing. */
export async function keepAll() {
  const { number } = state.job;
  await planSettled();
  const found = missing();
  if (!found.length) return;
  try {
    const entries = await Promise.all(found.map(async ({ kind, body }) => ({ kind, ...(kind === "photographed" ? { name: photo().name, base64: await asBase64(photo().file) } : body) })));
    await api.keep(`${path(number)}/entries${asWho()}`, { entries });
    for (const one of found) sent[`${number} ${one.kind}`] = one.key;
    draft.save();
  } finally { tabs.postMessage(number); await refresh().catch(() => {}); }
}

export const latest = (kind) => state.job?.entries.filter((entry) => entry.kind === kind && !entry.withdrawn).at(-1) || null;
export const planOf = () => latest("planned")?.doc.plan || null;
