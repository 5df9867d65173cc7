// The thin line from a note in the margin to its place in the work, while either is touched.
// Both carry the same number: data-tie on the flag of the note, data-tie on the flag or the element at the place.

const SVG = "http://www.w3.org/2000/svg";
let drawn = null;

function clear() {
  drawn?.remove();
  drawn = null;
  document.querySelectorAll(".is-tied").forEach((one) => one.classList.remove("is-tied"));
}

function middle(element) {
  const box = element.getBoundingClientRect();
  return { left: box.left + scrollX, right: box.right + scrollX, y: box.top + box.height / 2 + scrollY };
}

function tie(number) {
  clear();
  const note = document.querySelector(`.margin [data-tie="${CSS.escape(number)}"]`);
  const place = document.querySelector(`.work [data-tie="${CSS.escape(number)}"]`);
  if (!note || !place || !note.offsetParent || !place.offsetParent) return;
  const from = middle(place);
  const to = middle(note);
  place.classList.add("is-tied");
  if (to.left < from.right) return; // the margin lies below: the number alone must do
  drawn = document.createElementNS(SVG, "svg");
  drawn.setAttribute("class", "tie");
  drawn.setAttribute("aria-hidden", "true");
  const path = document.createElementNS(SVG, "path");
  const turn = to.left - 12;
  path.setAttribute("d", `M${from.right} ${from.y}H${turn}V${to.y}H${to.left}`);
  drawn.append(path);
  document.body.append(drawn);
}

function numberOf(target) {
  const tied = target.closest?.("[data-tie]") ?? target.closest?.(".margin .margin-note")?.querySelector("[data-tie]");
  return tied?.dataset.tie;
}

for (const [begin, end] of [["pointerover", "pointerout"], ["focusin", "focusout"]]) {
  document.addEventListener(begin, (event) => {
    const number = numberOf(event.target);
    if (number) tie(number);
  });
  document.addEventListener(end, (event) => {
    if (numberOf(event.target) !== numberOf(event.relatedTarget ?? document.body)) clear();
  });
}
