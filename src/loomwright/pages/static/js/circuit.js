// What is touched in a drawing is told in the margin: its row of the table is read there, cell by cell. Hover and focus
// show; a touch or a click keeps it, and a second one goes to its page. What is kept stands in the address, after #.

const rowOf = (name) => document.querySelector(`[data-row="${CSS.escape(name)}"]`);
const drawnOf = (name) => document.querySelectorAll(`.thing[data-thing="${CSS.escape(name)}"]`);
let kept = "";

function told(row) {
  const list = document.createElement("dl");
  for (const cell of row.querySelectorAll("td[data-word]")) {
    const word = document.createElement("dt");
    word.textContent = cell.dataset.word;
    const says = document.createElement("dd");
    says.append(...[...cell.childNodes].map((one) => one.cloneNode(true)));
    const pair = document.createElement("div");
    pair.append(word, says);
    list.append(pair);
  }
  return list;
}

function show(name) {
  const row = rowOf(name);
  if (!row) return;
  document.querySelectorAll(".is-picked").forEach((one) => one.classList.remove("is-picked"));
  drawnOf(name).forEach((one) => one.classList.add("is-picked"));
  row.classList.add("is-picked");
  // the note stands in the margin, or under the drawing where there is no room beside it
  for (const title of document.querySelectorAll("[data-picked-title]")) {
    title.replaceChildren(...[...row.querySelector("th").childNodes].map((one) => one.cloneNode(true)));
  }
  for (const place of document.querySelectorAll("[data-picked]")) {
    place.replaceChildren(told(row));
    place.closest(".picked").classList.add("is-told");
  }
}

function keep(name) {
  kept = name;
  show(name);
  history.replaceState(history.state, "", `#${encodeURIComponent(name)}`);
}

const thingOf = (target) => target.closest?.(".thing[data-thing]");

document.addEventListener("pointerover", (event) => {
  const thing = thingOf(event.target);
  if (thing && event.pointerType === "mouse" && !kept) show(thing.dataset.thing);
});
document.addEventListener("focusin", (event) => {
  const thing = thingOf(event.target);
  if (thing && thing.matches(":focus-visible")) keep(thing.dataset.thing);
});
document.addEventListener("click", (event) => {
  const thing = thingOf(event.target);
  if (!thing || event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
  if (thing.dataset.thing === kept) return; // the second touch goes to its page
  event.preventDefault();
  keep(thing.dataset.thing);
});

function fromAddress() {
  const name = decodeURIComponent(location.hash.slice(1));
  if (name && rowOf(name)) keep(name);
}

document.addEventListener("car-set", () => { if (kept) show(kept); });
addEventListener("hashchange", fromAddress);
fromAddress();
