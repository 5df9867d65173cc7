// What a pointer does: a touch picks, a second one on the same cell types, drawing picks a block, a number picks its row,
// a heading its column, and the mark of a heading sorts.

const TOUCH = new Set(["touch", "pen"]);

export function listen({ rows, picked, editor, going }) {
  let drawing = false;

  const begin = (event) => {
    const spot = rows.touched(event.target);
    if (!spot || event.button !== 0) return;
    editor.down();
    const isTouch = TOUCH.has(event.pointerType);
    if (!isTouch) event.preventDefault(); // text of the page is not marked; the grid takes the keyboard
    rows.grid.focus({ preventScroll: true });
    if (isTouch) return; // scrolling begins the same way: a touch is a click that came to its end
    act(event, spot);
    drawing = spot.row !== "head" && spot.column !== "";
  };

  const act = (event, spot) => {
    if (event.target.closest(".sort-mark")) going.sortBy(spot.column);
    else if (spot.column === "" && spot.row === "head") going.toEnd("all");
    else if (spot.column === "") {
      const { names } = going;
      going.pick(event.shiftKey ? picked.anchor.row : spot.row, names[0]);
      going.pick(spot.row, names.at(-1), true, false);
    } else if (spot.row === "head") going.toEnd("column", spot.column);
    else going.pick(spot.row, spot.column, event.shiftKey);
  };

  rows.grid.addEventListener("pointerdown", begin);
  document.addEventListener("pointermove", (event) => {
    if (!drawing || event.buttons !== 1) return;
    const spot = rows.near(event.clientX, event.clientY);
    if (spot.row !== picked.row || spot.column !== picked.column) going.pick(spot.row, spot.column, true);
  });
  for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, () => { drawing = false; });
  rows.grid.addEventListener("click", (event) => {
    if (!TOUCH.has(event.pointerType)) return;
    const spot = rows.touched(event.target);
    if (!spot) return;
    const again = spot.row === picked.row && spot.column === picked.column;
    if (again && spot.row !== "head") going.edit("within");
    else act(event, spot);
  });
  rows.grid.addEventListener("dblclick", (event) => {
    const spot = rows.touched(event.target);
    if (spot && spot.row !== "head" && spot.column) going.edit("within");
  });
}
