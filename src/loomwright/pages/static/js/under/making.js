// Elements made in one line: what they are, what they say, what they do.

export function make(tag, given = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "class") element.className = value;
    else if (name === "data") Object.assign(element.dataset, value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...inside.flat().filter((one) => one !== null && one !== undefined && one !== ""));
  return element;
}

export const part = (name) => document.querySelector(`[data-part="${name}"]`);

export function plural(count, word) {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}
