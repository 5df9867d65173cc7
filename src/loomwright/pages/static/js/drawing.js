// Looking at a drawing: + and - go to the next way of looking, the middle stays the middle, a button prints. A drawing
// that is larger than its window opens where its first words stand, not at the empty corner of its sheet.

const view = document.querySelector("[data-drawn]");
const print = document.querySelector("[data-print]");
const KEPT = "drawn-middle";

if (print) {
  print.hidden = false;
  print.addEventListener("click", () => window.print());
}

function middle() {
  return [(view.scrollLeft + view.clientWidth / 2) / view.scrollWidth, (view.scrollTop + view.clientHeight / 2) / view.scrollHeight];
}

function towards(across, down) {
  view.scrollTo(across * view.scrollWidth - view.clientWidth / 2, down * view.scrollHeight - view.clientHeight / 2);
}

const EDGE_PX = 32;

function toTheFirstWords() {
  const svg = view.querySelector("svg");
  const size = svg.viewBox.baseVal;
  const boxes = [...svg.querySelectorAll("text")].map((one) => one.getBBox());
  if (!boxes.length) return;
  const scale = view.scrollWidth / size.width;
  const top = Math.min(...boxes.map((box) => box.y));
  // what feeds the circuit stands along the top: the first of it
  const along = boxes.filter((box) => box.y < top + size.height / 8);
  view.scrollTo(Math.min(...along.map((box) => box.x)) * scale - EDGE_PX, top * scale - EDGE_PX);
}

function step(by) {
  const ways = [...document.querySelectorAll(".nearer a")];
  const now = ways.findIndex((one) => one.hasAttribute("aria-current"));
  const next = ways[now + by];
  if (!next) return;
  sessionStorage.setItem(KEPT, JSON.stringify([location.pathname, ...middle()]));
  next.click();
}

if (view) {
  const [path, across, down] = JSON.parse(sessionStorage.getItem(KEPT) ?? "[]");
  sessionStorage.removeItem(KEPT);
  const hit = view.querySelector('[data-about="found"]');
  if (path === location.pathname) towards(across, down);
  else if (hit) {
    const box = hit.getBBox();
    const size = view.querySelector("svg").viewBox.baseVal;
    towards((box.x + box.width / 2) / size.width, (box.y + box.height / 2) / size.height);
  } else toTheFirstWords();
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    if (event.key === "+" || event.key === "=") step(1);
    else if (event.key === "-") step(-1);
  });
}
