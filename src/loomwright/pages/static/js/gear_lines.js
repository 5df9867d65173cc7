// Gear-change lines on the chart: one line at a time has handles; what is moved there is written into its fields,
// what is typed there moves the line. The fields are what is sent.

const SVG = "http://www.w3.org/2000/svg";
const MOST_KMH = 400;
const drawing = document.querySelector("#chart svg");
const form = document.querySelector("#line-form");
const pick = document.querySelector("#on-chart");
const fieldsOf = (name) => [...form.querySelectorAll("input[name]")].filter((one) => one.name.startsWith(`${name}/`));
const lineOf = (name) => [...drawing.querySelectorAll("[data-line]")].find((one) => one.dataset.line === name);
const scale = { left: +drawing.dataset.left, each: +drawing.dataset.each };
const toX = (kmh) => scale.left + scale.each * kmh;
const toKmh = (x) => Math.min(MOST_KMH, Math.max(0, (x - scale.left) / scale.each));
let handles = [];

const pedalsY = (lineOf("up 1-2")?.getAttribute("points") ?? "").split(" ").map((point) => +point.split(",")[1]);

function redraw(name) {
  const speeds = fieldsOf(name).map((one) => Number.parseFloat(one.value));
  if (speeds.some((one) => !Number.isFinite(one))) return;
  lineOf(name)?.setAttribute("points", speeds.map((kmh, k) => `${toX(kmh).toFixed(1)},${pedalsY[k]}`).join(" "));
  if (name !== pick.value) return;
  handles.forEach((handle, k) => {
    handle.setAttribute("cx", toX(speeds[k]).toFixed(1));
    handle.setAttribute("aria-valuenow", speeds[k]);
    handle.setAttribute("aria-valuetext", `${speeds[k]} km/h`);
  });
}

function write(field, kmh) {
  field.value = (Math.round(Math.min(MOST_KMH, Math.max(0, kmh)) * 10) / 10).toFixed(1);
  redraw(pick.value);
}

function here(event) {
  const point = new DOMPoint(event.clientX, event.clientY);
  return point.matrixTransform(drawing.getScreenCTM().inverse()).x;
}

function handleFor(field, k) {
  const handle = document.createElementNS(SVG, "circle");
  const given = { class: "line-handle", r: 7, cy: pedalsY[k], tabindex: 0, role: "slider", "aria-valuemin": 0 };
  Object.entries({ ...given, "aria-valuemax": MOST_KMH, "aria-label": field.getAttribute("aria-label") })
    .forEach(([name, value]) => handle.setAttribute(name, value));
  handle.addEventListener("pointerdown", (event) => {
    handle.setPointerCapture(event.pointerId);
    handle.focus();
    event.preventDefault();
  });
  handle.addEventListener("pointermove", (event) => {
    if (handle.hasPointerCapture(event.pointerId)) write(field, toKmh(here(event)));
  });
  handle.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    const next = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (!step && !next) return;
    event.preventDefault();
    if (step) write(field, Number.parseFloat(field.value) + step * (event.shiftKey ? 5 : 1));
    else handles[k + next]?.focus();
  });
  return handle;
}

function show() {
  for (const one of handles) one.remove();
  for (const one of drawing.querySelectorAll(".is-picked")) one.classList.remove("is-picked");
  for (const row of form.querySelectorAll("tbody tr")) {
    row.classList.toggle("is-on-chart", row.querySelector("th").textContent === pick.value);
  }
  lineOf(pick.value)?.classList.add("is-picked");
  handles = lineOf(pick.value) ? fieldsOf(pick.value).map(handleFor) : [];
  drawing.append(...handles);
  redraw(pick.value);
}

if (drawing && form && pick) {
  drawing.setAttribute("role", "group");
  for (const option of [...pick.options]) if (!lineOf(option.value)) option.remove();
  pick.closest("p").hidden = false;
  pick.addEventListener("change", show);
  form.addEventListener("input", (event) => {
    const name = event.target.name?.split("/")[0];
    if (name && event.target.name.includes("/")) redraw(name);
  });
  form.addEventListener("focusin", (event) => {
    const name = event.target.name?.includes("/") ? event.target.name.split("/")[0] : "";
    if (name && name !== pick.value && lineOf(name)) {
      pick.value = name;
      show();
    }
  });
  show();
}
