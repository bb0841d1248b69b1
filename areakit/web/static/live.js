// The camera in the page: small frames go to the server, which says what to do; when all is well the picture is taken.
import * as api from "./api.js";
import { byId, h, put, s, tell } from "./dom.js";
import { path } from "./picture.js";

/** Width of a frame that is sent, its JPEG quality, and how many good ones in a row take the picture. */
const FRAME_PX = 960, QUALITY = 0.75, STEADY = 3, FINE = 0.95;
const box = byId("aim");
const video = h("video", { autoplay: true, playsinline: true, muted: true }), over = s("svg", { preserveAspectRatio: "xMidYMid meet" });
const say = h("p", { class: "say", role: "status" }), list = h("ul", {}), shutter = h("button", { type: "button", class: "go", id: "aim-take" }, "Take it now");
put(box, h("div", { class: "scene" }, video, over), say, list, h("div", { class: "actions" }, shutter, h("button", { type: "button", id: "aim-close", onclick: () => box.close() }, "Close")));

/** Whether this device lets a page see its camera: over TLS or on the machine itself, and with a camera at all. */
export async function isThere() {
  try { return (await navigator.mediaDevices.enumerateDevices()).some((one) => one.kind === "videoinput"); } catch { return false; }
}
let stream = null;
function still(width, quality) {
  const canvas = document.createElement("canvas"), scale = Math.min(1, width / video.videoWidth);
  canvas.width = Math.round(video.videoWidth * scale); canvas.height = Math.round(video.videoHeight * scale);
  canvas.getContext("2d").drawImage(video, 0, 0, canvas.width, canvas.height);
  return new Promise((done) => canvas.toBlob(done, "image/jpeg", quality));
}
/** The finest picture that the camera gives: its own photo, else a frame of the stream. */
async function finest() {
  try { return await new ImageCapture(stream.getVideoTracks()[0]).takePhoto(); } catch { return still(Infinity, FINE); }
}
function show(found) {
  over.setAttribute("viewBox", `0 0 ${found.image.width_px} ${found.image.height_px}`);
  const drawn = (rings, name) => rings.map((ring) => s("path", { d: path(ring), class: name }));
  put(over, drawn(found.mark_px, "seen-mark"), drawn(found.whole_px, "seen-whole"), drawn(found.crossing_px, "seen-crossing"));
  put(list, found.checks.map((one) => h("li", { class: one.good ? "good" : "" }, one.good ? one.words : one.key)));
  const next = found.checks.find((one) => !one.good), words = next ? `${next.words}.` : "Good. Hold still.";
  if (say.textContent !== words) { say.textContent = words; tell(words); }
}

/** Open the camera; `taken` gets the photo as a file. */
export async function start(taken) {
  put(over); put(list); say.textContent = "The camera opens.";
  box.showModal();
  try { stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 4096 }, height: { ideal: 3072 } } }); } catch {
    say.textContent = "The camera was not given to this page. Close this, and take the photo with “Take a photo”."; return;
  }
  video.srcObject = stream;
  await video.play().catch(() => {});
  const take = async () => {
    const blob = await finest(), name = `camera-${new Date().toTimeString().slice(0, 8).replaceAll(":", "")}.jpg`;
    box.close(); taken(new File([blob], name, { type: blob.type || "image/jpeg" }));
  };
  shutter.onclick = take;
  let good = 0, frames = 0, coming = null;
  const began = performance.now();
  while (box.open) {
    if (!video.videoWidth) { await new Promise((done) => setTimeout(done, 100)); continue; }
    try {
      const frame = await (coming || still(FRAME_PX, QUALITY));
      coming = still(FRAME_PX, QUALITY); // the next one is drawn while the server looks at this one
      const found = await api.postFile("/api/aim", frame);
      if (!box.open) return;
      show(found); frames += 1; box.dataset.rate = (frames / (performance.now() - began) * 1000).toFixed(1);
      good = found.good ? good + 1 : 0;
      if (good >= STEADY) { await take(); return; }
    } catch (error) { say.textContent = error.message; await new Promise((done) => setTimeout(done, 700)); }
  }
}
box.addEventListener("close", () => { for (const track of stream?.getTracks() || []) track.stop(); stream = null; video.srcObject = null; });
