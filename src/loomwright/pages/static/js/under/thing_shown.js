// One thing, as it is shown: the wire's colours across the top as the wire looks, what to do, from where to where, what to
// look at, what can hurt. And the card that a label leads to.

import { swatch } from "../grid/insulation.js";
import { bandWords } from "./band.js";
import { make, part, plural } from "./making.js";

const SENTENCE = 28;
const LONG = 64;

export function showWire(name, colour) {
  const top = part("top");
  const band = make("div", { class: name || colour ? "u-wire" : "u-wire is-none" });
  if (colour || name) band.append(swatch(colour ?? ""));
  if (name) {
    const words = colour || "colour not written down";
    band.append(make("p", { class: "u-wire-name" }, make("span", { class: "id" }, name), make("span", { class: "u-code" }, words)));
  }
  top.replaceChildren(top.querySelector("h1"), band);
}

const pointClass = (point, more = "") => `u-point${more}${point.includes(" ") ? " is-words" : ""}`;

function way(here, there) {
  if (!here && !there) return null;
  return make(
    "p",
    { class: "u-way" },
    make("span", { class: "unseen" }, "from "),
    make("span", { class: pointClass(here || "free end") }, here || "free end"),
    there ? make("span", { class: "u-arrow", "aria-hidden": "true" }, "→") : null,
    there ? make("span", { class: "unseen" }, " to ") : null,
    there ? make("span", { class: pointClass(there, " is-there") }, there) : null,
  );
}

// what the parts at both ends are called
function ends(here, there, nameOf) {
  const points = [here, there].filter(Boolean);
  const names = points.map((point) => nameOf(point.split(".")[0]));
  if (!names.some(Boolean)) return null;
  return make("p", { class: "u-ends" }, names.map((name, nth) => name || points[nth]).join(" → "));
}

const isFigure = (value) => value.length <= SENTENCE && /\d/.test(value);

function facts(pairs) {
  if (!pairs?.length) return null;
  return make("dl", { class: "u-facts" }, pairs.map(([word, value]) => make("div", {}, make("dt", {}, word), make("dd", { class: isFigure(value) ? "is-figure" : "" }, value))));
}

function cautions(texts) {
  if (!texts.length) return null;
  const [first, ...more] = texts;
  const lines = make("ul", { class: "u-cautions" }, make("li", {}, first));
  if (!more.length) return lines;
  const rest = make("details", { class: "u-more-cautions" }, make("summary", {}, `${more.length} more to mind`));
  rest.append(make("ul", { class: "u-cautions" }, more.map((text) => make("li", {}, text))));
  return make("div", { class: "u-cautions" }, lines, rest);
}

// how the car is set for it comes before what can hurt
const SETTING = ["set", "state", "for it"];

export function expectedOf({ asks }) {
  const isPlain = asks.word === "yes" && !asks.says;
  const words = asks.kind !== "done" && !isPlain ? bandWords(asks) : "";
  return words ? make("p", { class: "u-expected" }, make("span", {}, "expected "), make("strong", {}, words)) : null;
}

export function placeOf({ place, group }) {
  return place && place !== group ? make("p", { class: "u-place" }, `at ${place}`) : null;
}

export function thingShown(thing, { texts, said, nameOf }) {
  const isSetting = ([word]) => SETTING.includes(word);
  const pairs = thing.facts ?? [];
  return [
    make("p", { class: "u-group" }, thing.group ?? ""),
    make("h2", { class: thing.does.length > LONG ? "u-does is-long" : "u-does", id: "thing", tabindex: "-1" }, thing.does),
    said ? make("p", { class: "u-again" }, said) : null,
    way(thing.here, thing.there),
    ends(thing.here, thing.there, nameOf),
    make(
      "div",
      { class: "u-where" },
      expectedOf(thing),
      placeOf(thing),
    ),
    facts(pairs.filter(isSetting)),
    cautions((thing.cautions ?? []).map((place) => texts[place])),
    facts(pairs.filter((pair) => !isSetting(pair))),
  ].filter(Boolean);
}

// all that can hurt is told at once where there is room for it
export function openCautions() {
  const work = part("work");
  for (const rest of work.querySelectorAll("details")) {
    rest.open = true;
    if (work.scrollHeight > work.clientHeight) rest.open = false;
    else rest.replaceWith(rest.querySelector("ul"));
  }
}

export function cardShown(card, things, choose, toWork) {
  const left = things.filter(({ done }) => !done);
  const open = left.filter((one) => one.open);
  const later = left.length - open.length;
  const about = [
    make("p", { class: "u-group" }, card.sheet === "wires" ? "what the label is on" : "what it says on it"),
    make("h2", { class: "u-does", id: "thing", tabindex: "-1" }, card.title),
    way(card.here, card.there),
    facts(card.facts),
    card.wires?.length ? make("p", { class: "u-says" }, `Wires that end here: ${card.wires.join(" ")}`) : null,
  ];
  const todo = [
    left.length ? make("h3", { class: "u-next-of" }, "What is left of it") : make("p", { class: "u-says" }, "Nothing is left to do with it."),
    make("ul", { class: "u-list" }, open.map(({ thing }) => make("li", {}, make("button", { type: "button", onclick: () => choose(thing) }, thing.does)))),
    later ? make("p", { class: "u-says" }, `${plural(later, "thing")} more, once what comes before is done.`) : null,
    toWork,
  ];
  return [make("div", { class: "u-card" }, make("div", { class: "u-half" }, about), make("div", { class: "u-half" }, todo))];
}
