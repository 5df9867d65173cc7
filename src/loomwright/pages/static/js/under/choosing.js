// Which thing is next? The list says the order; this only looks what is done by now. The same rule stands in the core
// (`worklist/thing.py`, next_of), and a test holds the two together.

// what the acts of this tablet make of the list: thing -> done or not
export function settledBy(acts) {
  const byId = new Map(acts.map((act) => [act.id, act]));
  const gone = new Set(acts.map((act) => act.back));
  const found = new Map();
  for (const act of acts) {
    if (act.settled || act.state === "aside" || act.state === "refused") continue;
    if (act.back) {
      const taken = byId.get(act.back);
      if (taken) found.set(taken.thing, false);
    } else if (!gone.has(act.id)) {
      found.set(act.thing, !(act.holds_up && act.holds === false));
    }
  }
  return found;
}

export function isDone(thing, settled) {
  return settled.get(thing.id) ?? Boolean(thing.is_done);
}

export function next(things, settled, later) {
  const left = things.filter((thing) => !isDone(thing, settled));
  const stages = left.filter((thing) => !thing.offered).map((thing) => thing.stage ?? 0);
  if (!stages.length) return left.find((thing) => !later.has(thing.id)) ?? null;
  const stage = stages.reduce((one, other) => Math.min(one, other));
  const leftIds = new Set(left.map((thing) => thing.id));
  const can = left.filter((thing) => (thing.stage ?? 0) <= stage && !(thing.after ?? []).some((id) => leftIds.has(id)));
  return can.find((thing) => !later.has(thing.id)) ?? can.find((thing) => !thing.offered) ?? null;
}

// the next thing of one wire, out of turn, where that was asked for; stages hold it up as they do the list
export function alongNext(wire, things, settled, later) {
  const own = wire ? things.filter((thing) => thing.wire === wire) : [];
  const thing = own.length ? next(own, settled, later) : null;
  return thing && isOpen(thing, things, settled) ? thing : null;
}

// whether a thing may be taken out of turn: its stage is open, or it was done before; stages are there for safety
export function isOpen(thing, things, settled) {
  const left = things.filter((one) => !isDone(one, settled));
  const held = left.some((one) => !one.offered && (one.stage ?? 0) < (thing.stage ?? 0));
  return isDone(thing, settled) || !(held || left.some((one) => (thing.after ?? []).includes(one.id)));
}

export function leftOf(things, settled) {
  return things.filter((thing) => !thing.offered && !isDone(thing, settled)).length;
}

// the last act that can be taken back
export function lastAct(acts) {
  const gone = new Set(acts.map((act) => act.back));
  return acts.findLast((act) => !act.back && act.state !== "aside" && act.state !== "refused" && !gone.has(act.id)) ?? null;
}

// the last act or picture that can be taken back; a picture that has gone to the desk stays there
export function lastDone(acts, pictures) {
  const act = lastAct(acts);
  const picture = pictures.findLast((one) => !one.refused) ?? null;
  return picture && !(act && act.made > picture.made) ? { ...picture, does: `picture of: ${picture.note}`, isPicture: true } : act;
}

// a list that the desk is still working out is shown as it was before, where it was there
export function withKept(day, before) {
  if (!before || !day.works.some((one) => one.waits)) return day;
  const cautions = [...day.cautions];
  const at = (text) => {
    const place = cautions.indexOf(text);
    return place < 0 ? cautions.push(text) - 1 : place;
  };
  const works = day.works.map((one) => {
    const old = before.works.find((each) => each.work === one.work);
    if (!one.waits || !old || old.waits) return one;
    const things = old.things.map((thing) => ({ ...thing, cautions: (thing.cautions ?? []).map((place) => at(before.cautions[place])) }));
    return { ...old, things, isOlder: true };
  });
  return { ...day, works, cautions };
}
