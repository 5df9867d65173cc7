/* A finger or a mouse on the drawing: a touch sets the mark there, a drag along it looks closer. Up and down scrolls the
   page as ever; Escape lets a drag go. */
const DRAGS_FROM = 8; // dots, less is a touch

const plot = document.querySelector("[data-from]");
const span = document.createElement("div");
span.className = "log-span";
span.hidden = true;
plot?.append(span);

let begun = null;

function timeAt(x) {
  const { left, width } = plot.querySelector("img").getBoundingClientRect();
  const [from, to, first, last] = ["from", "to", "left", "right"].map((name) => Number(plot.dataset[name]));
  const share = ((x - left) / width - first) / (last - first);
  return from + Math.min(1, Math.max(0, share)) * (to - from);
}

function look(words) {
  const asked = new URLSearchParams(location.search);
  for (const [name, value] of Object.entries(words)) asked.set(name, value.toFixed(2));
  location.assign(`${location.pathname}?${asked}#drive`);
}

function let_go() {
  begun = null;
  span.hidden = true;
}

plot?.addEventListener("pointerdown", (event) => {
  if (event.button !== 0 || !event.isPrimary) return;
  begun = event.clientX;
});

plot?.addEventListener("pointermove", (event) => {
  if (begun === null) return;
  const box = plot.getBoundingClientRect();
  const [low, high] = [Math.min(begun, event.clientX), Math.max(begun, event.clientX)];
  span.hidden = high - low < DRAGS_FROM;
  if (span.hidden) return;
  plot.setPointerCapture(event.pointerId);
  span.style.left = `${low - box.left}px`;
  span.style.width = `${high - low}px`;
});

plot?.addEventListener("pointerup", (event) => {
  if (begun === null) return;
  const [low, high] = [Math.min(begun, event.clientX), Math.max(begun, event.clientX)];
  let_go();
  if (high - low < DRAGS_FROM) look({ mark: timeAt(event.clientX) });
  else if (timeAt(high) - timeAt(low) > 0.05) look({ from: timeAt(low), to: timeAt(high) });
});

plot?.addEventListener("pointercancel", let_go);
addEventListener("keydown", (event) => event.key === "Escape" && let_go());
