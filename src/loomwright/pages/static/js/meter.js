// A reading taken from a meter of the shop: asked for by its name, watched while it settles, put into the field as if typed.
// Nothing on the page is drawn anew meanwhile, so nothing that was typed is lost; whatever goes wrong is told beside it.

const EVERY_MS = 350;
const MOST_TROUBLE = 8;
const AWAY = "The server does not answer. The reading can be typed instead; nothing you typed is gone.";
const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

async function asked(address, typed) {
  const given = typed ? { method: "POST", body: JSON.stringify(typed) } : {};
  const headers = { Accept: "application/json", ...(typed && { "Content-Type": "application/json" }) };
  const answer = await fetch(address, { ...given, headers });
  const told = await answer.json();
  if (!answer.ok && told.refused) return { over: true, value: "", reasons: told.refused.map((one) => `${one.found}.${one.mend ? ` ${one.mend}.` : ""}`) };
  return told;
}

async function followed(key, box, isOn) {
  for (let trouble = 0; isOn();) {
    await pause(EVERY_MS);
    try {
      const told = await asked(`/api/meters/take/${encodeURIComponent(key)}`);
      trouble = 0;
      if (told.over) return told;
      if (told.asked) box.told(`It shows ${told.shown}; not still yet.`);
    } catch {
      trouble += 1;
      if (trouble >= MOST_TROUBLE) return { over: true, value: "", reasons: [AWAY] };
    }
  }
  return null;
}

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
    let told;
    try {
      const begun = await asked("/api/meters/take", { meter: name, measure: place.dataset.measure });
      key = begun.key ?? "";
      told = begun.over ? begun : await followed(key, box, () => place.isConnected);
    } catch {
      told = { over: true, value: "", reasons: [AWAY] };
    }
    busy(false);
    if (!told) return;
    if (!told.value) {
      box.told(told.stopped ? "Stopped. The reading can be typed instead." : told.reasons.join(" "));
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
    if (key) asked(`/api/meters/take/${encodeURIComponent(key)}/stop`, {}).catch(() => {});
  });
  for (const one of takes) one.addEventListener("click", () => take(one.dataset.take));
  show();
}

document.querySelectorAll("[data-meter]").forEach(begin);
