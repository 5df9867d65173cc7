// An element made in one line: its name, what it has, what is in it. Text stays text.

export function element(name, has = {}, ...inside) {
  const one = document.createElement(name);
  for (const [key, value] of Object.entries(has)) {
    if (key === "class") one.className = value;
    else if (key.startsWith("on")) one.addEventListener(key.slice(2), value);
    else one.setAttribute(key, value);
  }
  one.append(...inside.filter((each) => each !== null && each !== undefined && each !== ""));
  return one;
}
