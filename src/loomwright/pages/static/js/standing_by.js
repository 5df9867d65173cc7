// A page that waits for what is worked out beside it: how far it is, in the count and the line; when it is done, the page.
// What somebody has begun to type on it is not drawn over, and what was sent is on its way: then a link stands there.

import { afterTouch } from "./touch.js";

const EVERY_MS = 700;
const AFTER_TROUBLE_MS = 4000;
let isTyped = false;
let isSent = false;
addEventListener("input", () => { isTyped = true; });
addEventListener("focusin", (event) => { isTyped ||= event.target.matches("input, textarea, select"); });
addEventListener("click", (event) => { isTyped ||= Boolean(event.target.closest("summary")); }); // opened, to type into
addEventListener("submit", () => { isSent = true; });
const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

function show(here, now) {
  const [line, fresh] = [here.querySelector("progress"), now.querySelector("progress")];
  if (line && fresh?.hasAttribute("value")) {
    line.max = fresh.max;
    line.value = fresh.value;
  }
  const [words, told] = [here.querySelector("span"), now.querySelector("span")];
  if (words && told && words.innerHTML !== told.innerHTML) words.replaceChildren(...told.childNodes);
}

function done(here) {
  if (isSent) return;
  if (!isTyped) {
    location.reload();
    return;
  }
  const link = document.createElement("a");
  link.href = location.href;
  link.textContent = "show it";
  const words = document.createElement("span");
  words.append("It is worked out: ", link, ". What you type stays until then.");
  here.replaceChildren(words);
}

async function follow() {
  for (;;) {
    await pause(EVERY_MS);
    const here = document.querySelector(".waiting");
    if (!here) return;
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
      const now = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".waiting");
      if (!now) {
        afterTouch(() => done(here));
        return;
      }
      show(here, now);
    } catch {
      await pause(AFTER_TROUBLE_MS); // the server is away for a while; the page stays as it was
    }
  }
}

follow();
