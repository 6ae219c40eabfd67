// The walk round the body: what has been taped, what is asked next. Plain data in, plain data out.

import { median } from "./tape.js";

const APART = 2.77; // technical errors by which two tapings may differ: 1.96 times the root of 2

export const takesOf = (draft, code) => draft.takes[code] ?? [];
export const valueOf = (draft, code) => median(takesOf(draft, code).map((take) => take.value));

export const isTwice = (board, draft, code) => (board.sets[draft.set]?.twice ?? []).includes(code);

// Do the two tapings differ by more than the tape explains?
export function asksThird(board, draft, code) {
  const takes = takesOf(draft, code);
  return takes.length === 2 && Math.abs(takes[0].value - takes[1].value) > allowed(board, code) * (1 + 1e-9);
}

export const allowed = (board, code) => APART * board.measures[code].error;

// A flag that nobody has answered: a word why would keep the reading.
export const isFlagged = (draft, code) =>
  Boolean(draft.flags[code]) && !draft.kept[code] && takesOf(draft, code).length > 0;

// Is the figure of the first taping out of sight? It is until the second is in.
export const isHidden = (board, draft, code) =>
  takesOf(draft, code).length === 1 && !draft.kept[code] && (isTwice(board, draft, code) || draft.again.includes(code));

// The state of one measure: "open", "again" (flagged, being taped again), "flagged", "first" (the second comes
// later), "third", "done", "out" (not taken).
export function stateOf(board, draft, code) {
  const takes = takesOf(draft, code).length;
  if (!takes) return draft.out.includes(code) ? "out" : "open";
  if (asksThird(board, draft, code)) return "third";
  if (isFlagged(draft, code)) return takes === 1 && draft.again.includes(code) ? "again" : "flagged";
  if (isHidden(board, draft, code)) return isTwice(board, draft, code) && !draft.again.includes(code) ? "first" : "again";
  return "done";
}

// The next measure from `from` on, in walking order: first everything once, with whatever asks at once; then once
// more round the body for those that are taped twice. Null when nothing is asked any more.
export function nextAfter(board, draft, from) {
  const walk = board.sets[draft.set].measures;
  const start = Math.max(0, walk.indexOf(from));
  const order = [...walk.slice(start), ...walk.slice(0, start)];
  const asks = (states) => order.find((code) => states.includes(stateOf(board, draft, code)));
  return (
    asks(["open", "again", "flagged", "third"]) ??
    walk.find((code) => stateOf(board, draft, code) === "first") ??
    null
  );
}

// Which taping comes now: 1, 2, 3.
export const turnOf = (draft, code) => takesOf(draft, code).length + 1;

// The measuring as the server reads it.
export function asSent(draft, member, ahead) {
  const readings = Object.entries(draft.takes).flatMap(([code, takes]) =>
    takes.map((take, place) => ({
      measure: code,
      typed: `${take.text} ${take.unit}`,
      take: place + 1,
      ...(draft.kept[code] ? { kept_because: draft.kept[code] } : {}),
    })),
  );
  const optional = Object.fromEntries(
    ["over", "posture", "tape", "guardian_present", "notes"].filter((name) => draft[name]).map((name) => [name, draft[name]]),
  );
  return JSON.stringify({
    client: draft.client,
    measured_at: new Date(draft.begun - ahead).toISOString(),
    measured_by: member,
    unit: draft.unit,
    shoes: Boolean(draft.shoes),
    ...optional,
    readings,
  });
}
