// Does a figure lie in its band, and is it one that is asked about once more? The bounds come with the thing.

const FACTORS = { m: 1e-3, "": 1, k: 1e3, M: 1e6 };
const BASES = { V: "V", A: "A", ohm: "Ω" };
const OFFERED = { V: ["V", "mV", "Ω", "A"], A: ["A", "mA", "V", "Ω"], ohm: ["Ω", "kΩ", "MΩ", "V"] };
const WORDS = { V: "volts", A: "amps", Ω: "ohms" };

export function unitsFor(unit) {
  return OFFERED[unit] ?? (unit ? [unit] : []);
}

export function unitSign(unit) {
  return BASES[unit] ?? unit;
}

function taken(sign, unit) {
  const base = BASES[unit];
  if (!base) return { factor: 1, isOther: false };
  return { factor: FACTORS[sign.slice(0, -1)] ?? 1, isOther: !sign.endsWith(base), quantity: WORDS[base] };
}

// twelve digits: what a factor of a thousand leaves behind is not of the reading
const plain = (value) => Number(value.toPrecision(12));

export function readFigure(text, sign, asks) {
  const value = Number(text.replace(",", "."));
  if (text.trim() === "" || !Number.isFinite(value)) return { asks: "Type what the meter shows.", isShut: true };
  const { factor, isOther, quantity } = taken(sign, asks.unit);
  if (isOther) {
    return { asks: `This is read in ${quantity}, and ${text} ${sign} is not. Set the meter to ${quantity} and read again.`, isShut: true };
  }
  const figure = plain(value * factor);
  return { figure, asks: doubt(figure, text, sign, asks) };
}

function doubt(figure, text, sign, asks) {
  if (asks.most !== undefined && Math.abs(figure) > asks.most) return `${text} ${sign} is more than this car can show. Read it again.`;
  if (asks.unit === "ohm" && figure < 0) return `${text} ${sign} is less than no ohms. Null the leads and read it again.`;
  const bare = sign === unitSign(asks.unit);
  if (bare && figure && !within(figure, asks) && (asks.low !== undefined || asks.high !== undefined)) {
    for (const [word, factor] of [["m", 1e-3], ["k", 1e3]]) {
      const other = plain(figure * factor);
      const near = asks.low === undefined || other >= asks.low;
      if (OFFERED[asks.unit] && within(other, asks) && near && Math.abs(other) >= 0.1 * Math.abs(asks.low ?? asks.high)) {
        return `${text} ${sign}, or ${text} ${word}${sign}? Look at the meter’s small letter.`;
      }
    }
  }
  return "";
}

// what is asked where a piece is shorter than its wire has to be; empty where it reaches
export function tooShort(text, { wire, asks }) {
  const short = plain((asks.low ?? 0) - Number(text));
  if (!(Number(text) > 0) || short <= 0) return "";
  return `${wire} needs ${asks.low} mm: ${text} mm are ${short} mm too short. Cut another piece, and type its length.`;
}

export function within(figure, asks) {
  const shown = asks.unit === "A" ? Math.abs(figure) : figure;
  return (asks.low === undefined || shown >= asks.low) && (asks.high === undefined || shown <= asks.high);
}

const LAMP = ["dark", "dim", "full"];

// whether an answer holds; null where nothing is expected
export function holds(asks, said) {
  if (said.is_let_go) return null;
  if (asks.kind === "figure" && said.value !== "" && !(asks.words ?? []).includes(said.value)) {
    if (asks.low === undefined && asks.high === undefined) return null;
    return within(Number(said.value), asks);
  }
  if (asks.kind === "done" && asks.unit === "mm" && said.value !== "") return asks.low === undefined ? null : within(Number(said.value), asks);
  if (said.value === "open") return asks.high === undefined;
  if (!asks.word) return null;
  if (asks.measure === "lamp") return LAMP.indexOf(said.value) <= LAMP.indexOf(asks.word);
  return said.value === asks.word;
}

export function bandWords(asks) {
  if (asks.says) return asks.says;
  const unit = unitSign(asks.unit ?? "");
  if (asks.low !== undefined && asks.high !== undefined) return `${asks.low} to ${asks.high} ${unit}`;
  if (asks.low !== undefined) return `${asks.low} ${unit} or more`;
  if (asks.high !== undefined) return `${asks.high} ${unit} at most`;
  return asks.word ?? "";
}
