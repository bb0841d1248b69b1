// The second photo of a dome, in which it stands on its edge: kept beside the first, it gives the rise.
import { h } from "./dom.js";
import { photo } from "./state.js";

const KINDS = "image/*,.heic,.heif,.tif,.tiff";

/** A field for it, which shows itself for a dome alone; `remeasure` is called when a photo came or went. */
export function sideField(remeasure) {
  const input = h("input", { type: "file", id: "side-file", accept: KINDS, class: "hidden", tabindex: "-1", "aria-hidden": "true", onchange: take });
  const choose = h("button", { type: "button", id: "side-choose", onclick: () => input.click() }, "Rise by a second photo"), off = h("button", { type: "button", class: "link", onclick: () => { delete photo().side; remeasure(); } }, "Take it off");
  const name = h("span", { class: "small" }), hint = h("p", { class: "small" }, "Stand the part on its edge, straight below the camera, on the same sheet. The thickness is needed; leave the rise out.");
  const element = h("div", { id: "side" }, choose, input, " ", name, " ", off, hint);
  function take() {
    const [file] = input.files;
    if (file && photo()) { photo().side = { file, name: file.name, kept: null }; remeasure(); }
    input.value = "";
  }
  return {
    element,
    show(form) {
      const { side } = photo() || {};
      element.hidden = !photo() || !/^domed\b/.test(form);
      name.textContent = side ? side.name : ""; off.hidden = !side;
    },
  };
}
