// Blocks to and from a real spreadsheet. What is copied also carries what was typed alone, without what was decided, so
// that a block put down again in a sheet types nothing that nobody typed.

import { blockOf, textOf } from "./tabbed.js";

const OWN = "application/x-loomwright-cells";

export function listen(grid, hands, done) {
  const here = () => document.activeElement === grid;
  const copy = (event) => {
    event.clipboardData.setData("text/plain", textOf(hands.copied(true)));
    event.clipboardData.setData(OWN, JSON.stringify(hands.copied(false)));
    event.preventDefault();
  };
  document.addEventListener("copy", (event) => here() && copy(event));
  document.addEventListener("cut", (event) => {
    if (!here()) return;
    copy(event);
    hands.clear();
    done();
  });
  document.addEventListener("paste", (event) => {
    if (!here()) return;
    event.preventDefault();
    const own = event.clipboardData.getData(OWN);
    const text = event.clipboardData.getData("text/plain");
    if (!own && !text) return;
    const block = own ? JSON.parse(own) : blockOf(text);
    if (!block.length || !block[0].length) return;
    hands.paste(block);
    done();
  });
}
