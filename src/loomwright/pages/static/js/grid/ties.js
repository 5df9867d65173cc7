// The thin line from a note in the margin to its row, while either is touched. It begins where the grid ends, so that it
// crosses no cell; a row out of sight has none, and where the margin lies below, the number alone must do.

const SVG = "http://www.w3.org/2000/svg";
const TURN = 12; // px before the margin, where the line turns

export function listen(box, margin) {
  let drawn = null;

  const clear = () => {
    drawn?.remove();
    drawn = null;
  };

  const tie = (number) => {
    clear();
    const note = margin.querySelector(`.margin-note[data-note="${number}"]`);
    const mark = box.querySelector(`.grid-row:not([hidden]) [data-note="${number}"]`);
    if (!note || !mark) return;
    const [from, to, row] = [box, note, mark].map((one) => one.getBoundingClientRect());
    const y = row.top + row.height / 2;
    if (to.left < from.right || y < from.top || y > from.bottom) return;
    drawn = document.createElementNS(SVG, "svg");
    drawn.setAttribute("class", "tie");
    drawn.setAttribute("aria-hidden", "true");
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("d", `M${from.right + scrollX} ${y + scrollY}H${to.left + scrollX - TURN}V${to.top + scrollY + TURN}H${to.left + scrollX}`);
    drawn.append(path);
    document.body.append(drawn);
  };

  const numberOf = (target) => target?.closest?.("[data-note]")?.dataset.note;
  for (const place of [box, margin]) {
    for (const [begin, end] of [["pointerover", "pointerout"], ["focusin", "focusout"]]) {
      place.addEventListener(begin, (event) => numberOf(event.target) && tie(numberOf(event.target)));
      place.addEventListener(end, (event) => numberOf(event.target) !== numberOf(event.relatedTarget) && clear());
    }
    place.addEventListener("scroll", clear, { passive: true });
  }
}
