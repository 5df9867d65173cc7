// What a wait looks like: nothing for a tenth of a second, then a thin copper line.
// `while_(promise)` shows it along the top of the page; a count of what is done is the page's own matter.

const SHOWN_AFTER_MS = 100;

export async function while_(promise) {
  let line = null;
  const timer = setTimeout(() => {
    line = document.createElement("div");
    line.className = "copper-line";
    line.setAttribute("role", "status");
    line.setAttribute("aria-label", "working");
    document.body.append(line);
  }, SHOWN_AFTER_MS);
  try {
    return await promise;
  } finally {
    clearTimeout(timer);
    line?.remove();
  }
}
