// Keys of every page: `/` goes to the search, `?` shows the keys, arrows walk along a list.
// A list is anything marked data-arrows="row", "column"; its stops are the links and buttons in it.

const typing = (target) => target.closest("input, select, textarea, [contenteditable]") !== null;

function stops(list) {
  return [...list.querySelectorAll("a[href], button:not([disabled]), summary")].filter((stop) => stop.offsetParent !== null);
}

function walk(event) {
  const list = event.target.closest("[data-arrows]");
  if (!list || event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
  const along = list.dataset.arrows === "row" ? ["ArrowLeft", "ArrowRight"] : ["ArrowUp", "ArrowDown"];
  const all = stops(list);
  const here = all.indexOf(document.activeElement);
  if (here < 0) return;
  const next = { [along[0]]: here - 1, [along[1]]: here + 1, Home: 0, End: all.length - 1 }[event.key];
  if (next === undefined || !all[next]) return;
  event.preventDefault();
  all[next].focus();
}

// where the hand was before it went to the search or to the keys
let left = null;

function leave() {
  left = { focused: document.activeElement, x: scrollX, y: scrollY };
}

function comeBack() {
  if (!left) return;
  scrollTo(left.x, left.y);
  if (left.focused && left.focused !== document.body) left.focused.focus({ preventScroll: true });
  left = null;
}

function keys(event) {
  if (event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || typing(event.target)) return;
  if (event.key === "/") {
    const find = document.getElementById("find");
    if (!find) return;
    event.preventDefault();
    leave();
    find.focus();
    find.select();
  } else if (event.key === "?") {
    const shown = document.getElementById("keys");
    event.preventDefault();
    shown.open = !shown.open;
    if (!shown.open) return comeBack();
    leave();
    shown.scrollIntoView({ block: "nearest" });
    shown.querySelector("summary").focus({ preventScroll: true });
  }
  return undefined;
}

document.addEventListener("search-left", comeBack);
document.addEventListener("keydown", walk);
document.addEventListener("keydown", keys);

// a choice that is its own answer is sent when it is made; the button stays for those without scripts
document.querySelectorAll("form [data-plain]").forEach((button) => { button.hidden = true; });
document.addEventListener("change", (event) => {
  if (event.target.matches("[data-submit]")) event.target.form.requestSubmit();
});

// a page that is come back to asks anew: its forms count again
addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const field of document.querySelectorAll('input[name="once"]')) {
    field.value = Array.from(crypto.getRandomValues(new Uint8Array(12)), (one) => one.toString(16).padStart(2, "0")).join("");
  }
});
