// What lies behind the page: what was done today, what must be chosen, what was not taken, how the tablet is held.

import { make, plural } from "./making.js";

const SAYS = { waiting: "waits", taken: "at the desk", choose: "choose", refused: "not taken", aside: "put aside" };

function shownCells(cells) {
  const value = cells.value || cells.seen || cells.length_mm || cells.reason || "";
  const unit = cells.value && cells.unit ? ` ${cells.unit}` : cells.length_mm && !cells.value ? " mm" : "";
  return { value: `${value}${unit}` || cells.verdict || "done", verdict: cells.verdict ?? "", who: cells.who ?? "", time: (cells.time ?? "").replace("T", " ").slice(0, 16) };
}

export function toChoose(act, choose) {
  const theirs = shownCells(act.theirs ?? {});
  const side = (title, value, more, pick) =>
    make("button", { type: "button", class: "u-choice", onclick: () => choose(act, pick) }, make("span", {}, title), make("strong", {}, value), make("span", {}, more));
  return make(
    "section",
    { class: "u-choose", "aria-label": "Choose" },
    make("h2", { class: "u-does" }, act.does),
    make("p", { class: "u-says" }, "Somebody else has written this down as well, and not the same. Which one counts? The other is kept beside it."),
    make(
      "div",
      { class: "u-choices" },
      side("mine", act.shown || "done", act.made.replace("T", " ").slice(0, 16), "mine"),
      side(theirs.who ? `of ${theirs.who}` : "the desk’s", theirs.value, [theirs.verdict, theirs.time].filter(Boolean).join(" · "), "theirs"),
    ),
  );
}

export function refusedShown(act, aside) {
  const why = (act.refused ?? []).map((one) => [one.found, one.allowed && `allowed: ${one.allowed}`, one.mend].filter(Boolean).join(". ")).join(" ");
  return make(
    "section",
    { class: "u-choose", "aria-label": "Not taken" },
    make("h2", { class: "u-does" }, act.does),
    make("p", { class: "u-says" }, `The desk could not take this: ${why || "it does not know it"}. It stays written down here and there; do it again if it is still wanted.`),
    make("button", { type: "button", class: "u-large", onclick: () => aside(act) }, "Put it aside"),
  );
}

export function moreShown({ acts, held, set, close, job, keptWhole, pictures }) {
  const choice = (name, value, words) =>
    make("button", { type: "button", class: "u-beside", "aria-pressed": String(held[name] === value), onclick: () => set(name, value) }, words);
  const last = acts.filter((act) => !act.back).slice(-12).reverse();
  return [
    make("h2", { class: "u-does", id: "thing", tabindex: "-1" }, "How it is held"),
    make("div", { class: "u-row", role: "group", "aria-label": "hand" }, choice("hand", "left", "Left hand"), choice("hand", "right", "Right hand")),
    make("div", { class: "u-row", role: "group", "aria-label": "look" }, choice("look", "dark", "Dark"), choice("look", "light", "Light")),
    make(
      "p",
      { class: "u-says" },
      keptWhole
        ? "This page opens without signal. Keep it on the home screen of the tablet."
        : "This page is not kept for opening without signal: the address must begin with https, or be this machine. Leave it open; what you do is kept all the same.",
    ),
    pictures.length ? make("p", { class: "u-says" }, `${plural(pictures.length, "picture")} wait to be sent.`) : null,
    make("h2", { class: "u-next-of" }, "Done last on this tablet"),
    last.length
      ? make("ul", { class: "u-last" }, last.map((act) => make("li", {}, make("span", {}, act.does), make("span", { class: "u-last-said" }, act.shown || ""), make("span", {}, acts.some((one) => one.back === act.id) ? "taken back" : SAYS[act.state]))))
      : make("p", { class: "u-says" }, "Nothing yet."),
    make("div", { class: "u-row" }, make("a", { class: "u-beside", href: `/j/${encodeURIComponent(job)}` }, "To the desk’s pages"), make("button", { type: "button", class: "u-beside", onclick: close }, "Back to the work")),
  ].filter(Boolean);
}
