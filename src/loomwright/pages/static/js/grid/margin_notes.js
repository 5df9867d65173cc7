// The notes of a sheet in the margin: first what was typed and not taken, with its two ways out, then what is decided in
// the picked cell and why, then what is wrong in the picked row, then in the other rows.

import { element } from "./element.js";
import { grouped } from "./notes.js";
import { typedOf } from "./sheet.js";
import { afterTouch } from "../touch.js";

const MOST_NOTES = 40;
const MOST_GROUPS = 50;
const MOST_ROWS = 6;
const MOST_FOUND = 8;
const MOST_CONFLICTS = 20;
const ASKED_AFTER_MS = 200;

export class MarginNotes {
  #reasons = new Map();
  #timer = 0;
  #was = {};
  #words = "";
  #typedElsewhere = null;
  #notes = [];

  // of: places { typed, elsewhere, cell, rows, check }; sheet, gestures, checks, picked, kept, api, why, findings, grid;
  //     name(row), weight(severity), addressOf(row, column), before(row), pick(row, column), release(gesture), go(),
  //     adopt(), changed()
  constructor(of) {
    Object.assign(this, of);
  }

  tell(words) {
    this.#words = words;
    this.changed();
  }

  hush() {
    if (!this.#words) return;
    this.#words = "";
    this.changed();
  }

  put(notes, shown) {
    this.shown = shown;
    this.#notes = notes;
    afterTouch(this.#draw);
  }

  #draw = () => {
    const { shown } = this;
    const notes = this.#notes;
    const typed = notes.filter((one) => one.kind !== "finding" && one.kind !== "problem");
    this.#place("typed", [
      ...(this.#words ? [element("p", { class: "told" }, this.#words)] : []),
      ...(typed.length ? [element("ol", { class: "note-list plain" }, ...typed.map((one) => this.#typedNote(one)))] : []),
    ], JSON.stringify([this.#words, typed.map((one) => [one.number, one.gesture.token, one.gesture.state, one.gesture.told.length, one.gesture.conflicts, one.gesture.edits?.length])]));
    this.#elsewhere();
    this.#cell(shown);
    this.#rows(notes.filter((one) => one.kind === "finding" || one.kind === "problem"));
    this.#check();
  };

  // what stands in a place is left alone while the keyboard is in it, and where nothing is different
  #place(name, made, is) {
    const place = this.places[name];
    if (this.#was[name] === is) return;
    const held = place.contains(document.activeElement);
    this.#was[name] = is;
    place.replaceChildren(...made);
    if (held) (place.querySelector("button, a") ?? this.grid).focus({ preventScroll: true });
  }

  #typedNote(note) {
    const { gesture } = note;
    if (note.kind === "refused") return this.#refused(note, gesture);
    if (note.kind === "conflict") return this.#conflict(note, gesture);
    if (note.kind === "draft") {
      return this.#note(note, "Not recorded yet", element("p", {}, "Fill in the row, then record it. What is recorded stays."),
        this.#buttons(["Record", () => this.release(gesture), true], ["Put it away", () => this.gestures.discard(gesture)]));
    }
    return this.#note(note, "Not taken", element("p", {}, gesture.why),
      this.#buttons(["Send again", () => this.release(gesture)], ["Put back what stood there", () => this.gestures.discard(gesture)]));
  }

  #refused(note, gesture) {
    const groups = grouped(gesture.told);
    const count = gesture.told.length;
    const all = gesture.edits.length;
    const title = count === 1 ? "One cell cannot stand so" : `${count} cells cannot stand so`;
    const lines = groups.slice(0, MOST_GROUPS).map((one) => element("li", {},
      element("p", {}, element("b", {}, one.column), ": found ", ...this.#some(one.found), one.allowed ? `, allowed: ${one.allowed}` : ""),
      one.mend ? element("p", { class: "mend" }, `${one.mend}.`) : null,
      this.#rowLinks(one.rows, one.column)));
    const more = groups.length - MOST_GROUPS;
    return this.#note(note, title,
      all > 1 ? element("p", {}, "Nothing of what was put there together is taken until each is typed anew; all of it is kept here.") : null,
      element("ul", { class: "wrong-cells" }, ...lines),
      more > 0 ? element("p", {}, `and ${more} more like these`) : null,
      this.#buttons(["Put back what stood there", () => this.gestures.discard(gesture)]));
  }

  #some(found) {
    const shown = found.slice(0, MOST_FOUND).flatMap((one, place) => [place ? ", " : "", element("code", {}, one)]);
    return found.length > MOST_FOUND ? [...shown, ` and ${found.length - MOST_FOUND} more`] : shown;
  }

  #conflict(note, gesture) {
    const { conflicts } = gesture;
    const settle = (one, mine) => {
      this.gestures.settle(gesture, one, mine, this.before(one.row_key));
      this.go();
    };
    const all = (mine) => {
      for (const one of [...conflicts]) if (gesture.conflicts.includes(one)) this.gestures.settle(gesture, one, mine, this.before(one.row_key));
      this.go();
    };
    const lines = conflicts.slice(0, MOST_CONFLICTS).map((one) => element("li", {},
      element("p", {}, this.#rowLink(one.row_key, one.column), one.column ? ", " : "", element("b", {}, one.column)),
      element("dl", { class: "both" },
        element("div", {}, element("dt", {}, "theirs"), element("dd", {}, one.theirs === null ? "the row was taken out" : element("code", {}, one.theirs || "blank"))),
        element("div", {}, element("dt", {}, "yours"), element("dd", {}, element("code", {}, one.yours || "blank")))),
      this.#buttons(["Keep theirs", () => settle(one, false)], ["Put mine", () => settle(one, true)])));
    const more = conflicts.length - MOST_CONFLICTS;
    return this.#note(note, conflicts.length === 1 ? "Somebody else was quicker" : `Somebody else was quicker in ${conflicts.length} cells`,
      element("ul", { class: "wrong-cells" }, ...lines),
      more > 0 ? element("p", {}, `and ${more} more`) : null,
      conflicts.length > 1 ? this.#buttons([`Keep theirs in all ${conflicts.length}`, () => all(false)], [`Put mine in all ${conflicts.length}`, () => all(true)]) : null);
  }

  // what was typed in other sheets and never came to the disk, because its page was closed
  #elsewhere() {
    const of = this.#typedElsewhere ??= [...this.kept.elsewhere()];
    if (!of.length) return;
    const base = location.pathname.slice(0, location.pathname.lastIndexOf("/") + 1);
    const links = of.map(([name, count]) => element("li", {}, element("a", { href: base + encodeURIComponent(name) }, name), `: ${count}`));
    this.#place("elsewhere", [element("p", {}, "Typed in other sheets and not on the disk yet. Open the sheet and it goes out:"), element("ul", {}, ...links)], "elsewhere");
  }

  #cell(shown) {
    const { row, column: name } = this.picked;
    const column = this.sheet.column(name);
    const rowName = typeof row === "number" ? shown.name(row) : "";
    const decisions = column && rowName ? this.sheet.decisions(rowName, column, shown.text(row, name)) : [];
    clearTimeout(this.#timer);
    if (!decisions.length) {
      this.#place("cell", [], "");
      return;
    }
    const key = `${rowName}|${decisions[0].column}|${decisions[0].value}`;
    const reasons = this.#reasons.get(key);
    if (!reasons) this.#timer = setTimeout(() => this.#ask(key, rowName, decisions[0].column), ASKED_AFTER_MS);
    const by = [...new Set(decisions.map((one) => one.by).filter(Boolean))].join(", ");
    const why = this.why ? element("a", { href: `${this.why}${encodeURIComponent(decisions[0].asked || `${rowName}.${decisions[0].column}`)}` }, "Why, to the last figure") : null;
    this.#place("cell", [
      element("h2", {}, `${rowName}: `, element("code", { class: "decided" }, typedOf(decisions, column)), " was decided"),
      element("p", {}, by ? `By ${by}. ` : "", "It stands in soft ink until somebody types there."),
      reasons?.length ? element("ul", { class: "reasons" }, ...reasons.map((one) => this.#reason(one))) : null,
      why ? element("p", {}, why) : null,
      this.#buttons(["Adopt: write it into the cell", () => this.adopt()]),
    ].filter(Boolean), JSON.stringify([key, reasons]));
  }

  async #ask(key, row, column) {
    try {
      const answer = await fetch(`${this.api}/reasons?${new URLSearchParams({ row, column })}`, { headers: { Accept: "application/json" } });
      if (!answer.ok) return;
      this.#reasons.set(key, await answer.json());
      this.changed();
    } catch {
      // the desk is away: the decision stands there all the same
    }
  }

  #reason(one) {
    return element("li", {},
      element("b", {}, one.limit), one.asks ? element("span", {}, " asks for ", element("code", {}, one.asks)) : null,
      one.says ? element("p", {}, one.says) : null,
      one.when ? element("p", { class: "small soft" }, `when ${one.when}`) : null,
      one.source ? element("p", { class: "small soft" }, one.source) : null);
  }

  #rows(notes) {
    const row = this.picked.row;
    const here = notes.filter((one) => one.rows.includes(row));
    const others = notes.filter((one) => !here.includes(one));
    const shown = others.slice(0, MOST_NOTES);
    const more = others.length - shown.length;
    const list = (some) => element("ol", { class: "note-list plain" }, ...some.map((one) => this.#rowNote(one)));
    this.#place("rows", [
      ...(here.length ? [element("h2", {}, `In ${this.name(row)}`), list(here)] : []),
      ...(shown.length ? [element("h2", {}, here.length ? "In other rows" : "In this sheet"), list(shown)] : []),
      ...(more > 0 ? [element("p", {}, `and ${more} more: see the marks beside the rows`)] : []),
    ], JSON.stringify([here.map((one) => one.number), notes]));
  }

  #rowNote(note) {
    if (note.kind === "problem") {
      const { problem } = note;
      return this.#note(note, "Does not fit",
        element("p", {}, problem.column ? element("b", {}, problem.column) : "The row", ": ", problem.found ? "found " : "nothing there", problem.found ? element("code", {}, problem.found) : "", problem.allowed ? `, allowed: ${problem.allowed}` : "", "."),
        problem.mend ? element("p", { class: "mend" }, `${problem.mend}.`) : null,
        this.#rowLinks(note.rows, problem.column));
    }
    const { finding } = note;
    const mend = finding.mend.replace(/\.$/, "");
    const says = mend && finding.says.endsWith(` ${mend}.`) ? finding.says.slice(0, -mend.length - 2) : finding.says;
    return this.#note(note, null,
      element("p", {}, says),
      mend ? element("p", { class: "mend" }, `${mend}.`) : null,
      this.#rowLinks(note.rows, ""),
      element("p", { class: "small" }, element("a", { href: `${this.findings}#finding-${finding.number}` }, "among all findings")));
  }

  #note(note, title, ...inside) {
    const flag = element("span", { class: `flag ${note.severity}` }, String(note.number));
    const weight = note.severity ? this.weight(note.severity) : null;
    const code = note.finding ? element("span", { class: "rule-code" }, note.finding.rule) : null;
    return element("li", { class: "margin-note", id: `note-${note.number}`, "data-note": note.number, tabindex: "-1" },
      element("span", { class: "note-number" }, flag), title ? element("b", {}, title) : weight, " ", code, ...inside);
  }

  #rowLinks(rows, column) {
    if (!rows.length) return null;
    const links = rows.slice(0, MOST_ROWS).flatMap((row, place) => [place ? ", " : "", this.#rowLink(row, column)]);
    const more = rows.length - MOST_ROWS;
    return element("p", { class: "small" }, ...links, more > 0 ? ` and ${more} more` : "");
  }

  #rowLink(row, column) {
    const go = (event) => {
      event.preventDefault();
      this.pick(row, column);
    };
    return element("a", { href: this.addressOf(row, column), class: "id", onclick: go }, this.name(row));
  }

  #buttons(...all) {
    return element("p", { class: "ways-out" }, ...all.map(([words, done, first]) => element("button", { type: "button", class: first ? "first" : "", onclick: done }, words)));
  }

  // how far the check is: nothing for a moment, then a count and a way to stop
  #check() {
    const now = this.checks.standing;
    if (!now || now.known || now.stopped || this.checks.problems.length) {
      const elsewhere = this.checks.problems.filter((one) => one.sheet !== this.sheet.name).length;
      const words = now?.stopped ? "The check was stopped; it begins again with the next edit." : elsewhere ? `${elsewhere} ${elsewhere === 1 ? "cell" : "cells"} of other sheets must fit before the car can be worked out.` : "";
      this.#place("check", words ? [element("p", { class: "soft" }, words, " ", element("a", { href: this.findings }, "Findings"))] : [], words);
      return;
    }
    const count = now.of ? `${now.done} of ${now.of} states` : "";
    this.#place("check", [element("p", { class: "soft" }, "Checking ", element("span", { class: "value" }, count)), this.#buttons(["Stop", () => this.checks.stop()])], `checking ${count}`);
  }
}
