// The buttons above the grid, for hands without a keyboard; the field that leaves rows out; and what is on the disk.

const TYPED_MS = 150;

export function listen(of) {
  const { root, sheet, picked, view, gestures, going, hands, turning } = of;
  const field = root.querySelector("[data-grid=only]");
  const count = root.querySelector("[data-grid=count]");
  const status = root.querySelector("[data-grid=status]");
  const button = (name) => root.querySelector(`[data-do="${name}"]`);
  let timer = 0;

  // rows for a sheet that only grows go out when they are recorded
  function record() {
    const drafts = gestures.list.filter((one) => one.state === "draft");
    for (const one of drafts) gestures.release(one);
    if (drafts.length) of.sending.go();
    return drafts.length > 0;
  }

  const done = {
    before: () => going.addRow("before"),
    drop: () => hands.dropRows(),
    up: () => hands.moveRows(-1),
    down: () => hands.moveRows(1),
    fill: () => hands.fillDown(),
    edit: () => going.edit("within"),
    undo: () => turning.turn("undo"),
    redo: () => turning.turn("redo"),
    adopt: () => hands.adopt(),
    like: () => going.likeThis(),
    all: () => going.showAll(),
    record,
  };
  root.addEventListener("click", (event) => {
    const name = event.target.closest("[data-do]")?.dataset.do;
    if (!name) return;
    done[name]();
    if (name !== "edit") going.backToGrid();
  });
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => going.only(field.value), TYPED_MS);
  });
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Escape" && event.key !== "Enter" && event.key !== "ArrowDown") return;
    event.preventDefault();
    event.stopPropagation();
    clearTimeout(timer);
    if (event.key === "Escape") field.value = "";
    going.only(field.value);
    of.grid.focus({ preventScroll: true });
  });

  const plural = (number, one, many) => `${number} ${number === 1 ? one : many}`;

  function disk() {
    const waiting = gestures.count("waits", "sent");
    const held = gestures.count("refused", "conflict", "stuck");
    const drafts = gestures.count("draft");
    const words = [];
    if (of.isAway()) words.push(waiting ? `No connection to the desk. ${plural(waiting, "edit waits", "edits wait")} here and ${waiting === 1 ? "goes" : "go"} out when it is back.` : "No connection to the desk. What is typed waits here and goes out when it is back.");
    else if (waiting) words.push(`${plural(waiting, "edit", "edits")} going out`);
    if (held) words.push(`${plural(held, "edit", "edits")} not taken: see the notes`);
    if (drafts) words.push(`${plural(drafts, "row", "rows")} not recorded yet`);
    return words.length ? words.join(" · ") : "All of it is on the disk.";
  }

  function put() {
    const { top, bottom, left, right } = picked.block();
    const all = sheet.order.length;
    const rowsPicked = Math.min(bottom, view.keys.length - 1) - top + 1;
    const block = picked.isOne ? "" : ` · ${Math.max(rowsPicked, 0)} × ${right - left + 1} picked`;
    const words = (view.keys.length === all || view.isOwnOrder ? plural(view.keys.length, "row", "rows") : `${view.keys.length} of ${plural(all, "row", "rows")}`) + block;
    if (count.textContent !== words) count.textContent = words;
    const says = disk();
    if (status.textContent !== says) status.textContent = says;
    if (document.activeElement !== field && field.value !== view.only) field.value = view.only;
    button("all").hidden = view.isOwnOrder;
    for (const name of ["up", "down"]) if (button(name)) button(name).disabled = !view.isOwnOrder;
    const drafts = gestures.count("draft");
    if (button("record")) button("record").disabled = !drafts;
  }

  return { put, record, toFilter: () => { field.focus(); field.select(); } };
}
