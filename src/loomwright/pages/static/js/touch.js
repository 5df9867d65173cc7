// What comes by itself (news, a check that gets on, an answer of the desk) is drawn after the finger is lifted. A button
// that is replaced or moved under a finger loses its touch, or takes one that was meant for another.

const CLICK_COMES_MS = 100; // after a finger on glass is lifted the click is a moment behind
const waiting = new Set();
let isDown = false;
let timer = 0;

function lifted() {
  clearTimeout(timer);
  isDown = false;
  const draws = [...waiting];
  waiting.clear();
  for (const draw of draws) draw();
}

addEventListener("pointerdown", (event) => {
  if (event.button !== 0) return;
  clearTimeout(timer);
  isDown = true;
}, true);
for (const end of ["pointerup", "pointercancel"]) {
  addEventListener(end, () => {
    if (!isDown) return;
    clearTimeout(timer);
    timer = setTimeout(lifted, CLICK_COMES_MS);
  }, true);
}
addEventListener("click", () => isDown && lifted());
addEventListener("blur", () => isDown && lifted());

/** Draw now, or when the finger that is down is lifted and its touch was heard; the same drawing waits once. */
export function afterTouch(draw) {
  if (isDown) waiting.add(draw);
  else draw();
}
