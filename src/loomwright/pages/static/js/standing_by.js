// A page that waits for what is worked out beside it: how far it is, in the count and the line; when it is done, the page.

const EVERY_MS = 700;
const AFTER_TROUBLE_MS = 4000;
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

async function follow() {
  for (;;) {
    await pause(EVERY_MS);
    const here = document.querySelector(".waiting");
    if (!here) return;
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
      const now = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector(".waiting");
      if (!now) {
        location.reload();
        return;
      }
      show(here, now);
    } catch {
      await pause(AFTER_TROUBLE_MS); // the server is away for a while; the page stays as it was
    }
  }
}

follow();
