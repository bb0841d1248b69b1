// The sound at the target: three rising notes, again and again until somebody answers, half a minute at most.
const KEPT = "areakit.sound";
let context = null, ringing = 0;

export const isArmed = () => context?.state === "running";
export const isOn = () => localStorage.getItem(KEPT) !== "off";
/** Browsers let a page sound only after somebody pressed something; call this from a press. */
export function ready() { context ||= new AudioContext(); if (context.state === "suspended") context.resume(); }
export function setOn(on) { localStorage.setItem(KEPT, on ? "on" : "off"); if (on) { ready(); notes(); } else hush(); }

function notes() {
  if (!context) return;
  const start = context.currentTime + 0.02;
  [660, 880, 1320].forEach((pitch, i) => {
    const tone = context.createOscillator(), loud = context.createGain();
    tone.type = "triangle"; tone.frequency.value = pitch;
    loud.gain.setValueAtTime(0.0001, start + i * 0.22);
    loud.gain.exponentialRampToValueAtTime(0.5, start + i * 0.22 + 0.03);
    loud.gain.exponentialRampToValueAtTime(0.0001, start + i * 0.22 + 0.2);
    tone.connect(loud).connect(context.destination);
    tone.start(start + i * 0.22); tone.stop(start + i * 0.22 + 0.22);
  });
}
export function ring() {
  if (ringing || !isOn()) return;
  notes();
  let left = 20;
  ringing = setInterval(() => { left -= 1; if (left <= 0) hush(); else notes(); }, 1500);
  navigator.vibrate?.([200, 100, 200]);
}
export function hush() { clearInterval(ringing); ringing = 0; }
