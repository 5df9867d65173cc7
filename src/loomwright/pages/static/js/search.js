// What answers to the words in the search, shown beneath the strip while typing; it pushes the work down.
// Arrow down goes into what was found, arrow up from its first row back, Escape puts it away. Enter opens the page of all.

import { while_ } from "./waiting.js";

const field = document.getElementById("find");
const shown = document.getElementById("found");
const SVG = "http://www.w3.org/2000/svg";
const AFTER_MS = 120;
let timer = 0;
let asked = 0;

function element(name, text, kind) {
  const made = document.createElement(name);
  if (text) made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

function shade(svg, fill, y, height) {
  const made = document.createElementNS(SVG, "rect");
  for (const [name, value] of Object.entries({ x: 0.5, y, width: 35, height, fill })) made.setAttribute(name, value);
  svg.append(made);
  return made;
}

function paint([base, tracer]) {
  const made = document.createElementNS(SVG, "svg");
  made.setAttribute("viewBox", "0 0 36 10");
  made.setAttribute("aria-hidden", "true");
  shade(made, base, 0.5, 9);
  if (tracer) shade(made, tracer, 3.6, 2.8);
  shade(made, "none", 0.5, 9).setAttribute("class", "skin");
  return made;
}

function row(one) {
  const item = element("li");
  const line = element(one.href ? "a" : "span", "", one.href ? "" : "found-row");
  if (one.href) line.href = one.href;
  line.append(element("span", one.name, "id"));
  if (one.colour) {
    const insulation = element("span", "", "swatch");
    if (one.paint.length) insulation.append(paint(one.paint));
    insulation.append(element("code", one.colour));
    line.append(insulation);
  }
  line.append(element("span", one.says, "found-says"));
  item.append(line);
  return item;
}

function group(one) {
  const made = element("section");
  const list = element("ul", "", "found-list");
  list.append(...one.rows.map(row));
  made.append(element("h2", one.sheet.replaceAll("_", " ")), list);
  if (one.more) made.append(element("p", `and ${one.more} more`, "soft small"));
  return made;
}

function put(groups, words) {
  shown.replaceChildren(...groups.map(group));
  if (!groups.length) shown.append(element("p", `Nothing answers to “${words}”.`, "soft"));
  shown.hidden = false;
}

function away() {
  shown.hidden = true;
  shown.replaceChildren();
}

async function look() {
  const words = field.value.trim();
  const turn = ++asked;
  if (!words) return away();
  const answer = await while_(fetch(`${field.dataset.find}?q=${encodeURIComponent(words)}`));
  if (!answer.ok || turn !== asked) return undefined;
  return put(await answer.json(), words);
}

if (field && shown) {
  field.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(look, AFTER_MS);
  });
  field.addEventListener("keydown", (event) => {
    const first = shown.querySelector("a");
    if (event.key === "ArrowDown" && first) {
      event.preventDefault();
      first.focus();
    } else if (event.key === "Escape") {
      away();
      field.value = "";
      field.blur();
      document.dispatchEvent(new Event("search-left"));
    }
  });
  shown.addEventListener("keydown", (event) => {
    const all = [...shown.querySelectorAll("a")];
    const here = all.indexOf(document.activeElement);
    if (event.key === "Escape") {
      away();
      field.focus();
    } else if (event.key === "ArrowDown" && all[here + 1]) {
      event.preventDefault();
      all[here + 1].focus();
    } else if (event.key === "ArrowUp" && here >= 0) {
      event.preventDefault();
      (all[here - 1] ?? field).focus();
    }
  });
}
