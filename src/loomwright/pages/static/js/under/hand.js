// What the thumb works: one large button, or a keypad, or words; beside it what is seldom wanted. On the side of the hand
// that holds nothing. A touch straight after an answer, or after another thing came by itself, is not taken for it.

import { bandWords, holds, readFigure, tooShort, unitsFor, unitSign } from "./band.js";
import { make } from "./making.js";
import { isAskedFirst, metersFor, metersOffered, typedOf } from "./reading.js";
import { expectedOf, placeOf } from "./thing_shown.js";
import { letGo, takenFrom, whyNot } from "../taking.js";

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "−"];
const STILL_MS = 350;

export class Hand {
  constructor(box, answer) {
    this.box = box;
    this.answer = answer;
    this.answeredAt = -STILL_MS;
    this.offered = {};
  }

  show(thing, { undo, undoWord, later, again, picture, along, hasSignal }) {
    if (this.thing?.id !== thing?.id) this.begin(thing);
    this.can = { undo, undoWord, later, again, picture, along, hasSignal };
    this.draw();
  }

  // asks the desk which meters there are; says whether they are other ones
  async offer() {
    const before = JSON.stringify(this.offered);
    this.offered = (await metersOffered()) ?? this.offered;
    return JSON.stringify(this.offered) !== before;
  }

  begin(thing) {
    this.leaveMeter();
    this.thing = thing;
    this.typed = "";
    this.by = "";
    this.told = "";
    this.sign = unitsFor(thing?.asks.unit)[0] ?? "";
    this.asks = "";
    this.isShut = false;
    this.mode = "";
  }

  draw() {
    const { thing } = this;
    const main = make("div", { class: "u-main" });
    if (!thing) main.classList.add("is-empty");
    else if (this.asks) main.append(...this.asked());
    else if (this.mode === "let go") main.append(...this.lettingGo());
    else if (this.mode === "meter") main.append(...this.atMeter());
    else if (this.hasKeypad()) main.append(...this.keypad());
    else if (thing.asks.kind === "words") main.append(this.words(thing.asks.words, "u-words"));
    else main.append(this.large("Done", () => this.keep("")));
    this.box.replaceChildren(main, this.side());
  }

  hasKeypad() {
    const { thing, mode, asks } = this;
    return Boolean(thing) && !asks && (mode === "length" || (mode === "" && thing.asks.kind === "figure"));
  }

  large(words, act, kind = "") {
    return make("button", { type: "button", class: `u-large ${kind}`.trim(), onclick: () => this.still() || act() }, words);
  }

  // whether a touch comes too soon after an answer to be meant for what stands there now
  still() {
    return performance.now() - this.answeredAt < STILL_MS;
  }

  changed() {
    this.answeredAt = performance.now();
  }

  // whether a reason of one's own is being written
  isTypedIn() {
    return this.box.contains(document.activeElement) && document.activeElement.matches("input[type=text]");
  }

  words(list, kind) {
    return make("div", { class: kind }, list.map((word) => this.large(word, () => this.keep(word), "is-word")));
  }

  keypad() {
    const { asks } = this.thing;
    const unit = asks.unit ?? "";
    const units = unitsFor(unit);
    const shown = make("output", { class: "u-typed", "aria-label": "what is typed", "aria-live": "off" }, this.typed || "–", make("span", {}, ` ${this.sign}`));
    const told = this.told ? make("p", { class: "u-told", role: "status" }, this.told) : null;
    const overtype = () => { // no longer what the meter held
      this.typed = this.by ? "" : this.typed;
      this.by = "";
      this.told = "";
      told?.remove();
    };
    const press = (key) => {
      overtype();
      this.typed = typedAfter(this.typed, key);
      shown.firstChild.textContent = this.typed || "–";
    };
    const keys = KEYS.map((key) => make("button", { type: "button", class: "u-key", onclick: () => press(key) }, key));
    const signs = units.length > 1
      ? units.map((sign) => make("button", { type: "button", class: "u-sign", "aria-pressed": String(sign === this.sign), onclick: () => { if (sign !== this.sign) overtype(); this.sign = sign; this.draw(); } }, sign))
      : [];
    const rub = make("button", { type: "button", class: "u-key is-rub", "aria-label": "rub out the last figure", onclick: () => press("⌫") }, "⌫");
    return [
      told,
      make("div", { class: "u-shown" }, shown, rub),
      make("div", { class: signs.length ? "u-pad" : "u-pad no-signs" }, make("div", { class: "u-keys" }, keys), signs.length ? make("div", { class: "u-signs", role: "group", "aria-label": "unit" }, signs) : null),
      make("div", { class: "u-take" }, this.large("Keep it", () => this.read()), (asks.words ?? []).map((word) => this.large(word, () => this.keep(word), "is-word"))),
    ].filter(Boolean);
  }

  read() {
    const text = this.typed.replace("−", "-");
    if ((this.thing.asks.words ?? []).includes(text)) {
      this.keep(text, { instrument: this.by });
      return;
    }
    if (this.mode === "length") {
      this.asks = tooShort(text, this.thing);
      this.figure = text;
      if (this.asks) {
        this.draw();
        this.box.querySelector("button")?.focus();
      } else if (Number(text) > 0) this.keep(text);
      return;
    }
    const { figure, asks, isShut = false } = readFigure(text, this.sign, this.thing.asks);
    if (asks) {
      this.asks = asks;
      this.isShut = isShut;
      this.figure = figure;
      this.draw();
      this.box.querySelector("button")?.focus();
    } else this.keep(String(figure), { instrument: this.by });
  }

  fromMeter(name) {
    this.meter = name;
    this.mode = "meter";
    this.asks = "";
    this.told = "";
    if (isAskedFirst(this.thing)) this.draw();
    else this.takeReading();
  }

  // one button: with several meters it leads to their names
  meterButton(names, button) {
    if (names.length === 1) return button([make("span", { class: "u-from" }, "From the "), names[0]], () => this.fromMeter(names[0]));
    return names.length ? button("From a meter", () => { this.mode = "meter"; this.draw(); }) : null;
  }

  atMeter() {
    if (!this.meter) return [make("div", { class: "u-words" }, metersFor(this.thing, this.offered).map((name) => this.large(`From the ${name}`, () => this.fromMeter(name), "is-word")))];
    return [
      make("p", { class: "u-asks" }, this.offered.cautions[this.thing.asks.measure]),
      make("p", { class: "u-told", role: "status", "aria-live": "off" }, this.told),
      this.taking ? this.large("Stop", () => this.stopReading()) : this.large(`It is in line: read the ${this.meter}`, () => this.takeReading()),
    ];
  }

  // what stands still goes where it would be typed; kept it is with the same button, through the same questions
  async takeReading() {
    const mine = { key: "" };
    const isOn = () => this.taking === mine;
    this.taking = mine;
    this.told = `Reaching the ${this.meter}. Hold the probes where they belong.`;
    this.draw();
    const begun = (key) => {
      mine.key = key;
      if (!isOn()) letGo(key);
    };
    const told = (words) => {
      if (isOn()) this.box.querySelector(".u-told").textContent = this.told = words;
    };
    const held = await takenFrom(this.meter, this.thing.asks.measure, { begun, told, isOn });
    if (!held || !isOn()) return;
    this.leaveMeter();
    this.mode = "";
    this.told = held.value ? `It stands still at ${held.shown}. Lift the probes, then keep it.` : whyNot(held);
    if (held.value) Object.assign(this, typedOf(held), { by: held.instrument });
    this.changed();
    this.draw();
  }

  stopReading() {
    this.leaveMeter();
    this.mode = "";
    this.told = whyNot({ stopped: true });
    this.draw();
  }

  leaveMeter() {
    letGo(this.taking?.key);
    this.taking = null;
    this.meter = "";
  }

  asked() {
    const anew = () => {
      this.asks = "";
      this.told = "";
      this.by = "";
      this.typed = this.isShut ? this.typed : "";
      this.draw();
    };
    const isLength = this.mode === "length";
    return [
      make("p", { class: "u-asks", role: "alert" }, this.asks),
      this.large(this.isShut || isLength ? "Type it again" : "Read it again", anew),
      this.isShut ? null : this.large(isLength ? "It is that short" : "It really shows that", () => this.keep(String(this.figure), { instrument: this.by }), "is-word"),
    ].filter(Boolean);
  }

  lettingGo() {
    const reasons = this.thing.sheet === "proofs" ? ["cannot be reached", "not fitted here", "plug is sealed"] : ["not fitted here", "done by another shop", "not needed on this car"];
    const own = make("input", { type: "text", id: "why", maxlength: "200", autocomplete: "off" });
    const keepOwn = () => own.value.trim() && this.keep("", { note: own.value.trim(), is_let_go: true });
    return [
      make("p", { class: "u-asks" }, this.thing.sheet === "proofs" ? "Why can it not be made?" : "Why is it not needed?"),
      make("div", { class: "u-words is-why" }, reasons.map((why) => this.large(why, () => this.keep("", { note: why, is_let_go: true }), "is-word"))),
      make("label", { class: "u-own", for: "why" }, "another reason"),
      own,
      this.large("Keep this reason", keepOwn, "is-word"),
    ];
  }

  side() {
    const { thing, can } = this;
    const button = (words, act, is = true) => (is ? make("button", { type: "button", class: "u-beside", onclick: () => this.still() || act() }, words) : null);
    const setMode = (mode) => () => {
      this.leaveMeter();
      this.mode = mode;
      this.asks = "";
      this.told = "";
      this.by = "";
      this.typed = "";
      this.sign = mode === "length" ? "mm" : unitsFor(thing.asks.unit)[0] ?? "";
      this.draw();
    };
    return make(
      "div",
      { class: "u-side" },
      this.hasKeypad() ? make("div", { class: "u-meant" }, expectedOf(thing), placeOf(thing)) : null,
      this.hasKeypad() && can.hasSignal ? this.meterButton(metersFor(thing, this.offered), button) : null,
      thing ? button("Later", can.later) : null,
      thing && can.along && !this.mode ? button(can.along.words, can.along.go) : null,
      thing && this.mode ? button("Back to it", setMode("")) : null,
      thing?.asks.waivable && !this.mode ? button(thing.sheet === "proofs" ? "Not possible" : "Not needed", setMode("let go")) : null,
      thing?.asks.unit === "mm" && thing.asks.kind === "done" && !this.mode ? button("Another length", setMode("length")) : null,
      can.picture ? pictureButton(can.picture) : null,
      can.again ? button("Read it again", can.again) : null,
      make("button", { type: "button", class: "u-beside", disabled: !can.undo, title: can.undoWord, onclick: () => this.still() || can.undo?.() }, "Undo"),
    );
  }

  keep(value, more = {}) {
    if (!this.thing || this.still()) return;
    this.answeredAt = performance.now();
    const thing = this.thing;
    const { instrument, ...rest } = more;
    const said = { value, note: "", is_let_go: false, ...rest, ...(instrument && { instrument }) };
    const band = bandWords(thing.asks);
    const hasUnit = thing.asks.kind === "figure" || thing.asks.unit === "mm";
    const shown = value === "" ? "" : `${value} ${hasUnit && !(thing.asks.words ?? []).includes(value) ? unitSign(thing.asks.unit ?? "") : ""}`.trim();
    this.begin(null);
    this.answer(thing, said, { holds: holds(thing.asks, said), shown, band });
  }
}

function typedAfter(typed, key) {
  if (key === "⌫") return typed.slice(0, -1);
  if (key === "−") return typed.startsWith("−") ? typed.slice(1) : `−${typed}`;
  if (key === "." && typed.includes(".")) return typed;
  return typed.length < 9 ? typed + key : typed;
}

function pictureButton({ many, take }) {
  const field = make("input", { type: "file", accept: "image/*", capture: "environment", class: "unseen", id: "picture", "aria-label": "a picture of it", tabindex: "-1", onchange: (event) => event.target.files[0] && take(event.target.files[0]) });
  return make("span", { class: "u-picture" }, field, make("button", { type: "button", class: "u-beside", onclick: () => field.click() }, many ? `Picture ✓ ${many}` : "Picture"));
}
