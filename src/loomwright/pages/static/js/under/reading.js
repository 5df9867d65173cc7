// A meter of the shop read from the tablet: who is offered one, and what a reading comes to as it would be typed.

import { unitSign } from "./band.js";

const ON_RECORD = ["proofs", "readings"]; // sheets that say what a figure was read with
const IN_LINE = "amps";

// the meters that whoever holds this tablet may read, and what can hurt; null where the desk does not say
export async function metersOffered() {
  try {
    const answer = await fetch("/api/meters", { headers: { Accept: "application/json" } });
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

export function metersFor(thing, { meters = [], cautions = {} }) {
  const { kind, measure } = thing?.asks ?? {};
  return kind === "figure" && ON_RECORD.includes(thing.sheet) && measure in cautions ? meters : [];
}

// a meter in line with a load is put there first: what can hurt is read before it is asked
export const isAskedFirst = (thing) => thing.asks.measure === IN_LINE;

// a figure with its unit, or `open`, as the keypad has it
export function typedOf({ value }) {
  const [figure, unit = ""] = value.split(" ");
  return { typed: figure.replace("-", "−"), sign: unitSign(unit) };
}
