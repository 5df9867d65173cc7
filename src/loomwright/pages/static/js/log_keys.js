/* While the drawing has the focus its keys follow the ways beneath it: arrows, plus, minus, nought. */
const drawing = document.querySelector("[data-zooms]");
drawing?.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const key = event.key === "=" ? "+" : event.key;
  const way = [...document.querySelectorAll("a[data-key]")].find((one) => one.dataset.key === key);
  if (way) {
    event.preventDefault();
    way.click();
  }
});
if (drawing && location.hash === "#drive") drawing.focus({ preventScroll: false });
