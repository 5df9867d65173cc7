// A step that is taken down without leaving the page: the form is sent, the answer is the page anew, and its pieces take
// the place of the old ones. The hand stays at the same wire. Where that does not work the form is sent as it is.

import { while_ } from "./waiting.js";

const PIECES = ["asks", "wires", "margin"];

function put(fresh) {
  for (const piece of PIECES) {
    const old = document.querySelector(`[data-part="${piece}"]`);
    const now = fresh.querySelector(`[data-part="${piece}"]`);
    if (old && now) old.replaceWith(now);
  }
  const revision = fresh.body.dataset.revision;
  const shown = document.querySelector('[data-live="revision"] .value');
  if (revision && shown) {
    document.body.dataset.revision = revision;
    shown.textContent = revision;
  }
  const counts = [...fresh.querySelectorAll("#pick-left option")];
  document.querySelectorAll("#pick-left option").forEach((option, place) => {
    if (counts[place]) option.textContent = counts[place].textContent;
  });
}

function stay(row, end) {
  const now = row && document.getElementById(row);
  if (!now) return;
  const same = [...now.querySelectorAll("form[data-step]")].find((form) => form.elements.end?.value === end);
  (same ?? now).querySelector("button, summary")?.focus({ preventScroll: true });
}

document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-step]") || form.dataset.plain) return;
  event.preventDefault();
  const row = form.closest(".build-row");
  if (row?.classList.contains("is-sent")) return;
  row?.classList.add("is-sent");
  const end = form.elements.end?.value;
  try {
    const answer = await while_(fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)), headers: { Accept: "text/html" } }));
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!answer.ok || !fresh.querySelector('[data-part="wires"]')) throw new Error(String(answer.status));
    put(fresh);
    stay(row?.id, end);
  } catch {
    // sent again with the same token it is not done twice, and the answer says what stands in the way
    form.dataset.plain = "yes";
    form.submit();
  }
});
