// The strip that sets the car: a control that is moved is its own answer. The page in the new state is fetched and its
// pieces put in place of the old ones, the hand stays on the control, the address follows. Without scripts the form
// does the same with its button.

import { while_ } from "./waiting.js";

const PIECES = [".work", ".margin"];
let latest = 0;

function addressOf(form) {
  const asked = new URLSearchParams();
  for (const [name, text] of new FormData(form)) asked.append(name, text);
  return `${form.action}?${asked}`;
}

// what was folded open stays open, what was scrolled stays where it was
function kept() {
  return {
    open: [...document.querySelectorAll("details[open][data-keep]")].map((one) => one.dataset.keep),
    across: [...document.querySelectorAll("[data-keep-across]")].map((one) => [one.dataset.keepAcross, one.scrollLeft]),
    checked: [...document.querySelectorAll("[data-keep-checked]:checked")].map((one) => one.dataset.keepChecked),
    focused: document.activeElement?.id ?? "",
  };
}

function putBack(was) {
  for (const name of was.open) {
    const again = document.querySelector(`details[data-keep="${CSS.escape(name)}"]`);
    if (again) again.open = true;
  }
  for (const name of was.checked) {
    const again = document.querySelector(`[data-keep-checked="${CSS.escape(name)}"]`);
    if (again) again.checked = true;
  }
  for (const [name, across] of was.across) {
    const again = document.querySelector(`[data-keep-across="${CSS.escape(name)}"]`);
    if (again) again.scrollLeft = across;
  }
  if (was.focused) document.getElementById(was.focused)?.focus({ preventScroll: true });
}

export async function show(address, { push = true } = {}) {
  const turn = ++latest;
  const answer = await while_(fetch(address, { headers: { Accept: "text/html" } }));
  if (turn !== latest) return; // another control was moved meanwhile
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (turn !== latest) return;
  if (!answer.ok || PIECES.some((piece) => !fresh.querySelector(piece))) {
    location.assign(address);
    return;
  }
  const was = kept();
  for (const piece of PIECES) document.querySelector(piece).replaceChildren(...fresh.querySelector(piece).childNodes);
  document.querySelectorAll("form [data-plain]").forEach((button) => { button.hidden = true; });
  const there = new URL(answer.url);
  if (push) history.pushState({}, "", there.pathname + there.search + location.hash);
  putBack(was);
  document.dispatchEvent(new CustomEvent("car-set"));
}

document.addEventListener("submit", (event) => {
  if (!event.target.matches("[data-setting]")) return;
  event.preventDefault();
  show(addressOf(event.target));
});

// a control of the strip that leads to another state by a link: all at rest, the circuit beside
document.addEventListener("click", (event) => {
  const link = event.target.closest(".state-go a[href]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
  event.preventDefault();
  show(link.href);
});

addEventListener("popstate", (event) => {
  if (event.state !== null || location.hash === "") show(location.href, { push: false });
});
