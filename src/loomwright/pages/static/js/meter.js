// A reading taken from a meter of the shop: asked for by its name, watched while it settles, put into the field as if typed.
// Nothing on the page is drawn anew meanwhile, so nothing that was typed is lost; whatever goes wrong is told beside it.

import { letGo, takenFrom, whyNot } from "./taking.js";

function put(field, text) {
  field.value = text;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

function begin(place) {
  const field = document.getElementById(place.dataset.field);
  const by = document.getElementById(place.dataset.with);
  const line = place.querySelector("[data-told]");
  const halt = place.querySelector("[data-stop]");
  const takes = [...place.querySelectorAll("[data-take]")];
  const box = { told: (words) => { line.textContent = words; } };
  let key = "";
  let held = null; // what the meter put there, and what stood beside it before

  const busy = (is) => {
    for (const one of takes) one.disabled = is;
    halt.hidden = !is;
    place.toggleAttribute("data-busy", is);
    line.setAttribute("aria-live", is ? "off" : "polite"); // figures that still run are seen; what comes of them is read out
  };

  async function take(name) {
    busy(true);
    key = "";
    box.told(`Reaching the ${name}. Hold the probes where they belong.`);
    field.dispatchEvent(new Event("focusin", { bubbles: true })); // the page is in use: it is not drawn anew
    const told = await takenFrom(name, place.dataset.measure, { begun: (word) => { key = word; }, told: box.told, isOn: () => place.isConnected });
    busy(false);
    if (!told) return;
    if (!told.value) {
      box.told(whyNot(told));
      return;
    }
    const before = held?.value === field.value ? held.before : by.value;
    put(field, told.value);
    held = { value: told.value, before };
    by.value = told.instrument;
    box.told(`It stands still at ${told.shown}.${field.readOnly ? "" : " Lift the probes, then take it down."}`);
    field.form?.querySelector("button.first, button:not([type=button])")?.focus();
  }

  // a form with a choice of what is measured offers the meter where the meter measures that
  const choice = document.getElementById(place.dataset.when ?? "");
  const show = () => { place.hidden = choice !== null && choice.value !== place.dataset.measure; };
  choice?.addEventListener("change", show);

  field.addEventListener("input", () => {
    if (held && field.value !== held.value) { // typed over: no longer what the meter held
      by.value = held.before;
      held = null;
      box.told("");
    }
  });
  halt.addEventListener("click", () => {
    box.told("Stopping.");
    letGo(key);
  });
  for (const one of takes) one.addEventListener("click", () => take(one.dataset.take));
  show();
}

document.querySelectorAll("[data-meter]").forEach(begin);
