// How far the papers are while they are made: the count and the line; when they are done, the page anew.

const EVERY_MS = 600;
const line = document.querySelector("[data-making]");
const grouped = (number) => number.toLocaleString("en").replaceAll(",", "\u202f");
const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

function show(standing) {
  const bar = line.querySelector("progress");
  if (standing.of) {
    bar.max = standing.of;
    bar.value = standing.done;
  }
  const what = line.querySelector("[data-what]");
  if (standing.ahead) what.textContent = `Waiting, ${standing.ahead} other first`;
  else if (standing.making === "checking") what.textContent = `Checking revision ${standing.making_revision}: ${grouped(standing.done)} of ${grouped(standing.of)} states`;
  else if (standing.of) what.textContent = `Making ${standing.making}: ${standing.done} of ${standing.of}`;
}

async function follow() {
  for (;;) {
    await pause(EVERY_MS);
    try {
      const answer = await fetch(line.dataset.making, { headers: { Accept: "application/json" } });
      const standing = await answer.json();
      if (standing.making_revision === null) {
        location.reload();
        return;
      }
      show(standing);
    } catch {
      await pause(EVERY_MS * 5); // the server is away for a while
    }
  }
}

if (line) follow();
