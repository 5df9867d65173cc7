// What is checked and driven beside the page of gear changes: how far it is; when it is done it takes its place, and
// nothing that was typed meanwhile is lost.

const EVERY_MS = 700;
const AFTER_TROUBLE_MS = 4000;
const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

async function follow() {
  const place = document.querySelector("#worked-out");
  while (place?.querySelector(".waiting")) {
    await pause(EVERY_MS);
    try {
      const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
      const now = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("#worked-out");
      const [line, fresh] = [place.querySelector("progress"), now?.querySelector("progress")];
      if (!now) return;
      if (!fresh) place.replaceChildren(...now.childNodes);
      else {
        if (fresh.hasAttribute("value")) [line.max, line.value] = [fresh.max, fresh.value];
        place.querySelector(".waiting span").replaceChildren(...now.querySelector(".waiting span").childNodes);
      }
    } catch {
      await pause(AFTER_TROUBLE_MS); // the server is away for a while; the page stays as it was
    }
  }
}

follow();
