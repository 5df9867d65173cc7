// Insulation as it looks, base and tracer, beside its code. The shades come with the page, the same as on paper.

const SVG = "http://www.w3.org/2000/svg";
const WIDE = 36;
const HIGH = 10;
let paint = null;

export function shadesOf(colour) {
  paint ??= JSON.parse(document.querySelector("[data-paint]").dataset.paint);
  const [base, tracer = ""] = colour.trim().toUpperCase().split("/");
  return Object.hasOwn(paint, base) ? [...paint[base], ...(paint[tracer] ?? [])].slice(0, 2) : null;
}

function bar(y, high, fill, kind) {
  const rect = document.createElementNS(SVG, "rect");
  const places = { x: kind ? 0.5 : 0, y, width: kind ? WIDE - 1 : WIDE, height: high, fill };
  for (const [name, value] of Object.entries(places)) rect.setAttribute(name, value);
  if (kind) rect.setAttribute("class", kind);
  return rect;
}

export function swatch(colour) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("viewBox", `0 0 ${WIDE} ${HIGH}`);
  svg.setAttribute("preserveAspectRatio", "none");
  svg.setAttribute("aria-hidden", "true");
  const shades = shadesOf(colour);
  if (shades) svg.append(bar(0, HIGH, shades[0]));
  if (shades?.[1]) svg.append(bar(HIGH * 0.36, HIGH * 0.28, shades[1]));
  const skin = bar(0.5, HIGH - 1, "none", "skin");
  if (!shades) skin.setAttribute("stroke-dasharray", "3 3");
  svg.append(skin);
  return svg;
}
